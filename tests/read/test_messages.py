"""Safety messages: which quote is one, its signal word, title, sentences and the hazards it names."""

from __future__ import annotations

import pytest

from kb.model import SignalWord
from kb.read.inlines import plain
from tests.bases import base, node, told, under

H = "\n# Hazard: H\n\n# Hazard: H two\n"


def message(text: str, more: str = H):
    """A base with a test of this text, and the test's messages."""
    read = base(f"# Test: T\n\n{text}\n{more}")
    return read, [b.message for b in node(read, "T").blocks if b.message]


# Signal words of ANSI Z535.6, strongest first.
@pytest.mark.parametrize(("word", "rank"), [("DANGER", 0), ("WARNING", 1), ("CAUTION", 2), ("NOTICE", 3)])
def test_signal_words(word, rank):
    read, (found,) = message(f"> **{word}** [H]")
    assert found.signal_word is SignalWord(word)
    assert found.signal_word.rank == rank
    assert [read.target(r).name for r in found.refs] == ["H"]
    assert told(read) == []


@pytest.mark.parametrize(
    ("text", "title", "sentences"),
    [
        ("> **CAUTION: sharp trim edges.** The edges can cut. Wear gloves.", "sharp trim edges", 2),
        ("> **CAUTION sharp trim** It cuts. Wear gloves.", "sharp trim", 2),
        ("> **CAUTION: *sharp* `trim`** It cuts! Wear gloves?", "sharp trim", 2),
        ("> **CAUTION:** sharp trim cuts.", "", 1),
        ("> **CAUTION** It cuts. Wear gloves. Look.", "", 3),
        ("> **CAUTION: hot.** It burns", "hot", 1),
        ("> **CAUTION: hot.**", "hot", 0),
        ("> **CAUTION: hot.**\n>\n> It burns.\n>\n> - Wait.\n> - Look.", "hot", 3),
        ("> **CAUTION: hot.**\n> It burns.\n> Wait 5.5 min.", "hot", 2),
        ("> **CAUTION:\n> hot glass.** It burns. Wait.", "hot glass", 2),
        ("> __CAUTION: hot.__ It burns. Wait.", "hot", 2),
    ],
)
def test_a_message_of_the_pages_own(text, title, sentences):
    read, (found,) = message(text)
    assert (found.title, found.sentences, found.refs) == (title, sentences, ())
    assert under(read, found.span) == text
    assert told(read) == []


@pytest.mark.parametrize(
    "text",
    [
        "**WARNING** no quote.", "> WARNING not bold.", "> **Warning** not in capitals.", "> *WARNING* not bold.", "> **ATTENTION** no word.",
        "> Words first. **WARNING** later.", "> # **WARNING**", "> - **WARNING** in a list.", "> **WARNINGS** more letters.",
        "> `WARNING` code.", "> \\**WARNING** escaped.",
    ],
)  # fmt: skip
def test_what_is_no_message(text):
    _, found = message(text)
    assert found == []


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("> **WARNING** [H]", ["H"]), ("> **WARNING:** [H].", ["H"]), ("> **WARNING** [h]; [H two]", ["H", "H two"]),
        ("> **WARNING** [H] and more words on [H two]", ["H", "H two"]),
        ("> **WARNING: a title.** It burns, see [H]. Wait.", ["H"]), ("> **WARNING [H]**", ["H"]),
        ("> **WARNING**\n>\n> Text.\n>\n> - [H]", ["H"]), ("> **WARNING** *[H]*", ["H"]),
        ("> **WARNING**\n>\n> | x |\n> |---|\n> | [H] |", ["H"]), ("> **WARNING** x\n>\n> > [H]", ["H"]),
    ],
)  # fmt: skip
def test_a_message_names_hazards_by_brackets_anywhere_in_it(text, names):
    read, (found,) = message(text)
    assert [n.name for n in read.all(found.refs)] == names
    assert told(read) == []


def test_the_name_behind_the_signal_word_is_a_hazards():
    read, (found,) = message("> **WARNING** [X]", "\n# Cause: X\n\n# Hazard: X\n")
    assert [n.id for n in read.all(found.refs)] == ["page.md#hazard-x"]
    read, _ = message("> **WARNING** [X]", "\n# Cause: X\n")
    assert told(read) == [("wrong-kind", 3, "[X]")]


def test_other_names_in_a_message_are_any_nodes():
    read, (found,) = message("> **WARNING: a title.** Take the [L]. See [H].", H + "\n# Tool: L\n")
    assert [n.name for n in read.all(found.refs)] == ["L", "H"]
    assert told(read) == []


def test_a_message_inside_a_step_is_one():
    read = base("# Test: T\n\n1. Step.\n\n   > **WARNING** [H]\n\n2. Next.\n" + H)
    assert [bool(m.message) for m in node(read, "T").moments] == [False, True, False]


def test_a_quote_line_without_its_own_mark_is_told():
    read, (found,) = message("> **CAUTION: hot.** It burns.\nWait.")
    assert told(read) == [("lost-text", 4, "Wait.")]
    assert found.sentences == 2


@pytest.mark.parametrize("text", ["> a\n> b\n\nafter", "> a\n>\n> b", "> - a\n>   b", "> a\n\n> b", "> > a\n> > b"])
def test_quotes_whose_lines_have_their_mark(text):
    assert told(base(text + "\n")) == []


@pytest.mark.parametrize(("text", "line"), [("> a\nb", 2), ("> - a\n  b", 2), ("> > a\n> b", 2), ("> a\n> b\nc\nd", 3), ("- > a\n  b", 2)])
def test_a_line_that_joins_a_quote(text, line):
    assert [(rule, at) for rule, at, _ in told(base(text + "\n"))] == [("lost-text", line)]


def test_all_that_a_message_says_is_kept():
    text = "> **WARNING: hot.** It burns. Wait.\n>\n> ```\n> count to ten\n> ```\n>\n> | a | b |\n> |---|---|\n> | c | d |\n>\n> - e\n>   - f"
    _, (found,) = message(text)
    said = plain(found.body)
    assert [word for word in ("count to ten", "a", "b", "c", "d", "e", "f") if word not in said] == []
