"""How text becomes the terms that are searched; `templates/static/words.js` takes the same steps."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from kb.search.language import Language, singular

LONGEST = 64  # characters of a word that count
MOST_TERMS = 32  # terms of a query that count, so that a pasted page doesn't load every shard

UNITS: Mapping[str, str] = {
    **{unit: unit for unit in "v mv kv a ma w kw ohm mohm kohm m cm mm mm2 nm hz khz bar %".split()},
    **{"volt": "v", "volts": "v", "amp": "a", "amps": "a", "ampere": "a", "amperes": "a"},
    **{"watt": "w", "watts": "w", "ohms": "ohm", "ω": "ohm", "mω": "mohm", "kω": "kohm"},
}
APOSTROPHES = "'’‘‛ʼ´`′＇"
_KEPT = ".+%-"
_WORD = r"[^ .+%-]"
_CHUNK = re.compile(rf"{_WORD}+(?:[.-]{_WORD}+)*(?:\.[+-](?!{_WORD}))?|%")
_NUMBER = re.compile(r"([0-9]+(?:\.[0-9]+)?)(.*)")
_POINT = re.compile(r"[^ .+%0-9-]+[0-9][^ .+%-]*\.[^ .%]+")


class _Characters(dict[int, str]):
    """What each character becomes: letters, digits and marks stay, formats vanish, others part."""

    def __missing__(self, code: int) -> str:
        category = unicodedata.category(chr(code))
        kept = category[0] in "LNM" or chr(code) in _KEPT
        self[code] = chr(code) if kept else "" if category == "Cf" else " "
        return self[code]


_CHARACTERS = _Characters({ord(c): "-" for c in "‐‑−"} | {ord("ς"): "σ"})


@dataclass(frozen=True, slots=True)
class Word:
    """A piece of text. `also` are terms it gives besides its own: a pin, a part number."""

    text: str
    also: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Atom:
    """A word ready for the index: `key` is compared with equal words, `terms` are searched."""

    key: str
    terms: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Analysis:
    """The words of one base. `splits` maps the stem of a word to the words it is made of;
    `equals` maps the keys of a phrase to the terms that stand for it and all its equals.
    `stems` holds the endings of the base's own words in a language that `words.js` can't stem; `kin` maps an
    English stem to a shorter one of the base: `slower` and `slowli` to `slow`.
    """

    language: Language
    stems: Mapping[str, str] = field(default_factory=dict)
    kin: Mapping[str, str] = field(default_factory=dict)
    splits: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    equals: Mapping[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)

    def stem(self, word: str) -> str:
        """The stem of a word; beyond English only of words which the base itself uses."""
        if not self.language.english:
            return self.stems.get(word, word)
        stem = self.language.stem(word)
        return self.kin.get(stem, stem)

    def key(self, word: str) -> str:
        """What equal words are compared by."""
        return singular(word) if self.language.english else self.stem(word)

    def words(self, text: str, asked: bool = False) -> tuple[Word, ...]:
        """The pieces of a text, or of a question."""
        return words(text, self.language.joins, asked)

    def atoms(self, found: Iterable[Word]) -> tuple[Atom, ...]:
        """The words that these pieces stand for, in order."""
        return tuple(atom for word in found for atom in self._atoms(word))

    def index_terms(self, text: str) -> Iterator[str]:
        """Terms of a text to be found: its own words, and what stands for each phrase's equals."""
        atoms, longest = self.atoms(self.words(text)), self._longest()
        for at, atom in enumerate(atoms):
            for size in range(1, longest + 1):
                yield from self._equal(atoms[at : at + size], size)
            yield from atom.terms

    def index_runs(self, text: str) -> Iterator[str]:
        """The neighbouring words of a name or of a phrase that people say, and the whole of it."""
        return runs(self.units(self.atoms(self.words(text))))

    def query_terms(self, text: str) -> tuple[str, ...]:
        """Terms of a question, each once: the longest phrase that has equals speaks for them all."""
        return terms(self.units(self.atoms(self.words(text, asked=True))))

    def units(self, atoms: tuple[Atom, ...]) -> list[tuple[str, ...]]:
        """The terms of each word or longest phrase with equals, in order, as far as they count."""
        at, seen, found = 0, set[str](), []
        sizes = range(self._longest(), 0, -1)
        while at < len(atoms) and len(seen) < MOST_TERMS:
            size = next((n for n in sizes if self._equal(atoms[at : at + n], n)), 0)
            unit = self._equal(atoms[at : at + size], size) or atoms[at].terms
            found += [unit] if unit else []
            seen.update(unit)
            at += max(size, 1)
        return found

    def _longest(self) -> int:
        return max(map(len, self.equals), default=0)

    def _equal(self, atoms: tuple[Atom, ...], size: int) -> tuple[str, ...]:
        return self.equals.get(tuple(a.key for a in atoms), ()) if len(atoms) == size else ()

    def _atoms(self, word: Word) -> Iterator[Atom]:
        parts = self.splits.get(self.stem(word.text), (word.text,))
        also = tuple(t for joined in word.also for t in self._also(joined))
        for part in parts[:-1]:
            yield self._atom(part, ())
        yield self._atom(parts[-1], also)

    def _atom(self, word: str, also: tuple[str, ...]) -> Atom:
        word = self.language.same.get(word, word)
        own = () if word in self.language.stops else (self.stem(word),)
        return Atom(self.key(word), own + also)

    def _also(self, joined: str) -> tuple[str, ...]:
        """A joined word counts unless its parts already say it."""
        stem = self.stem(joined)
        return () if stem in self.splits else (stem,)


def terms(units: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    """All terms of a question, each once."""
    return tuple(dict.fromkeys(term for unit in units for term in unit))[:MOST_TERMS]


def runs(units: list[tuple[str, ...]]) -> Iterator[str]:
    """Neighbours, and the whole: "left and right" isn't "right, and left dead". `~` keeps them from words."""
    names = [unit[0] for unit in units]
    yield from (f"~{a}_{b}" for a, b in zip(names, names[1:], strict=False))
    if len(names) > 2:
        yield "~" + "_".join(names)


def normalise(text: str, joins: bool) -> str:
    """Lower case, compatible forms made one (NFKC), all else than words and `.+%-` a space."""
    text = text.translate(dict.fromkeys(map(ord, APOSTROPHES), "" if joins else " "))
    return unicodedata.normalize("NFKC", text).lower().translate(_CHARACTERS)


def words(text: str, joins: bool, asked: bool = False) -> tuple[Word, ...]:
    """The words of a text; a number and its unit are one word. A text's `J2.tilt` is found by `tilt`
    too, but who has asked for `J2.tilt` wants nothing else.
    """
    chunks = _CHUNK.findall(normalise(text, joins))
    return tuple(_measured([word for chunk in chunks for word in _parts(chunk, asked)]))


def compounds(text: str, joins: bool) -> Iterator[tuple[str, ...]]:
    """The parts of each word written with hyphens and without digits."""
    for chunk in _CHUNK.findall(normalise(text, joins)):
        if "-" in chunk and not re.search(r"[0-9.]", chunk):
            yield tuple(_short(part) for part in chunk.split("-"))


def _parts(chunk: str, asked: bool) -> Iterator[Word]:
    """Points of a circuit and part numbers are found whole and by their parts."""
    if ("." not in chunk and "-" not in chunk) or (asked and _POINT.fullmatch(chunk)):
        yield Word(_short(chunk))
        return
    if chunk[-2:] in (".+", ".-"):
        yield Word(_short(chunk[:-2]), (_short(chunk),))
        return
    pieces = [Word(_short(w), also) for piece in chunk.split("-") for w, also in _dotted(piece)]
    joined = () if "." in chunk else (_short(chunk.replace("-", "")),)
    yield from pieces[:-1]
    yield Word(pieces[-1].text, pieces[-1].also + joined)


def _dotted(piece: str) -> Iterable[tuple[str, tuple[str, ...]]]:
    number = _NUMBER.fullmatch(piece)
    if "." not in piece or (number and (not number[2] or number[2] in UNITS)):
        return [(piece, ())]
    *first, last = piece.split(".")
    return [*((part, ()) for part in first), (last, (_short(piece),))]


def _measured(found: list[Word]) -> Iterator[Word]:
    """Join numbers with the units after them: `12 V`, `12V` and `12 volts` are `12v`."""
    at = 0
    while at < len(found):
        word, after = found[at], found[at + 1] if at + 1 < len(found) else Word("")
        at += 1
        number = _NUMBER.fullmatch(word.text)
        if number and not number[2] and after.text in UNITS:
            word, at = Word(number[1] + UNITS[after.text], word.also + after.also), at + 1
        elif number and number[2] in UNITS:
            word = Word(number[1] + UNITS[number[2]], word.also)
        if word.text != "%":
            yield word


def _short(word: str) -> str:
    return word[:LONGEST]
