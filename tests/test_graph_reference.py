"""Loops, reach, what findings leave, groups and access, held against slow obvious code on random bases."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from kb.graph import ambiguity_groups, build_graph, loops
from kb.reference import Ref
from kb.source import Span
from tests.bases import INDEX, base, base_of

NODES = "abcdefg"
EDGES = st.lists(st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)), max_size=16)


def steps_from(start: str, edges: list[tuple[str, str]]) -> set[str]:
    """All nodes at the end of a way of one edge or more, by trying edges until nothing new comes."""
    found: set[str] = set()
    while True:
        new = {b for a, b in edges if (a == start or a in found) and b not in found}
        if not new:
            return found
        found |= new


@given(EDGES)
def test_loops(edges):
    """Nodes lie on one circle where each is at the end of a way from the other."""
    refs = [(a, b, Ref(Span("p.md", line, 1, line, 2), b, b)) for line, (a, b) in enumerate(edges, 1)]
    circles = {tuple(sorted(m for m in NODES if n in steps_from(m, edges) and m in steps_from(n, edges))) for n in NODES} - {()}
    expected = sorted(
        (min(line for line, (a, b) in enumerate(edges, 1) if a in circle and b in circle), circle) for circle in circles
    )
    assert [(ref.span.line, nodes) for ref, nodes in loops(refs)] == expected


@given(EDGES, st.sets(st.sampled_from(NODES)), st.sets(st.sampled_from(NODES)))
def test_what_is_reached(edges, roots, taught):
    """Symptoms, and what a lesson names, lead on along references."""
    text = "".join(f"# {'Symptom' if n in roots else 'Cause'}: {n}\n\n{''.join(f'[{b}] ' for a, b in edges if a == n)}\n\n" for n in NODES)
    text += "# Lesson: L\n\n" + "".join(f"[{n}] " for n in sorted(taught)) + "\n"
    read = base(text)
    names = {n.name for n in read.nodes.values() if n.id in build_graph(read).reached()}
    expected = roots | taught | {n for root in roots | taught for n in steps_from(root, edges)}
    assert names & set(NODES) == expected


@given(st.lists(st.tuples(st.sampled_from(NODES), st.sampled_from(NODES)), max_size=12), st.sampled_from(NODES))
def test_access_is_closed(edges, start):
    text = "".join(f"# Access: {n}\n- Access: {'; '.join(f'[{b}]' for a, b in edges if a == n)}\n\n" for n in NODES)
    read = base(text)
    found = [n.name for n in build_graph(read).access(f"page.md#access-{start}")]
    assert set(found) == steps_from(start, edges) - {start}
    assert len(set(found)) == len(found)
    circular = any(n in steps_from(n, edges) for n in NODES)
    for a, b in edges:
        if a in found and b in found and not circular:
            assert found.index(b) < found.index(a), "what has to be off first comes first"


CAUSES = "ABCDE"
ROW = st.tuples(st.sets(st.sampled_from(CAUSES + "Z")), st.sets(st.sampled_from(CAUSES + "Z")))
TESTS = st.lists(st.lists(ROW, min_size=1, max_size=3), max_size=4)


def kept(row: tuple[set[str], set[str]], causes: set[str]) -> set[str]:
    """The definition: a row that proves leaves what it proves; else what it doesn't clear is left."""
    clears, proves = row
    return causes & proves if proves else causes - clears


def written(tests, symptoms: dict[str, str]) -> str:
    """The pages of these tests: a cause stands in one column of a row only."""
    text = "".join(f"# Symptom: {name}\n- Causes: {'; '.join(f'[{c}]' for c in causes)}\n\n" for name, causes in symptoms.items())
    text += "".join(f"# Cause: {c}\n\n" for c in CAUSES + "Z")
    for number, rows in enumerate(tests):
        text += f"# Test: T{number}\n- Takes: 1 min\n\n| Finding | Clears | Proves |\n|---|---|---|\n"
        for clears, proves in rows:
            cells = ["; ".join(f"[{c}]" for c in sorted(names)) for names in (clears - proves, proves)]
            text += f"| x | {cells[0]} | {cells[1]} |\n"
        text += "\n"
    return text


@given(TESTS, st.permutations(CAUSES), st.integers(1, 5))
def test_what_findings_leave_and_which_causes_stay_together(tests, order, count):
    causes = "".join(order[:count])
    read = base(written(tests, {"S": causes}))
    graph = build_graph(read)
    speaking = [i for i, rows in enumerate(tests) if any((clears | proves) & set(causes) for clears, proves in rows)]
    assert [n.name for n in graph.tests("page.md#symptom-s")] == [f"T{i}" for i in speaking]
    for i, rows in enumerate(tests):
        for number, row in enumerate(rows):
            left = graph.left(f"page.md#test-t{i}", number, "page.md#symptom-s")
            assert [n.name for n in left] == [c for c in causes if c in kept(row, set(causes))]
    apart = {
        frozenset((a, b)) for a in causes for b in causes for i in speaking for row in tests[i]
        if (a in kept(row, set(causes))) != (b in kept(row, set(causes)))
    }  # fmt: skip
    groups = [[n.name for n in group] for group in ambiguity_groups(graph, "page.md#symptom-s")]
    assert sorted("".join(group) for group in groups) == sorted(slow_groups(causes, apart))
    assert [group[0] for group in groups] == sorted((group[0] for group in groups), key=causes.index)


def slow_groups(causes: str, apart: set[frozenset[str]]) -> set[str]:
    """Each cause with all that no pair tells from it."""
    return {"".join(b for b in causes if frozenset((a, b)) not in apart) for a in causes}


@given(st.lists(st.tuples(st.sampled_from("ST"), st.sampled_from(CAUSES)), max_size=20), st.dictionaries(st.sampled_from(CAUSES), st.integers(1, 50)))
def test_weights(jobs, counts):
    """The writer's weight (nothing said: 1) plus the number of the history's rows for that pair."""
    causes = {"S": CAUSES, "T": "ABC"}
    page = written([], causes)
    for cause, count in counts.items():
        page = page.replace(f"[{cause}]", f"[{cause}] — {count}")
    rows = "".join(f"2024-01-01,,{symptom},{cause},5\n" for symptom, cause in jobs)
    read = base_of({"index.md": INDEX + "- History: h.csv\n", "page.md": page, "h.csv": "date,vehicle,symptom,cause,minutes\n" + rows})
    graph = build_graph(read)
    for symptom, named in causes.items():
        assert [(c.cause.name, c.weight) for c in graph.causes(f"page.md#symptom-{symptom.lower()}")] == [
            (c, counts.get(c, 1) + jobs.count((symptom, c))) for c in named
        ]
    lost = [job for job in jobs if job[1] not in causes[job[0]]]
    assert len([p for p in read.problems if p.rule == "unmet-history" and "no cause" in p.message]) == len(lost)
