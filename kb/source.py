"""The text of one file and the places in it: lines and columns from 1, columns in characters."""

from __future__ import annotations

import re
from dataclasses import dataclass

_NEWLINE = re.compile(r"\r\n?")


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a file. `end_column` is exclusive; `path` is relative to the base, with `/`."""

    path: str
    line: int
    column: int
    end_line: int
    end_column: int

    @property
    def start(self) -> tuple[int, int]:
        """Line and column of the first character."""
        return (self.line, self.column)

    def to(self, other: Span) -> Span:
        """The span from the start of this one to the end of `other`."""
        return Span(self.path, self.line, self.column, other.end_line, other.end_column)


@dataclass(frozen=True, slots=True)
class Source:
    """A file as text: newlines are `\\n`, a byte-order mark is gone, `lines` have no newline."""

    path: str
    text: str
    lines: tuple[str, ...]
    bad_bytes: tuple[Span, ...] = ()

    def span(self, line: int, column: int, length: int) -> Span:
        """A span of `length` characters within one line."""
        return Span(self.path, line, column, line, column + length)

    def line_span(self, line: int) -> Span:
        """The text of one line without the white space around it; an empty line gives column 1."""
        text = self.lines[line - 1] if 0 < line <= len(self.lines) else ""
        start = len(text) - len(text.lstrip())
        return self.span(line, start + 1, len(text.rstrip()) - start) if text.strip() else self.span(line, 1, 0)

    def lines_span(self, line: int, end_line: int) -> Span:
        """From the first character of `line` to the last of `end_line` (both included)."""
        return self.line_span(line).to(self.line_span(max(line, end_line)))


def read_source(path: str, data: bytes) -> Source:
    """Decode `data` as UTF-8. Bytes that are not UTF-8 become U+FFFD and are named in `bad_bytes`.

    Newlines are normalised once, here; nothing else is dropped.
    """
    text = _decode(data)
    text = _NEWLINE.sub("\n", text[1:] if text.startswith("\ufeff") else text)
    lines = tuple(text.split("\n"))
    return Source(path, text, lines, _bad_bytes(path, data, lines))


def _decode(data: bytes) -> str:
    return data.decode("utf-8", errors="replace")


def _bad_bytes(path: str, data: bytes, lines: tuple[str, ...]) -> tuple[Span, ...]:
    """The first undecodable byte, and the first NUL: one place each is enough to mend the file."""
    found = []
    try:
        data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = _decode(data[: error.start])
        before = _NEWLINE.sub("\n", before[1:] if before.startswith("\ufeff") else before)
        found.append(_point_after(path, before))
    for number, line in enumerate(lines, 1):
        if "\0" in line:
            column = line.index("\0") + 1
            found.append(Span(path, number, column, number, column + 1))
            break
    return tuple(found)


def _point_after(path: str, before: str) -> Span:
    line, column = before.count("\n") + 1, len(before) - before.rfind("\n")
    return Span(path, line, column, line, column + 1)
