"""Problems as text with carets, as JSON, as annotations."""

from __future__ import annotations

import json

import pytest

from kb import checks
from kb.diagnostic import Diagnostic
from kb.graph import build_graph
from kb.model import Base
from kb.report import as_annotations, as_json, as_sarif, as_text, dump
from tests.bases import base

BAD = "# Tool: Lamp\n\n# Cause: Dead\n- Repair: [Replace the lmap]\n\nSee [Lamp].\n"


def checked(read: Base) -> tuple[Base, tuple[Diagnostic, ...]]:
    return read, checks.run(read, build_graph(read))


def test_text_shows_the_line_with_carets_under_the_place_and_the_help() -> None:
    text = as_text(*checked(base(BAD)))
    block = text.split("\n\n")[1].split("\n")
    assert block[0] == "page.md:4:11: error: no node is called `Replace the lmap` [unknown-name]"
    assert block[1] == "    4 | - Repair: [Replace the lmap]"
    assert block[2] == "      |           ^^^^^^^^^^^^^^^^^^"
    assert block[3].startswith("      help: ")


def test_text_ends_with_one_line_for_the_owner() -> None:
    last = as_text(*checked(base(BAD))).split("\n")[-1]
    assert last == "2 pages, 2 nodes: 1 error, 1 warning. Nothing is published until the errors are mended."
    assert as_text(*checked(base("# Term: Feed\n"))).split("\n")[-1] == "2 pages, 1 node: nothing to mend."


@pytest.mark.parametrize(
    ("line", "carets"),
    [
        ("- Repair: [配線の断線]", "          " + "^" * 12),  # five wide characters take ten columns (Unicode TR 11)
        ("- Repair: \x1b[red]", "           " + "^" * 5),
        ("-\tRepair: [Nobody]", "          " + "^" * 8),
    ],
)
def test_carets_stand_under_wide_and_hidden_characters(line: str, carets: str) -> None:
    text = as_text(*checked(base(f"# Cause: Dead\n{line}\n")))
    block = next(b for b in text.split("\n\n") if "[unknown-name]" in b).split("\n")
    assert block[2] == "      | " + carets
    assert "\x1b" not in text


def test_a_long_line_is_cut_around_the_place() -> None:
    text = as_text(*checked(base("# Term: Feed\n\n" + "word " * 4000 + "[Nobody] " + "word " * 4000 + "\n")))
    block = next(b for b in text.split("\n\n") if "[unknown-name]" in b).split("\n")
    assert max(map(len, block)) < 200
    start = block[2].index("^")
    assert block[1][start : start + 8] == "[Nobody]"


def test_json_has_the_fields_of_the_contract() -> None:
    report = json.loads(as_json(*checked(base(BAD))))
    assert list(report) == ["problems", "counts"]
    assert report["counts"] == {"error": 1, "warning": 1, "note": 0}
    problem = next(p for p in report["problems"] if p["rule"] == "unknown-name")
    assert problem == {
        "file": "page.md", "line": 4, "column": 11, "end_line": 4, "end_column": 29, "severity": "error",
        "rule": "unknown-name", "message": "no node is called `Replace the lmap`",
        "help": problem["help"],
    }  # fmt: skip


def test_json_numbers_have_four_decimals() -> None:
    assert json.loads(dump({"a": [1 / 3, {"b": 2.00006}], "c": 7})) == {"a": [0.3333, {"b": 2.0001}], "c": 7}


def test_annotations_escape_what_would_end_them() -> None:
    read, found = checked(base("# Cause: A: 50 %, done\n"))
    lines = as_annotations(read, found, "content").split("\n")
    assert len(lines) == len(found)
    assert lines[0].startswith("::error file=content/page.md,line=1,col=3,endLine=1,endColumn=23,title=cause-without-repair::")
    assert as_annotations(read, (), "") == ""
    read, found = checked(base("# Term: x\n\n[A 50 %\nb]\n"))
    assert "%25" in as_annotations(read, found)


def test_sarif_columns_count_characters_and_rules_are_listed_once() -> None:
    run = json.loads(as_sarif(*checked(base(BAD))))["runs"][0]
    ids = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert ids == sorted(set(ids))
    assert all(ids[result["ruleIndex"]] == result["ruleId"] for result in run["results"])
    assert run["columnKind"] == "unicodeCodePoints"
