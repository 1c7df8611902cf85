"""Findings tables: which table is one, its columns in any order, its cells, what is wrong with them."""

from __future__ import annotations

import pytest

from kb.model import ReadingRange
from kb.read.findings import overlap, read_reading
from kb.reference import Kind
from tests.bases import base, node, told, under

NODES = "\n# Cause: A\n\n# Cause: B\n\n# Test: U\n\n# Repair: R\n\n# Symptom: S\n\n# Tool: L\n"


def table(*rows: str, more: str = NODES):
    """A base with a test of these table rows (a header first), and the test's findings."""
    header = rows[0]
    lines = [header, "|" + "---|" * (header.replace("\\|", "").count("|") - 1), *rows[1:]]
    read = base("# Test: T\n- Takes: 5 min\n\n1. Look.\n\n" + "\n".join(lines) + "\n" + more)
    return read, node(read, "T").findings


def labels(refs) -> list[str]:
    return [ref.label for ref in refs]


def test_a_whole_row():
    read, (row,) = table(
        "| Finding | Reading | Clears | Proves | Next |", "| It is *bright* | bright, dim | [A]; [x][B] | | [U] |"
    )
    assert (row.words.text, row.reading.text) == ("It is bright", "bright, dim")
    assert (labels(row.clears), labels(row.proves), row.next.label, row.done) == (["A", "B"], [], "U", False)
    assert told(read) == []
    assert under(read, row.span) == "| It is *bright* | bright, dim | [A]; [x][B] | | [U] |"


def test_rows_keep_their_order():
    _, rows = table("| Finding | Clears |", "| one | [A] |", "| two | [B] |", "| three | |")
    assert [(r.words.text, labels(r.clears)) for r in rows] == [("one", ["A"]), ("two", ["B"]), ("three", [])]


@pytest.mark.parametrize(
    "header",
    ["| Finding | Next | Proves | Clears |", "| finding | NEXT | proves | CLEARS |", "| **Finding** | Next | Proves | Clears |"],
)
def test_columns_stand_in_any_order_after_the_first(header):
    read, (row,) = table(header, "| x | [R] | [A] | [B] |")
    assert (labels(row.clears), labels(row.proves), row.next.label) == (["B"], ["A"], "R")
    assert told(read) == []


def test_an_absent_column_is_empty():
    read, (row,) = table("| Finding |", "| x |")
    assert (row.clears, row.proves, row.next, row.done, row.ranges, row.reading.text) == ((), (), None, False, (), "")
    assert told(read) == []


def test_outer_bars_may_be_left_out():
    read = base("# Test: T\n- Takes: 5 min\n\nFinding | Clears\n--- | ---\nx | [A]\n" + NODES)
    assert labels(node(read, "T").findings[0].clears) == ["A"]
    assert told(read) == []


@pytest.mark.parametrize(("column", "taken"), [("Colour", False), ("Clear", True), ("Proofs", True), ("", False)])
def test_an_unknown_column(column, taken):
    read, (row,) = table(f"| Finding | {column} |", "| x | [A] |")
    assert [(rule, line) for rule, line, _ in told(read, "unknown-fact")] == [("unknown-fact", 6)]
    assert bool(row.clears or row.proves) == taken


def test_what_stands_below_an_unknown_column_is_still_read():
    read, _ = table("| Finding | Colour | Clears |", "| x | [No such] | [A] |")
    assert told(read) == [("unknown-fact", 6, "Colour"), ("unknown-name", 8, "[No such]")]


def test_a_column_twice():
    read, (row,) = table("| Finding | Clears | clears |", "| x | [A] | [B] |")
    assert told(read) == [("bad-value", 6, "clears")]
    assert labels(row.clears) == ["A"]


def test_a_row_without_words():
    read, rows = table("| Finding | Clears |", "| | [A] |")
    assert told(read) == [("bad-value", 8, "")]
    assert len(rows) == 1


def test_a_row_with_fewer_cells_than_the_header():
    read, rows = table("| Finding | Clears | Next |", "| x | [A] |", "| y |", "| z | | |")
    assert told(read) == [("bad-value", 8, "| x | [A] |"), ("bad-value", 9, "| y |")]
    assert labels(rows[0].clears) == ["A"]


def test_a_row_with_more_cells_than_the_header():
    read, _ = table("| Finding | Clears |", "| x | [A] | [B] |  more |")
    assert told(read) == [("lost-text", 8, "[B] |  more")]


def test_a_bar_in_a_cell_is_written_with_a_backslash():
    read, (row,) = table("| Finding | Clears |", "| on \\| off | [A] |")
    assert row.words.text == "on | off"
    assert told(read) == []


def test_lines_that_run_on_below_a_table_are_rows_of_it():
    read, rows = table("| Finding | Clears |", "| x | [A] |", "Runs on.")
    assert len(rows) == 2
    assert told(read) == [("bad-value", 9, "Runs on.")]


@pytest.mark.parametrize(
    ("cell", "marked"),
    [
        ("A", "A"), ("[A], [B]", "[A], [B]"), ("[A] and [B]", "[A] and [B]"), ("[A]; B", "B"), ("all of them", "all of them"),
        ("[A] [B]", "[A] [B]"), ("the [A]", "the [A]"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("column", ["Clears", "Proves"])
def test_a_column_of_causes_holds_names_only(cell, marked, column):
    read, _ = table(f"| Finding | {column} |", f"| x | {cell} |")
    assert told(read, "bad-value") == [("bad-value", 8, marked)]


@pytest.mark.parametrize("column", ["Clears", "Proves"])
@pytest.mark.parametrize("name", ["U", "R", "S", "L"])
def test_only_causes_can_be_cleared_or_proved(column, name):
    read, _ = table(f"| Finding | {column} |", f"| x | [A]; [{name}] |")
    assert told(read) == [("wrong-kind", 8, f"[{name}]")]


def test_a_name_that_answers_to_none_loses_none_of_its_neighbours():
    read, (row,) = table("| Finding | Clears |", "| x | [A]; [Gone]; [B] |")
    assert [n.name for n in read.all(row.clears)] == ["A", "B"]
    assert told(read) == [("unknown-name", 8, "[Gone]")]


@pytest.mark.parametrize(("name", "kind"), [("U", Kind.TEST), ("R", Kind.REPAIR), ("A", Kind.CAUSE), ("S", Kind.SYMPTOM)])
def test_where_a_finding_can_lead(name, kind):
    read, (row,) = table("| Finding | Next |", f"| x | [{name}] |")
    assert read.target(row.next).kind is kind
    assert told(read) == []


@pytest.mark.parametrize("word", ["done", "Done", "DONE", "done."])
def test_a_finding_can_end_the_search(word):
    read, (row,) = table("| Finding | Next |", f"| x | {word} |")
    assert (row.next, row.done) == (None, True)
    assert told(read) == []


@pytest.mark.parametrize(
    ("cell", "problem"),
    [
        ("finished", ("bad-value", 8, "finished")), ("[L]", ("wrong-kind", 8, "[L]")), ("[U]; [R]", ("bad-value", 8, "[U]; [R]")),
        ("then [U]", ("bad-value", 8, "then [U]")), ("[U] done", ("bad-value", 8, "[U] done")), ("[Gone]", ("unknown-name", 8, "[Gone]")),
    ],
)  # fmt: skip
def test_where_a_finding_can_not_lead(cell, problem):
    read, _ = table("| Finding | Next |", f"| x | {cell} |")
    assert told(read) == [problem]


@pytest.mark.parametrize("proves", ["[A]", "[a]", "[words][Cause: A]"])
def test_a_cause_in_both_columns_of_a_row(proves):
    read, _ = table("| Finding | Clears | Proves |", f"| x | [A]; [B] | {proves} |")
    assert told(read) == [("bad-value", 8, proves)]


def test_a_cause_cleared_by_one_row_and_proved_by_another():
    read, _ = table("| Finding | Clears | Proves |", "| x | [A] | [B] |", "| y | [B] | [A] |")
    assert told(read) == []


def test_a_second_findings_table_is_misplaced():
    read, rows = table("| Finding | Clears |", "| x | [A] |", more="\n| Finding | Clears |\n|---|---|\n| y | [B] |\n" + NODES)
    assert told(read) == [("misplaced-table", 10, "| Finding | Clears |")]
    assert len(rows) == 1


@pytest.mark.parametrize("kind", ["Function", "Symptom", "Cause", "Repair", "Access", "Tool", "Hazard", "Term", "Vehicle", "Circuit", "Lesson"])
@pytest.mark.parametrize("other", ["Clears", "Next", "Reading", "Proves"])
def test_a_findings_table_in_a_node_of_another_kind(kind, other):
    read = base(f"# {kind}: X\n\nWords.\n\n| Finding | {other} |\n|---|---|\n| x | |\n")
    assert told(read) == [("misplaced-table", 5, f"| Finding | {other} |")]


def test_a_findings_table_on_a_plain_page():
    assert told(base("| Finding | Next |\n|---|---|\n| x | |\n")) == [("misplaced-table", 1, "| Finding | Next |")]


@pytest.mark.parametrize("header", ["| Finding | Weather |", "| Find | Clears |", "| Next | Finding |", "| x |"])
def test_other_tables_are_prose(header):
    columns = header.count("|") - 1
    read = base(f"# Cause: X\n\nWords.\n\n{header}\n|{'---|' * columns}\n|{' x |' * columns}\n")
    assert told(read) == []
    assert [b.table.role for b in node(read, "X").blocks if b.table] == ["prose"]


def test_a_test_may_hold_other_tables():
    read, rows = table("| Finding | Clears |", "| x | [A] |", more="\n| Size | Colour |\n|---|---|\n| 1 | red |\n" + NODES)
    assert [b.table.role for b in node(read, "T").blocks if b.table] == ["findings", "prose"]
    assert len(rows) == 1
    assert told(read) == []


@pytest.mark.parametrize("before", ["> ", "- ", "1. "])
def test_a_findings_table_in_a_container_is_found_too(before):
    rest = "> " if before == "> " else " " * len(before)
    read = base(f"# Test: T\n\nWords.\n\n{before}| Finding | Clears |\n{rest}|---|---|\n{rest}| x | [A] |\n{NODES}")
    assert [labels(r.clears) for r in node(read, "T").findings] == [["A"]]
    assert told(read) == []


# Readings. The grammar is the page format's; the values are invented.

V = "V"


@pytest.mark.parametrize(
    ("text", "ranges"),
    [
        ("bright", [ReadingRange("bright")]),
        ("Dark, DIM", [ReadingRange("dark"), ReadingRange("dim")]),
        ("ol", [ReadingRange("OL")]),
        ("undefined", [ReadingRange("undefined")]),
        ("up", [ReadingRange("up")]),
        ("> 11 V", [ReadingRange(low=11, low_open=True, unit=V)]),
        (">11V", [ReadingRange(low=11, low_open=True, unit=V)]),
        (">= 11 V", [ReadingRange(low=11, unit=V)]),
        ("< 0.5 V", [ReadingRange(high=0.5, unit=V)]),
        ("<= 500 mV", [ReadingRange(high=0.5, high_closed=True, unit=V)]),
        ("11 to 13 ohm", [ReadingRange(low=11, high=13, unit="ohm")]),
        ("0.1 to 0.3 A", [ReadingRange(low=0.1, high=0.3, unit="A")]),
        ("100 mA to 0.3 A", [ReadingRange(low=0.1, high=0.3, unit="A")]),
        ("-0.5 to 0.5 V", [ReadingRange(low=-0.5, high=0.5, unit=V)]),
        ("> 90 % of supply", [ReadingRange(low=0.9, low_open=True, unit="%", relative="percent")]),
        ("10 to 90 % of supply", [ReadingRange(low=0.1, high=0.9, unit="%", relative="percent")]),
        ("within 0.5 V of supply", [ReadingRange(high=0.5, unit=V, relative="within")]),
        ("OL, > 1 Mohm", [ReadingRange("OL"), ReadingRange(low=1e6, low_open=True, unit="ohm")]),
    ],
)
def test_readings(text, ranges):
    assert read_reading(text) == tuple(ranges)


@pytest.mark.parametrize(
    "text",
    [
        "11", "11 V", "about 11 V", "> V", "13 to 11 ohm", "11 to 11 ohm", "11 to 13", "11 V to 13 ohm", "> 90 %", "> 11 V of supply",
        "within 5 % of supply", "within 0 V of supply", "11-13 V", "> 11 V; dark", "dark,", ", dark", "> 11 V and < 12 V", "= 5 V",
        "12 V +- 1", "very bright", "bright or dim", ">> 5 V", "1,5 to 2,5 V", "> 11 volts",
    ],
)  # fmt: skip
def test_readings_outside_the_grammar(text):
    read, (row,) = table("| Finding | Reading |", f"| x | {text} |", "| y | bright |")[0], table("| Finding | Reading |", f"| x | {text} |")[1]
    assert told(read) == [("bad-value", 8, text)]
    assert row.ranges == ()


@pytest.mark.parametrize(("text", "holds", "fails"), [("11 to 13 ohm", (11, 12.99), (13, 10.99)), ("> 11 V", (11.01, 99), (11,)), ("< 5 A", (4.99, -9), (5,))])
def test_the_ends_of_a_range(text, holds, fails):
    """`11 to 13` holds 11, not 13."""
    unit = text.split()[-1]
    (range_,) = read_reading(text)
    for value, meets in [*((v, True) for v in holds), *((v, False) for v in fails)]:
        exactly = ReadingRange(low=value, high=value, high_closed=True, unit=unit)
        assert overlap(range_, exactly) == overlap(exactly, range_) == meets, value


@pytest.mark.parametrize(
    ("a", "b", "both"),
    [
        ("bright", "bright", True), ("bright", "dark", False), ("> 11 V", "< 12 V", True), ("> 11 V", "< 11 V", False),
        ("11 to 13 V", "13 to 14 V", False), ("11 to 13 V", "12.9 to 14 V", True), (">= 11 V", "<= 11 V", True),
        ("> 11 V", "<= 11 V", False), ("> 11 V", "> 11 ohm", False), ("OL", "> 1 Mohm", False), ("moves", "up", True),
        ("moves", "still", False), ("up", "down", False), ("> 90 % of supply", "< 90 % of supply", False),
        ("> 90 % of supply", "80 to 95 % of supply", True), ("within 0.5 V of supply", "> 90 % of supply", True),
        ("within 0.5 V of supply", "< 50 % of supply", False),
    ],
)  # fmt: skip
def test_ranges_that_one_reading_meets(a, b, both):
    (x,), (y,) = read_reading(a), read_reading(b)
    assert overlap(x, y) == overlap(y, x) == both


MOTOR = "\n# Circuit: K\n\n| Part | Kind | Pins | Values |\n|---|---|---|---|\n| M1 | motor | a b | 12 ohm, runs at 0.2 A, a positive means up/down |\n"


@pytest.mark.parametrize("word", ["up", "down", "moves"])
def test_a_motors_direction_is_a_reading(word):
    assert told(table("| Finding | Reading |", f"| x | {word} |", more=MOTOR)[0]) == []


@pytest.mark.parametrize("word", ["left", "brigth"])
def test_a_word_that_no_load_does_is_told(word):
    assert told(table("| Finding | Reading |", f"| x | {word} |", more=MOTOR)[0]) == [("bad-value", 8, word)]


def test_a_row_names_the_vehicles_on_which_it_can_be_found():
    more = f"{NODES}\n# Vehicle: Weir\n\n# Vehicle: Fen\n"
    rows = "| Finding | Clears | Only on |", "| x | [A] | [Weir]; [Fen] |", "| y | [A] | |"
    read, (first, second) = table(*rows, more=more)
    assert labels(first.only) == ["Weir", "Fen"] and second.only == ()
    assert told(read) == []


def test_a_row_that_is_only_on_something_else_than_a_vehicle():
    read, _ = table("| Finding | Clears | Only on |", "| x | [A] | [A] |")
    assert [rule for rule, _, _ in told(read)] == ["wrong-kind"]
