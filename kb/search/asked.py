"""What a question is looked up by: its terms, what stands for words unknown, and phrases in quotes."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from kb.search.analysis import MOST_TERMS, Analysis, Word, runs, terms
from kb.search.lexicon import Lexicon, misspelt

NEAR = 0.9  # weight of a term that only may be meant
_QUOTED = re.compile('["“”„«»]([^"“”„«»]*)["“”„«»]')


@dataclass(frozen=True, slots=True)
class Asked:
    """`terms` with their weights. `exact`: quoted phrases, a term for each place, `` for any word.

    `instead`: words that the base doesn't have, each with the word taken for it, `` where there is none. Of a word
    half typed that is told only once it may be misspelt.
    """

    terms: tuple[tuple[str, float], ...]
    exact: tuple[tuple[str, ...], ...]
    instead: tuple[tuple[str, str], ...]


def understand(analysis: Analysis, lexicon: Lexicon, text: str, typing: bool = False) -> Asked:
    """Take a question apart. While it is being typed, its last word may be the beginning of one."""
    found = list(analysis.words(text, asked=True))[:MOST_TERMS]
    begun = len(found) - 1 if typing and text[-1:].isalnum() else -1
    extra, instead = list[str](), list[tuple[str, str]]()
    for at, word in enumerate(found):
        if _known(analysis, lexicon, word):
            continue
        plain = word.text.isalpha() and not word.also  # numbers, pins and part numbers mean themselves
        if at == begun and plain and (meant := lexicon.completions(word.text)):
            extra += meant
            continue
        near = lexicon.near(word.text) if plain else ()
        if near or at != begun or (plain and misspelt(word.text)):
            instead.append((word.text, near[0] if near else ""))
        if near:
            found[at] = Word(near[0])
            extra += (t for other in near[1:] for a in analysis.atoms([Word(other)]) for t in a.terms)
    return Asked(_weighed(analysis, found, extra), tuple(exact(analysis, text)), tuple(dict.fromkeys(instead)))


def _known(analysis: Analysis, lexicon: Lexicon, word: Word) -> bool:
    held = [term for atom in analysis.atoms([word]) for term in atom.terms]
    return not held or any(term in lexicon.terms for term in held)


def _weighed(analysis: Analysis, found: list[Word], extra: list[str]) -> tuple[tuple[str, float], ...]:
    units = analysis.units(analysis.atoms(found))
    sure = (*terms(units), *tuple(dict.fromkeys(runs(units)))[:MOST_TERMS])
    weights = dict.fromkeys(extra[:MOST_TERMS], NEAR) | dict.fromkeys(sure, 1.0)
    return tuple((term, weights[term]) for term in dict.fromkeys((*sure, *extra[:MOST_TERMS])))


def exact(analysis: Analysis, text: str) -> Iterator[tuple[str, ...]]:
    """The phrases in quotes that hold a word to look for."""
    for quoted in _QUOTED.findall(text):
        atoms = analysis.atoms(analysis.words(quoted, asked=True))[:MOST_TERMS]
        held = [atom.terms[0] if atom.terms else "" for atom in atoms]
        meant = [at for at, term in enumerate(held) if term]
        if meant:
            yield tuple(held[meant[0] : meant[-1] + 1])


def places(analysis: Analysis, pieces: Iterable[str]) -> tuple[tuple[tuple[str, ...], ...], ...]:
    """The terms at each place of each piece of a document's text."""
    return tuple(tuple(a.terms for a in analysis.atoms(analysis.words(piece))) for piece in pieces)


def stands(phrases: Iterable[tuple[str, ...]], held: Sequence[Sequence[tuple[str, ...]]]) -> bool:
    """True where each phrase stands in one of the pieces, word for word."""
    return all(any(_stands(phrase, piece) for piece in held) for phrase in phrases)


def _stands(phrase: tuple[str, ...], piece: Sequence[tuple[str, ...]]) -> bool:
    starts = range(len(piece) - len(phrase) + 1)
    return any(all(not t or t in piece[at + n] for n, t in enumerate(phrase)) for at in starts)
