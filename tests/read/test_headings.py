"""Headings: which open a node, what it holds, its name, its kind, its anchor."""

from __future__ import annotations

import pytest

from kb.reference import HEADING_KINDS, Kind
from tests.bases import base, node, only, told, under


@pytest.mark.parametrize("kind", HEADING_KINDS)
@pytest.mark.parametrize("level", range(1, 7))
def test_each_kind_opens_a_node_at_any_level(kind, level):
    read = base(f"{'#' * level} {kind}: Some name\n")
    found = node(read, "Some name")
    assert (found.kind, found.level) == (kind, level)
    assert found.id == f"page.md#{kind.lower()}-some-name"
    assert (found.page, found.anchor) == ("page.md", f"{kind.lower()}-some-name")
    assert under(read, found.span) == f"{kind}: Some name"
    assert under(read, found.name_span) == "Some name"


def test_the_kinds_are_those_of_the_format():
    assert [str(k) for k in HEADING_KINDS] == [
        "Function", "Symptom", "Cause", "Test", "Repair", "Access", "Tool", "Hazard", "Term", "Vehicle",
        "Circuit", "Lesson", "Question", "Exercise",
    ]  # fmt: skip


@pytest.mark.parametrize("word", ["test", "TEST", "Test", "tEST"])
def test_kinds_are_read_without_regard_to_case(word):
    read = base(f"# {word}: A\n")
    assert node(read, "A").kind is Kind.TEST
    assert told(read) == []


@pytest.mark.parametrize(
    ("heading", "name"),
    [
        ("# Test: Plain", "Plain"),
        ("# Test: With *emphasis*, **bold** and `code`", "With emphasis, bold and code"),
        ("# Test:   white \t space", "white space"),
        ("# Test: closing hashes ##", "closing hashes"),
        ("# Test: C# and #", "C#  and".replace("  ", " ")),
        ("# Test: an escaped \\* star", "an escaped * star"),
        ("# Test: A &amp; B", "A & B"),
        ("# Test: Colon: inside", "Colon: inside"),
        ("# Test: Über 5 °C", "Über 5 °C"),
        ("  # Test: Indented", "Indented"),
        ("Test: Underlined\n===", "Underlined"),
        ("Test: Of two\nlines\n---", "Of two lines"),
        ("# Test:No space", "No space"),
        ("# *Test*: Marked kind", "Marked kind"),
    ],
)
def test_a_name_is_the_plain_text_of_its_heading(heading, name):
    read = base(heading + "\n")
    assert [n.name for n in read.of_kind(Kind.TEST)] == [name]
    assert told(read) == []


@pytest.mark.parametrize(
    "heading",
    [
        "# Plain words", "# Testing: this", "# A Test: this", "# Tests: several", "# Notes: here", "# Test", "# Test this",
        "# Test : this", "# Functions: all of them", "# 2: Test", "# Hazards: a list", "# Symptoms:", "# : A", "#",
        "# Text of the page",
    ],
)  # fmt: skip
def test_other_headings_are_prose(heading):
    read = base(heading + "\n\nWords.\n")
    assert [n.kind for n in read.pages["page.md"].nodes] == [Kind.PAGE]
    assert told(read) == []


# One letter wrong, missing, extra, or two swapped.
@pytest.mark.parametrize(
    ("word", "kind"),
    [
        ("Tset", Kind.TEST), ("Tst", Kind.TEST), ("Teest", Kind.TEST), ("Text", Kind.TEST), ("tESTT", Kind.TEST),
        ("Symtom", Kind.SYMPTOM), ("Fuction", Kind.FUNCTION), ("Acces", Kind.ACCESS), ("Hasard", Kind.HAZARD),
        ("Couse", Kind.CAUSE), ("Reapir", Kind.REPAIR), ("Vehikle", Kind.VEHICLE), ("Circut", Kind.CIRCUIT),
        ("Toll", Kind.TOOL), ("Tern", Kind.TERM), ("Lessen", Kind.LESSON), ("Questoin", Kind.QUESTION),
        ("Exercice", Kind.EXERCISE),
    ],
)  # fmt: skip
def test_a_kind_but_for_one_letter_is_told_and_read_as_meant(word, kind):
    read = base(f"Words.\n\n## {word}: A name\n")
    assert told(read) == [("unknown-kind", 3, word)]
    assert only(read).help == f"did you mean `{kind}`?"
    assert node(read, "A name").kind is kind


@pytest.mark.parametrize("word", ["Tsset2", "Tsts", "Testing", "Kind", "Remarks", "Tests", "Accesses", "Vehicles", "Teh"])
def test_two_letters_wrong_or_a_plural_is_no_kind(word):
    assert told(base(f"# {word}: A\n"), "unknown-kind") == []


@pytest.mark.parametrize("sign", ["[", "]", ";", "|"])
def test_signs_that_a_name_may_not_hold(sign):
    read = base(f"# Test: A\\{sign}B\n")
    assert told(read) == [("bad-value", 1, f"A\\{sign}B")]


@pytest.mark.parametrize("heading", ["# Test: [A]", "# Test: see [this](page.md)", "# Test: ![x](y.png)"])
def test_a_name_holds_no_link(heading):
    assert ("bad-value", 1, heading[8:]) in told(base(heading + "\n"))


@pytest.mark.parametrize("heading", ["# Test:", "# Test: ", "# Test: #", "# Test: **"])
def test_a_node_without_a_name(heading):
    rules = [rule for rule, line, _ in told(base(heading + "\n"))]
    assert rules == ["bad-value"] or heading.endswith("**")


PAGE = """Words before.

# Function: F

Of F.

## Symptom: S

Of S.

### Prose of S

More of S.

## Prose of F

Still F.

### Cause: C

Of C.

# Test: T

Of T.


"""


def test_a_node_holds_all_up_to_the_next_heading_of_its_level_or_higher():
    read = base(PAGE)
    assert {n.name: (n.span.line, n.end_line) for n in read.pages["page.md"].nodes} == {
        "": (1, 25), "F": (3, 21), "S": (7, 13), "C": (19, 21), "T": (23, 25),
    }  # fmt: skip


def test_blocks_belong_to_the_innermost_node():
    read = base(PAGE)
    texts = {n.name: [under(read, b.span) for b in n.blocks] for n in read.pages["page.md"].nodes}
    assert texts == {
        "": ["Words before."],
        "F": ["Of F.", "Prose of F", "Still F."],
        "S": ["Of S.", "Prose of S", "More of S."],
        "C": ["Of C."],
        "T": ["Of T."],
    }


def test_nodes_nest_by_their_headings():
    read = base(PAGE)
    parents = {n.name: read.parent(n) for n in read.pages["page.md"].nodes if n.name}
    assert {name: parent.name if parent else None for name, parent in parents.items()} == {
        "F": None, "S": "F", "C": "F", "T": None,
    }  # fmt: skip
    assert [n.name for n in read.children(node(read, "F"))] == ["S", "C"]
    assert [n.name for n in read.ancestors(node(read, "C"))] == ["F"]


def test_levels_may_be_skipped_on_the_way_down():
    read = base("# Function: F\n\n#### Symptom: S\n\n## Cause: C\n\n### Test: T\n\n## Repair: R\n")
    parents = {n.name: p.name for n in read.pages["page.md"].nodes if (p := read.parent(n))}
    assert parents == {"S": "F", "C": "F", "T": "C", "R": "F"}


def test_a_heading_without_a_kind_closes_no_node_above_it_and_opens_none():
    read = base("## Test: T\n\nOf T.\n\n# Higher prose\n\nAfter it.\n")
    assert node(read, "T").end_line == 3
    assert under(read, read.pages["page.md"].nodes[0].blocks[-1].span) == "After it."


@pytest.mark.parametrize("before", ["> ", "- ", "1. ", "> - "])
def test_a_node_heading_in_a_list_or_quote_opens_none_and_is_told(before):
    read = base(f"{before}# Test: T\n")
    assert told(read) == [("bad-value", 1, "# Test: T"[2:])]
    assert read.of_kind(Kind.TEST) == ()


@pytest.mark.parametrize("before", ["> ", "- ", "1. "])
def test_a_plain_heading_in_a_list_or_quote_is_no_problem(before):
    assert told(base(f"{before}# Words\n")) == []


@pytest.mark.parametrize(
    ("name", "anchor"),
    [
        ("Lamp at the mirror plug", "test-lamp-at-the-mirror-plug"),
        ("12 V at J2.tilt?", "test-12-v-at-j2-tilt-"),
        ("Won't -- fold_in", "test-won-t-fold-in"),
        ("Ä Öl", "test-ä-öl"),
        ("(A)", "test-a-"),
    ],
)
def test_an_anchor_is_lower_case_with_a_hyphen_for_each_run_of_other_signs(name, anchor):
    assert node(base(f"# Test: {name}\n"), name).anchor == anchor


def test_a_second_use_of_an_anchor_gets_a_number():
    read = base("# Test: A b\n\n# Test: A-b\n\n# Test: A_b\n\n# Cause: A b\n")
    assert [n.anchor for n in read.pages["page.md"].nodes[1:]] == ["test-a-b", "test-a-b-2", "test-a-b-3", "cause-a-b"]
    assert told(read, "ambiguous-name") == []


def test_a_numbered_anchor_never_takes_one_that_a_name_has():
    read = base("# Test: A\n\n# Test: A 2\n\n# Test: a\n")
    anchors = [n.anchor for n in read.pages["page.md"].nodes[1:]]
    assert len(set(anchors)) == 3


def test_plain_headings_have_anchors_too():
    read = base("# Where to begin\n\n## Test A\n\n# Test: A\n\n## Where to begin\n")
    assert read.pages["page.md"].anchors == {"where-to-begin", "where-to-begin-2", "test-a", "test-a-2"}
    assert node(read, "A").anchor == "test-a"


def test_the_first_heading_of_the_front_page_is_the_title():
    read = base(index="Words.\n\n# My base\n\n- Statement: S.\n\n# Second\n")
    assert (read.title, read.root.kind, read.root.id) == ("My base", Kind.BASE, "index.md")
    assert read.root.text("Statement") == "S."


def test_other_pages_have_no_title_node_but_a_title():
    read = base("# Just words\n\nText.\n", sub__other="Nothing.\n")
    assert read.pages["page.md"].nodes[0].kind is Kind.PAGE
    assert read.pages["sub/other.md"].title == "sub/other.md"
