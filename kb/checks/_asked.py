"""What a rule may ask: the base, its graph, and what could not be read (which isn't judged further)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from kb.graph import Graph
from kb.model import Base, Node
from kb.reference import Kind
from kb.source import Span

UNREAD = frozenset(("unknown-name", "ambiguous-name", "wrong-kind", "bad-value", "unknown-point", "lost-text"))


@dataclass(frozen=True)
class Asked:
    """A base and its graph.

    `unread_lines` are the lines on which something couldn't be read, `stray` the facts (page, line, key in
    lower case) that stand where none are read: they are told there, and not as absent too.
    """

    base: Base
    graph: Graph
    unread_lines: frozenset[tuple[str, int]] = field(init=False)
    stray: frozenset[tuple[str, int, str]] = field(init=False)

    def __post_init__(self) -> None:
        lines = frozenset(
            (p.span.path, line)
            for p in self.base.problems
            if p.rule in UNREAD
            for line in range(p.span.line, min(p.span.end_line, p.span.line + 1000) + 1)
        )
        object.__setattr__(self, "unread_lines", lines)
        object.__setattr__(self, "stray", frozenset(self._stray()))

    def _stray(self) -> Iterator[tuple[str, int, str]]:
        for problem in self.base.problems:
            if problem.rule == "stray-fact":
                span = problem.span
                line = self.base.pages[span.path].source.lines[span.line - 1]
                yield span.path, span.line, line[span.column - 1 : span.end_column - 1].casefold()

    def astray(self, node: Node, key: str) -> bool:
        """True where a fact of this key stands within the node, but where facts aren't read."""
        first = 1 if node.kind is Kind.BASE else node.span.line
        return any(p == node.page and first <= line <= node.end_line and k == key.casefold() for p, line, k in self.stray)

    def unread(self, span: Span) -> bool:
        """True where something within these lines couldn't be read."""
        return any((span.path, line) in self.unread_lines for line in range(span.line, span.end_line + 1))

    def unread_fact(self, node: Node, key: str) -> bool:
        """True where a fact couldn't be read, or stands astray."""
        return self.astray(node, key) or key in node.facts and self.unread(node.facts[key].span)

    def unread_findings(self, node: Node) -> bool:
        """True where a row of a test couldn't be read."""
        return any(self.unread(row.span) for row in node.findings)
