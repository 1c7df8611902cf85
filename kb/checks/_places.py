"""Where words of a step stand in its lines."""

from __future__ import annotations

import re

from kb.model import Base
from kb.source import Span


def place_of(base: Base, span: Span, words: str) -> Span:
    """The first place of some words within a span; the span itself where markup stands between them."""
    lines = base.pages[span.path].source.lines
    text = "\n".join(lines[span.line - 1 : span.end_line])
    pattern = r"(?<!\w)" + r"[\s>]+".join(map(re.escape, words.split())) + r"(?!\w)"
    match = re.compile(pattern, re.IGNORECASE).search(text, span.column - 1)
    if match is None:
        return span
    line, column = _at(text, match.start(), span.line)
    end_line, end_column = _at(text, match.end(), span.line)
    return Span(span.path, line, column, end_line, end_column)


def _at(text: str, position: int, first: int) -> tuple[int, int]:
    before = text[:position]
    return first + before.count("\n"), position - (before.rfind("\n") + 1) + 1
