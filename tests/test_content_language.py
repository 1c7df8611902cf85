"""The demonstration base speaks plain English: short steps of one act, no vague phrase, one word for one thing.

The limits are those of controlled English for maintenance (ASD-STE100: 20 words in a sentence of a procedure,
25 in a description, one instruction a sentence; from memory). The lists of words are this base's own choice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

import pytest

from kb.build import Reader
from kb.model import Base, Node
from kb.reference import Kind
from tests.conftest import ROOT

STEP_WORDS = 20
PROSE_WORDS = 25
MESSAGE_WORDS = 45  # hazard, consequence and avoidance together: common practice, no source
TOLD = ("Hazard", "Consequence", "Avoidance", "Works only when", "Because", "Statement")
DOES = (Kind.TEST, Kind.REPAIR, Kind.ACCESS)

VAGUE = (
    "check the wiring", "check wiring", "if necessary", "as necessary", "as required", "if required", "as needed",
    "if needed", "make sure that everything", "etc", "and so on", "as appropriate", "properly", "carefully inspect",
    "check everything", "a few checks", "should be fine",
)  # fmt: skip
UNSAID = ("ok", "okay", "success", "successful", "successfully", "safe", "safely", "pass", "passes", "passed", "oops",
          "tip", "tips", "info")  # fmt: skip
ONE_WORD = {
    "connector": "plug", "wing mirror": "door mirror", "side mirror": "door mirror", "earth": "ground",
    "door card": "door trim", "door panel": "door trim", "door lining": "door trim",
    "vapour barrier": "moisture barrier", "membrane": "moisture barrier", "rubber boot": "hinge gaiter",
    "bellows": "hinge gaiter", "mirror triangle": "sail panel", "actuator": "drive", "hot-air gun": "warm-air gun",
    "heat gun": "warm-air gun", "demister": "heater", "defroster": "heater", "blinker": "repeater",
    "indicator": "repeater", "control unit": "module", "phantom voltage": "ghost voltage",
    "stray voltage": "ghost voltage", "continuity": "ohms", "voltmeter": "multimeter", "fold motor drive": "fold drive",
    "jammed motor": "seized motor", "adjuster": "glass drive", "electrochromic mirror": "dimming glass",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Said:
    """A text of the base and where it stands. `step` tells a numbered step of a test, repair or access."""

    place: str
    text: str
    step: bool = False


@cache
def demo() -> Base:
    return Reader(ROOT / "content").read(None)


def said(node: Node) -> Iterator[Said]:
    """All that a reader reads of a node as words: name, prose, steps, findings, told facts."""
    at = f"{node.page}:{node.span.line}"
    yield Said(at, node.name)
    for moment in node.moments:
        if not moment.message:
            words = names_as_one(node, moment.text)
            yield Said(f"{node.page}:{moment.span.line}", words, moment.numbered and node.kind in DOES)
    for finding in node.findings:
        yield Said(f"{node.page}:{finding.span.line}", finding.words.text)
    for key in TOLD:
        yield from (Said(f"{node.page}:{v.span.line}", v.text) for v in node.values(key))


def names_as_one(node: Node, text: str) -> str:
    """A text in which each name of another node counts as one word, as a title does."""
    for name in sorted({ref.shown for ref in node.prose_refs}, key=len, reverse=True):
        text = text.replace(name, name.replace(" ", "\u00a0").replace(",", ""))
    return text


def sentences(text: str) -> list[str]:
    """The sentences of a text; a colon, a semicolon and a line's end divide too."""
    return [part for part in re.split(r"(?<=[.!?:;])\s+|\n", text) if part.strip()]


def words(sentence: str) -> list[str]:
    """Words as they are counted; `J2.tilt mirror`, `0.3 A` and `up/down` count by their spaces."""
    return [word for word in re.split(r"[ \t\n]+", sentence) if re.search(r"\w", word)]


def holds(text: str, phrase: str) -> bool:
    """True where a text has a phrase as whole words."""
    return re.search(rf"(?<![\w-]){re.escape(phrase)}(?![\w-])", text, re.IGNORECASE) is not None


def long_sentence(one: Said) -> Iterator[str]:
    most = STEP_WORDS if one.step else PROSE_WORDS
    for sentence in sentences(one.text):
        if (count := len(words(sentence))) > most:
            yield f"{count} words, {most} are the most: {sentence}"


def two_acts(one: Said) -> Iterator[str]:
    if one.step and (holds(one.text, "and then") or holds(one.text, "then")):
        yield f"two acts in one step: {one.text}"
    if one.step and len(re.split(r"(?<=[.!?])\s+", one.text.strip())) > 1:
        yield f"two sentences in one step: {one.text}"


def vague_phrase(one: Said) -> Iterator[str]:
    yield from (f"says nothing: `{phrase}` in: {one.text}" for phrase in VAGUE if holds(one.text, phrase))


def unsaid_word(one: Said) -> Iterator[str]:
    yield from (f"`{word}` is not said here: {one.text}" for word in UNSAID if holds(one.text, word))


def other_word(one: Said) -> Iterator[str]:
    ours_only = re.sub(r'"[^"]*"', "", one.text)  # what a customer says is quoted in the customer's words
    for word, ours in ONE_WORD.items():
        if holds(ours_only, word) or holds(ours_only, word + "s"):
            yield f"`{word}` is called `{ours}` here: {one.text}"


RULES: tuple[Callable[[Said], Iterator[str]], ...] = (long_sentence, two_acts, vague_phrase, unsaid_word, other_word)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.__name__)
def test_the_base_keeps_the_rule(rule: Callable[[Said], Iterator[str]]) -> None:
    nodes = [node for node in demo().nodes.values() if node.kind is not Kind.TERM]
    found = [f"{one.place}: {word}" for node in nodes for one in said(node) for word in rule(one)]
    assert not found, f"{len(found)} places\n" + "\n".join(found)


def test_a_message_is_short_enough_to_be_read() -> None:
    long = []
    for node in demo().of_kind(Kind.HAZARD):
        count = sum(len(words(node.text(key))) for key in ("Hazard", "Consequence", "Avoidance"))
        if count > MESSAGE_WORDS:
            long.append(f"{node.page}:{node.span.line}: {node.name}: {count} words, {MESSAGE_WORDS} are the most")
    assert not long, "\n".join(long)


BAD = (
    (long_sentence, Said("p:1", "Turn the key on " + "and on " * 9, step=True)),
    (long_sentence, Said("p:1", "The wire " + "of the wire " * 8)),
    (two_acts, Said("p:1", "Turn the key off and then unplug the switch.", step=True)),
    (two_acts, Said("p:1", "Turn the key off. Unplug the switch.", step=True)),
    (vague_phrase, Said("p:1", "Check the wiring.")),
    (vague_phrase, Said("p:1", "Fuses, plugs, grounds etc. can fail.")),
    (unsaid_word, Said("p:1", "The reading is OK.")),
    (unsaid_word, Said("p:1", "Now it is safe to work.")),
    (other_word, Said("p:1", "Open the connectors of the mirror.")),
)


@pytest.mark.parametrize(("rule", "one"), BAD, ids=lambda value: getattr(value, "__name__", ""))
def test_each_rule_finds_its_fault(rule: Callable[[Said], Iterator[str]], one: Said) -> None:
    assert list(rule(one))


GOOD = (
    Said("p:1", "Put on safety glasses.", step=True),
    Said("p:1", "Hold “up” and read 0.3 V.", step=True),
    Said("p:1", "Read the volts: they stay above 11 V."),
    Said("p:1", 'The customer says "the blinker is dead".'),
    Said("p:1", "Info-free names such as a passenger and a tiptoe are no fault."),
)


@pytest.mark.parametrize("one", GOOD, ids=lambda one: one.text[:20])
def test_plain_words_are_left_alone(one: Said) -> None:
    assert not [word for rule in RULES for word in rule(one)]
