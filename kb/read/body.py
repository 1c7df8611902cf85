"""A node's body: its blocks told apart, its steps numbered, what a reader meets on the way down."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace

from kb.model import Block, Inline, Moment, Point, Table
from kb.read.blocks import ALLOWANCE
from kb.read.circuit import TABLES
from kb.read.findings import COLUMNS
from kb.read.inlines import plain, refs_in, walk
from kb.read.messages import read_message
from kb.reference import PROCEDURES, Kind, Ref
from kb.source import Span


def is_allowance(block: Block) -> bool:
    """True for a comment that lets a rule pass."""
    return block.type == "html" and ALLOWANCE.fullmatch(block.text) is not None


def each(blocks: Iterable[Block]) -> Iterator[Block]:
    """Each block, outer before inner."""
    for block in blocks:
        yield block
        yield from each(block.children)


def levels(blocks: tuple[Block, ...]) -> Iterator[tuple[Block, ...]]:
    """The blocks side by side on each level: the top, then those inside each block."""
    yield blocks
    for block in blocks:
        if block.children:
            yield from levels(block.children)


def own_inlines(block: Block) -> Iterator[Inline]:
    """The running text of a block itself: its own, or its table's cells'."""
    yield from block.inlines
    for row in (block.table.header, *block.table.rows) if block.table else ():
        for cell in row.cells:
            yield from cell.inlines


def with_messages(blocks: Iterable[Block]) -> tuple[Block, ...]:
    """The same blocks with quotes that are safety messages told apart."""
    made = []
    for block in blocks:
        message = read_message(block) if block.type == "quote" else None
        if message:
            made.append(replace(block, type="message", message=message, children=()))
        else:
            made.append(replace(block, children=with_messages(block.children)) if block.children else block)
    return tuple(made)


def role_of(table: Table, kind: Kind) -> str:
    """`findings`, a wiring table's first header, `misplaced`, or `prose`."""
    heads = [cell.text.casefold() for cell in table.header.cells]
    first = heads[0] if heads else ""
    known = {"finding": COLUMNS, **{name.casefold(): columns for name, columns in TABLES.items()}}
    if first not in known:
        return "prose"
    home = Kind.TEST if first == "finding" else Kind.CIRCUIT
    if kind is home:
        return "findings" if home is Kind.TEST else next(n for n in TABLES if n.casefold() == first)
    others = {c.casefold() for c in known[first][1:]}
    joins = first == "position" and any(re.fullmatch(r"\S+ (joins|drives)", h) for h in heads[1:])
    cavities = first == "cavity of" and len(heads) > 1  # its other columns are plugs of any name
    return "misplaced" if joins or cavities or others & set(heads[1:]) else "prose"


def with_roles(blocks: Iterable[Block], roles: dict[Span, str]) -> Iterator[Block]:
    """The same blocks with the roles of their tables."""
    for block in blocks:
        if block.table and block.span in roles:
            yield replace(block, table=replace(block.table, role=roles[block.span]))
        else:
            yield (replace(block, children=tuple(with_roles(block.children, roles))) if block.children else block)


def number_steps(blocks: Iterable[Block], kind: Kind) -> Iterator[Block]:
    """Ordered lists of a procedure count on over messages and pictures between them."""
    count = 0
    for block in blocks:
        if block.type == "steps" and kind in PROCEDURES and count and block.start in (1, count + 1):
            block = replace(block, start=count + 1)
        if block.type == "steps":
            count = block.start + len(block.children) - 1
        elif block.type not in ("message", "html") and not _is_picture(block):
            count = 0
        yield block


def _is_picture(block: Block) -> bool:
    """True for a paragraph that shows pictures and says nothing."""
    pictures = [i.type == "image" for i in walk(block.inlines) if i.type == "image" or i.text.strip()]
    return block.type == "paragraph" and bool(pictures) and all(pictures)


def moments(blocks: Iterable[Block], numbered: bool = False) -> Iterator[Moment]:
    """Messages, and words that count as steps, on the way down."""
    for block in blocks:
        if block.message:
            yield Moment(block.span, plain(block.message.body), message=block.message)
        elif block.type in ("paragraph", "heading") and not _is_picture(block):
            yield Moment(block.span, plain(block.inlines), numbered and block.type == "paragraph")
        elif block.type == "code" or block.type == "html" and not is_allowance(block):
            yield Moment(block.span, block.text)
        elif block.table and block.table.role == "prose":
            for row in (block.table.header, *block.table.rows):
                yield from (Moment(cell.span, cell.text) for cell in row.cells if cell.text)
        elif block.type == "steps":
            yield from (m for item in block.children for m in _step(item))
        else:
            yield from moments(block.children)


def _step(item: Block) -> Iterator[Moment]:
    """A numbered item: its first paragraph is the step, what is nested below counts by itself."""
    first = item.children[:1]
    yield from moments(first, numbered=True)
    yield from moments(item.children[1:])


def points(blocks: Iterable[Block]) -> Iterator[Point]:
    """The points named in code style."""
    for block in each(blocks):
        inlines = [*own_inlines(block), *(block.message.body if block.message else ())]
        for inline in walk(inlines):
            if inline.type == "point":
                yield Point(inline.span, inline.text)


def prose_refs(blocks: Iterable[Block]) -> Iterator[Ref]:
    """The references in running text, prose tables and messages."""
    for block in each(blocks):
        if block.message:
            yield from block.message.refs
        elif block.table is None:
            yield from refs_in(block.inlines)
        elif block.table.role == "prose":
            yield from refs_in(own_inlines(block))
