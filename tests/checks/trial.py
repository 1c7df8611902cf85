"""The demonstration base as text that can be edited, and what a check says of an edited one."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from kb.checks import CATALOGUE, run
from kb.checks._allow import Allowances
from kb.checks._asked import Asked
from kb.diagnostic import Problem
from kb.graph import build_graph
from kb.model import Base, Node, Page
from kb.read.base import join_pages, page_of, tables_of
from kb.read.folder import find_files, is_page
from kb.reference import Kind

# Rules that solve circuits take seconds for the whole base and are held by tests beside the solver.
SOLVED = frozenset(("false-claim", "uncovered-reading", "cause-cannot-explain", "missing-cause", "idle-fault", "costly-order"))
CONTENT = Path(__file__).parent.parent.parent / "content"
Lines = list[str]


@dataclass(frozen=True)
class Edit:
    """New bytes of some files. `rule` is to be reported at `path` and `line`; no rule: nothing new is.

    The bytes are made when they are asked for, as far more edits are thought of than tried.
    """

    files: Callable[[], Mapping[str, bytes]]
    rule: str = ""
    path: str = ""
    line: int = 0


class Demo:
    """The base as it is, with each page's lines, and its pages read once."""

    def __init__(self, solved: bool = False) -> None:
        self.solved = solved
        self.data = {path: file.read_bytes() for path, file in find_files(CONTENT).items()}
        self.read: dict[str, Page] = {p: page_of(p, d) for p, d in self.data.items() if is_page(p)}
        self.lines = {p: d.decode().split("\n") for p, d in self.data.items() if p.endswith((".md", ".csv"))}
        self.base = self._join(self.data, self.read)
        self.graph = build_graph(self.base)
        self.before = Counter(_key(p, self.data) for p in self.problems({}))

    def _join(self, data: Mapping[str, bytes], pages: Mapping[str, Page]) -> Base:
        return join_pages(dict(sorted(pages.items())), frozenset(data), tables_of(data))

    def problems(self, changed: Mapping[str, bytes], rule: str = "") -> list[Problem]:
        """All that a check reports with some files changed, as far as `judged` goes."""
        pages = self.read | {p: page_of(p, d) for p, d in changed.items() if is_page(p)}
        base = self._join(self.data | changed, pages)
        return [d.problem for d in run(base, build_graph(base))] if self.solved else judged(base, rule)

    def new_problems(self, edit: Edit) -> list[Problem]:
        """What a check reports beyond what it reports of the base as it is."""
        left, new, changed = Counter(self.before), [], edit.files()
        for problem in self.problems(changed, edit.rule):
            key = _key(problem, self.data | changed)
            if left[key]:
                left[key] -= 1
            else:
                new.append(problem)
        return new

    def more_problems(self, edit: Edit) -> list[str]:
        """Rule and page of which a check reports more than of the base as it is, with all places."""
        before = Counter(key[:2] for key in self.before.elements())
        problems = self.problems(edit.files())
        more = Counter((p.rule, p.span.path) for p in problems) - before
        return [f"{p.rule} {p.span.path}:{p.span.line} {p.message}" for p in problems if (p.rule, p.span.path) in more]

    # Where things stand.

    def nodes(self, *kinds: Kind) -> tuple[Node, ...]:
        return self.base.of_kind(*kinds)

    def rows(self, node: Node) -> Iterator[tuple[int, list[str]]]:
        """The line and the cells of each row of a test's findings."""
        for row in node.findings:
            yield row.span.line, cells(self.lines[node.page][row.span.line - 1])

    def columns(self, node: Node) -> list[str]:
        """The columns of a test's findings table."""
        return cells(self.lines[node.page][node.findings[0].span.line - 3])

    def fact_line(self, node: Node, key: str) -> int:
        """The line of a fact that stands on one line; 0 where it doesn't."""
        span = node.facts[key].span if key in node.facts else None
        return span.line if span and span.line == span.end_line else 0

    # Edits.

    def edit(self, path: str, changes: Mapping[int, Lines], rule: str = "", line: int = 0) -> Edit:
        """Put other lines (none, one or more) in the place of some lines (counted from 1) of a file.

        `line` is where the rule is to be reported, counted in the file as it was; negative: in the new one.
        """
        where = -line if line < 0 else line + sum(len(new) - 1 for number, new in changes.items() if number < line)

        def files() -> Mapping[str, bytes]:
            made = (text for number, old in enumerate(self.lines[path], 1) for text in changes.get(number, [old]))
            return {path: "\n".join(made).encode()}

        return Edit(files, rule, path, where)

    def put_in(self, path: str, after: int, new: Lines, rule: str = "", offset: int = 1) -> Edit:
        """New lines after a line; the rule is to be reported at the new line number `offset` of them."""
        return self.edit(path, {after: [self.lines[path][after - 1], *new]}, rule, -(after + offset))


def judged(base: Base, also: str = "") -> list[Problem]:
    """What all rules report but those that solve circuits; of these only `also`."""
    asked, allowances = Asked(base, build_graph(base)), Allowances(base, CATALOGUE)
    skipped = SOLVED | {"circuit-fault"} - {also}
    rules = [rule for rule in CATALOGUE.values() if rule.check and rule.name not in skipped]
    problems = dict.fromkeys([*base.problems, *(p for rule in rules if rule.check for p in rule.check(asked))])
    left = [p for p in problems if not allowances.lets_pass(p)]
    return left + [p for p in allowances.unused() if CATALOGUE.get(p.rule) and not _of_solved(base, p)]


def _of_solved(base: Base, problem: Problem) -> bool:
    """An allowance for a rule that isn't judged here isn't useless for that."""
    page = base.pages[problem.span.path]
    return any(a.span == problem.span and a.rule in SOLVED for a in page.allowances)


def cells(line: str) -> list[str]:
    """The cells of a table row that begins and ends with a bar and holds no escaped one."""
    return [cell.strip() for cell in line.strip().strip("|").split("|")]


def row(parts: list[str]) -> str:
    """A table row."""
    return "| " + " | ".join(parts) + " |"


def replaced(line: str, old: str, new: str) -> Lines:
    """The line with the first `old` replaced, which has to be there."""
    assert old in line, (old, line)
    return [line.replace(old, new, 1)]


def swapped(word: str) -> str:
    """A word with its third and fourth letter swapped, or the nearest two that differ."""
    for i in (*range(2, len(word) - 1), 0):
        if word[i] != word[i + 1] and word[i : i + 2].isalpha():
            return word[:i] + word[i + 1] + word[i] + word[i + 2 :]
    return word + "x"


def label(line: str) -> str:
    """The first name in brackets of a line, without its brackets."""
    match = re.search(r"\[([^\]]+)\]", line)
    assert match, line
    return match[1]


def _key(problem: Problem, data: Mapping[str, bytes]) -> tuple[str, str, str, str]:
    """A problem apart from its line's number: with the words of its line instead."""
    path, line = problem.span.path, problem.span.line
    lines = data[path].decode(errors="replace").splitlines() if path in data else []
    return (problem.rule, path, problem.message, lines[line - 1].strip() if line <= len(lines) else "")
