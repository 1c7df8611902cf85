"""Text that the Markdown parser would drop, cut or merge without a word."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from markdown_it.token import Token

from kb.diagnostic import Problem
from kb.read.places import row_cells
from kb.source import Source, Span

_MARKERS = re.compile(r"(?:>|[-+*]|\d{1,9}[.)]|[ \t])*")
_DELIMITERS = re.compile(r"[ \t>]*\|?\s*:?-+:?\s*(?:\|\s*:?-+:?\s*)*\|?[ \t]*")
_LEAVES = ("heading_open", "paragraph_open", "code_block", "fence", "html_block", "hr", "table_open")


def lost_text(source: Source, tokens: list[Token], definitions: list[tuple[int, int]]) -> Iterator[Problem]:
    """Each place where the tokens don't hold what the lines say."""
    yield from _definitions(source, definitions)
    yield from _uncovered(source, tokens, definitions)
    yield from _after_tables(source, tokens)
    yield from _open_fences(source, tokens)
    yield from _open_comments(source, tokens)
    yield from _no_tables(source, tokens)


def _definitions(source: Source, definitions: list[tuple[int, int]]) -> Iterator[Problem]:
    for start, end in definitions:
        yield Problem(
            "bad-value",
            source.lines_span(start + 1, end),
            "a link definition; this line would not be printed",
            "names need no definition: remove the line, or begin it with other words or `\\[`",
        )


def _uncovered(source: Source, tokens: list[Token], definitions: list[tuple[int, int]]) -> Iterator[Problem]:
    seen = bytearray(len(source.lines) + 1)
    for start, end in [*definitions, *(t.map for t in tokens if t.type in _LEAVES and t.map)]:
        seen[start:end] = b"\1" * (end - start)
    missed = [n for n, line in enumerate(source.lines) if not seen[n] and _MARKERS.sub("", line, count=1)]
    for first, last in _runs(missed, source):
        yield Problem(
            "lost-text",
            source.lines_span(first + 1, last + 1),
            "nested too deep; this text would not be printed",
            "use fewer levels of lists and quotes",
        )


def _runs(numbers: Iterable[int], source: Source) -> Iterator[tuple[int, int]]:
    """Stretches of these lines; empty lines between two don't part them, as one fault swallows both."""
    first = last = None
    for n in numbers:
        if last is not None and first is not None and any(map(str.strip, source.lines[last + 1 : n])):
            yield first, last
            first = n
        first, last = (n if first is None else first), n
    if first is not None and last is not None:
        yield first, last


def _after_tables(source: Source, tokens: list[Token]) -> Iterator[Problem]:
    for table, after in _followed_tables(tokens):
        if after.map is None or table.map is None or after.map[0] != table.map[1]:
            continue
        where = source.line_span(after.map[0] + 1)
        if after.type == "paragraph_open":
            yield Problem(
                "lost-text",
                where,
                "the table is cut here: it has too many missing cells",
                "give each row as many cells as the header, or split the table",
            )
        elif after.type == "code_block":
            yield Problem(
                "lost-text",
                where,
                "the table is cut here: this line is indented and read as code",
                "begin the row where the table's other rows begin",
            )


def _followed_tables(tokens: list[Token]) -> Iterator[tuple[Token, Token]]:
    opened: list[Token] = []
    for token, after in zip(tokens, tokens[1:], strict=False):
        if token.type == "table_open":
            opened.append(token)
        elif token.type == "table_close":
            yield opened.pop(), after


def _open_fences(source: Source, tokens: list[Token]) -> Iterator[Problem]:
    for token in tokens:
        if token.type == "fence" and token.map and not _closed(source, token):
            yield Problem(
                "lost-text",
                source.line_span(token.map[0] + 1),
                "this code block is never closed, so all that follows is read as code",
                f"close it with a line `{token.markup}`",
            )


def _open_comments(source: Source, tokens: list[Token]) -> Iterator[Problem]:
    for token in tokens:
        if token.type == "html_block" and token.map and never_closed(token.content):
            yield Problem(
                "lost-text",
                source.line_span(token.map[0] + 1),
                "this comment is never closed, so all that follows is read as part of it",
                "close it with `-->`",
            )


def never_closed(html: str) -> bool:
    """True for a comment that runs to the end of its page, quote or list."""
    return html.lstrip().startswith("<!--") and "-->" not in html


def _no_tables(source: Source, tokens: list[Token]) -> Iterator[Problem]:
    """A header row over a line of dashes with another number of cells: no table, but one paragraph."""
    for token, inline in zip(tokens, tokens[1:], strict=False):
        if token.type != "paragraph_open" or not token.map or "|" not in inline.content:
            continue
        lines = inline.content.split("\n")
        for number, (head, line) in enumerate(zip(lines, lines[1:], strict=False), token.map[0] + 1):
            if "|" in head and "|" in line and "-" in line and _DELIMITERS.fullmatch(line):
                yield Problem(
                    "lost-text",
                    source.line_span(number),
                    "this is read as a paragraph: the dashes below make another number of columns",
                    "give the line of dashes as many cells as the header",
                )
                break


def _closed(source: Source, token: Token) -> bool:
    first, end = token.map or (0, 0)
    if end - first < 2:
        return False
    last = source.lines[end - 1].lstrip(" \t>").rstrip()
    return len(last) >= len(token.markup) and set(last) == {token.markup[0]}


def extra_cells(source: Source, line: int, width: int, nested: bool) -> Problem | None:
    """Cells beyond the header's, which a table doesn't print."""
    cells = row_cells(source, line, nested)
    if len(cells) <= width:
        return None
    where = cells[width].whole().to(cells[-1].whole())
    return Problem(
        "lost-text",
        where,
        f"the row has {len(cells)} cells and the header {width}; the rest would not be printed",
        "remove the cells, give the header more columns, or write a bar in a cell as `\\|`",
    )


def unquoted_line(where: Span) -> Problem:
    """A line that runs on into a quote above it without a `>` of its own."""
    return Problem(
        "lost-text",
        where,
        "this line joins the quote above it without its own `>`",
        "begin it with `>` if it belongs to the quote, or put an empty line before it",
    )
