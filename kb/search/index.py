"""The Whoosh index of a base: built anew each time, never written to disk, never opened from one."""

from __future__ import annotations

from dataclasses import dataclass

from whoosh.fields import TEXT, Schema
from whoosh.filedb.filestore import RamStorage
from whoosh.index import FileIndex
from whoosh.scoring import BM25F
from whoosh.searching import Searcher

from kb.graph import Graph
from kb.model import Base
from kb.search.analysis import Analysis
from kb.search.cards import Card, card
from kb.search.documents import FIELDS, Document, documents, equals
from kb.search.language import language_of
from kb.search.vocabulary import learn

# K1 is Whoosh's own default, stated since the browser needs it too. B is low, since a symptom that gathers
# many of the customer's phrases must not lose to one with few; what customers say counts most.
K1, B = 1.2, 0.2
RUNS = ("name", "said")
BOOSTS = {"name": 3.0, "said": 6.0, "body": 1.0, "function": 1.0, "vehicle": 1.0}


@dataclass(frozen=True, slots=True)
class Index:
    """What is asked and exported. A document's number is its place in `documents` and `cards`."""

    analysis: Analysis
    documents: tuple[Document, ...]
    cards: tuple[Card, ...]
    whoosh: FileIndex

    def searcher(self) -> Searcher:
        """A Whoosh searcher that scores as the browser does."""
        return self.whoosh.searcher(weighting=BM25F(B=B, K1=K1))


def build_index(base: Base, graph: Graph) -> Index:
    """Read every node of the base into a fresh index."""
    found = documents(base, graph)
    texts = [text for document in found for pieces in document.texts.values() for text in pieces]
    analysis = learn(language_of(base.language), texts, equals(base))
    cards = tuple(card(base, graph, document.node) for document in found)
    return Index(analysis, found, cards, _write(analysis, found))


def _write(analysis: Analysis, found: tuple[Document, ...]) -> FileIndex:
    schema = Schema(**{name: TEXT(phrase=False) for name in FIELDS})
    index = RamStorage().create_index(schema)
    writer = index.writer()
    for document in found:
        writer.add_document(**_terms(analysis, document))
    writer.commit()
    return index


def _terms(analysis: Analysis, document: Document) -> dict[str, list[str]]:
    """The terms of each field; Whoosh takes a list as it is, without analysis of its own."""
    terms = {field: field_terms(analysis, field, pieces) for field, pieces in document.texts.items()}
    return {field: found for field, found in terms.items() if found}


def field_terms(analysis: Analysis, field: str, pieces: tuple[str, ...]) -> list[str]:
    """The terms of a field. Names and what people say are also known by their neighbouring words."""
    single = [term for piece in pieces for term in analysis.index_terms(piece)]
    return single + [run for piece in pieces for run in analysis.index_runs(piece)] if field in RUNS else single
