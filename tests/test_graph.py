"""How nodes hang together, each answer on a small base worked out by hand (all invented)."""

from __future__ import annotations

import pytest

from kb.graph import ambiguity_groups, build_graph, loops, refs_of, share_vehicle, survivors
from kb.isolation.matrix import build_matrix
from kb.read.base import on_vehicle, read_files
from kb.reference import Ref
from kb.source import Span
from tests.bases import INDEX, base, base_of, node

HEAD = """# Function: F

## Symptom: S
- Causes: [A] — common; [B] — 4; [C]; [D] — rare

## Symptom: S two
- Causes: [B]
- Order: [Far]; [T]

## Cause: A
- Repair: [R]

## Cause: B
- Repair: [R]; [R two]
- How often: occasional

## Cause: C
- How often: 20
- Repair: [R two]

## Cause: D

## Test: T
- Takes: 5 min

| Finding | Clears | Proves |
|---|---|---|
| all | [A]; [B]; [C]; [D] | |
| some | [A]; [A]; [Elsewhere] | |
| none | | |
| proof | | [B] |
| two | | [B]; [D] |
| other | | [Elsewhere] |
| both | [D] | [B] |

## Test: Silent
- Takes: 5 min

## Test: U
- Takes: 1 min

| Finding | Clears |
|---|---|
| x | [D] |
| y | [C] |

## Cause: Elsewhere

# Test: Far
- Takes: 1 min

# Repair: R
- Takes: 3 min

# Repair: R two
- Takes: 3 min
"""


@pytest.fixture(scope="module")
def read():
    return base(HEAD)


@pytest.fixture(scope="module")
def graph(read):
    return build_graph(read)


def names(nodes) -> list[str]:
    return [n.name for n in nodes]


def test_causes_in_the_writers_order_with_their_weights(graph):
    """common 6, a count itself, the cause's own `How often`, and 1 where nothing is said."""
    assert [(c.cause.name, c.weight, c.word, c.jobs) for c in graph.causes("page.md#symptom-s")] == [
        ("A", 6, "common", 0), ("B", 4, "4", 0), ("C", 20, "20", 0), ("D", 1, "rare", 0),
    ]  # fmt: skip
    assert [(c.cause.name, c.weight, c.word) for c in graph.causes("page.md#symptom-s-two")] == [("B", 3, "occasional")]


HISTORY = "date,vehicle,symptom,cause,minutes\n" + "2024-01-01,V,S,A,5\n" * 3 + "2024-01-01,W,S,D,5\n2024-01-01,V,S two,B,5\n"


def test_the_history_adds_to_the_weights_of_its_symptom():
    files = {"index.md": INDEX + "- History: h.csv\n", "page.md": HEAD + "\n# Vehicle: V\n", "h.csv": HISTORY}
    graph = build_graph(base_of(files))
    assert [(c.weight, c.jobs) for c in graph.causes("page.md#symptom-s")] == [(9, 3), (4, 0), (20, 0), (2, 1)]
    assert [(c.weight, c.jobs) for c in graph.causes("page.md#symptom-s-two")] == [(4, 1)]


def test_a_vehicle_with_too_few_jobs_of_its_own_counts_those_of_all():
    files = {"index.md": INDEX + "- History: h.csv\n", "page.md": HEAD + "\n# Vehicle: V\n", "h.csv": HISTORY}
    read = read_files({k: v.encode() for k, v in files.items()}, "V")
    assert [c.jobs for c in build_graph(read).causes("page.md#symptom-s")] == [3, 0, 0, 1]
    assert (len(read.jobs), len(read.jobs_elsewhere)) == (4, 1)


def test_a_cause_named_twice_counts_once():
    graph = build_graph(base("# Symptom: S\n- Causes: [A] — rare; [a] — common\n\n# Cause: A\n"))
    assert [c.weight for c in graph.causes("page.md#symptom-s")] == [1]


def test_a_dead_cause_leaves_the_others():
    graph = build_graph(base("# Symptom: S\n- Causes: [Gone entirely]; [A]\n\n# Cause: A\n"))
    assert [c.cause.name for c in graph.causes("page.md#symptom-s")] == ["A"]


@pytest.mark.parametrize(
    ("row", "left"),
    [(0, ""), (1, "BCD"), (2, "ABCD"), (3, "B"), (4, "BD"), (5, ""), (6, "B")],
)
def test_what_a_finding_leaves(graph, row, left):
    """A row clears what it names, or proves and so clears all others; proving none of them leaves none."""
    assert names(graph.left("page.md#test-t", row, "page.md#symptom-s")) == list(left)


def test_survivors_of_a_row(read):
    row = node(read, "T").findings[1]
    assert survivors(read, row, ["page.md#cause-b", "page.md#cause-a"]) == {"page.md#cause-b"}


def test_a_finding_for_other_vehicles_leaves_nothing_on_the_chosen_one():
    page = """# Vehicle: Weir

# Vehicle: Fen

# Cause: A

# Test: T
- Takes: 5 min

| Finding | Clears | Only on |
|---|---|---|
| x | | [Weir] |
| y | | |
"""
    read = base(page)
    for vehicle, left in ((None, [1, 1]), ("Weir", [1, 1]), ("Fen", [0, 1])):
        own = on_vehicle(read, node(read, vehicle).id) if vehicle else read
        assert [len(survivors(own, row, ["page.md#cause-a"])) for row in node(own, "T").findings] == left


def test_a_test_speaks_about_symptoms_whose_causes_it_names(graph):
    assert names(graph.symptoms_of("page.md#test-t")) == ["S", "S two"]
    assert names(graph.symptoms_of("page.md#test-u")) == ["S"]
    assert names(graph.symptoms_of("page.md#test-silent")) == []
    assert names(graph.symptoms_of("page.md#cause-b")) == ["S", "S two"]
    assert names(graph.symptoms_of("page.md#cause-elsewhere")) == []


@pytest.mark.parametrize(
    ("symptom", "test", "speaks"),
    [
        ("", "", True),
        ("", "- Comes and goes: yes", False),
        ("- Comes and goes: yes", "- Comes and goes: yes", True),
        ("- Comes and goes: yes", "", True),
        ("- Order: [T]", "- Comes and goes: yes", True),
        ("- Comes and goes: no", "- Comes and goes: no", True),
    ],
)
def test_what_provokes_a_fleeting_fault_is_asked_only_where_the_fault_is_fleeting(symptom, test, speaks):
    page = f"# Symptom: S\n- Causes: [A]\n{symptom}\n\n# Cause: A\n\n# Test: T\n- Takes: 1 min\n{test}\n\n| Finding | Clears |\n|---|---|\n| x | [A] |\n| y | |\n"
    found = build_graph(base(page))
    assert names(found.tests("page.md#symptom-s")) == (["T"] if speaks else [])
    assert [row.id for row in build_matrix(found, "page.md#symptom-s").tests] == (["page.md#test-t"] if speaks else [])
    assert names(found.symptoms_of("page.md#test-t")) == (["S"] if speaks else [])
    assert names(found.tests_of("page.md#cause-a")) == ["T"]  # it still names the cause


def test_the_tests_of_a_symptom_are_the_writers_first_then_those_that_speak(graph):
    assert names(graph.tests("page.md#symptom-s")) == ["T", "U"]
    assert names(graph.tests("page.md#symptom-s-two")) == ["Far", "T"]


def test_the_tests_of_a_cause(graph):
    assert names(graph.tests_of("page.md#cause-d")) == ["T", "U"]
    assert names(graph.tests_of("page.md#cause-b")) == ["T"]


def test_repairs_and_their_causes(graph):
    assert names(graph.repairs("page.md#cause-b")) == ["R", "R two"]
    assert names(graph.repairs("page.md#cause-d")) == []
    assert names(graph.causes_of("page.md#repair-r-two")) == ["B", "C"]


def test_causes_that_no_test_tells_apart(graph):
    assert [names(g) for g in ambiguity_groups(graph, "page.md#symptom-s")] == [["A"], ["B"], ["C"], ["D"]]
    plain = build_graph(base("# Symptom: S\n- Causes: [A]; [B]; [C]\n\n# Cause: A\n\n# Cause: B\n\n# Cause: C\n\n# Test: T\n\n| Finding | Clears |\n|---|---|\n| x | [B] |\n"))
    assert [names(g) for g in ambiguity_groups(plain, "page.md#symptom-s")] == [["A", "C"], ["B"]]


# Access.

ACCESS = """# Test: T
- Access: [Inner]; [Key]

# Access: Inner
- Access: [Middle]; [Key]

# Access: Middle
- Access: [Outer]

# Access: Outer

# Access: Key

# Access: Loop one
- Access: [Loop two]

# Access: Loop two
- Access: [Loop one]

# Test: U
- Access: [Loop one]
"""


def test_access_is_closed_and_in_the_order_of_work():
    graph = build_graph(base(ACCESS))
    assert names(graph.access("page.md#test-t")) == ["Outer", "Middle", "Key", "Inner"]
    assert names(graph.access("page.md#access-inner")) == ["Outer", "Middle", "Key"]
    assert names(graph.access("page.md#access-key")) == []


def test_access_that_needs_itself_comes_to_an_end():
    graph = build_graph(base(ACCESS))
    assert set(names(graph.access("page.md#test-u"))) == {"Loop one", "Loop two"}
    assert names(graph.access("page.md#access-loop-one")) == ["Loop two"]


# Hazards.


def hazard(fact: str) -> str:
    return f"\n# Hazard: H\n- Signal word: WARNING\n{fact}\n"


BODY = """# Function: F

## Symptom: S
- Causes: [C]

## Cause: C
- Repair: [Outside repair]; [Repair inside]

## Test: Inside
- Takes: 1 min

Open the door trim now.

## Repair: Repair inside

## Access: Access inside

# Function: G

## Test: In another

| Finding | Clears |
|---|---|
| x | [C] |

# Test: Outside

| Finding | Proves |
|---|---|
| x | [C] |

# Test: Outside and silent

# Repair: Outside repair

# Repair: Outside, for nothing

# Access: A

# Access: B
- Access: [A]

# Test: With A
- Access: [A]

# Repair: With B
- Access: [B]

# Tool: Lamp

# Test: With lamp
- Needs: [Lamp]

# Repair: With B and lamp
- Access: [B]
- Needs: [Lamp]

Words only: the DOOR
trim is off. Doors open.
"""


def calling(fact: str, more: str = "") -> set[str]:
    """The nodes that call for a hazard with this trigger."""
    read = base(BODY + hazard(fact) + more)
    graph = build_graph(read)
    return {n.name for n in read.nodes.values() if graph.hazards(n.id)}


@pytest.mark.parametrize(
    ("fact", "nodes"),
    [
        ("- With access: [A]", {"A", "B", "With A"}),
        ("- With access: [B]", {"B", "With B", "With B and lamp"}),
        ("- With tool: [Lamp]", {"With lamp", "With B and lamp"}),
        ("- In function: [F]", {"Inside", "Repair inside", "Access inside", "Outside", "Outside repair"}),
        ("- In function: [G]", {"In another"}),
        ("- At words: door trim", {"Inside", "With B and lamp"}),
        ("- At words: Door  TRIM", {"Inside", "With B and lamp"}),
        ("- At words: door", {"Inside", "With B and lamp"}),
        ("- At words: door*", {"Inside", "With B and lamp"}),
        ("- At words: doors", {"With B and lamp"}),
        ("- At words: oor", set()),
        ("- At words: door tri", set()),
        ("- At words: op*", {"Inside", "With B and lamp"}),
        ("- At words: nothing; off", {"With B and lamp"}),
        ("- With tool: [Lamp]\n- With access: [A]", {"A", "B", "With A", "With lamp", "With B and lamp"}),
        ("- With tool: [Gone]", set()),
        ("", set()),
    ],
)
def test_what_calls_for_a_hazard(fact, nodes):
    assert calling(fact) == nodes


def test_a_hazard_of_one_vehicle_concerns_nodes_of_that_vehicle():
    more = "\n# Vehicle: V\n\n# Vehicle: W\n\n# Test: On V\n- Only on: [V]\n- Needs: [Lamp]\n\n# Test: On W\n- Only on: [W]\n- Needs: [Lamp]\n"
    assert calling("- With tool: [Lamp]\n- Only on: [V]", more) == {"With lamp", "With B and lamp", "On V"}
    assert calling("- With tool: [Lamp]", more) >= {"On V", "On W"}


def test_only_procedures_call_for_hazards():
    more = "\n# Cause: With words\n\nThe door trim.\n\n# Term: Other words\n\nThe door trim.\n"
    assert calling("- At words: door trim", more) == {"Inside", "With B and lamp"}


STEPS = """# Test: T
- Needs: [Lamp]

> **NOTICE: first.** One. Two.

Words first.

1. Look at the *door
   trim*.
2. Cut it.

# Tool: Lamp

# Test: No steps
- Needs: [Lamp]

> **NOTICE: only a message.** Door trim. Cut it.
"""


@pytest.mark.parametrize(
    ("fact", "step", "trigger"),
    [
        ("- With tool: [Lamp]", "Words first.", "the tool `Lamp`"),
        ("- At words: cut", "Cut it.", "the phrase `Cut`"),
        ("- At words: cut*; door trim", "Look at the door trim.", "the phrase `door trim`"),
        ("- At words: cut\n- With tool: [Lamp]", "Words first.", "the tool `Lamp`"),
    ],
)
def test_the_step_that_calls(fact, step, trigger):
    read = base(STEPS + hazard(fact))
    (call,) = build_graph(read).hazards("page.md#test-t")
    assert (call.moment.text, call.trigger, call.hazard.name) == (step, trigger, "H")


def test_words_in_a_message_call_for_nothing_and_a_node_without_steps_has_no_moment():
    read = base(STEPS + hazard("- With tool: [Lamp]"))
    (call,) = build_graph(read).hazards("page.md#test-no-steps")
    assert call.moment is None
    assert build_graph(base(STEPS + hazard("- At words: cut"))).hazards("page.md#test-no-steps") == ()


def test_a_nodes_hazards_stand_in_the_bases_order():
    read = base(STEPS + hazard("- With tool: [Lamp]") + hazard("- At words: words").replace("Hazard: H", "Hazard: Before"), a=hazard("- At words: cut").replace("Hazard: H", "Hazard: First"))
    assert [c.hazard.name for c in build_graph(read).hazards("page.md#test-t")] == ["First", "H", "Before"]


@pytest.mark.parametrize(
    ("a", "b", "shared"),
    [("", "", True), ("[V]", "", True), ("[V]", "[V]; [W]", True), ("[V]", "[W]", False), ("[V]", "[Gone]", False)],
)
def test_nodes_that_share_a_vehicle(a, b, shared):
    read = base(f"# Test: A\n- Only on: {a}\n\n# Test: B\n- Only on: {b}\n\n# Vehicle: V\n\n# Vehicle: W\n")
    assert share_vehicle(read, node(read, "A"), node(read, "B")) is shared


# Functions, lessons, references, what is reached.


def test_the_function_around_a_node(graph):
    assert graph.function("page.md#test-t").name == "F"
    assert graph.function("page.md#test-far") is None


LESSONS = """# Lesson: One
- Covers: [T]

Read about [C].

## Question: Which?

About [U].

## Exercise: Find it
- Hidden: [C]

# Lesson: Two
- After: [One]
- Covers: [T]

# Test: T

# Test: U

# Cause: C

# Test: Untaught
"""


@pytest.mark.parametrize(("name", "lessons"), [("T", ["One", "Two"]), ("U", ["One"]), ("C", ["One"]), ("Untaught", []), ("One", ["Two"])])
def test_the_lessons_of_a_node(name, lessons):
    read = base(LESSONS)
    assert names(build_graph(read).lessons_of(node(read, name).id)) == lessons


def test_all_places_that_refer():
    read = base(
        "# Test: X\n\n# Test: By fact\n- After: [X]\n\n# Test: By step\n\n1. See [X].\n\n# Test: By finding\n\n"
        "| Finding | Next |\n|---|---|\n| of [X] | |\n| y | [X] |\n\n# Test: By message\n\n> **NOTICE** it is [X]\n\n"
        "# Test: By table\n\n| a |\n|---|\n| [X] |\n\n# Test: By itself\n\n[By itself]\n\n"
        "# Circuit: By circuit\n\n| Reading of | Position |\n|---|---|\n| [X] | up |\n"
    )
    graph = build_graph(read)
    assert names(graph.named_on("page.md#test-x")) == ["By fact", "By step", "By finding", "By message", "By table", "By circuit"]
    assert graph.named_on("page.md#test-by-itself") == ()
    assert [r.label for r in refs_of(node(read, "By finding"))] == ["X", "X"]


REACH = """# Symptom: S
- Causes: [A]

# Cause: A
- Repair: [R]

# Repair: R
- Verify: [T]

# Test: T
- Access: [X]

# Access: X

# Cause: Alone
- Repair: [Alone too]

# Repair: Alone too
- Verify: [Alone three]

# Test: Alone three
"""


def test_what_a_reader_comes_to():
    read = base(REACH, more="# Words\n\nSee [Alone].\n")
    reached = build_graph(read).reached()
    assert {n.name for n in read.nodes.values() if n.id in reached and n.name} == {"A base", "S", "A", "R", "T", "X"}


@pytest.mark.parametrize("root", ["# Lesson: L\n\n[Alone]\n", "# Lesson: L\n\n## Question: Q\n\n[Alone]\n", "# Symptom: S2\n\n[Alone]\n"])
def test_lessons_and_symptoms_lead_on(root):
    read = base(REACH, more=root)
    assert "page.md#test-alone-three" in build_graph(read).reached()


def test_the_front_page_leads_on_and_a_speaking_test_is_reached():
    read = base(REACH + "\n# Test: Speaks\n- Access: [Y]\n\n| Finding | Clears |\n|---|---|\n| x | [A] |\n\n# Access: Y\n", index=INDEX + "\nSee [Alone].\n")
    assert {"page.md#test-alone-three", "page.md#test-speaks", "page.md#access-y"} <= build_graph(read).reached()


# Loops.


def edge(a: str, b: str, line: int, path: str = "p.md"):
    return a, b, Ref(Span(path, line, 1, line, 2), b, b)


@pytest.mark.parametrize(
    ("edges", "found"),
    [
        ([], []),
        ([edge("a", "b", 1), edge("b", "c", 2), edge("a", "c", 3)], []),
        ([edge("a", "a", 1)], [(1, ("a",))]),
        ([edge("a", "b", 3), edge("b", "a", 2)], [(2, ("a", "b"))]),
        ([edge("a", "b", 1), edge("b", "c", 2), edge("c", "b", 3)], [(2, ("b", "c"))]),
        ([edge("a", "b", 5), edge("b", "a", 6), edge("c", "d", 1), edge("d", "c", 2), edge("a", "c", 3)], [(1, ("c", "d")), (5, ("a", "b"))]),
    ],
)
def test_each_circle_is_told_once_at_its_first_reference(edges, found):
    assert [(ref.span.line, nodes) for ref, nodes in loops(edges)] == found


def test_an_empty_base_has_an_empty_graph():
    read = base("")
    graph = build_graph(read)
    assert graph.reached() == {"index.md"}
    assert graph.likely == {}


def test_ordinary_links_lead_on_too():
    more = "# Words\n\n## Part\n\n# Test: At the end\n\nSee [it](../page.md#cause-alone) and [gone](nowhere.md).\n"
    read = base(REACH, index=INDEX + "\n[pages](sub/deep.md#test-at-the-end) [on the page](#nothing)\n", sub__deep=more)
    assert {"sub/deep.md#test-at-the-end", "page.md#test-alone-three"} <= build_graph(read).reached()
    assert "page.md#test-alone-three" not in build_graph(base(REACH, sub__deep=more)).reached()


def test_a_link_by_a_former_anchor_or_to_a_plain_heading_leads_on():
    text = "# Cause: New\n- Formerly: Old\n\n## Plain heading\n\n# Cause: Other\n"
    for link in ("page.md#cause-old", "page.md#plain-heading", "page.md#cause-new"):
        assert "page.md#cause-new" in build_graph(base(text, index=INDEX + f"\n[x]({link})\n")).reached()
    assert "page.md#cause-other" not in build_graph(base(text, index=INDEX + "\n[x](page.md)\n")).reached()


SHARED = """# Function: Left

## Symptom: Left dead

- Causes: [Plug]

## Test: Left tried

- Takes: 1 min

# Function: Right

## Symptom: Right dead

- Causes: [Plug]

## Test: Right tried

- Takes: 9 min

# Function: Neither

## Symptom: Neither dead

- Causes: [Plug]

# Cause: Plug

- Repair: [Seat it]; [Leave it]

# Repair: Seat it

- Takes: 2 min
- Verify: [Left tried]; [Right tried]

# Repair: Leave it

- Takes: 1 min
"""


def test_a_repair_is_proved_by_the_test_of_the_symptoms_function():
    read = base(SHARED)
    graph = build_graph(read)
    seat, leave = node(read, "Seat it").id, node(read, "Leave it").id
    proofs = {s: graph.proof(seat, node(read, f"{s} dead").id) for s in ("Left", "Right", "Neither")}
    assert {s: proof and proof.name for s, proof in proofs.items()} == {
        "Left": "Left tried", "Right": "Right tried", "Neither": "Left tried",
    }  # fmt: skip
    assert graph.proof(leave, node(read, "Left dead").id) is None


def test_a_plan_pays_for_the_proof_of_its_symptoms_function():
    graph = build_graph(base(SHARED))
    seconds = {name: build_matrix(graph, f"page.md#symptom-{name}-dead").repairs[0].seconds for name in ("left", "right")}
    assert seconds == {"left": 180, "right": 660}
