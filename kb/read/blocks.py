"""The blocks of a page: headings, paragraphs, lists, quotes, tables and code, each with its span."""

from __future__ import annotations

import re
from collections.abc import Iterator

from markdown_it.token import Token

from kb.diagnostic import Problem
from kb.model import Block, Cell, Row, Table
from kb.read.inlines import plain, read_inlines, refs_in
from kb.read.lost import extra_cells, lost_text, unquoted_line
from kb.read.markdown import parse_blocks, parse_inline, split_outside
from kb.read.places import Places, places_of_lines, row_cells
from kb.source import Source, Span

ALLOWANCE = re.compile(r"<!--\s*allow\b(.*?)-->\s*", re.DOTALL)


class Blocks:
    """Turns a source into blocks; `problems` are what was met on the way.

    `places` keeps, for each block with running text, where that text stands, and `contents` the text.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.problems: list[Problem] = []
        self.contents: dict[Span, tuple[str, Places]] = {}
        tokens, definitions = parse_blocks(source.text)
        self.problems.extend(lost_text(source, tokens, definitions))
        self.definitions = [source.lines_span(a + 1, b) for a, b in definitions]
        self.quotes = self.depth = 0
        self.top = tuple(self._blocks(iter(tokens), ""))

    def _blocks(self, tokens: Iterator[Token], closing: str) -> Iterator[Block]:
        for token in tokens:
            if token.type == closing:
                return
            yield from self._block(token, tokens)

    def _block(self, token: Token, tokens: Iterator[Token]) -> Iterator[Block]:
        if token.type in ("paragraph_open", "heading_open"):
            yield self._text(token, next(tokens))
            next(tokens)
        elif token.type in ("bullet_list_open", "ordered_list_open", "list_item_open", "blockquote_open"):
            yield self._container(token, tokens)
        elif token.type == "table_open":
            yield Block("table", self._lines(token), table=self._table(token, tokens))
        elif token.type in ("code_block", "fence"):
            yield Block("code", self._lines(token), text=token.content, anchor=token.info.strip())
        elif token.type == "html_block":
            yield Block("html", self._lines(token), text=token.content.rstrip("\n"))
        elif token.type == "hr":
            yield Block("rule", self._lines(token))

    def _lines(self, token: Token) -> Span:
        first, end = token.map or (0, 1)
        blank = (
            " \t>" if self.quotes and token.nesting else None
        )  # a list in a quote ends before the quote's empty lines
        while end > first + 1 and not self.source.lines[end - 1].strip(blank):
            end -= 1
        return self.source.lines_span(first + 1, end)

    def _container(self, token: Token, tokens: Iterator[Token]) -> Block:
        quote = token.type == "blockquote_open"
        self.quotes, self.depth = self.quotes + quote, self.depth + 1
        children = tuple(self._blocks(tokens, token.type.replace("open", "close")))
        self.quotes, self.depth = self.quotes - quote, self.depth - 1
        kind = {"bullet": "bullets", "ordered": "steps", "list": "item", "blockquote": "quote"}
        start = token.attrs.get("start", 1)
        return Block(kind[token.type.split("_")[0]], self._lines(token), children=children, start=int(start))

    def _text(self, token: Token, inline: Token) -> Block:
        places = places_of_lines(self.source, inline)
        span = places.whole()
        self.contents[span] = (inline.content, places)
        if self.quotes and token.type == "paragraph_open":
            self._unquoted(places)
        kind, level = ("heading", int(token.tag[1])) if token.tag.startswith("h") else ("paragraph", 0)
        return Block(kind, span, read_inlines(inline.content, places), level=level)

    def _unquoted(self, places: Places) -> None:
        for _, line, column in places.pieces:
            if self.source.lines[line - 1][: column - 1].count(">") < self.quotes:
                self.problems.append(unquoted_line(self.source.line_span(line)))
                return

    def _table(self, opening: Token, tokens: Iterator[Token]) -> Table:
        rows: list[Row] = []
        aligns: list[str] = []
        for token in tokens:
            if token.type == "table_close":
                break
            if token.type == "tr_open":
                rows.append(self._row(token, tokens, len(rows[0].cells) if rows else 0, aligns))
        return Table(self._lines(opening), rows[0], tuple(rows[1:]), tuple(aligns))

    def _row(self, token: Token, tokens: Iterator[Token], width: int, aligns: list[str]) -> Row:
        line = (token.map or [0])[0] + 1
        nested = self.depth > 0
        places = row_cells(self.source, line, nested)
        extra = extra_cells(self.source, line, width, nested) if width else None
        if extra:
            self.problems.append(extra)
        at = self.source.line_span(line)
        end = Span(at.path, line, at.end_column, line, at.end_column)
        cells = tuple(self._cells(tokens, places, end, aligns))
        return Row(self.source.line_span(line), cells, len(places))

    def _cells(self, tokens: Iterator[Token], places: list[Places], end: Span, aligns: list[str]) -> Iterator[Cell]:
        index = 0
        for token in tokens:
            if token.type == "tr_close":
                return
            if token.type == "th_open":
                aligns.append(str(token.attrs.get("style", "")).removeprefix("text-align:"))
            if token.type == "inline":
                where = places[index] if index < len(places) else None
                yield self.cell(token.content, where) if where else Cell(end, "")
                index += 1

    def cell(self, content: str, places: Places) -> Cell:
        """A cell, or another stretch of running text."""
        inlines = read_inlines(content, places)
        span = places.whole()
        self.contents[span] = (content, places)
        return Cell(span, plain(inlines), inlines, refs_in(inlines))

    def split(self, span: Span, sign: str, start: int = 0) -> tuple[Cell, ...]:
        """The stretches between `sign`s of the text at `span`, from its character `start` on.

        White space around each is left out, and so are empty ones.
        """
        content, places = self.contents.get(span, ("", None))
        if places is None:
            return ()
        _, marks = parse_inline(content)
        cells = []
        for a, b in split_outside(content, marks, sign) if sign else [(0, len(content))]:
            a = max(a, start)
            a += len(content[a:b]) - len(content[a:b].lstrip())
            b = max(a, a + len(content[a:b].rstrip()))
            if b > a:
                cells.append(self.cell(content[a:b], places.part(a, b)))
        return tuple(cells)
