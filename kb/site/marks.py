"""Which problem is shown at which line of a page that is published despite errors."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from kb.diagnostic import Diagnostic, Severity
from kb.model import Base, Block, Node, Page
from kb.reference import Kind


@dataclass(frozen=True, slots=True)
class Marks:
    """Errors by page path and line of what is printed there; `counts` holds a page's errors."""

    by_line: Mapping[tuple[str, int], tuple[Diagnostic, ...]] = field(default_factory=dict)
    counts: Mapping[str, int] = field(default_factory=dict)

    def at(self, path: str, line: int) -> tuple[Diagnostic, ...]:
        """The errors to show at a line where something printed begins."""
        return self.by_line.get((path, line), ())

    @property
    def total(self) -> int:
        """All errors of the base."""
        return sum(self.counts.values())


def mark(base: Base, diagnostics: Iterable[Diagnostic]) -> Marks:
    """Give each error to the last printed thing that begins at or before its line."""
    found: dict[tuple[str, int], list[Diagnostic]] = defaultdict(list)
    counts: dict[str, int] = defaultdict(int)
    lines = {path: sorted(set(_page_lines(page))) for path, page in base.pages.items()}
    for diagnostic in diagnostics:
        span = diagnostic.problem.span
        if diagnostic.severity is not Severity.ERROR:
            continue
        counts[span.path] += 1
        if known := lines.get(span.path):
            found[span.path, known[max(bisect_right(known, span.line) - 1, 0)]].append(diagnostic)
    return Marks({place: tuple(all_here) for place, all_here in found.items()}, dict(counts))


def _page_lines(page: Page) -> Iterator[int]:
    for node in page.nodes:
        yield from _node_lines(node)


def _node_lines(node: Node) -> Iterator[int]:
    if node.kind is not Kind.PAGE:
        yield node.span.line
    yield from (fact.span.line for fact in node.facts.values())
    yield from (finding.span.line for finding in node.findings)
    for block in node.blocks:
        yield from _block_lines(block)


def _block_lines(block: Block) -> Iterator[int]:
    """Lines at which the templates ask: leaves, items and rows, never what merely holds them."""
    if block.table:
        yield from (row.span.line for row in block.table.rows)
        yield from () if block.table.role == "findings" else (block.table.header.span.line,)
    elif block.type not in ("steps", "bullets", "quote"):
        yield block.span.line
    for child in block.children:
        yield from _block_lines(child)
