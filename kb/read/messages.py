"""Safety messages: block quotes that start with a bold signal word in capitals."""

from __future__ import annotations

import re
from dataclasses import replace

from kb.model import Block, Inline, Message, SignalWord
from kb.read.inlines import fold, plain, refs_in, walk
from kb.reference import Kind

_LEAD = re.compile(r"(DANGER|WARNING|CAUTION|NOTICE)\b\s*[:.]?\s*(.*)", re.DOTALL)
_SENTENCE = re.compile(r"\S[^.!?]*[.!?]+(?=\s|$)|\S[^.!?]*$")
_HAZARD = frozenset((Kind.HAZARD,))


def read_message(quote: Block) -> Message | None:
    """The message that a quote holds, or None for a plain quote."""
    first = quote.children[0] if quote.children else None
    if first is None or first.type != "paragraph" or not first.inlines:
        return None
    lead = first.inlines[0]
    match = _LEAD.match(plain(lead.children)) if lead.type == "strong" else None
    if match is None:
        return None
    body = _body(quote, first)
    refs = (*refs_in(lead.children), *refs_in(body))
    if refs and not match[2].strip(" :."):
        opening = next((i for i in walk(body) if i.type == "ref" or i.text.strip(" .:\n")), None)
        if opening and opening.ref:
            body = _named_first(body, opening)
            refs = refs_in(body)
    title = fold(match[2]).rstrip(".: ")
    return Message(quote.span, SignalWord(match[1]), title, refs, body, _sentences(plain(body)))


def _body(quote: Block, first: Block) -> tuple[Inline, ...]:
    rest = list(first.inlines[1:])
    for block in quote.children[1:]:
        rest.append(Inline("text", block.span, "\n"))
        rest.extend(_all_inlines(block))
    return tuple(rest)


def _all_inlines(block: Block) -> list[Inline]:
    """Everything a quote's block says, as running text."""
    found = list(block.inlines)
    if block.text:
        found.append(Inline("code", block.span, block.text))
    for child in block.children:
        found.extend([Inline("text", child.span, "\n"), *_all_inlines(child)])
    for row in (block.table.header, *block.table.rows) if block.table else ():
        found.extend(i for cell in row.cells for i in (*cell.inlines, Inline("text", cell.span, "\n")))
    return found


def _named_first(body: tuple[Inline, ...], opening: Inline) -> tuple[Inline, ...]:
    """The name right behind the signal word has to be a hazard's."""

    def named(inline: Inline) -> Inline:
        if inline is opening and inline.ref:
            return replace(inline, ref=replace(inline.ref, kinds=_HAZARD))
        return replace(inline, children=tuple(map(named, inline.children))) if inline.children else inline

    return tuple(map(named, body))


def _sentences(text: str) -> int:
    return sum(1 for s in _SENTENCE.findall(text) if re.search(r"\w", s))
