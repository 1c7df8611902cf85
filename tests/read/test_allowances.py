"""Allowances: which comment is one, its rule and reason, the lines it reaches; other HTML is told."""

from __future__ import annotations

import pytest

from tests.bases import base, told, under


def allowances(text: str):
    """Rule, reason, first and last line of each allowance."""
    return [(a.rule, a.reason, a.first, a.last) for a in base(text).pages["page.md"].allowances]


@pytest.mark.parametrize(
    ("comment", "rule", "reason"),
    [
        ("<!-- allow no-steps: nothing to do -->", "no-steps", "nothing to do"),
        ("<!--allow no-steps:nothing-->", "no-steps", "nothing"),
        ("<!-- allow no-steps -->", "no-steps", ""),
        ("<!-- allow no-steps: -->", "no-steps", ""),
        ("<!-- allow no-steps: a: b -->", "no-steps", "a: b"),
        ("<!-- allow no-steps: two\nlines -->", "no-steps", "two lines"),
        ("<!-- allow made-up: x -->", "made-up", "x"),
        ("<!-- allow -->", "", ""),
    ],
)
def test_an_allowance_names_a_rule_and_a_reason(comment, rule, reason):
    text = f"{comment}\nWords.\n"
    read = base(text)
    (found,) = read.pages["page.md"].allowances
    assert (found.rule, found.reason) == (rule, reason)
    assert under(read, found.span) == comment
    assert told(read, "raw-html") == []


@pytest.mark.parametrize("comment", ["<!-- allowed no-steps: x -->", "<!-- permit x: y -->", "<!-- a remark -->", "<div>", "<!-- allow x: y --> words"])
def test_other_html_is_told(comment):
    read = base(f"{comment}\n\nWords.\n")
    assert read.pages["page.md"].allowances == ()
    assert told(read) == [("raw-html", 1, comment)]


def test_html_in_a_line_is_told_each_time():
    assert told(base("An <b>odd</b> word.\n\n| <i> |\n|---|\n| x |\n")) == [
        ("raw-html", 1, "<b>"), ("raw-html", 1, "</b>"), ("raw-html", 3, "<i>"),
    ]  # fmt: skip


def test_a_comment_in_a_line_is_no_allowance():
    assert told(base("Words <!-- allow x: y --> more.\n"), "raw-html") == [("raw-html", 1, "<!-- allow x: y -->")]


ALLOW = "<!-- allow x: y -->\n"


@pytest.mark.parametrize(
    ("text", "reach"),
    [
        (ALLOW + "One\ntwo.\n\nThree.\n", (2, 3)),
        ("\n" + ALLOW + "\n\nOne.\n", (5, 5)),
        (ALLOW + "- a\n- b\n  - c\n\nAfter.\n", (2, 4)),
        (ALLOW + "1. a\n\n   more\n\n2. b\n\nAfter.\n", (2, 6)),
        (ALLOW + "> a\n> b\n\nAfter.\n", (2, 3)),
        (ALLOW + "| a |\n|---|\n| b |\n\nAfter.\n", (2, 4)),
        (ALLOW + "```\na\n```\nAfter.\n", (2, 4)),
        (ALLOW + "![x](y.png)\n\nAfter.\n", (2, 2)),
        (ALLOW + "## Test: T\n\nOf T.\n\n### Cause: C\n\nOf C.\n\n## Test: U\n", (2, 8)),
        (ALLOW + "## Test: T\n\nOf T.\n\n# Plain\n", (2, 4)),
        (ALLOW + "## Plain\n\nOf it.\n\n### Deeper\n\nMore.\n\n## Next\n", (2, 9)),
        (ALLOW, (0, 0)),
        ("Words.\n\n" + ALLOW, (0, 0)),
    ],
)
def test_an_allowance_reaches_the_block_below_or_the_whole_node(text, reach):
    assert [a[2:] for a in allowances(text)] == [reach]


def test_several_allowances_reach_the_same_block():
    assert [a[2:] for a in allowances(ALLOW + "\n" + ALLOW + "\n" + ALLOW + "\nWords.\n")] == [(7, 7)] * 3


@pytest.mark.parametrize("lines", [ALLOW + ALLOW, ALLOW + "<!-- a remark -->\n"])
def test_comments_on_lines_that_follow_each_other_stand_each_by_itself(lines):
    """CommonMark ends a comment's block at the line that holds its end."""
    assert len(allowances(lines + "Words.\n")) == lines.count("allow")


def test_an_allowance_above_a_later_part_of_a_node():
    text = "# Test: T\n\nOne.\n\n" + ALLOW + "\nTwo.\n\nThree.\n"
    assert [a[2:] for a in allowances(text)] == [(7, 7)]


def test_an_allowance_in_a_list_reaches_the_next_block_there():
    text = "1. One.\n\n   <!-- allow x: y -->\n\n   Two.\n\n2. Three.\n"
    assert [a[2:] for a in allowances(text)] == [(5, 5)]


def test_an_allowance_may_stand_above_the_facts():
    read = base("# Test: T\n" + ALLOW + "\n- Takes: 5 min\n- Needs: [L]\n\n# Tool: L\n")
    (found,) = read.pages["page.md"].allowances
    assert (found.first, found.last) == (4, 5)
    assert told(read) == []
