"""The Markdown parser as configured here: CommonMark and pipe tables, with the place of each mark.

markdown-it-py gives lines for blocks but no place for what stands inside a line. The inline rules are
wrapped so that each mark (code, link, image, HTML) notes its start and end; `kb.read.places` turns these into
lines and columns of the file. Names in brackets become links because `Names` answers for any
label. What the parser drops or merges is found afterwards: see `kb.read.lost`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.rules_block import StateBlock, reference
from markdown_it.rules_inline import StateInline, autolink, backtick, entity, escape, html_inline, image, link
from markdown_it.token import Token

NAME = "name:"
_BRACKET = re.compile(r"(?<!\\)(?:\\\\)*[\[\]]")
_LONGEST_LABEL = 999  # CommonMark 0.31.2, link labels

InlineRule = Callable[[StateInline, bool], bool]
MARKED: dict[str, InlineRule] = {
    "backticks": backtick,
    "link": link,
    "image": image,
    "html_inline": html_inline,
    "autolink": autolink,
    "entity": entity,
    "escape": escape,
}


class Names(dict[str, dict[str, str]]):
    """Answers for every label that CommonMark allows, so that names in brackets become links."""

    def get(self, label: str, default: Any = None) -> Any:
        """The destination that marks a name, whatever the label."""
        if not label.strip() or len(label) > _LONGEST_LABEL or _BRACKET.search(label):
            return default
        return {"href": NAME, "title": ""}


@cache
def parser() -> MarkdownIt:
    """CommonMark 0.31.2 with tables (GFM 4.10); HTML is parsed, so that it can be shown and reported."""
    md = MarkdownIt("commonmark").enable("table")
    md.validateLink = lambda url: True  # type: ignore[method-assign]  # judged by dead-link instead
    for name, rule in MARKED.items():
        md.inline.ruler.at(name, _noting(name, rule))
    md.block.ruler.at("reference", _noting_definitions(reference))
    return md


def _noting(name: str, rule: InlineRule) -> InlineRule:
    def noted(state: StateInline, silent: bool) -> bool:
        if name == "image" and isinstance(state.env.get("references"), Names) and not _has_address(state):
            return False  # `![Name]` is a name after an exclamation mark, not a picture
        start, count = state.pos, len(state.tokens)
        if not rule(state, silent):
            return False
        if not silent and state.tokens is state.env.get("children"):
            _note(state, name, start, count)
        return True

    return noted


def _has_address(state: StateInline) -> bool:
    if not state.src.startswith("![", state.pos):
        return False
    end = state.md.helpers.parseLinkLabel(state, state.pos + 1, False)
    return end >= 0 and state.src.startswith("(", end + 1)


def _note(state: StateInline, name: str, start: int, count: int) -> None:
    state.env["marks"].append((start, state.pos))
    for token in state.tokens[count:]:
        if token.type in ("link_open", "image", "code_inline", "html_inline"):
            token.meta["span"] = (start, state.pos)
            return


def _noting_definitions(rule: Callable[..., bool]) -> Callable[..., bool]:
    def noted(state: StateBlock, start: int, end: int, silent: bool) -> bool:
        if not rule(state, start, end, silent):
            return False
        if not silent:
            state.env.setdefault("definitions", []).append((start, state.line))
        return True

    return noted


def parse_blocks(text: str) -> tuple[list[Token], list[tuple[int, int]]]:
    """Block tokens (their inline content not parsed yet), and the line ranges of link definitions."""
    env: dict[str, Any] = {"references": Names()}
    tokens: list[Token] = []
    md = parser()
    md.block.parse(text.replace("\0", "\ufffd"), md, env, tokens)
    return tokens, env.get("definitions", [])


def parse_inline(content: str) -> tuple[list[Token], list[tuple[int, int]]]:
    """Inline tokens of `content`, and the (start, end) of each mark in it.

    A link, image, code or HTML token carries its own place in `meta["span"]`.
    """
    children: list[Token] = []
    env: dict[str, Any] = {"references": Names(), "children": children, "marks": []}
    parser().inline.parse(content, parser(), env, children)
    return children, env["marks"]


def split_outside(content: str, marks: Sequence[tuple[int, int]], sign: str) -> list[tuple[int, int]]:
    """The stretches of `content` between the `sign`s that stand outside all marks."""
    taken = bytearray(len(content))
    for start, end in marks:
        taken[start:end] = b"\1" * (end - start)
    cuts = [i for i, c in enumerate(content) if c == sign and not taken[i]]
    return list(zip([0, *(c + 1 for c in cuts)], [*cuts, len(content)], strict=True))


def label_of(link: str) -> str:
    """The label of a reference link's source: `[text][label]`, `[label][]` or `[label]`."""
    opening = _last_opening(link)
    if opening > 0 and link[opening + 1 : -1].strip():
        return link[opening + 1 : -1]
    return link[1 : opening - 1] if opening > 0 else link[1:-1]


def _last_opening(link: str) -> int:
    for match in reversed(list(_BRACKET.finditer(link, 0, len(link) - 1))):
        if match[0].endswith("["):
            return match.end() - 1
    return 0


def split_row(line: str, start: int) -> list[tuple[int, int]]:
    """The (start, end) of each cell of a pipe table's row that begins at `start` of `line`."""
    end = len(line.rstrip(" \t"))
    cuts = [i for i in range(start, end) if line[i] == "|" and not (i > start and line[i - 1] == "\\")]
    cells = list(zip([start, *(c + 1 for c in cuts)], [*cuts, end], strict=True))
    if len(cells) > 1 and cells[0][0] == cells[0][1]:
        cells = cells[1:]
    if len(cells) > 1 and cells[-1][0] == cells[-1][1]:
        cells = cells[:-1]
    return cells
