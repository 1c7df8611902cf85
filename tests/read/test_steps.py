"""Steps and what else counts as one: numbering over messages, moments in reading order, points."""

from __future__ import annotations

import pytest

from tests.bases import base, node, told, under


def moments(text: str, kind: str = "Test"):
    """Words of each moment, whether it is numbered; a message's is None."""
    read = base(f"# {kind}: T\n\n- Takes: 5 min\n\n{text}\n\n# Hazard: H\n")
    return [(None if m.message else m.text, m.numbered) for m in node(read, "T").moments]


def starts(text: str, kind: str = "Test") -> list[tuple[int, int]]:
    """First number and length of each ordered list."""
    read = base(f"# {kind}: T\n\n{text}\n\n# Hazard: H\n")
    return [(b.start, len(b.children)) for b in node(read, "T").blocks if b.type == "steps"]


def test_numbered_items_are_steps():
    assert moments("1. One.\n2. Two\n   lines.\n3. *Three*.\n") == [("One.", True), ("Two lines.", True), ("Three.", True)]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("A paragraph.", ["A paragraph."]),
        ("Two\nlines.\n\nSecond.", ["Two lines.", "Second."]),
        ("* a bullet\n* another", ["a bullet", "another"]),
        ("## A plain heading", ["A plain heading"]),
        ("```\ncut the wire\n```", ["cut the wire\n"]),
        ("Words.\n\n    cut the wire", ["Words.", "cut the wire\n"]),
        ("| a | b |\n|---|---|\n| c | |", ["a", "b", "c"]),
        ("> a quote", ["a quote"]),
        ("> - in both", ["in both"]),
        ("See [the H][H] `J2.a`.", ["See the H J2.a."]),
    ],
)
def test_other_words_count_as_steps_too(text, found):
    assert moments(text) == [(words, False) for words in found]


@pytest.mark.parametrize(
    "text",
    [
        "![a picture](x.png)", "| Finding | Clears |\n|---|---|\n| cut it | |", "***", "<!-- allow no-steps: why -->",
        "![a](x.png)\n![b](y.png)",
    ],
)  # fmt: skip
def test_what_is_no_step(text):
    assert moments(text) == []


def test_facts_are_no_steps_and_messages_are_moments_of_their_own():
    assert moments("> **WARNING** [H]\n\n1. One.\n\n> **NOTICE: x.** A. B.\n\n2. Two.") == [
        (None, False), ("One.", True), (None, False), ("Two.", True),
    ]  # fmt: skip


def test_what_is_nested_in_a_step_counts_by_itself():
    text = "1. One.\n\n   More of one.\n\n   - a\n   - b\n\n   | t |\n   |---|\n   | u |\n\n2. Two.\n   1. Inner.\n"
    assert moments(text) == [
        ("One.", True), ("More of one.", False), ("a", False), ("b", False), ("t", False), ("u", False), ("Two.", True),
        ("Inner.", True),
    ]  # fmt: skip


def test_a_nodes_moments_are_its_own():
    read = base("# Test: T\n\nOuter.\n\n## Cause: C\n\nInner.\n")
    assert [m.text for m in node(read, "T").moments] == ["Outer."]
    assert [m.text for m in node(read, "C").moments] == ["Inner."]


def test_moments_know_their_place():
    read = base("# Test: T\n\n1. First  step\n   here.\n")
    (moment,) = node(read, "T").moments
    assert under(read, moment.span) == "First  step\n   here."


MESSAGE = "\n\n> **WARNING** [H]\n\n"
PICTURE = "\n\n![a plug](plug.png)\n\n"


@pytest.mark.parametrize("between", [MESSAGE, PICTURE, MESSAGE + PICTURE, "\n\n<!-- allow raw-html: x -->\n\n"])
@pytest.mark.parametrize("next_number", [1, 3])
def test_numbering_goes_on_over_messages_and_pictures(between, next_number):
    assert starts(f"1. a\n2. b{between}{next_number}. c\n{next_number + 1}. d") == [(1, 2), (3, 2)]


@pytest.mark.parametrize("between", ["\n\nWords.\n\n", "\n\n## Heading\n\n", "\n\n* bullet\n\n", "\n\n> quote\n\n", "\n\n```\ncode\n```\n\n"])
def test_other_text_ends_the_numbering(between):
    assert starts(f"1. a\n2. b{between}1. c") == [(1, 2), (1, 1)]


@pytest.mark.parametrize("kind", ["Test", "Repair", "Access"])
def test_each_procedure_numbers_its_steps(kind):
    assert starts(f"1. a{MESSAGE}1. b", kind) == [(1, 1), (2, 1)]


def test_other_nodes_keep_the_numbers_as_written():
    assert starts(f"1. a{MESSAGE}1. b", "Cause") == [(1, 1), (1, 1)]


def test_a_list_may_start_at_another_number():
    assert starts(f"4. a\n5. b{MESSAGE}6. c") == [(4, 2), (6, 1)]
    assert starts(f"1. a{MESSAGE}7. b") == [(1, 1), (7, 1)]
    assert starts("0. a") == [(0, 1)]


def test_numbering_goes_on_over_three_lists():
    assert starts(f"1. a{MESSAGE}1. b{MESSAGE}1. c\n2. d") == [(1, 1), (2, 1), (3, 2)]


# Points of a circuit.


@pytest.mark.parametrize("kind", ["Test", "Repair", "Access", "Circuit"])
def test_points_in_procedures_and_circuits(kind):
    read = base(f"# {kind}: T\n\nAt `J2.tilt` or `J2.tilt mirror`, `B1.+`.\n\n| a |\n|---|\n| `M1.a` |\n")
    assert [(p.text, under(read, p.span)) for p in node(read, "T").points] == [
        ("J2.tilt", "`J2.tilt`"), ("J2.tilt mirror", "`J2.tilt mirror`"), ("B1.+", "`B1.+`"), ("M1.a", "`M1.a`"),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", ["Function", "Symptom", "Cause", "Tool", "Hazard", "Lesson"])
def test_no_points_elsewhere(kind):
    assert node(base(f"# {kind}: T\n\nAt `J2.tilt`.\n"), "T").points == ()


@pytest.mark.parametrize("code", ["J2", "12.6 V", "J2.", ".tilt", "a.b.c", "J2. tilt", "J2.tilt mirror side", "2J.a", "x = y.z"])
def test_code_of_another_shape_is_no_point(code):
    assert node(base(f"# Test: T\n\nAt `{code}`.\n"), "T").points == ()


def test_points_stand_in_messages_and_steps_too():
    read = base("# Test: T\n\n> **WARNING: x.** At `J1.a`. Wait.\n\n1. At `J2.a`.\n   - `J3.a`\n")
    assert [p.text for p in node(read, "T").points] == ["J1.a", "J2.a", "J3.a"]


def test_steps_of_a_test_in_a_finding_are_none():
    read = base("# Test: T\n\n1. Look.\n\n| Finding | Clears |\n|---|---|\n| Look at `J9.a` | |\n")
    assert [m.text for m in node(read, "T").moments] == ["Look."]
    assert told(read) == []
