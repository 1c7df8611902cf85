"""What a rule may ask: the base, its graph, and what could not be read (which isn't judged further)."""

from __future__ import annotations

from dataclasses import dataclass, field

from kb.graph import Graph
from kb.model import Base, Node
from kb.source import Span

UNREAD = frozenset(("unknown-name", "ambiguous-name", "wrong-kind", "bad-value", "unknown-point", "lost-text"))


@dataclass(frozen=True)
class Asked:
    """A base and its graph; `unread_lines` are the lines on which something couldn't be read."""

    base: Base
    graph: Graph
    unread_lines: frozenset[tuple[str, int]] = field(init=False)

    def __post_init__(self) -> None:
        lines = frozenset(
            (p.span.path, line)
            for p in self.base.problems
            if p.rule in UNREAD
            for line in range(p.span.line, min(p.span.end_line, p.span.line + 1000) + 1)
        )
        object.__setattr__(self, "unread_lines", lines)

    def unread(self, span: Span) -> bool:
        """True where something within these lines couldn't be read."""
        return any((span.path, line) in self.unread_lines for line in range(span.line, span.end_line + 1))

    def unread_fact(self, node: Node, key: str) -> bool:
        """True where a fact's value couldn't be read."""
        return key in node.facts and self.unread(node.facts[key].span)

    def unread_findings(self, node: Node) -> bool:
        """True where a row of a test couldn't be read."""
        return any(self.unread(row.span) for row in node.findings)
