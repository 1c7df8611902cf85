"""Which nodes answer, in which order, and how well: held against Whoosh and against the formula."""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import pairwise, product

import pytest
from whoosh.query import Term
from whoosh.scoring import BM25F
from whoosh.util.numeric import byte_to_length, length_to_byte

from kb.search.asked import understand
from kb.search.index import FIELDS, K1, field_terms
from kb.search.query import find


def asked_terms(index, words):
    return [term for term, _ in understand(index.analysis, index.lexicon, words).terms]


def names(index, words, **options):
    return [hit.name for hit in find(index, words, **options)]


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("wont start", "Pump won't start"),
        ("the pump does not start", "Pump won't start"),
        ("nothing happens", "Pump won't start"),
        ("dead", "Pump won't start"),
        ("no water", "Pump runs but no water comes"),
        ("J2.float", "Lamp at the float plug"),
        ("j2.float 87a", "Lamp at the float plug"),
        ("12 volts", "Lamp at the float plug"),
        ("8k0941599", "New fuse"),
        ("8K0 941 599", "New fuse"),
        ("slipping", "New fuse"),
        ("F7", "Fuse F7 blown"),
        ("moving water", "Pumping"),
        ("Ostrel", "Ostrel Weir"),
        ("stand under kind", "Shared things"),
        ("shock", "Water near current"),
    ],
)
def test_the_first_hit(pump, words, first):
    assert names(pump, words)[0] == first


def test_a_hit_leads_to_the_line(pump):
    hit = find(pump, "wont start", most=1)[0]
    assert (hit.kind, hit.page) == ("Symptom", "functions/pumping.md")
    assert hit.address == "functions/pumping.html#symptom-pump-won-t-start"
    assert hit.node_id == "functions/pumping.md#symptom-pump-won-t-start"


def test_one_kind_only(pump):
    assert {hit.kind for hit in find(pump, "pump fuse lamp", kind="CAUSE")} == {"Cause"}
    assert find(pump, "pump", kind="nonsense") == ()


def test_the_most_hits(pump):
    many = find(pump, "pump fuse lamp water lid", most=100)
    assert find(pump, "pump fuse lamp water lid", most=3) == many[:3]
    assert find(pump, "pump", most=0) == find(pump, "pump", most=-1) == ()


def test_words_on_a_vehicle_and_under_a_function_find_their_nodes(pump):
    assert "Lid lamp dim" in names(pump, "ostrel weir") and "Lamp at the float plug" in names(pump, "ostrel")
    assert "Valve stuck" in names(pump, "pumping")


@pytest.mark.parametrize("alike", [("back-probe", "backprobe", "back probe"), ("keyless", "KEYLESS")])
def test_ways_of_writing_answer_alike(pump, alike):
    assert len({find(pump, words) for words in alike}) == 1 and find(pump, alike[0])


@pytest.mark.parametrize(
    "alike", [("repeater", "blinker", "turn signals", "turn-signal", "turnsignal", "indicator")]
)
def test_equal_words_answer_alike(pump, alike):
    assert len({find(pump, words) for words in alike}) == 1
    assert names(pump, alike[0]) == ["Repeater", "Lid off"]


def test_a_symptom_goes_first_where_words_tie(build):
    pages = {
        "index.md": "# Base\n\n- Statement: Invented.\n",
        "a.md": "# Cause: Wobble\n\n## Symptom: Wobble\n",
    }
    assert [hit.kind for hit in find(build(pages), "wobble")] == ["Symptom", "Cause"]


def test_page_order_breaks_the_other_ties(build):
    pages = {"index.md": "# Base\n\n- Statement: Invented.\n"}
    pages |= {f"{letter}.md": f"# Cause: Wobble {letter}\n" for letter in "cabd"}
    assert [hit.page for hit in find(build(pages), "wobble")] == ["a.md", "b.md", "c.md", "d.md"]


@pytest.mark.parametrize(
    "words",
    [
        "",
        " ",
        "the of and",
        "x" * 10_000,
        "\x00\x1b[31m\x07",
        "<script>alert(1)</script>",
        "مرآة",
        "?*~:AND(\"'",
    ],
)
def test_odd_questions_are_answered_calmly(pump, words):
    assert find(pump, words) == ()


def test_a_long_question_is_answered(pump):
    assert find(pump, "pump water " * 1_000) == find(pump, "pump water") != ()


def test_an_empty_base_answers_nothing(build):
    assert find(build({"index.md": "# Base\n\n- Statement: Invented.\n"}), "pump") == ()


def test_only_the_front_page_and_pages_without_prose_are_no_documents(pump):
    assert {d.node.kind for d in pump.documents if d.node.page == "index.md"} == set()
    assert [d.title for d in pump.documents if d.node.kind == "Page"] == ["Shared things"]


WEIGHTING = BM25F(K1=K1, **{f"{field}_B": weight.b for field, weight in FIELDS.items()})
QUESTIONS = ["pump", "float", "lamp plug", "no water comes", "fuse lamp lid water float", "wont start dead"]


@pytest.mark.parametrize("words", QUESTIONS)
def test_scores_are_the_sums_of_whooshs_own_scores(pump, words):
    """Each term searched in each field by itself, with Whoosh's own weighting at our K1 and B."""
    theirs = defaultdict(float)
    with pump.whoosh.searcher(weighting=WEIGHTING) as searcher:
        for term, (field, weight) in product(asked_terms(pump, words), FIELDS.items()):
            for hit in searcher.search(Term(field, term), limit=None):
                theirs[pump.documents[hit.docnum].node.id] += weight.boost * hit.score
    assert {h.node_id: h.score for h in find(pump, words, most=1_000)} == pytest.approx(
        theirs, rel=0, abs=1e-9
    )
    assert theirs


@pytest.mark.parametrize("words", QUESTIONS)
def test_scores_are_those_of_the_formula(pump, words):
    """Robertson, Walker, Beaulieu: Okapi at TREC-7 (BM25), with Whoosh's idf and one-byte lengths."""
    rows = {
        f: [field_terms(pump.analysis, f, d) for d in pump.documents]
        for f in FIELDS
    }
    count = len(pump.documents)
    for hit in find(pump, words, most=1_000):
        number = next(n for n, d in enumerate(pump.documents) if d.node.id == hit.node_id)
        score = 0.0
        for field, weight in FIELDS.items():
            average = sum(map(len, rows[field])) / count or 1
            held = rows[field][number]
            length = byte_to_length(length_to_byte(len(held)))
            for term in asked_terms(pump, words):
                tf, having = held.count(term), sum(term in row for row in rows[field])
                idf = math.log(count / (having + 1)) + 1
                spread = K1 * (1 - weight.b + weight.b * length / average)
                score += weight.boost * idf * tf * (K1 + 1) / (tf + spread) if tf else 0
        assert math.isclose(score, hit.score, rel_tol=0, abs_tol=1e-9)


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("strainre", "Strainer blocked"),  # two letters changed round
        ("stainer", "Strainer blocked"),  # one left out
        ("straiiner", "Strainer blocked"),  # one too many
        ("vallve stcuk", "Valve stuck"),
        ("strajnor blocked", "Strainer blocked"),  # two slips in more than seven letters
        ("blinkr", "Repeater"),  # the word meant has equals
        ("valv", "Valve stuck"),  # four letters, of which one is lost
    ],
)
def test_a_misspelt_word_finds_what_was_meant(pump, words, first):
    assert names(pump, words)[0] == first


@pytest.mark.parametrize("words", ["val", "J2.flota", "8K0-941-598", "31c", "49bb9"])
def test_short_words_numbers_and_pins_mean_themselves(pump, words):
    ((lost, near),) = understand(pump.analysis, pump.lexicon, words).instead
    assert lost in words.lower() and near == ""


def test_what_the_base_does_not_have_is_told_unless_it_is_half_typed(pump):
    def told(words, typing=False):
        return understand(pump.analysis, pump.lexicon, words, typing).instead

    assert told("fuse F14 of the pump, 49bb9") == (("f14", ""), ("49bb9", ""))
    assert told("fuse F1", typing=True) == told("fuse of the x", typing=True) == ()
    assert told("fuse F1 ", typing=True) == (("f1", ""),)
    assert told("fuse F7, the of 12 volts") == ()


def test_a_word_of_four_letters_may_be_any_slip_but_one_letter_too_many(pump):
    assert names(pump, "box")  # a word of three letters that the base has
    for word, meant in (("fuze", "fuse"), ("fsue", "fuse"), ("fues", "fuse"), ("boxx", ""), ("ples", "")):
        assert understand(pump.analysis, pump.lexicon, word).instead == ((word, meant),)


def test_a_word_of_the_base_is_never_taken_for_another(pump):
    for word in pump.lexicon.words:
        assert understand(pump.analysis, pump.lexicon, word).instead == ()


def test_only_the_nearest_words_are_taken(build):
    front = {"index.md": "# Base\n\n- Statement: Invented.\n"}
    index = build(front | {"a.md": "# Tool: Sprocket\n\n# Tool: Sprockets wheel\n\n# Tool: Spracked\n"})
    assert understand(index.analysis, index.lexicon, "sprockte").instead == (("sprockte", "sprocket"),)
    assert [hit.name for hit in find(index, "sprockte")] == ["Sprocket", "Sprockets wheel"]


@pytest.mark.parametrize(
    ("words", "first"), [("strai", "Strainer blocked"), ("pum", "Pump won't start"), ("valve stu", "Valve stuck"), ("pumping mov", "Pumping")]
)
def test_the_last_word_may_be_half_typed(pump, words, first):
    assert names(pump, words, typing=True)[0] == first


def test_no_letter_typed_loses_all_hits(pump):
    """A word that is typed on passes through its stem: `pumpi` is no stem, `pump` and `pumping` are."""
    for word in ("pumping", "strainer", "blocked", "slipping", "floating", "headlamps"):
        assert [word[:n] for n in range(3, len(word) + 1) if not find(pump, word[:n], typing=True)] == []


def test_a_word_that_is_done_is_not_half_typed(pump):
    assert find(pump, "strai") == find(pump, "strai ", typing=True) == ()


def test_quoted_words_stand_together(pump):
    assert names(pump, '"no water"') == ["Pump runs but no water comes"]
    assert names(pump, '"water no"') == names(pump, '"pump water"') == []
    assert set(names(pump, "\u201cdead pump\u201d start")) == {"Pump won't start"}


def test_a_quote_passes_over_words_that_tell_nothing(pump):
    assert names(pump, '"lamp at the float plug"')[0] == "Lamp at the float plug"
    assert names(pump, '"the of"') == [] and names(pump, '"the of" pump') == names(pump, "pump")


def test_a_quote_does_not_reach_over_two_phrases(pump):
    assert "Pump won't start" in names(pump, '"nothing happens"')
    assert names(pump, '"pump nothing"') == []  # "dead pump; nothing happens"


def test_scores_are_not_changed_by_quotes(pump):
    plain = {hit.name: hit.score for hit in find(pump, "no water comes", most=100)}
    (hit,) = find(pump, '"no water comes"')
    assert hit.score == plain[hit.name]


MIRRORED = """# Function: Arm

## Symptom: Lift dead, swing works

- Said as: the arm only goes left and right; it won't go up; up and down does nothing

## Symptom: Swing dead, lift works

- Said as: the arm only goes up and down; it won't go left; left and right does nothing

# Term: Swing

- Said as: left and right; sideways

# Term: Lift

- Said as: up and down
"""


@pytest.mark.parametrize(
    ("words", "first"),
    [
        ("the arm only goes left and right", "Lift dead, swing works"),
        ("arm only goes up and down", "Swing dead, lift works"),
        ("it won't go up", "Lift dead, swing works"),
        ("wont go left", "Swing dead, lift works"),
        ("left and right does nothing", "Swing dead, lift works"),
        ("only goes sideways", "Lift dead, swing works"),
    ],
)
def test_what_a_customer_says_finds_the_symptom_and_not_its_mirror(build, ask, words, first):
    """The same words in another order are another complaint; in the browser too."""
    index = build({"index.md": "# A base\n\n- Statement: Invented.\n", "arm.md": MIRRORED})
    assert names(index, words)[0] == first
    (hits,) = ask(index, queries=[(words, None, 3)])["answers"]
    assert hits[0]["name"] == first


def test_who_asks_for_a_part_by_its_designation_finds_its_drawing_first(build):
    """A repair's few words name the fuse in passing; the circuit's tables are long."""
    ends = ("F1.b", *(f"M1.p{n}" for n in range(1, 9)))
    wires = "".join(f"| W{n} | {a} | {b} | GY | 0.5 | 1 m | |\n" for n, (a, b) in enumerate(pairwise(ends), 1))
    index = build(
        {
            "index.md": "# Base\n\n- Statement: The maker comes first.\n",
            "page.md": "# Repair: Dry the plug\n\n- Takes: 1 min\n\n1. Take `F1` out.\n2. Dry the plug.\n3. Push `F1` in.\n\n# Circuit: Pump feed\n\n"
            "- Vehicle: [Weir]\n\n| Part | Kind | Pins | Value |\n|---|---|---|---|\n| B1 | battery | + - | 12.6 V, 20 mohm |\n"
            f"| F1 | fuse | a b | 10 A |\n| M1 | motor | {' '.join(f'p{n}' for n in range(1, 9))} | 6 ohm |\n\n"
            f"| Wire | From | To | Colour | mm2 | Length | Splice |\n|---|---|---|---|---|---|---|\n{wires}\n# Vehicle: Weir\n",
        }
    )
    assert [hit.name for hit in find(index, "F1")][:2] == ["Pump feed", "Dry the plug"]
