"""Running text: from an inline content and its places to the model's `Inline`s."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from markdown_it.token import Token

from kb.model import Inline
from kb.read.markdown import NAME, label_of, parse_inline
from kb.read.places import Places
from kb.reference import Kind, Ref
from kb.source import Span

_SPACE = re.compile(r"\s+")
_MARKUP = re.compile(r"[\\`*_\[\]!<&\n]")
_POINT = re.compile(r"[A-Za-z]\w*\.[\w+-]+(?: \w+)?")
_CLOSES = {"strong_open": "strong", "em_open": "emph", "link_open": "link"}


def fold(text: str) -> str:
    """Text with each run of white space as one space, none around it."""
    return _SPACE.sub(" ", text).strip()


def read_inlines(content: str, places: Places) -> tuple[Inline, ...]:
    """The inlines of a content; spans come from `places`."""
    if not content:
        return ()
    if not _MARKUP.search(content):
        return (Inline("text", places.whole(), content),)
    tokens, _ = parse_inline(content)
    return _Builder(content, places).build(iter(tokens), "")


class _Builder:
    def __init__(self, content: str, places: Places) -> None:
        self.content, self.places = content, places
        self.whole = places.whole()

    def build(self, tokens: Iterator[Token], closing: str) -> tuple[Inline, ...]:
        made: list[Inline] = []
        for token in tokens:
            if token.type == closing:
                break
            made.extend(self._inline(token, tokens))
        return tuple(made)

    def _inline(self, token: Token, tokens: Iterator[Token]) -> Iterable[Inline]:
        if token.type in _CLOSES:
            return (self._around(token, self.build(tokens, token.type.replace("open", "close"))),)
        if token.type in ("softbreak", "hardbreak"):
            return (Inline("text", self.whole, "\n") if token.type == "softbreak" else Inline("break", self.whole),)
        if token.type == "image":
            src = str(token.attrs.get("src", ""))
            title = str(token.attrs.get("title", ""))
            return (Inline("image", self._span(token), fold(token.content), href=src, title=title),)
        if token.type == "code_inline":
            kind = "point" if _POINT.fullmatch(token.content) else "code"
            return (Inline(kind, self._span(token), token.content),)
        if token.type == "html_inline":
            return (Inline("html", self._span(token), token.content),)
        return (Inline("text", self.whole, token.content),) if token.content else ()

    def _span(self, token: Token) -> Span:
        span = token.meta.get("span")
        return self.places.span(*span) if span else self.whole

    def _around(self, token: Token, children: tuple[Inline, ...]) -> Inline:
        if token.type != "link_open":
            return Inline(_CLOSES[token.type], self.whole, children=children)
        href, span = str(token.attrs.get("href", "")), self._span(token)
        if href != NAME:
            title = str(token.attrs.get("title", ""))
            return Inline("link", span, children=children, href=href, title=title)
        start, end = token.meta["span"]
        label = fold(label_of(self.content[start:end]))
        return Inline("ref", span, children=children, ref=Ref(span, label, plain(children)))


def plain(inlines: Iterable[Inline]) -> str:
    """The words that a reader sees, white space folded."""
    return fold("".join(_words(inlines)))


def _words(inlines: Iterable[Inline]) -> Iterator[str]:
    for inline in inlines:
        yield "\n" if inline.type == "break" else inline.text
        yield from _words(inline.children)


def walk(inlines: Iterable[Inline]) -> Iterator[Inline]:
    """Each inline, outer before inner."""
    for inline in inlines:
        yield inline
        yield from walk(inline.children)


def refs_in(inlines: Iterable[Inline]) -> tuple[Ref, ...]:
    """The references in some text, in order."""
    return tuple(i.ref for i in walk(inlines) if i.ref)


def taking(inlines: tuple[Inline, ...], kinds: frozenset[Kind]) -> tuple[Inline, ...]:
    """The same text in a place whose references take these kinds."""
    return tuple(
        replace(i, children=taking(i.children, kinds), ref=replace(i.ref, kinds=kinds) if i.ref else None)
        if i.children or i.ref
        else i
        for i in inlines
    )
