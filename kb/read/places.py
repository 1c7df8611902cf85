"""Where a character of a block's inline content stands in the file."""

from __future__ import annotations

import re
from collections.abc import Sequence

from markdown_it.token import Token

from kb.read.markdown import split_row
from kb.source import Source, Span

_CONTAINERS = re.compile(r"(?:[ \t]*(?:>|[-+*](?=[ \t])|\d{1,9}[.)](?=[ \t])))*[ \t]*")
_HASHES = re.compile(r"#{1,6}[ \t]+")


class Places:
    """Maps positions in one inline content to lines and columns of its source.

    `pieces` are (position in the content, line, column) of each run whose columns go on evenly.
    """

    def __init__(self, source: Source, pieces: Sequence[tuple[int, int, int]], length: int) -> None:
        self.source, self.pieces, self.length = source, pieces, length

    def at(self, position: int) -> tuple[int, int]:
        """Line and column of the content's character `position`."""
        low, high = 0, len(self.pieces)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if self.pieces[middle][0] <= position else (low, middle)
        start, line, column = self.pieces[low]
        return line, column + position - start

    def span(self, start: int, end: int) -> Span:
        """The span of the content's characters from `start` to before `end`."""
        line, column = self.at(start)
        last_line, last_column = self.at(max(start, end - 1))
        return Span(self.source.path, line, column, last_line, last_column + (1 if end > start else 0))

    def whole(self) -> Span:
        """The span of the whole content."""
        return self.span(0, self.length)

    def part(self, start: int, end: int) -> Places:
        """The places of a stretch of the content, counted from its own start."""
        first = self.at(start)
        inner = [(p - start, line, column) for p, line, column in self.pieces if start < p < end]
        return Places(self.source, [(0, *first), *inner], end - start)


def places_of_lines(source: Source, token: Token) -> Places:
    """Places for the content of a paragraph or heading, whose lines lost their indents and markers."""
    first = token.map[0] if token.map else 0
    pieces, position = [], 0
    for number, text in enumerate(token.content.split("\n"), first + 1):
        pieces.append((position, number, _column(source.lines[number - 1], text)))
        position += len(text) + 1
    return Places(source, pieces, len(token.content))


def _column(line: str, content: str) -> int:
    """The content ends its line, but for white space and a heading's closing hashes."""
    line = line.replace("\0", "\ufffd")
    if line.endswith(content):
        return len(line) - len(content) + 1
    hashes = _HASHES.search(line)
    if hashes and line.startswith(content, hashes.end()):
        return hashes.end() + 1
    kept = content.strip()
    found = line.rfind(kept)
    return max(found, 0) + 1 - (len(content) - len(content.lstrip()))  # half a tab left over is spaces


def row_cells(source: Source, line: int, nested: bool) -> list[Places]:
    """Places of each cell of the table row on `line`; `nested` where it stands in a list or quote."""
    text = source.lines[line - 1]
    prefix = _CONTAINERS.match(text) if nested else re.match(r"[ \t]*", text)
    return [_cell(source, line, text, a, b) for a, b in split_row(text, prefix.end() if prefix else 0)]


def _cell(source: Source, line: int, text: str, start: int, end: int) -> Places:
    raw = text[start:end]
    start += len(raw) - len(raw.lstrip(" \t"))
    end = max(start, start + len(raw.strip(" \t")))
    pieces, position = [(0, line, start + 1)], 0
    for i in range(start, end):
        if text[i] == "\\" and text[i + 1 : i + 2] == "|" and i + 1 < end:
            pieces.append((position, line, i + 2))  # the backslash before a pipe isn't in the content
        else:
            position += 1
    return Places(source, pieces, position)
