"""Job history: a CSV file by RFC 4180, what each row counts for, and rows that count nowhere."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.read.history import read_records
from kb.source import read_source
from tests.bases import INDEX, base_of, told, under

HEADER = "date,vehicle,symptom,cause,minutes"
PAGE = """# Symptom: S
- Causes: [A]; [B, and more]; [New name]

# Symptom: Other
- Causes: [A]

# Cause: A

# Cause: B, and more

# Cause: New name
- Formerly: Old name

# Cause: Elsewhere

# Vehicle: V

# Test: T

# Test: U

# Repair: R
"""


def history(text: str | bytes, name: str = "history.csv"):
    """A base with this history."""
    index = INDEX + f"- History: {name}\n"
    return base_of({"index.md": index, "page.md": PAGE, "history.csv": text})


def rows(*lines: str, header: str = HEADER):
    return history("\n".join([header, *lines]) + "\n")


def fields(text: str) -> list[tuple[str, ...]]:
    """The fields of each record; the file has to be sound."""
    records, problems = read_records(read_source("h.csv", text.encode()))
    assert problems == []
    return [record.fields for record in records]


# RFC 4180, section 2, rule by rule.


def test_rule_1_each_record_stands_on_its_own_line_ended_by_a_line_break():
    assert fields("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n") == [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]


def test_rule_2_the_last_record_may_have_no_line_break():
    assert fields("aaa,bbb,ccc\r\nzzz,yyy,xxx") == [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]


def test_rule_3_a_header_line_names_the_fields():
    read = rows("2024-01-02,V,S,A,30")
    (job,) = read.jobs
    assert (job.date, job.minutes, job.line) == ("2024-01-02", 30, 2)
    assert told(read) == []


def test_rule_4_spaces_are_part_of_a_field_and_each_line_has_the_same_number_of_fields():
    assert fields("a, b ,c\n") == [("a", " b ", "c")]
    assert told(rows("2024-01-02,V,S,A,30,extra")) == [("bad-value", 2, "2024-01-02,V,S,A,30,extra")]
    assert told(rows("2024-01-02,V,S,A")) == [("bad-value", 2, "2024-01-02,V,S,A")]


def test_rule_5_fields_may_stand_in_quotes():
    assert fields('"aaa","bbb","ccc"\r\nzzz,yyy,xxx') == [("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")]


def test_rule_6_line_breaks_and_commas_stand_in_quotes():
    assert fields('"aaa","b\r\nbb","c,c"\r\nzzz,yyy,xxx') == [("aaa", "b\nbb", "c,c"), ("zzz", "yyy", "xxx")]


def test_rule_7_a_quote_in_quotes_is_doubled():
    assert fields('"aaa","b""bb","ccc"') == [("aaa", 'b"bb', "ccc")]


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_line_ends(newline):
    read = history(newline.join([HEADER, "2024-01-02,V,S,A,30", "2024-01-03,V,S,A,40"]))
    assert [job.minutes for job in read.jobs] == [30, 40]
    assert told(read) == []


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('a,"b"x,c', 1), ('a,b"x"', 1), ('a,b\n\nc,d"e,f\ng,h', 3), ('a,b\nc,"d"e', 2), ('a,"b', 1), ('a,b\n"c,d\ne', 2),
    ],
)  # fmt: skip
def test_a_file_that_breaks_the_rules_is_told_at_its_line(text, line):
    _, problems = read_records(read_source("h.csv", text.encode()))
    assert [(p.rule, p.span.line) for p in problems] == [("bad-value", line)]


@given(st.lists(st.lists(st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\r\0")), min_size=1, max_size=4), max_size=4))
def test_what_a_csv_writer_writes_is_read_back(table):
    """Independent writer: the standard library's, with RFC 4180's settings."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_ALL).writerows(table)
    source = read_source("h.csv", out.getvalue().encode())
    records, problems = read_records(source)
    assert problems == []
    assert [list(r.fields) for r in records] == table
    for record in records:
        for field, span in zip(record.fields, record.spans, strict=True):
            assert between(source.lines, span) == '"' + field.replace('"', '""') + '"'


def between(lines, span) -> str:
    cut = [*lines[span.line - 1 : span.end_line - 1], lines[span.end_line - 1][: span.end_column - 1]]
    return "\n".join([cut[0][span.column - 1 :], *cut[1:]])


def test_records_know_the_line_they_begin_on():
    read = rows('2024-01-02,V,S,"B, and more",30', '"2024\n01",V,S,A,5', "2024-01-04,V,S,A,6")
    assert [job.line for job in read.jobs] == [2, 3, 5]


def test_empty_lines_are_no_records():
    read = rows("2024-01-02,V,S,A,30", "", "2024-01-03,V,S,A,40", "")
    assert [job.line for job in read.jobs] == [2, 4]
    assert told(read) == []


# What the columns mean.


def test_a_job_knows_its_nodes():
    read = rows("2024-01-02,V,S,A,30.5,R,T; U,yes", header=HEADER + ",repair,tests,returned")
    (job,) = read.jobs
    assert (job.vehicle, job.symptom, job.cause) == ("page.md#vehicle-v", "page.md#symptom-s", "page.md#cause-a")
    assert (job.minutes, job.repair, job.returned) == (30.5, "page.md#repair-r", True)
    assert job.tests == ("page.md#test-t", "page.md#test-u")
    assert told(read) == []


def test_columns_stand_in_any_order_and_extra_ones_are_kept():
    read = rows("A,x,30,S,2024-01-02,V", header="cause,Shop,MINUTES,symptom,date, vehicle ")
    (job,) = read.jobs
    assert (job.cause, job.minutes, dict(job.other)) == ("page.md#cause-a", 30, {"shop": "x"})
    assert told(read) == []


@pytest.mark.parametrize("name", ["s", " S ", "S"])
def test_names_are_compared_as_in_pages(name):
    assert len(rows(f"2024-01-02,v,{name},\"b,  AND more\",30").jobs) == 1


def test_former_names_still_count():
    read = rows("2024-01-02,V,S,Old name,30")
    assert [job.cause for job in read.jobs] == ["page.md#cause-new-name"]
    assert told(read) == []


@pytest.mark.parametrize(
    ("row", "marked"),
    [
        ("2024-01-02,V,Nothing,A,30", "Nothing"), ("2024-01-02,V,S,Elsewhere,30", "Elsewhere"), ("2024-01-02,V,S,Gone,30", "Gone"),
        ('2024-01-02,V,"No, such",A,30', '"No, such"'), ("2024-01-02,V,,A,30", ""), ("2024-01-02,V,S,,30", ""),
        ("2024-01-02,V,Other,New name,30", "New name"),
    ],
)  # fmt: skip
def test_a_row_whose_symptom_or_cause_the_base_does_not_have_counts_nowhere(row, marked):
    read = rows(row, "2024-01-03,V,S,A,30")
    assert told(read) == [("unmet-history", 2, marked)]
    assert [job.line for job in read.jobs] == [3]


def test_a_row_with_an_unknown_vehicle_is_told_and_counts():
    read = rows("2024-01-02,Unheard,S,A,30")
    assert told(read) == [("unmet-history", 2, "Unheard")]
    assert [(job.vehicle, job.cause) for job in read.jobs] == [(None, "page.md#cause-a")]


@pytest.mark.parametrize(("repair", "tests", "marked"), [("Gone", "T", "Gone"), ("R", "T; Gone", "T; Gone")])
def test_an_unknown_repair_or_test_is_told_and_the_row_counts(repair, tests, marked):
    read = rows(f"2024-01-02,V,S,A,30,{repair},{tests}", header=HEADER + ",repair,tests")
    assert told(read) == [("unmet-history", 2, marked)]
    assert len(read.jobs) == 1


@pytest.mark.parametrize("minutes", ["", "soon", "-5", "1 h", "1e2"])
def test_minutes_that_are_no_number(minutes):
    read = rows(f"2024-01-02,V,S,A,{minutes}")
    assert told(read) == [("bad-value", 2, minutes)]


@pytest.mark.parametrize(("word", "back"), [("yes", True), ("YES", True), ("true", True), ("1", True), ("no", False), ("", False), ("0", False)])
def test_a_job_that_came_back(word, back):
    assert [job.returned for job in rows(f"2024-01-02,V,S,A,30,{word}", header=HEADER + ",returned").jobs] == [back]


@pytest.mark.parametrize(
    "text", ["", "\n", "date,vehicle,symptom,cause\n", "2024-01-02,V,S,A,30\n", "date;vehicle;symptom;cause;minutes\n", "\n\n"]
)
def test_a_history_without_its_header(text):
    read = history(text)
    assert [rule for rule, _, _ in told(read)] == ["bad-value"]
    assert read.jobs == ()


def test_a_column_twice():
    read = history("date,vehicle,symptom,cause,minutes,Cause\n2024-01-02,V,S,A,30,B\n")
    assert told(read) == [("bad-value", 1, "Cause")]


def test_a_stray_quote_loses_no_other_row():
    read = rows('2024-01-02,V,S,A "or so,30', "2024-01-03,V,S,A,40")
    assert [(rule, line) for rule, line, _ in told(read)] == [("bad-value", 2)]
    assert [job.line for job in read.jobs] == [3]


def test_a_history_without_rows():
    read = history(HEADER + "\n")
    assert (read.jobs, told(read)) == ((), [])


def test_a_history_that_is_not_there():
    read = history(HEADER, "gone.csv")
    assert told(read) == [("dead-link", 4, "gone.csv")]


@pytest.mark.parametrize("name", ["history.csv", "`history.csv`", "[the jobs](history.csv)"])
def test_ways_to_name_the_file(name):
    read = history(HEADER + "\n2024-01-02,V,S,A,30\n", name)
    assert len(read.jobs) == 1
    assert told(read) == []


def test_a_history_in_a_folder():
    files = {"index.md": INDEX + "- History: data/jobs.csv\n", "page.md": PAGE, "data/jobs.csv": HEADER + "\n2024-01-02,V,S,A,30\n"}
    assert len(base_of(files).jobs) == 1


def test_bytes_that_are_no_text_are_told():
    read = history(HEADER.encode() + b"\n2024-01-02,V,S,A\xff,30\n")
    assert ("unreadable-page", 2, "\ufffd") in told(read)


def test_a_byte_order_mark_is_no_part_of_the_header():
    assert len(history(b"\xef\xbb\xbf" + HEADER.encode() + b"\n2024-01-02,V,S,A,30\n").jobs) == 1


def test_a_history_that_nobody_names_is_just_a_file():
    assert base_of({"index.md": INDEX, "history.csv": "not,a,history"}).jobs == ()


@given(st.binary(max_size=200))
def test_any_bytes_are_a_history(data):
    history(data)


@given(st.lists(st.sampled_from([",", '"', "\n", "\r", "a", "S", "A", " ", HEADER, "\n30,V,S,A,30"]), max_size=30))
def test_no_row_is_dropped_silently(pieces):
    """Each record is counted, or told at one of its lines."""
    read = history("".join(pieces))
    source = read.sources["history.csv"]
    records, broken = read_records(source)
    counted = {job.line for job in read.jobs}
    lines = {line for p in read.problems if p.span.path == "history.csv" for line in range(p.span.line, p.span.end_line + 1)}
    headless = any("header" in p.message or "column" in p.message for p in read.problems)
    for record in records[1:]:
        inside = range(record.line, record.spans[-1].end_line + 1)
        assert record.line in counted or lines & set(inside) or headless
    assert under(read, source.line_span(1)) == source.lines[0].strip()
    assert not broken or any(p.span.path == "history.csv" for p in read.problems)
