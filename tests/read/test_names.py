"""Names make links: where a name is looked for, how it is made exact, and names that fail."""

from __future__ import annotations

import pytest

from kb.model import Base
from tests.bases import INDEX, base, base_of, node, told

DEF = {"index.md": INDEX}


def targets(read: Base, page: str = "page.md") -> list[str | None]:
    """What each reference of a page names, in order."""
    return [found.id if (found := read.target(ref)) else None for ref in read.pages[page].refs]


def pages(**texts: str) -> Base:
    """A base of these pages."""
    return base_of(DEF | {name.replace("__", "/") + ".md": text for name, text in texts.items()})


# The shapes of a reference link, CommonMark 0.31.2 section 6.3.
@pytest.mark.parametrize(
    "written",
    [
        "[Lamp test]", "[Lamp test][]", "[words][Lamp test]", "[Words *marked*][Lamp test]", "[lamp TEST]", "[Lamp\ntest]",
        "[Lamp   test]", "[ Lamp test ]", "**[Lamp test]**", "([Lamp test])", "[Lamp test].", "[Lamp test]s", "[`code`][lamp test]",
        "![Lamp test]", "[Test: Lamp test]", "[test:lamp test]", "[page/Lamp test]", "[page/Test: Lamp test]",
        "[Test: page/Lamp test]", "[PAGE/lamp test]",
    ],
)  # fmt: skip
def test_ways_to_write_a_reference(written):
    read = base(f"# Test: Lamp test\n\n# Words\n\nSee {written} there.\n")
    assert targets(read) == ["page.md#test-lamp-test"]
    assert told(read) == []


def test_a_reference_shows_its_own_words():
    read = base("# Test: A\n\n# Words\n\n[the *first* one][A] and [A] and [a][].\n")
    assert [(r.label, r.shown) for r in read.pages["page.md"].refs] == [("A", "the first one"), ("A", "A"), ("a", "a")]


@pytest.mark.parametrize(
    "written",
    ["\\[A\\]", "`[A]`", "[A](page.md)", "    [A]", "```\n[A]\n```", "[]", "[ ]", "<http://x.example/[A]>", "!\\[A]"],
)
def test_what_is_no_reference(written):
    read = base(f"Words.\n\n{written}\n")
    assert targets(read) == []
    assert told(read, "unknown-name") == []


def test_brackets_that_name_nothing():
    read = base("# Test: Lamp\n\nSee [Nothing like it] and [x][Gone].\n")
    assert told(read) == [("unknown-name", 3, "[Nothing like it]"), ("unknown-name", 3, "[x][Gone]")]


def test_the_nearest_name_is_offered():
    read = base("# Test: Lamp at the plug\n\nSee [Lamp at the plugs].\n")
    (problem,) = read.problems
    assert problem.help == "did you mean `[Lamp at the plug]`?"


@pytest.mark.parametrize(
    ("pages_", "expected"),
    [
        ({"a__p": "# Test: T\n\n[T]\n", "a__q": "# Test: T\n", "r": "# Test: T\n"}, "a/p.md#test-t"),
        ({"a__p": "[T]\n", "a__q": "# Test: T\n", "r": "# Test: T\n", "b__s": "# Test: T\n"}, "a/q.md#test-t"),
        ({"a__p": "[T]\n", "b__q": "# Test: T\n"}, "b/q.md#test-t"),
        ({"a__p": "[T]\n", "a__b__q": "# Test: T\n"}, "a/b/q.md#test-t"),
        ({"a__p": "[T]\n", "r": "# Test: T\n"}, "r.md#test-t"),
    ],
)
def test_a_name_is_looked_for_on_its_page_then_in_its_folder_then_in_the_base(pages_, expected):
    read = pages(**pages_)
    assert targets(read, "a/p.md") == [expected]
    assert told(read) == []


def test_a_folder_is_looked_through_without_what_lies_below():
    read = pages(a__p="[T]\n", a__b__q="# Test: T\n", c__r="# Test: T\n")
    assert told(read) == [("ambiguous-name", 1, "[T]")]


@pytest.mark.parametrize(
    "pages_",
    [
        {"p": "[X]\n\n# Test: X\n\n# Cause: X\n"},
        {"p": "[X]\n", "q": "# Test: X\n", "r": "# Test: X\n"},
        {"p": "[X]\n", "a__q": "# Test: X\n", "b__r": "# Cause: X\n"},
    ],
)
def test_two_at_the_same_stage_are_ambiguous(pages_):
    read = pages(**pages_)
    assert told(read) == [("ambiguous-name", 1, "[X]")]
    assert targets(read, "p.md") == [None]


def test_a_place_that_takes_certain_kinds_looks_among_these():
    read = base("# Symptom: S\n- Causes: [X]\n- Order: [X]\n\n# Test: X\n\n# Cause: X\n")
    assert targets(read) == ["page.md#cause-x", "page.md#test-x"]
    assert told(read) == []


def test_the_right_kind_further_off_is_taken_before_another_kind_on_the_page():
    read = pages(p="# Symptom: S\n- Causes: [X]\n\n# Test: X\n", a__q="# Cause: X\n")
    assert targets(read, "p.md") == ["a/q.md#cause-x"]


@pytest.mark.parametrize("label", ["X", "Test: X", "q/X"])
def test_a_node_of_another_kind_is_the_wrong_kind(label):
    read = pages(p=f"# Symptom: S\n- Causes: [{label}]\n", q="# Test: X\n")
    assert told(read) == [("wrong-kind", 2, f"[{label}]")]


def test_a_kind_before_the_name_makes_it_exact():
    read = base("# Words\n\n[Test: X] [Cause: X] [cause:  x]\n\n# Test: X\n\n# Cause: X\n")
    assert targets(read) == ["page.md#test-x", "page.md#cause-x", "page.md#cause-x"]
    assert told(read) == []


@pytest.mark.parametrize(
    ("label", "expected"),
    [
        ("glass/X", "a/glass.md#test-x"), ("a/glass/X", "a/glass.md#test-x"), ("fold/X", "b/fold.md#test-x"),
        ("b/fold/Test: X", "b/fold.md#test-x"), ("Test: b/fold/X", "b/fold.md#test-x"), ("B/FOLD/x", "b/fold.md#test-x"),
        ("a/X", None), ("lass/X", None), ("glass.md/X", None), ("/glass/X", "a/glass.md#test-x"),
    ],
)  # fmt: skip
def test_the_end_of_a_pages_path_makes_it_exact(label, expected):
    read = pages(p=f"[{label}]\n", a__glass="# Test: X\n", b__fold="# Test: X\n")
    assert targets(read, "p.md") == [expected]
    assert (told(read) == []) == (expected is not None)


def test_a_path_is_tried_after_the_whole_label_as_a_name():
    read = pages(p="[glass/X] [On/off]\n", glass="# Test: X\n", q="# Test: glass/X\n\n# Cause: On/off\n")
    assert targets(read, "p.md") == ["q.md#test-glass-x", "q.md#cause-on-off"]


def test_a_name_that_holds_a_colon_or_a_kind():
    read = base("# Words\n\n[Test: Test: X] [Cause: of all] [Term: Cause: of all]\n\n# Test: Test: X\n\n# Term: Cause: of all\n")
    assert targets(read) == ["page.md#test-test-x", "page.md#term-cause-of-all", "page.md#term-cause-of-all"]
    assert told(read) == []


def test_two_nodes_of_one_kind_may_not_share_a_name_on_a_page():
    read = base("# Test: Lamp\n\n# Cause: Lamp\n\n# Test:  lamp\n\n# Test: LAMP\n")
    assert told(read) == [("ambiguous-name", 5, "lamp"), ("ambiguous-name", 7, "LAMP")]


def test_the_same_name_on_two_pages_is_no_problem_by_itself():
    assert told(pages(p="# Test: X\n", q="# Test: X\n")) == []


def test_a_reference_by_a_former_name_is_told_with_the_new_one():
    read = base("# Cause: New\n- Formerly: Old; Very old\n\n# Words\n\n[Old] [very  OLD]\n")
    assert told(read) == [("unknown-name", 6, "[Old]"), ("unknown-name", 6, "[very  OLD]")]
    assert {p.help for p in read.problems} == {"it is now called `[New]`"}


def test_a_former_name_gives_way_to_a_name_that_is_in_use():
    read = base("# Cause: New\n- Formerly: Old\n\n# Test: Old\n\n[Old]\n")
    assert targets(read) == ["page.md#test-old"]
    assert told(read) == []


def test_former_names_keep_their_anchors():
    read = base("# Cause: New\n- Formerly: Old one; Plain\n\n# Cause: Plain\n")
    assert node(read, "New").old_anchors == ("cause-old-one",)


def test_names_stand_in_tables_lists_quotes_and_messages():
    read = base(
        "# Test: A\n- After: [A]\n\n> **WARNING** [H]\n\n1. See [A].\n   - and [A]\n\n> quoted [A]\n\n"
        "| x |\n|---|\n| [A] |\n\n| Finding | Clears | Next |\n|---|---|---|\n| of [A] | [C] | [A] |\n\n# Cause: C\n\n# Hazard: H\n"
    )
    assert told(read) == []
    assert sorted(t.split("#")[1] for t in targets(read)) == ["cause-c", "hazard-h", *["test-a"] * 7]


def test_a_definition_of_a_link_is_told_and_is_told_once():
    read = base("# Words\n\nSee [Name] and [name].\n\n[Name]: https://example.org\n")
    assert told(read) == [("bad-value", 5, "[Name]: https://example.org")]


def test_a_definition_of_a_name_changes_nothing():
    read = base("# Test: A\n\n[A] there\n\n[A]: gone.md\n")
    assert targets(read) == ["page.md#test-a"]
    assert told(read) == [("bad-value", 5, "[A]: gone.md")]


def test_only_on_takes_vehicles():
    read = base("# Test: T\n- Only on: [V]; [C]\n\n# Vehicle: V\n\n# Cause: C\n")
    assert told(read) == [("wrong-kind", 2, "[C]")]


def test_a_long_label_is_no_reference():
    """CommonMark 0.31.2: at most 999 characters in a link label."""
    read = base(f"[{'a' * 999}]\n\n[{'b' * 1000}]\n")
    assert [line for _, line, _ in told(read, "unknown-name")] == [1]


@pytest.mark.parametrize("name", ["Straße", "STRASSE", "ΣΑΣ", "σας"])
def test_case_is_folded_as_unicode_does(name):
    other = {"Straße": "strasse", "STRASSE": "straße", "ΣΑΣ": "σας", "σας": "ΣΑΣ"}[name]
    assert targets(base(f"# Test: {name}\n\n[{other}]\n")) == [node(base(f"# Test: {name}\n"), name).id]


def test_help_tells_how_to_make_an_ambiguous_name_exact():
    by_kind = base("[X]\n\n# Test: X\n\n# Cause: X\n")
    by_page = pages(p="[X]\n", a__q="# Test: X\n", b__r="# Test: X\n")
    by_name = base("[X]\n\n# Test: X\n\n# Test: x\n")
    for read, written in ((by_kind, "[Test: X]"), (by_page, "[a/q/X]")):
        (problem,) = [p for p in read.problems if p.span.line == 1]
        assert f"`{written}`" in problem.help
        exact = {"page.md": f"{written}\n\n# Test: X\n\n# Cause: X\n"} if read is by_kind else None
        assert exact is None or told(base_of(DEF | exact)) == []
    assert any("different names" in p.help for p in by_name.problems)
