"""Small bases in memory, and problems in a form that tests can state."""

from __future__ import annotations

from kb.diagnostic import Problem
from kb.model import Base, Node
from kb.read.base import read_files
from kb.source import Span

INDEX = "# A base\n\n- Statement: Follow the maker's instructions.\n"


def base(page: str = "", **more: str) -> Base:
    """A base of `page.md`, a plain `index.md`, and more pages: `shared__tools="..."` is shared/tools.md."""
    files = {"index.md": INDEX, "page.md": page}
    files |= {name.replace("__", "/") + ".md": text for name, text in more.items()}
    return base_of(files)


def base_of(files: dict[str, str | bytes]) -> Base:
    """A base of these files by path."""
    return read_files({name: text if isinstance(text, bytes) else text.encode() for name, text in files.items()})


def node(read: Base, name: str) -> Node:
    """The only node of this name."""
    (found,) = [n for n in read.nodes.values() if n.name == name]
    return found


def under(read: Base, span: Span) -> str:
    """The words of the file at a span; lines are joined by a newline."""
    page = read.pages.get(span.path)
    lines = (page.source if page else read.sources[span.path]).lines[span.line - 1 : span.end_line]
    if not lines:
        return ""
    cut = [*lines[:-1], lines[-1][: span.end_column - 1]]
    cut[0] = cut[0][span.column - 1 :]
    return "\n".join(cut)


def told(read: Base, *rules: str) -> list[tuple[str, int, str]]:
    """Rule, line and marked words of each problem, in reading order; only of `rules` where given."""
    problems = sorted(read.problems, key=lambda p: (p.span.path, p.span.start, p.rule))
    return [(p.rule, p.span.line, under(read, p.span)) for p in problems if not rules or p.rule in rules]


def only(read: Base) -> Problem:
    """The one problem of a base."""
    (problem,) = read.problems
    return problem
