"""Asking the index: which nodes answer these words, the best first."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from whoosh.query import And, Or, Term

from kb.reference import Kind
from kb.search.asked import stands, understand
from kb.search.index import FIELDS, Index

GRAIN = 1e9  # scores are compared in steps of a billionth: sums differ in their last bits


@dataclass(frozen=True, slots=True)
class Hit:
    """A node that answers. `page` is its file in the base, `address` its place on the site."""

    kind: Kind
    name: str
    page: str
    address: str
    score: float
    node_id: str


def find(index: Index, words: str, kind: str | None = None, most: int = 10, typing: bool = False) -> tuple[Hit, ...]:
    """The `most` best hits, of one kind if it is given (in any case); ties as in `documents`.

    What stands in quotes has to be in a hit word for word. `typing`: the last word may be half typed.
    """
    asked = understand(index.analysis, index.lexicon, words, typing)
    wanted = kind.casefold() if kind else None
    hits = [
        (score, number)
        for score, number in scores(index, asked.terms)
        if wanted in (None, index.rows[number].kind.casefold())
    ]
    hits.sort(key=lambda hit: (-math.floor(hit[0] * GRAIN + 0.5), hit[1]))
    return tuple(_hit(index, *hit) for hit in islice(_quoting(index, hits, asked.exact), max(most, 0)))


def instead_of(index: Index, words: str) -> tuple[tuple[str, str], ...]:
    """Words that the base doesn't have, each with the word that was looked up instead, `` where there was none."""
    return understand(index.analysis, index.lexicon, words).instead


def _quoting(
    index: Index, hits: list[tuple[float, int]], phrases: tuple[tuple[str, ...], ...]
) -> Iterator[tuple[float, int]]:
    """The hits in which all phrases stand; of those that have all of the words each is read anew."""
    terms = {term for phrase in phrases for term in phrase if term}
    having = _having(index, terms) if terms else None
    for hit in hits:
        if having is None or (hit[1] in having and stands(phrases, index.places(hit[1]))):
            yield hit


def _having(index: Index, terms: set[str]) -> set[int]:
    """The documents that have all of these terms, in whichever field."""
    with index.searcher() as searcher:
        having = [Or([Term(field, term) for field in FIELDS]) for term in terms]
        return set(And(having).docs(searcher))


def scores(index: Index, terms: tuple[tuple[str, float], ...]) -> list[tuple[float, int]]:
    """Score and number of each document that has one of the terms, as Whoosh scores it."""
    asked = Or([Term(field, t, boost=w.boost * weight) for t, weight in terms for field, w in FIELDS.items()])
    with index.searcher() as searcher:
        return [(hit.score, hit.docnum) for hit in searcher.search(asked, limit=None)]


def _hit(index: Index, score: float, number: int) -> Hit:
    row = index.rows[number]
    return Hit(Kind(row.kind), row.title, row.page, row.address, score, row.node_id)
