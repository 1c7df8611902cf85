"""Exact lines and columns of all that can be wrong, in any container: the span holds just its words."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.read.inlines import walk
from kb.source import Span
from tests.bases import base, told, under


def refs(text: str, **more: str):
    """Line, column and end column of each reference of page.md, in reading order."""
    read = base(text, **more)
    found = sorted(r.span.start for r in read.pages["page.md"].refs)
    return found, [under(read, r.span) for r in read.pages["page.md"].refs]


CONTAINERS = {
    "plain": ("", ""),
    "quote": ("> ", "> "),
    "quote without space": (">", ">"),
    "bullet": ("- ", "  "),
    "wide bullet": ("-   ", "    "),
    "step": ("10. ", "    "),
    "step with bracket": ("1) ", "   "),
    "list in quote": ("> - ", ">   "),
    "quote in list": ("- > ", "  > "),
    "list in list": ("- - ", "    "),
    "deep": ("> 1. > * ", ">    >   "),
    "tab after bullet": ("-\t", "\t"),
    "tab in quote": (">\t", ">\t"),
    "tab below bullet": ("- ", "\t"),
    "tab below step": ("1. ", "\t"),
    "tab in quoted list": ("> - ", "> \t"),
    "indented": ("   ", "   "),
    "indented quote": ("  >  ", "  >  "),
}


@pytest.mark.parametrize(("first", "rest"), CONTAINERS.values(), ids=CONTAINERS)
@pytest.mark.parametrize(
    "line",
    ["[X]", "See [X] now", "`[X` and [X]", "ä \U0001f527 [X]", "*a* **b** [X]", "\\[x\\] [X]", "&amp; [X]", "<b> [X]", "[a](b.md) [X]",
     "![a](b.png) [X]", "tab\tin [X]", "# Heading [X]", "## Heading [X] ##"],
)  # fmt: skip
def test_a_reference_in_any_container(first, rest, line):
    text = f"Before.\n\n{first}{line}\n"
    column = len(first) + line.rindex("[X]") + 1
    assert refs(text) == ([(3, column)], ["[X]"])


@pytest.mark.parametrize(("first", "rest"), CONTAINERS.values(), ids=CONTAINERS)
def test_references_on_later_lines(first, rest):
    text = f"{first}One [A]\n{rest}two [B]\n{rest} three `x\n{rest}y` [C]\n"
    found, words = refs(text)
    assert found == [(1, len(first) + 5), (2, len(rest) + 5), (4, len(rest) + 4)]
    assert words == ["[A]", "[B]", "[C]"]


@pytest.mark.parametrize(("first", "rest"), CONTAINERS.values(), ids=CONTAINERS)
def test_a_reference_over_two_lines(first, rest):
    read = base(f"{first}See [two\n{rest}words] and [X]\n")
    spans = [r.span for r in read.pages["page.md"].refs]
    assert spans == [
        Span("page.md", 1, len(first) + 5, 2, len(rest) + 7),
        Span("page.md", 2, len(rest) + 12, 2, len(rest) + 15),
    ]


@pytest.mark.parametrize(("first", "rest"), CONTAINERS.values(), ids=CONTAINERS)
def test_references_in_tables(first, rest):
    rows = ["| a [A] | b |", "|---|---|", "| \\| [B] | `x` [C]|", "|[D]|  [E]  |", "| [F] | \\\\| [G] |"]
    read = base("\n".join([first + rows[0], *(rest + row for row in rows[1:])]) + "\n")
    spans = sorted((r.span for r in read.pages["page.md"].refs), key=lambda s: s.start)
    assert [under(read, s) for s in spans][:5] == ["[A]", "[B]", "[C]", "[D]", "[E]"]
    assert [s.line for s in spans[:5]] == [1, 3, 3, 4, 4]


@pytest.mark.parametrize(
    "row",
    ["a | [X]", "a | [X] |", "| a | [X]", "|a|[X]|", "  | a | [X] |", "|\ta\t|\t[X]\t|", "| a \\| b | [X] |", "| `a \\| b` | [X] |",
     "| - | [X] |", "| > a | [X] |", "| 1. | [X] |", "| ä\U0001f527 | [X] |", "|| [X] |"],
)  # fmt: skip
def test_cells_however_the_row_is_written(row):
    read = base(f"| h | i |\n|---|---|\n{row}\n")
    assert told(read) == [("unknown-name", 3, "[X]")]


@pytest.mark.parametrize(("first", "rest"), CONTAINERS.values(), ids=CONTAINERS)
def test_cells_have_exact_places(first, rest):
    lines = ["| Head one | two |", "|---|---|", "| cell \\| one |  `two`  |"]
    read = base("\n".join([first + lines[0], *(rest + line for line in lines[1:])]) + "\n")
    (table,) = [b.table for b in every_block(read) if b.table]
    assert [under(read, c.span) for r in (table.header, *table.rows) for c in r.cells] == [
        "Head one", "two", "cell \\| one", "`two`",
    ]  # fmt: skip
    assert [c.text for r in (table.header, *table.rows) for c in r.cells] == ["Head one", "two", "cell | one", "two"]


def every_block(read, page: str = "page.md"):
    todo = [b for n in read.pages[page].nodes for b in n.blocks]
    while todo:
        block = todo.pop(0)
        yield block
        todo.extend(block.children)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("# Test: A name\n", "A name"), ("#   Test:   A name   #\n", "A name"), ("## Test: A name ####\n", "A name"),
        ("   # Test: A name\n", "A name"), ("Test: A name\n===\n", "A name"), ("  Test: A\n  name\n---\n", "A\n  name"),
        ("# Test: C# is #1\n", "C# is #1"), ("# Test: A \\#\n", "A \\#"), ("# Test: A `b` *c*\n", "A `b` *c*"), ("#\tTest: A\n", "A"),
        ("# Test: A # \n", "A"), ("# Test: \U0001f527 A\n", "\U0001f527 A"),
    ],
)  # fmt: skip
def test_names_in_headings(text, words):
    read = base(text)
    (found,) = read.pages["page.md"].nodes[1:]
    assert under(read, found.name_span) == words
    assert under(read, found.span).startswith("Test:")


FACTS = """# Test: T

-   Takes:  5 min ;  6 min on [V]
- Needs: [the `lamp`][L]; [Gone one];
   [L two]
- Access:
  * [A]
  * [B *b*][Gone two]
+ After: [Gone three]

# Tool: L

# Tool: L two

# Vehicle: V

# Access: A
"""


def test_facts_and_values():
    read = base(FACTS)
    facts = read.pages["page.md"].nodes[1].facts
    assert {key: under(read, fact.key_span) for key, fact in facts.items()} == {"Takes": "Takes", "Needs": "Needs", "Access": "Access"}
    assert {key: [under(read, v.span) for v in fact.values] for key, fact in facts.items()} == {
        "Takes": ["5 min", "6 min on [V]"],
        "Needs": ["[the `lamp`][L]", "[Gone one]", "[L two]"],
        "Access": ["[A]", "[B *b*][Gone two]"],
    }
    assert told(read, "unknown-name") == [
        ("unknown-name", 4, "[Gone one]"), ("unknown-name", 8, "[B *b*][Gone two]"), ("unknown-name", 9, "[Gone three]"),
    ]  # fmt: skip


@pytest.mark.parametrize("bullet", ["- ", "-  ", "-\t", "* ", " - ", "   + "])
def test_keys_and_values_behind_any_bullet(bullet):
    read = base(f"# Test: T\n\n{bullet}Takes: soon\n{bullet}Mending: x\n")
    assert told(read) == [("bad-value", 3, "soon"), ("unknown-fact", 4, "Mending")]


def test_a_remark_is_no_part_of_its_name():
    read = base("# Symptom: S\n- Causes: [Gone a] — rare; [C] — never\n\n# Cause: C\n")
    assert told(read) == [("unknown-name", 2, "[Gone a]"), ("bad-value", 2, "[C] — never")]


MARKS = ["[X]", "[*w* x][X]", "[X][]", "`code`", "<b>", "[a](b.md)", "![c](d.png)", "**bold [X]**", "&amp;", "\\[", "plain", "a_b_c", "<https://x.example>"]


@given(st.lists(st.sampled_from(MARKS), min_size=1, max_size=8), st.sampled_from(sorted(CONTAINERS)), st.sampled_from(["\n", "  \n", "\\\n", " "]))
def test_marks_in_any_order_have_their_places(marks, container, join):
    """Each reference, link, picture, code and HTML piece of a line covers just its own source."""
    first, rest = CONTAINERS[container]
    content = join.join(marks)
    read = base(first + "w " + content.replace("\n", "\n" + rest) + "\n")
    pieces = [i for b in every_block(read) for i in walk(b.inlines) if i.type in ("ref", "code", "html", "link", "image")]
    marked = [m.strip("*").removeprefix("bold ") for m in marks if m[0] in "[`<!*"]
    assert [under(read, piece.span) for piece in pieces] == marked


@given(st.lists(st.sampled_from(["> ", "- ", "1. ", "* ", "  ", ">"]), max_size=4), st.sampled_from(["[X]", "a [X]", "# [X]", "| [X] |\n|---|"]))
def test_a_reference_behind_any_markers(markers, line):
    before = "".join(markers)
    head, _, tail = line.partition("\n")
    rest = "".join(m if ">" in m else " " * len(m) for m in markers)
    read = base(before + head + ("\n" + rest + tail if tail else "") + "\n")
    for ref in read.pages["page.md"].refs:
        assert ref.span == Span("page.md", 1, len(before) + head.index("[X]") + 1, 1, len(before) + head.index("[X]") + 4)


@pytest.mark.parametrize(("first", "rest"), CONTAINERS.values(), ids=CONTAINERS)
def test_blocks_have_exact_lines(first, rest):
    lines = ["Words", "more.", "", "```", "code", "```", "", "- a", "- b", "", "***", "", "> q", "> r"]
    read = base("\n".join([first + lines[0], *((rest + line).rstrip() for line in lines[1:])]) + "\n")
    got = {(b.type, b.span.line, b.span.end_line) for b in every_block(read)}
    assert got >= {("paragraph", 1, 2), ("code", 4, 6), ("bullets", 8, 9), ("rule", 11, 11), ("quote", 13, 14)}


def test_columns_count_characters_not_bytes():
    assert refs("ÄÖÜ \U0001f527\u0301 [X]\n") == ([(1, 8)], ["[X]"])


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_newlines_and_a_byte_order_mark_move_nothing(newline, mark):
    text = mark + newline.join(["Words.", "", "- a [X]", "  b [Y]"])
    assert refs(text) == ([(3, 5), (4, 5)], ["[X]", "[Y]"])


def test_odd_white_space_ends_no_line():
    assert refs("a\x0bb\x0cc\x85d\u2028e [X]\n\n[Y]\n") == ([(1, 11), (3, 1)], ["[X]", "[Y]"])


def test_nul_and_bad_bytes_before_a_reference():
    read = base("a\0b [X]\n")
    assert [r.span.start for r in read.pages["page.md"].refs] == [(1, 5)]


def test_every_pair_of_containers():
    for (a, b), (c, d) in itertools.product([(">", ">"), ("-", " "), ("1.", "  "), ("+", " ")], repeat=2):
        text = f"{a} {c} one [X]\n{b} {d} two [Y]\n"
        indent = len(f"{a} {c} ")
        assert refs(text) == ([(1, indent + 5), (2, indent + 5)], ["[X]", "[Y]"]), text
