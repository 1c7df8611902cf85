"""Where words of a step stand in its lines."""

from __future__ import annotations

import re

from kb.model import Base
from kb.source import Span


def place_of(base: Base, span: Span, words: str, number: int = 0) -> Span:
    """The place of some words within a span, after `number` others of them.

    The span itself where markup stands between them.
    """
    lines = base.pages[span.path].source.lines
    text = "\n".join(lines[span.line - 1 : span.end_line])
    pattern = r"(?<!\w)" + r"[\s>]+".join(map(re.escape, words.split())) + r"(?!\w)"
    found = list(re.compile(pattern, re.IGNORECASE).finditer(text, span.column - 1))
    if not found:
        return span
    match = found[min(number, len(found) - 1)]
    line, column = _at(text, match.start(), span.line)
    end_line, end_column = _at(text, match.end(), span.line)
    return Span(span.path, line, column, end_line, end_column)


def _at(text: str, position: int, first: int) -> tuple[int, int]:
    before = text[:position]
    return first + before.count("\n"), position - (before.rfind("\n") + 1) + 1
