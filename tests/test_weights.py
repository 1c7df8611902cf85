"""How the history and the writer's word make weights, and that each says where it comes from (all invented)."""

from __future__ import annotations

import pytest

from kb.graph import Graph, build_graph
from kb.isolation.matrix import build_matrix
from kb.read.base import read_files
from kb.weights import ENOUGH, ENOUGH_EACH
from tests.bases import INDEX

PAGE = """# Symptom: S
- Causes: [A] — common; [B] — 4; [C]; [D]

# Cause: A
# Cause: B
# Cause: C
# Cause: D
- How often: rare
- Only on: [W]

# Vehicle: V
# Vehicle: W
"""


def graph(jobs: list[tuple[str, str]], vehicle: str | None = None, page: str = PAGE) -> Graph:
    rows = "".join(f"2024-01-01,{owner},S,{cause},5\n" for owner, cause in jobs)
    history = "date,vehicle,symptom,cause,minutes\n" + rows
    files = {"index.md": INDEX + "- History: h.csv\n", "page.md": page, "h.csv": history}
    return build_graph(read_files({k: v.encode() for k, v in files.items()}, vehicle))


def told(found: Graph) -> list[tuple[str, int, str]]:
    return [(c.cause.name, c.weight, c.source) for c in found.causes("page.md#symptom-s")]


def test_each_weight_says_who_it_comes_from() -> None:
    assert told(graph([("V", "A")] * 19 + [("W", "B")] * 24)) == [
        ("A", 6 + 19, "19 of 43 jobs here; writer's word: common"),
        ("B", 4 + 24, "24 of 43 jobs here; writer's count: 4"),
        ("C", 1, "0 of 43 jobs here; no word of the writer's"),
        ("D", 1, "0 of 43 jobs here; writer's word: rare"),
    ]


def test_without_jobs_only_the_writer_speaks() -> None:
    assert [source for _, _, source in told(graph([]))][:2] == ["writer's word: common", "writer's count: 4"]
    assert told(graph([("V", "A")]))[0][2] == "1 of 1 job here; writer's word: common"


def test_a_vehicle_with_enough_jobs_speaks_for_itself() -> None:
    """Ten of its own, two a cause (three causes apply to it)."""
    enough = [("V", "A")] * 7 + [("V", "C")] * 3 + [("W", "B")] * 50
    assert told(graph(enough, "V")) == [
        ("A", 6 + 7, "7 of 10 jobs on V; writer's word: common"),
        ("B", 4, "0 of 10 jobs on V; writer's count: 4"),
        ("C", 1 + 3, "3 of 10 jobs on V; no word of the writer's"),
    ]


def test_a_vehicle_with_too_few_leans_on_all() -> None:
    few = [("V", "A")] * (ENOUGH - 1) + [("W", "B")] * 50 + [("W", "D")] * 5 + [("unknown", "C")]
    assert told(graph(few, "V")) == [
        ("A", 6 + 9, "9 of 60 jobs on all vehicles; writer's word: common"),
        ("B", 4 + 50, "50 of 60 jobs on all vehicles; writer's count: 4"),
        ("C", 1 + 1, "1 of 60 jobs on all vehicles; no word of the writer's"),
    ]


@pytest.mark.parametrize(("causes", "jobs", "own"), [(3, 10, True), (3, 9, False), (8, 16, True), (8, 15, False)])
def test_enough_is_ten_and_two_a_cause(causes: int, jobs: int, own: bool) -> None:
    assert (ENOUGH, ENOUGH_EACH) == (10, 2)
    names = [f"C{i}" for i in range(causes)]
    page = f"# Symptom: S\n- Causes: {'; '.join(f'[{n}]' for n in names)}\n\n" + "".join(f"# Cause: {n}\n" for n in names)
    found = graph([("V", "C0")] * jobs + [("W", "C1")], "V", page + "\n# Vehicle: V\n\n# Vehicle: W\n")
    assert [c.jobs for c in found.causes("page.md#symptom-s")][:2] == [jobs, 0 if own else 1]


def test_the_plan_takes_these_weights() -> None:
    assert build_matrix(graph([("V", "A")] * 2), "page.md#symptom-s").weights == (8, 4, 1, 1)
