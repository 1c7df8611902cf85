"""Fact lists: which list is one, its keys, its values, and facts in places where none is read."""

from __future__ import annotations

import pytest

from kb.reference import Kind
from tests.bases import base, base_of, node, only, told, under

V = "\n# Vehicle: V\n\n# Vehicle: W\n"
MORE = "".join(f"\n# {kind}: A {kind.lower()}\n" for kind in ("Cause", "Repair", "Access", "Tool", "Function", "Circuit"))
MORE += "\n# Test: A test\n\n# Test: B test\n\n# Symptom: A symptom\n\n# Lesson: A lesson\n" + V


def fact(kind: str, lines: str, more: str = MORE):
    """The base of one node with these fact lines, and the node."""
    read = base(f"# {kind}: Asked\n{lines}\n{more}")
    return read, node(read, "Asked")


# Every fact of every kind, as the format's table lists them.
FACTS = [
    ("Function", "Said as", "a; b", ("a", "b")),
    ("Function", "Works only when", "The key is on; the door is shut.", ("The key is on; the door is shut.",)),
    ("Symptom", "Said as", "won't go; dead", ("won't go", "dead")),
    ("Symptom", "Causes", "[A cause] — common", ("A cause",)),
    ("Symptom", "Order", "[A test]; [B test]", ("A test", "B test")),
    ("Symptom", "Comes and goes", "yes", ("yes",)),
    ("Cause", "Repair", "[A repair]", ("A repair",)),
    ("Cause", "How often", "rare", ("rare",)),
    ("Test", "Takes", "5 min", ("5 min",)),
    ("Test", "Access", "[A access]", ("A access",)),
    ("Test", "Needs", "[A tool]", ("A tool",)),
    ("Test", "After", "[A test]", ("A test",)),
    ("Test", "Comes and goes", "yes", ("yes",)),
    ("Test", "Tried on", "[V] — 2024-05-01; [W]", ("V", "W")),
    ("Repair", "Takes", "5 min; 7 min on [V]", ("5 min", "7 min on V")),
    ("Repair", "Access", "[A access]", ("A access",)),
    ("Repair", "Needs", "[A tool]", ("A tool",)),
    ("Repair", "Parts", "a plug; a pin", ("a plug", "a pin")),
    ("Repair", "Costs", "12.50", ("12.50",)),
    ("Repair", "Try", "yes", ("yes",)),
    ("Repair", "Verify", "[A test]", ("A test",)),
    ("Repair", "Tried on", "[V]", ("V",)),
    ("Access", "Takes", "20 min; 35 min on [V]", ("20 min", "35 min on V")),
    ("Access", "Undo", "10 min", ("10 min",)),
    ("Access", "Access", "[A access]", ("A access",)),
    ("Access", "Needs", "[A tool]", ("A tool",)),
    ("Tool", "Said as", "lamp", ("lamp",)),
    ("Hazard", "Signal word", "WARNING", ("WARNING",)),
    ("Hazard", "Hazard", "One; two.", ("One; two.",)),
    ("Hazard", "Consequence", "It burns; badly.", ("It burns; badly.",)),
    ("Hazard", "Avoidance", "Wait; then look.", ("Wait; then look.",)),
    ("Hazard", "With access", "[A access]", ("A access",)),
    ("Hazard", "With tool", "[A tool]", ("A tool",)),
    ("Hazard", "In function", "[A function]", ("A function",)),
    ("Hazard", "At words", "door trim; cut*", ("door trim", "cut*")),
    ("Term", "Said as", "blinker; turn signal", ("blinker", "turn signal")),
    ("Vehicle", "Years", "2009 to 2015; from VIN 7", ("2009 to 2015; from VIN 7",)),
    ("Vehicle", "Circuits", "[A circuit]", ("A circuit",)),
    ("Lesson", "For", "beginners; all", ("beginners; all",)),
    ("Lesson", "Takes", "45 min", ("45 min",)),
    ("Lesson", "After", "[A lesson]", ("A lesson",)),
    ("Lesson", "Objectives", "know this; know that", ("know this", "know that")),
    ("Lesson", "Covers", "[A test]; [A cause]", ("A test", "A cause")),
    ("Question", "Right", "Yes; really.", ("Yes; really.",)),
    ("Question", "Wrong", "No; not.", ("No; not.",)),
    ("Question", "Answer", "12.1 V ± 0.3 V", ("12.1 V ± 0.3 V",)),
    ("Question", "Because", "So; and so.", ("So; and so.",)),
    ("Exercise", "Circuit", "[A circuit]", ("A circuit",)),
    ("Exercise", "Symptom", "[A symptom]", ("A symptom",)),
    ("Exercise", "Hidden", "[A cause]", ("A cause",)),
    ("Exercise", "Budget", "60 min", ("60 min",)),
]


@pytest.mark.parametrize(("kind", "key", "written", "texts"), FACTS)
def test_every_fact_of_every_kind(kind, key, written, texts):
    read, asked = fact(kind, f"- {key}: {written}")
    assert asked.words(key) == texts
    assert list(asked.facts) == [key]
    assert told(read) == []
    assert under(read, asked.facts[key].key_span) == key


@pytest.mark.parametrize("kind", [k for k in Kind if k not in (Kind.BASE, Kind.PAGE)])
def test_facts_that_all_kinds_share(kind):
    read, asked = fact(kind, "- Formerly: Old; Older\n- Only on: [V]; [W]")
    assert asked.words("Formerly") == ("Old", "Older")
    assert [n.name for n in read.all(asked.refs("Only on"))] == ["V", "W"]
    assert told(read) == []


def test_facts_of_the_front_page():
    read = base_of({
        "index.md": "# B\n\n- Statement: One; two.\n- Language: de-AT\n- Edition: 3; spring\n- History: h.csv\n"
                    "- Hour costs: 70.5\n- Address: https://example.org/kb/\n",
        "h.csv": "date,vehicle,symptom,cause,minutes\n",
    })  # fmt: skip
    root = read.root
    assert told(read) == []
    assert (root.text("Statement"), read.language, root.text("Edition")) == ("One; two.", "de-AT", "3; spring")
    assert root.values("Hour costs")[0].number == 70.5
    assert root.text("Address") == "https://example.org/kb/"


def test_language_is_english_where_none_is_named():
    assert base("").language == "en"


@pytest.mark.parametrize("key", ["takes", "TAKES", "Takes", "tAkEs"])
def test_keys_are_read_without_regard_to_case(key):
    read, asked = fact("Test", f"- {key}: 5 min", "")
    assert asked.text("Takes") == "5 min"
    assert told(read) == []


@pytest.mark.parametrize("bullet", ["-", "*", "+"])
@pytest.mark.parametrize("gap", ["", "\n", "\n\n\n"])
def test_the_list_directly_follows_the_heading(bullet, gap):
    read, asked = fact("Test", f"{gap}{bullet} Takes: 5 min", "")
    assert asked.text("Takes") == "5 min"
    assert asked.blocks == ()


def test_an_allowance_may_stand_between_heading_and_facts():
    _, asked = fact("Test", "\n<!-- allow missing-fact: reason -->\n- Takes: 5 min", "")
    assert asked.text("Takes") == "5 min"


@pytest.mark.parametrize(
    "lines",
    [
        "- plain\n- words\n",
        "- Note: nothing known\n- Other: neither\n",
        "- Takes:5 min\n",  # no space after the colon
        "- Takes 5 min: yes\n",  # a digit is no letter
        "- More than three words: yes\n",
        "1. Needed: one\n",
        "- `Takes`: 5 min\n",
        "- **Takes**: 5 min\n",
        "- https://example.org\n",
    ],
)
def test_a_list_without_a_known_key_is_prose(lines):
    read, asked = fact("Test", "\n" + lines, "")
    assert asked.facts == {}
    assert len(asked.blocks) == 1
    assert told(read) == []


def test_an_unknown_key_in_a_fact_list():
    read, asked = fact("Test", "- Takes: 5 min\n- Colour of it: red", "")
    assert told(read) == [("unknown-fact", 3, "Colour of it")]
    assert only(read).help.startswith("its facts: Takes, Access")
    assert list(asked.facts) == ["Takes"]


@pytest.mark.parametrize(("key", "meant"), [("Taks", "Takes"), ("takes2", None), ("Acess", "Access"), ("Tried in", "Tried on")])
def test_a_key_that_is_nearly_known(key, meant):
    read, asked = fact("Test", f"- {key}: 5 min" if key.startswith("Tak") else f"- {key}: [V]", V)
    if meant is None:
        assert told(read) == []
        return
    assert told(read, "unknown-fact") == [("unknown-fact", 2, key)]
    assert meant in asked.facts


def test_a_key_of_another_kind_is_unknown_here():
    read, _ = fact("Cause", "- Repair: [A repair]\n- Takes: 5 min")
    assert told(read) == [("unknown-fact", 3, "Takes")]


def test_names_in_an_unknown_fact_are_still_read():
    read, _ = fact("Cause", "- Repair: [A repair]\n- Tools wanted: [No such]")
    assert told(read) == [("unknown-fact", 3, "Tools wanted"), ("unknown-name", 3, "[No such]")]


@pytest.mark.parametrize("bullet", ["no key here", "[A tool]", "12: 5", "`code`: x", "http://x"])
def test_a_bullet_without_a_key_in_a_fact_list(bullet):
    read, _ = fact("Test", f"- Takes: 5 min\n- {bullet}")
    assert told(read, "bad-value") == [("bad-value", 3, bullet)]


def test_a_key_twice():
    read, asked = fact("Test", "- Takes: 5 min\n- takes: 6 min", "")
    assert told(read) == [("bad-value", 3, "takes")]
    assert asked.words("Takes") == ("5 min",)


def test_right_and_wrong_may_come_again():
    read, asked = fact("Question", "- Right: a\n- Wrong: b; c\n- Right: d\n- Wrong: e\n- Because: f", "")
    assert told(read) == []
    assert (asked.words("Right"), asked.words("Wrong")) == (("a", "d"), ("b; c", "e"))


@pytest.mark.parametrize("value", ["", " ", "   ;  ; "])
def test_an_empty_value_is_an_absent_fact(value):
    read, asked = fact("Test", f"- Takes: 5 min\n- Needs:{value}", "")
    assert "Needs" not in asked.facts
    assert told(read) == []


@pytest.mark.parametrize(
    ("written", "texts"),
    [
        ("a; b;c", ("a", "b", "c")),
        ("a;; b;", ("a", "b")),
        ("a, b", ("a, b",)),
        ("`a;b`; c", ("a;b", "c")),
        ("a &amp; b; c", ("a & b", "c")),
        ("a \\; b; c", ("a ; b", "c")),
        ("[x;y](page.md); c", ("x;y", "c")),
        ("*a; b*", ("*a", "b*")),
        ("one\n  line; two", ("one line", "two")),
        ("\n  - a\n  - b; c", ("a", "b", "c")),
        ("x\n  - y\n  - z", ("x", "y", "z")),
        ("\n  1. a\n  2. b", ("a", "b")),
        ("x\n\n  y; z", ("x", "y", "z")),
    ],
)
def test_values_stand_between_semicolons_or_in_a_nested_list(written, texts):
    read, asked = fact("Tool", f"- Said as: {written}", "")
    assert asked.words("Said as") == texts
    assert told(read) == []


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        ("Hazard", "Hazard"), ("Hazard", "Consequence"), ("Hazard", "Avoidance"), ("Question", "Because"),
        ("Question", "Right"), ("Question", "Wrong"), ("Lesson", "For"), ("Vehicle", "Years"),
        ("Function", "Works only when"),
    ],
)  # fmt: skip
def test_one_text_is_never_split(kind, key):
    text = "First this; then that — never both; see `a;b`."
    read, asked = fact(kind, f"- {key}: {text}", "")
    assert asked.words(key) == (text.replace("`", ""),)
    assert told(read) == []


@pytest.mark.parametrize("key", ["Statement", "Edition"])
def test_one_text_of_the_front_page_is_never_split(key):
    read = base(index=f"# B\n\n- {key}: One; two — three.\n")
    assert read.root.words(key) == ("One; two — three.",)


def test_one_text_may_run_over_paragraphs_and_bullets():
    _, asked = fact("Hazard", "- Hazard: One\n  line; on.\n\n  Second.\n  - third\n  - fourth; on", "")
    assert asked.words("Hazard") == ("One line; on. Second. third fourth; on",)


def test_what_a_fact_cannot_hold():
    read, _ = fact("Test", "- Takes: 5 min\n  > quoted\n", "")
    assert told(read) == [("bad-value", 3, "> quoted")]


def test_a_list_nested_twice_is_told():
    read, asked = fact("Tool", "- Said as:\n  - a\n    - deeper\n", "")
    assert asked.words("Said as") == ("a",)
    assert told(read) == [("bad-value", 4, "- deeper")]


# References.


@pytest.mark.parametrize("written", ["A tool", "the [A tool]", "[A tool] too", "[A tool] [Asked]", "[A tool], [Asked]"])
def test_a_place_for_names_takes_names_only(written):
    read, _ = fact("Test", f"- Takes: 5 min\n- Needs: {written}", "\n# Tool: A tool\n")
    assert told(read, "bad-value") == [("bad-value", 3, written)]


@pytest.mark.parametrize("written", ["[A tool]", "[A tool][]", "[a  TOOL]", "[the thing][A tool]", "[A tool]."])
def test_ways_to_write_a_name(written):
    read, asked = fact("Test", f"- Needs: {written}", "\n# Tool: A tool\n")
    assert [n.name for n in read.all(asked.refs("Needs"))] == ["A tool"]
    assert told(read, "bad-value", "unknown-name") == []


def test_a_dead_reference_among_good_ones_loses_none_of_them():
    read, asked = fact("Symptom", "- Causes: [A cause]; [Gone]; [B cause]", "\n# Cause: A cause\n\n# Cause: B cause\n")
    assert [n.name for n in read.all(asked.refs("Causes"))] == ["A cause", "B cause"]
    assert told(read) == [("unknown-name", 2, "[Gone]")]


@pytest.mark.parametrize("key", ["Causes", "Order"])
def test_the_same_name_twice_in_one_fact(key):
    kind = "cause" if key == "Causes" else "test"
    read, _ = fact("Symptom", f"- {key}: [A {kind}]; [a {kind}]")
    assert told(read, "bad-value") == [("bad-value", 2, f"[a {kind}]")]


# Weights: common 6, occasional 3, rare 1, or the count given (the page format).
@pytest.mark.parametrize("dash", ["-", "–", "—"])
@pytest.mark.parametrize(("remark", "weight"), [("common", 6), ("occasional", 3), ("rare", 1), ("12", 12), ("Common", 6)])
def test_a_dash_joins_a_cause_and_its_frequency(dash, remark, weight):
    read, asked = fact("Symptom", f"- Causes: [A cause] {dash} {remark}")
    (value,) = asked.values("Causes")
    assert (value.text, value.remark, value.number) == ("A cause", remark, weight)
    assert told(read) == []


def test_a_cause_without_frequency_states_none():
    _, asked = fact("Symptom", "- Causes: [A cause]")
    assert [(v.remark, v.number) for v in asked.values("Causes")] == [("", None)]


@pytest.mark.parametrize("written", ["[A cause]- rare", "[A cause]-rare", "[A cause] rare", "[A cause] — often", "[A cause] — 0"])
def test_frequencies_that_can_not_be_read(written):
    read, _ = fact("Symptom", f"- Causes: {written}")
    assert told(read) == [("bad-value", 2, written)]


@pytest.mark.parametrize("written", ["[A cause] — -3", "[A cause] — 1.5", "[A cause] — 3 times", "[A cause] — common — rare"])
def test_counts_are_whole_and_above_zero(written):
    read, _ = fact("Symptom", f"- Causes: {written}")
    assert [rule for rule, _, _ in told(read)] == ["bad-value"]


def test_a_dash_in_a_name_is_part_of_the_name():
    read, asked = fact("Symptom", "- Causes: [Fuse — blown] — rare", "\n# Cause: Fuse — blown\n")
    (value,) = asked.values("Causes")
    assert (value.text, value.remark) == ("Fuse — blown", "rare")
    assert told(read) == []


def test_a_name_shown_in_other_words_with_a_dash():
    _, asked = fact("Symptom", "- Causes: [the - fuse][A cause] - rare")
    assert [(v.text, v.remark) for v in asked.values("Causes")] == [("the - fuse", "rare")]


@pytest.mark.parametrize(("written", "number"), [("common", 6), ("occasional", 3), ("rare", 1), ("40", 40)])
def test_how_often(written, number):
    read, asked = fact("Cause", f"- How often: {written}")
    assert asked.values("How often")[0].number == number
    assert told(read) == []


def test_how_often_with_a_remark():
    read, asked = fact("Cause", "- How often: common — in winter")
    (value,) = asked.values("How often")
    assert (value.text, value.remark, value.number) == ("common", "in winter", 6)
    assert told(read) == []


def test_tried_on_with_a_date():
    read, asked = fact("Test", "- Tried on: [V] — 2024-05-01, by hand; [W]")
    assert [(v.text, v.remark) for v in asked.values("Tried on")] == [("V", "2024-05-01, by hand"), ("W", "")]
    assert told(read) == []


# Durations, numbers, flags.


@pytest.mark.parametrize(("written", "number"), [("5 min", 5), ("1 h 30 min", 90), ("90 s", 1.5)])
def test_takes_in_minutes(written, number):
    read, asked = fact("Test", f"- Takes: {written}")
    assert [v.number for v in asked.values("Takes")] == [number]
    assert told(read) == []


def test_takes_on_vehicles():
    read, asked = fact("Access", "- Takes: 20 min; 35 min on [V]; 1 h on [W]")
    assert [(v.number, [r.label for r in v.refs]) for v in asked.values("Takes")] == [(20, []), (35, ["V"]), (60, ["W"])]
    assert told(read) == []


@pytest.mark.parametrize(
    ("written", "marked"),
    [
        ("5", "5"), ("soon", "soon"), ("5 min on [V]", "5 min on [V]"), ("5 min; 6 min", "6 min"), ("5 min, 6 min", "5 min, 6 min"),
        ("5 min; ten min on [V]", "ten min on [V]"), ("5 min; 6 min on V", "6 min on V"), ("5 min; 6 min [V]", "6 min [V]"),
        ("5 min; on [V]", "on [V]"), ("5 min — about", "5 min — about"),
    ],
)  # fmt: skip
def test_takes_that_can_not_be_read(written, marked):
    read, _ = fact("Test", f"- Takes: {written}")
    assert told(read, "bad-value") == [("bad-value", 2, marked)]


@pytest.mark.parametrize(
    ("kind", "key", "written"),
    [
        ("Access", "Undo", "later"), ("Access", "Undo", "5 min on [V]"), ("Lesson", "Takes", "long"),
        ("Exercise", "Budget", "60"), ("Repair", "Costs", "12 EUR"), ("Repair", "Costs", "-1"), ("Repair", "Costs", "1,5"),
        ("Repair", "Try", "maybe"), ("Symptom", "Comes and goes", "sometimes"), ("Hazard", "Signal word", "ALERT"),
        ("Hazard", "Signal word", "WARNING!"), ("Cause", "How often", "seldom"), ("Cause", "How often", "0"),
    ],
)  # fmt: skip
def test_values_that_can_not_be_read(kind, key, written):
    read, _ = fact(kind, f"- {key}: {written}")
    assert told(read, "bad-value") == [("bad-value", 2, written)]


@pytest.mark.parametrize(
    ("kind", "key", "written"),
    [("Access", "Undo", "5 min; 6 min"), ("Repair", "Costs", "5; 6"), ("Repair", "Try", "yes; no"), ("Cause", "How often", "rare; 3")],
)
def test_a_fact_with_one_value_has_one(kind, key, written):
    read, _ = fact(kind, f"- {key}: {written}")
    assert told(read, "bad-value") == [("bad-value", 2, written.split("; ")[1])]


@pytest.mark.parametrize("written", ["warning", "Warning", "WARNING"])
def test_a_signal_word_is_read_without_regard_to_case(written):
    read, asked = fact("Hazard", f"- Signal word: {written}")
    assert asked.text("Signal word") == "WARNING"
    assert told(read) == []


@pytest.mark.parametrize("written", ["yes", "Yes", "no"])
def test_flags(written):
    read, asked = fact("Repair", f"- Try: {written}")
    assert asked.yes("Try") == (written != "no")
    assert told(read) == []


@pytest.mark.parametrize(("key", "written"), [("Language", "english language"), ("Language", "e"), ("Hour costs", "much"), ("Address", "example.org")])
def test_values_of_the_front_page_that_can_not_be_read(key, written):
    read = base(index=f"# B\n\n- Statement: s\n- {key}: {written}\n")
    assert told(read) == [("bad-value", 4, written)]


# Facts where none is read.


@pytest.mark.parametrize(
    "body",
    [
        "Words.\n\n- Takes: 6 min\n",
        "Words.\n\n- one\n- Takes: 6 min\n",
        "Words.\n\n1. Takes: 6 min\n",
        "Words.\n\nTakes: 6 min\n",
        "Words.\n\n- a\n  - Takes: 6 min\n",
        "Words.\n\n> Takes: 6 min\n",
        "Words.\n\n> - Takes: 6 min\n",
    ],
)
def test_a_later_bullet_item_or_paragraph_with_a_key_is_stray(body):
    read, asked = fact("Test", "- Needs: [A tool]\n\n" + body)
    assert [(rule, words) for rule, _, words in told(read)] == [("stray-fact", "Takes")]
    assert "Takes" not in asked.facts


def test_a_paragraph_between_heading_and_list_makes_the_facts_stray():
    read, asked = fact("Test", "\nWords first.\n\n- Takes: 5 min\n- Needs: [A tool]\n")
    assert told(read) == [("stray-fact", 5, "Takes"), ("stray-fact", 6, "Needs")]
    assert asked.facts == {}


def test_a_second_list_after_the_facts_is_stray():
    read, _ = fact("Test", "- Takes: 5 min\n\n* Needs: [A tool]\n")
    assert told(read) == [("stray-fact", 4, "Needs")]


@pytest.mark.parametrize("body", ["Said: nothing.\n", "* Result: fine\n", "Time taken: long\n", "It Takes: no\n"])
def test_other_words_before_a_colon_are_prose(body):
    assert told(fact("Test", "- Takes: 5 min\n\n" + body, "")[0]) == []


def test_a_list_below_a_plain_heading_with_a_key_of_any_kind_is_stray():
    read, _ = fact("Test", "- Takes: 5 min\n\n## Notes\n\n- plain\n- Causes: [A cause]\n")
    assert told(read) == [("stray-fact", 7, "Causes")]


def test_a_list_below_a_plain_heading_of_a_plain_page_is_stray():
    read = base("# Plain heading\n\n- Takes: 5 min\n")
    assert told(read) == [("stray-fact", 3, "Takes")]


def test_a_list_further_below_a_plain_heading_is_prose():
    assert told(base("# Plain heading\n\nWords.\n\n- Takes: 5 min\n")) == []


def test_a_second_title_on_the_front_page_takes_no_facts():
    read = base(index="# B\n\n- Statement: s\n\n# C\n\n- Language: de\n")
    assert told(read) == [("stray-fact", 7, "Language")]


def test_a_key_on_a_line_that_runs_on_in_a_fact_is_stray():
    read, asked = fact("Test", "- Takes: 5 min\nNeeds: [A tool]\n")
    assert ("stray-fact", 3, "Needs") in told(read)
    assert "Needs" not in asked.facts


def test_other_words_that_run_on_in_a_fact_are_its_text():
    read, asked = fact("Hazard", "- Hazard: An edge.\nNote: it is sharp.\n", "")
    assert asked.words("Hazard") == ("An edge. Note: it is sharp.",)
    assert told(read) == []
