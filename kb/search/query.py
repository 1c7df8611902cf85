"""Asking the index: which nodes answer these words, the best first."""

from __future__ import annotations

import math
from dataclasses import dataclass

from whoosh.query import Or, Term

from kb.reference import Kind
from kb.search.documents import FIELDS
from kb.search.index import BOOSTS, Index
from kb.site.address import node_address

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


def find(index: Index, words: str, kind: str | None = None, most: int = 10) -> tuple[Hit, ...]:
    """The `most` best hits, of one kind if it is given (in any case); ties as in `documents`."""
    wanted = kind.casefold() if kind else None
    hits = [
        (score, number)
        for score, number in scores(index, asked_terms(index, words))
        if wanted in (None, index.documents[number].node.kind.casefold())
    ]
    hits.sort(key=lambda hit: (-math.floor(hit[0] * GRAIN + 0.5), hit[1]))
    return tuple(_hit(index, score, number) for score, number in hits[: max(most, 0)])


def asked_terms(index: Index, words: str) -> tuple[str, ...]:
    """Everything that a question is looked up by: its terms, then their runs."""
    return index.analysis.query_terms(words) + index.analysis.query_runs(words)


def scores(index: Index, terms: tuple[str, ...]) -> list[tuple[float, int]]:
    """Score and number of each document that has one of the terms, as Whoosh scores it."""
    asked = Or([Term(field, term, boost=BOOSTS[field]) for term in terms for field in FIELDS])
    with index.searcher() as searcher:
        return [(hit.score, hit.docnum) for hit in searcher.search(asked, limit=None)]


def _hit(index: Index, score: float, number: int) -> Hit:
    document = index.documents[number]
    node, title = document.node, document.texts["name"][0]
    return Hit(node.kind, title, node.page, node_address(node), score, node.id)
