"""What a text gives to search, held on both sides: Python and the browser's scripts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.search.analysis import LONGEST, MOST_TERMS, runs
from kb.search.language import language_of
from kb.search.vocabulary import learn

PAGES = ("Back-probe the wire.", "A headlamp is a lamp at the head.", "Turn the key; keyless and key less.")
EQUALS = (
    ("Repeater", "blinker", "turn signal"),
    ("Tell-tale", "indicator"),
    ("Indicator stalk", "indicator"),
)



def query_runs(analysis, text):
    return list(dict.fromkeys(runs(analysis.units(analysis.atoms(analysis.words(text, asked=True))))))[:MOST_TERMS]


# words, terms: all invented, from the rules of English and of the page format
TABLE = [
    ("won't fold", ("not", "fold")),
    ("Wont FOLD", ("not", "fold")),
    ("won’t fold", ("not", "fold")),
    ("does not fold", ("not", "fold")),
    ("dead, no power", ("dead", "no", "power")),
    ("stays on / stays off", ("stay", "off")),
    ("up and down", ("up", "down")),
    ("the of and", ()),
    ("slipped slips slipping", ("slip",)),
    ("motor's motors", ("motor",)),
    ("J2.tilt", ("j2.tilt",)),
    ("the lamp.Look J2.", ("lamp", "look", "lamp.look", "j2")),
    ("`J2.3` mirror", ("j2.3", "mirror")),
    ("B1.+ and B1.-", ("b1.+", "b1.-")),
    ("fuse F7", ("fuse", "f7")),
    ("31b 49a 87a", ("31b", "49a", "87a")),
    ("8K0-941-599", ("8k0", "941", "599", "8k0941599")),
    ("12 V 12V 12 volts 12-volt", ("12v", "12volt")),
    ("12.6 V", ("12.6v",)),
    ("90 % of it", ("90%",)),
    ("60 Ω, 60 ohms", ("60ohm",)),
    ("0.5 mm²", ("0.5mm2",)),
    ("7.5 A fuse", ("7.5a", "fuse")),
    ("back-probe", ("back", "probe")),
    ("backprobe", ("back", "probe")),
    ("backprobing", ("back", "probe")),
    ("back probe", ("back", "probe")),
    ("back‑probe", ("back", "probe")),
    ("headlamps", ("head", "lamp")),
    ("keyless", ("key", "less")),
    ("un-heard", ("un", "heard", "unheard")),
    ("repeater", ("_repeater",)),
    ("the blinkers are dead", ("_repeater", "dead")),
    ("turn signals", ("_repeater",)),
    ("turn-signal", ("_repeater",)),
    ("turnsignal", ("_repeater",)),
    ("repeat it", ("repeat",)),
    ("indicator", ("_tell_tal", "_indicator_stalk")),
    ("turn", ("turn",)),
    ('<b>lamp</b> & "q"', ("b", "lamp", "q")),
    ("lamp\x00\x07dim\u202e", ("lamp", "dim")),
    ("ﬁt ４２", ("fit", "42")),
    ("constructor __proto__ toString", ("constructor", "proto", "tostr")),
    ("مرآة الباب", ("مرآة", "الباب")),
    ("ΌΔΟΣ όδος", ("όδοσ",)),
    ("a" + "1" * 40 + ".", ("a" + "1" * 40,)),
    ("%%% ... --- +++ '''", ()),
]


@pytest.fixture(scope="module")
def english():
    return learn(language_of("en-GB"), PAGES, EQUALS)


@pytest.mark.parametrize(("text", "terms"), TABLE, ids=[text for text, _ in TABLE])
def test_a_question_gives_these_terms(english, text, terms):
    assert english.query_terms(text) == terms


@pytest.mark.parametrize("text", [text for text, _ in TABLE])
def test_a_text_holds_each_term_that_it_asks_for(english, text):
    assert set(english.query_terms(text)) - {"unheard"} <= set(english.index_terms(text))


def test_a_point_is_found_by_its_pin_too(english):
    assert list(english.index_terms("`J2.tilt`")) == ["j2", "tilt", "j2.tilt"]


def test_a_phrase_is_found_by_its_own_words_too(english):
    assert list(english.index_terms("the turn signal")) == ["_repeater", "turn", "signal"]


def test_long_words_and_long_questions_are_cut(english):
    assert english.query_terms("x" * 10_000) == ("x" * LONGEST,)
    assert len(english.query_terms(" ".join(f"w{n}" for n in range(5_000)))) == MOST_TERMS


@given(st.text())
def test_no_text_raises_and_every_term_is_found_again(text):
    english = learn(language_of("en"), PAGES, EQUALS)
    asked = [t for t in english.query_terms(text) if not t.isalpha()]
    assert set(asked) <= set(english.index_terms(text))


@pytest.mark.parametrize(
    ("tag", "pages", "question", "terms"),
    [
        (
            "de",
            ("Der Spiegel klappt nicht ein.", "Die Spiegel klappen."),
            "klappen nicht",
            ("klapp", "nicht"),
        ),
        ("de-AT", ("Spiegelglas", "Spiegel und Glas"), "das Spiegelglas", ("spiegel", "glas")),
        ("fr", ("L'aile ne marche pas.",), "l’aile pas", ("ail", "pas")),
        ("nb", ("Speilet virker ikke",), "ikke speilet", ("ikk", "speil")),
        ("xx", ("Moving motors",), "Moving motors the", ("moving", "motors", "the")),
    ],
)
def test_endings_and_stop_words_go_by_the_language(tag, pages, question, terms):
    assert learn(language_of(tag), pages, ()).query_terms(question) == terms


def test_a_word_that_the_base_does_not_use_keeps_its_ending_beyond_english():
    assert learn(language_of("de"), ("klappen",), ()).query_terms("gefaltete") == ("gefaltete",)


def test_the_browser_takes_the_same_steps(build, ask):
    pages = {"index.md": "# A base\n\n- Statement: Invented.\n"}
    for number, text in enumerate(PAGES):
        pages[f"page{number}.md"] = f"# Tool: Page {number}\n\n{text}\n"
    for name, *others in EQUALS:
        pages[f"{name.lower()}.md"] = f"# Term: {name}\n\n- Said as: {'; '.join(others)}\n"
    index = build(pages)
    texts = [text for text, _ in TABLE] + ["x" * 10_000, " ".join(f"w{n} blinker" for n in range(5_000))]
    asked = ask(index, texts=texts)
    assert asked["terms"] == [list(index.analysis.query_terms(text)) for text in texts]
    assert asked["runs"] == [query_runs(index.analysis, text) for text in texts]


@pytest.mark.parametrize("tag", ["de", "fr", "sv", "ru", "ar", "tr", "xx"])
def test_the_browser_takes_the_same_steps_in_other_languages(build, ask, tag):
    words = "Der Spiegel klappt nicht; l'aile du véhicule. Speglarna fälls. Зеркало не работает. مرآة الباب"
    front = f"# A base\n\n- Statement: Invented.\n- Language: {tag}\n"
    index = build({"index.md": front, "a.md": f"# Tool: One\n\n{words}\n"})
    texts = [words, words.upper(), "Spiegelglas klappen zeigt", "won't"]
    asked = ask(index, texts=texts)
    assert asked["terms"] == [list(index.analysis.query_terms(text)) for text in texts]
    assert asked["runs"] == [query_runs(index.analysis, text) for text in texts]
