"""Made-up nodes of any number from a fixed seed, and the questions and slips with which they are searched.

Words are invented and follow Zipf's law. There are about eight times as many as the root of the length of the text,
which is what the demonstration base has; some come with an English ending. Each page speaks of a topic of its own.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate
from string import ascii_lowercase

SEED = 20
PAGE = 40  # nodes of a page
VEHICLES = 8
WORDS_A_NODE = 60  # of name, said as and body, roughly
FORMS = 2.8  # of a stem that are written, roughly
STOPS = "the is of and to at in by with from for on".split()
STARTS = "b c d f g h l m n p r s t v w br cl dr fl gr pl st tr sh".split()
VOWELS = "a a e e i i o o u u ea ou".split()
ENDS = "n r l t k m p d x st nt rk ck sh ld".split()
ENDINGS, ENDING_SHARES = ("", "s", "ed", "ing"), (70, 16, 7, 7)
KINDS = ("Symptom", "Cause", "Test", "Cause", "Repair", "Test", "Symptom", "Repair")


@dataclass(frozen=True, slots=True)
class Slip:
    """A question, and the same with one letter wrong."""

    clean: str
    slipped: str


class Words:
    """Draws words: a third of them of a topic, the others of the whole language."""

    def __init__(self, nodes: int, chance: random.Random) -> None:
        self.chance = chance
        self.all = list(_language(round(8 * (nodes * WORDS_A_NODE) ** 0.5 / FORMS), chance))
        self.sums = list(accumulate(1 / (rank + 2.7) for rank in range(len(self.all))))
        self.topic: list[str] = []

    def turn(self) -> None:
        """Another topic."""
        self.topic = self._draw(50)

    def some(self, count: int) -> list[str]:
        """So many words, with their endings."""
        triples = zip(self._draw(count), self._draw(count), self.chance.choices(self.topic, k=count), strict=True)
        endings = self.chance.choices(ENDINGS, ENDING_SHARES, k=count)
        return [self.chance.choice(three) + end for three, end in zip(triples, endings, strict=True)]

    def prose(self, sentences: int) -> str:
        """Sentences with a third of small words."""
        return " ".join(self._sentence() for _ in range(sentences))

    def _sentence(self) -> str:
        words = self.some(self.chance.randrange(6, 11))
        for _ in range(len(words) // 2):
            words.insert(self.chance.randrange(len(words)), self.chance.choice(STOPS))
        return " ".join(words).capitalize() + "."

    def _draw(self, count: int) -> list[str]:
        return self.chance.choices(self.all, cum_weights=self.sums, k=count)


def _language(count: int, chance: random.Random) -> Iterator[str]:
    """So many different stems, of two syllables mostly."""
    known = set(STOPS)
    while len(known) < count + len(STOPS):
        syllables = chance.choices((1, 2, 3), (25, 60, 15))[0]
        stem = "".join(chance.choice(STARTS) + chance.choice(VOWELS) for _ in range(syllables)) + chance.choice(ENDS)
        if stem not in known:
            known.add(stem)
            yield stem


def made_pages(nodes: int, seed: int = SEED) -> dict[str, bytes]:
    """A base with so many nodes that can be found, in pages of about `PAGE`; all its references resolve."""
    chance = random.Random(f"{seed} {nodes}")
    words, named = Words(nodes, chance), set[str]()
    words.turn()
    vehicles = _names(words, named, min(VEHICLES, nodes))
    files = {"index.md": "# Made-up base\n\n- Statement: Invented. Follow the maker's instructions.\n"}
    files["vehicles.md"] = "\n".join(f"# Vehicle: {name}\n\n- Years: 2011 to 2016\n" for name in vehicles)
    for number, start in enumerate(range(len(vehicles), nodes, PAGE)):
        words.turn()
        count = min(PAGE, nodes - start)
        files[f"part{number // 50:02}/page{number:04}.md"] = _page(words, _names(words, named, count), vehicles)
    return {path: text.encode() for path, text in files.items()}


def _names(words: Words, named: set[str], count: int) -> list[str]:
    """Names that nothing else has."""
    found: list[str] = []
    while len(found) < count:
        name = " ".join(words.some(words.chance.randrange(3, 7))).capitalize()
        if name not in named:
            named.add(name)
            found.append(name)
    return found


def _page(words: Words, names: list[str], vehicles: list[str]) -> str:
    kinds = {name: KINDS[at % len(KINDS)] for at, name in enumerate(names[1:])}
    by_kind = {kind: [name for name in kinds if kinds[name] == kind] for kind in KINDS}
    parts = [f"# Function: {names[0]}\n\n{words.prose(3)}\n"]
    for name, kind in kinds.items():
        facts = "".join(f"- {fact}\n" for fact in _facts(words, kind, by_kind, vehicles))
        parts.append(f"## {kind}: {name}\n\n{facts}\n{_body(words, kind, by_kind)}\n")
    return "\n".join(parts)


def _facts(words: Words, kind: str, by_kind: dict[str, list[str]], vehicles: list[str]) -> Iterator[str]:
    """What a kind of node needs; symptoms have other names."""
    chance, causes, repairs = words.chance, by_kind["Cause"], by_kind["Repair"]
    if kind == "Symptom":
        phrases = (" ".join(words.some(chance.randrange(2, 6))) for _ in range(chance.randrange(1, 4)))
        yield "Said as: " + "; ".join(phrases)
    if kind == "Symptom" and causes:
        yield "Causes: " + "; ".join(f"[{name}]" for name in chance.sample(causes, min(3, len(causes))))
    if kind == "Cause" and repairs:
        yield f"Repair: [{chance.choice(repairs)}]"
    if kind in ("Test", "Repair"):
        yield f"Takes: {chance.randrange(1, 20)} min"
    if kind == "Test":
        yield f"Tried on: [{chance.choice(vehicles)}]"


def _body(words: Words, kind: str, by_kind: dict[str, list[str]]) -> str:
    text, causes = words.prose(words.chance.randrange(2, 8)), by_kind["Cause"]
    if kind != "Test" or len(causes) < 2:
        return text + "\n"
    first, second = words.chance.sample(causes, 2)
    rows = f"| It is bright | [{first}] |\n| It is dark | [{second}] |"
    return f"{text}\n\n| Finding | Clears |\n|---|---|\n{rows}\n"


def made_questions(names: Sequence[Sequence[str]], count: int, seed: int = SEED) -> list[str]:
    """Questions of one to three words, each of the names and sayings of one node."""
    chance = random.Random(f"{seed} questions")
    texts = [" ".join(pieces).lower().split() for pieces in names]
    known = [[word for word in dict.fromkeys(words) if word not in STOPS] for words in texts]
    asked: list[str] = []
    while len(asked) < count:
        words = chance.choice(known)
        asked.append(" ".join(chance.sample(words, min(chance.randrange(1, 4), len(words)))))
    return asked


def made_slips(questions: Sequence[str], seed: int = SEED) -> list[Slip]:
    """Each question that has a word of five letters or more, with one letter of one such word wrong."""
    chance, found = random.Random(f"{seed} slips"), list[Slip]()
    for clean in questions:
        words = clean.split()
        long = [at for at, word in enumerate(words) if len(word) >= 5]
        if long:
            at = chance.choice(long)
            found.append(Slip(clean, " ".join([*words[:at], slipped(words[at], chance), *words[at + 1 :]])))
    return found


def slipped(word: str, chance: random.Random) -> str:
    """A letter added, left out, changed or swapped with the next."""
    while True:
        at, letter = chance.randrange(len(word)), chance.choice(ascii_lowercase)
        ways = (
            word[:at] + letter + word[at:],
            word[:at] + word[at + 1 :],
            word[:at] + letter + word[at + 1 :],
            word[:at] + word[at + 1 : at + 2] + word[at] + word[at + 2 :],
        )
        if (other := chance.choice(ways)) != word:
            return other
