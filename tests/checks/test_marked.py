"""Pages with their problems marked on the line itself, compared with all that a check reports.

A page file holds cases. `%% case: words` begins one, `%% file: path` the next file of the case (the first
is `page.md`). A line ends in `<!-- expect: rule, rule -->` where it is to be reported, with `rule@12` for
the column; the mark is taken off before reading. `stock.md` stands beside each case as `stock/stock.md`.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from kb.checks import CATALOGUE, run
from kb.graph import build_graph
from kb.read.base import read_files

HERE = Path(__file__).parent
INDEX = "# Invented base\n\n- Statement: The maker's instructions come first.\n"
MARK = re.compile(r" ?<!-- expect: ([a-z@0-9, -]+?) -->$")
Place = tuple[str, int, str, int]


@dataclass
class Case:
    """Files by path, and the places at which something is to be reported (column 0: any)."""

    name: str
    files: dict[str, list[str]] = field(default_factory=dict)
    expected: list[Place] = field(default_factory=list)

    def add(self, path: str, line: str) -> None:
        lines = self.files.setdefault(path, [])
        mark = MARK.search(line)
        lines.append(line[: mark.start()] if mark else line)
        for one in mark[1].split(",") if mark else ():
            rule, _, column = one.strip().partition("@")
            assert rule in CATALOGUE, f"no rule is called {rule}"
            self.expected.append((path, len(lines), rule, int(column or 0)))

    def reported(self) -> list[Place]:
        files = {"index.md": INDEX, "stock/stock.md": (HERE / "stock.md").read_text("utf-8")}
        files |= {path: "\n".join(lines) + "\n" for path, lines in self.files.items()}
        base = read_files({path: text.encode() for path, text in files.items()})
        problems = [d.problem for d in run(base, build_graph(base)) if d.problem.rule not in SOLVED]
        return [(p.span.path, p.span.line, p.rule, p.span.column) for p in problems]


def cases(text: str) -> list[Case]:
    found: list[Case] = []
    path = "page.md"
    for line in text.split("\n"):
        if line.startswith("%% case: "):
            path = "page.md"
            found.append(Case(line.removeprefix("%% case: ")))
        elif line.startswith("%% file: "):
            path = line.removeprefix("%% file: ")
        elif found:
            found[-1].add(path, line)
    return found


PAGES = sorted(p for p in HERE.glob("*.md") if p.name != "stock.md")
ALL = [(page.stem, case) for page in PAGES for case in cases(page.read_text("utf-8"))]


def anywhere(places: list[Place], like: list[Place]) -> list[Place]:
    """Places whose column nobody states in `like`, without their column."""
    stated = {place for place in like if place[3]}
    return sorted(p if p in stated else (*p[:3], 0) for p in places)


@pytest.mark.parametrize(("page", "case"), ALL, ids=[f"{page}: {case.name}" for page, case in ALL])
def test_a_check_reports_just_what_is_marked(page: str, case: Case) -> None:
    reported, expected = Counter(anywhere(case.reported(), case.expected)), Counter(case.expected)
    assert (sorted(reported - expected), sorted(expected - reported)) == ([], [])


def test_the_stock_alone_is_clean() -> None:
    assert Case("", {"page.md": []}).reported() == []


def test_names_of_cases_differ() -> None:
    names = [(page, case.name) for page, case in ALL]
    assert len(set(names)) == len(names)


def test_each_rule_that_stands_in_a_page_is_marked_somewhere() -> None:
    marked = {rule for _, case in ALL for _, _, rule, _ in case.expected}
    assert marked >= set(CATALOGUE) - SOLVED - {"unreadable-page"}  # no page of text can hold such bytes


def test_a_mark_is_compared() -> None:
    """A case with a wrong mark fails: at another line, another rule, another column, one too many."""
    lines = ["# Tset: T", "- Takes: 1 min"]
    for wrong in (("page.md", 2, "unknown-kind", 0), ("page.md", 1, "unknown-name", 0), ("page.md", 1, "unknown-kind", 9)):
        case = Case("", {"page.md": lines}, [wrong])
        assert anywhere(case.reported(), case.expected) != sorted(case.expected)


# Found by solving a circuit: held by tests beside the solver.
SOLVED = frozenset(("false-claim", "uncovered-reading", "cause-cannot-explain", "missing-cause", "idle-fault"))
