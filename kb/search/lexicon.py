"""The words of a base: which are near one that it doesn't have, and which begin like one half typed."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import takewhile

SHORTEST = 4  # letters of a word that is taken for misspelt: shorter ones have too many neighbours
STURDY = 5  # letters from which on it may have one too many; of a shorter word too little would be left
LONG = 7  # over so many letters, two slips are forgiven
BEGUN = 3  # letters of a word half typed
ENDING = 3  # letters by which a word half typed may be longer than its stem
MOST = 8  # words that one half typed is completed to
NEAREST = 4  # words that a misspelt one is taken for


@dataclass(frozen=True, slots=True)
class Lexicon:
    """`words` as they are written and the number of documents that have each; `terms` likewise, of the field
    that has most of them. Runs and names of equal words are no terms here.
    """

    words: Mapping[str, int]
    terms: Mapping[str, int]
    _ordered: list[str] = field(default_factory=list)
    _by_length: dict[int, list[tuple[str, int]]] = field(default_factory=dict)

    def completions(self, begun: str) -> tuple[str, ...]:
        """Terms that begin so, or that are this without the beginning of an ending; the commonest first."""
        if len(begun) < BEGUN:
            return ()
        self._ordered or self._ordered.extend(sorted(self.terms))
        start = bisect_left(self._ordered, begun)
        longer = takewhile(lambda term: term.startswith(begun), self._ordered[start:])
        shorter = (begun[:-cut] for cut in range(1, ENDING + 1) if len(begun) - cut >= BEGUN)
        found = [*longer, *(term for term in shorter if term in self.terms)]
        return tuple(sorted(found, key=lambda term: (-self.terms[term], term))[:MOST])

    def near(self, word: str) -> tuple[str, ...]:
        """The words that fewest slips turn into this one, the commonest first."""
        if not misspelt(word):
            return ()
        most = 2 if len(word) > LONG else 1
        found = defaultdict(list)
        for length in range(len(word) - (0 if len(word) < STURDY else most), len(word) + most + 1):
            for other, letters in self._of(length):
                if (letters ^ _letters(word)).bit_count() <= 2 * most:
                    found[slips(word, other)].append(other)
        tier = next((found[n] for n in range(1, most + 1) if found[n]), [])
        return tuple(sorted(tier, key=lambda other: (-self.words[other], other))[:NEAREST])

    def _of(self, length: int) -> list[tuple[str, int]]:
        if not self._by_length:
            for word in self.words:
                self._by_length.setdefault(len(word), []).append((word, _letters(word)))
        return self._by_length.get(length, [])


def misspelt(word: str) -> bool:
    """True for what may be a word with slips: numbers and pins mean themselves."""
    return len(word) >= SHORTEST and word.isalpha()


def lexicon(texts: Iterable[Iterable[str]], terms: Mapping[str, int]) -> Lexicon:
    """The lexicon of documents, each given as its words."""
    counts = Counter(word for words in texts for word in set(words))
    kept = {word: count for word, count in counts.items() if len(word) >= STURDY - 1 and word.isalpha()}
    plain = {term: count for term, count in terms.items() if term[0] not in "_~"}
    return Lexicon(kept, plain)


def slips(one: str, other: str) -> int:
    """Letters added, left out, changed or swapped with the next: optimal string alignment."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        older, before, row = before, row, [i]
        for j, b in enumerate(other, 1):
            least = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and b == one[i - 2]:
                least = min(least, older[j - 2] + 1)
            row.append(least)
    return row[-1]


def _letters(word: str) -> int:
    """One bit for each letter, as far as 64 bits go: words far apart here are far apart."""
    mask = 0
    for letter in word:
        mask |= 1 << (ord(letter) & 63)
    return mask
