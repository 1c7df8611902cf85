"""Headings: which open a node, of what kind and name, and the anchors of a page."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass

from kb.diagnostic import Problem
from kb.model import Block
from kb.quantity import edits
from kb.read.blocks import Blocks
from kb.read.inlines import plain
from kb.reference import HEADING_KINDS, Kind
from kb.source import Span

_KINDS = {kind.value.casefold(): kind for kind in HEADING_KINDS}
_HEAD = re.compile(r"([^\W\d_]+):(.*)", re.DOTALL)
_BARRED = re.compile(r"[\[\];|]")
_OTHER = re.compile(r"[\W_]+")


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading that opens a node."""

    kind: Kind
    name: str
    name_span: Span


def slug(text: str) -> str:
    """Lower case, each run of other than letters and digits one hyphen."""
    return _OTHER.sub("-", text.lower())


def anchor_of(kind: Kind, name: str) -> str:
    """The anchor of a node, before a second use gets its number."""
    return slug(f"{kind.value} {name}")


class Anchors:
    """Hands out anchors on a page; a second use of one gets `-2`."""

    def __init__(self) -> None:
        self.used: Counter[str] = Counter()
        self.taken: set[str] = set()

    def take(self, wanted: str) -> str:
        """The anchor `wanted`, or the first free one with a number."""
        self.used[wanted] += 1
        anchor = wanted if self.used[wanted] == 1 else f"{wanted}-{self.used[wanted]}"
        if anchor in self.taken:
            return self.take(wanted)
        self.taken.add(anchor)
        return anchor


def read_heading(block: Block, blocks: Blocks, problems: list[Problem]) -> Heading | None:
    """The node that a heading opens, or None where it is prose."""
    text = plain(block.inlines)
    match = _HEAD.fullmatch(text)
    kind = _kind(match[1], block, blocks, problems) if match else None
    if match is None or kind is None:
        return None
    name = match[2].strip()
    span = _name_span(block, blocks)
    content = blocks.contents[block.span][0]
    if not name or _BARRED.search(name) or any(i.type in ("ref", "link", "image") for i in block.inlines):
        message = f"`{name}` can't be a name" if name else f"a {kind.value.lower()} without a name"
        rest = content.partition(":")[2].strip()
        where = span if rest else block.span
        problems.append(
            Problem("bad-value", where, message, "write `Kind: Name`; a name has none of `[`, `]`, `;` and `|`")
        )
    return Heading(kind, name, span)


def _kind(word: str, block: Block, blocks: Blocks, problems: list[Problem]) -> Kind | None:
    folded = word.casefold()
    if folded in _KINDS:
        return _KINDS[folded]
    near = next((kind for name, kind in _KINDS.items() if edits(folded, name, 1) == 1), None)
    if near is None or any(folded == name + "s" for name in _KINDS):
        return None
    places = blocks.contents[block.span][1]
    message = f"`{word}` is no kind of node"
    problems.append(Problem("unknown-kind", places.span(0, len(word)), message, f"did you mean `{near.value}`?"))
    return near


def _name_span(block: Block, blocks: Blocks) -> Span:
    content, places = blocks.contents[block.span]
    start = content.find(":") + 1
    start += len(content[start:]) - len(content[start:].lstrip())
    return places.span(start, len(content)) if start < len(content) else places.whole()
