"""Each rule's Bad example breaks the rule just at its marks, and the Good example keeps it."""

from __future__ import annotations

import pytest

from kb.checks import CATALOGUE, Rule, run
from kb.checks._manual import read_example
from kb.graph import build_graph
from kb.read.base import read_files

INDEX = "# Invented base\n\n- Statement: The maker's instructions come first.\n"
RULES = sorted(CATALOGUE.values(), key=lambda rule: rule.name)
IDS = [rule.name for rule in RULES]


def places(example: str, rule: str) -> set[tuple[str, int]]:
    files = {"index.md": INDEX, **read_example(example).files}
    base = read_files({path: text.encode() for path, text in files.items()})
    found = run(base, build_graph(base))
    return {(d.problem.span.path, d.problem.span.line) for d in found if d.problem.rule == rule}


@pytest.mark.parametrize("rule", RULES, ids=IDS)
def test_bad_example_breaks_the_rule_at_its_marks(rule: Rule) -> None:
    marks = read_example(rule.bad).marks
    assert marks
    assert places(rule.bad, rule.name) == set(marks)


@pytest.mark.parametrize("rule", RULES, ids=IDS)
def test_good_example_keeps_the_rule(rule: Rule) -> None:
    assert places(rule.good, rule.name) == set()


@pytest.mark.parametrize("rule", RULES, ids=IDS)
def test_manual_says_in_a_sentence_what_the_rule_catches(rule: Rule) -> None:
    assert rule.summary.endswith((".", "?"))
    assert len(rule.summary) <= 110
