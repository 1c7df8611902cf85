"""The Whoosh index of a base: what it holds and how its fields count."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from whoosh.fields import TEXT, Schema
from whoosh.filedb.filestore import Storage
from whoosh.index import FileIndex
from whoosh.scoring import BM25F
from whoosh.searching import Searcher

from kb.search.analysis import Analysis
from kb.search.asked import places
from kb.search.lexicon import Lexicon

if TYPE_CHECKING:
    from kb.search.documents import Document

Places = tuple[tuple[tuple[str, ...], ...], ...]


@dataclass(frozen=True, slots=True)
class Weight:
    """How much a field counts, and how much its length counts against it (BM25's B)."""

    boost: float
    b: float


IN_MEMORY = 1_024  # MB of postings above which Whoosh sorts on the disk: 20,000 nodes take twice the time there
# Found on the tuning half of the judged questions; K1 is low, since one word said twice isn't two words said.
# What customers say isn't held against a symptom by its length: one that gathers many phrases is a good one.
K1 = 0.4
FIELDS = {
    "name": Weight(6.0, 0.9),
    "said": Weight(4.0, 0.0),
    "phrase": Weight(5.0, 0.2),
    "body": Weight(1.0, 0.2),
    "aside": Weight(1.0, 0.6),
    "function": Weight(0.5, 0.0),
    "vehicle": Weight(3.0, 0.8),
}


@dataclass(frozen=True, slots=True)
class Row:
    """What a hit tells of a document."""

    kind: str
    title: str
    page: str
    address: str
    node_id: str


@dataclass(frozen=True, slots=True)
class Index:
    """What is asked and exported. A document's number is its place in `documents` and `rows`; `pieces` gives
    its text. An index that was kept has no `documents`.
    """

    analysis: Analysis
    documents: tuple[Document, ...]
    rows: tuple[Row, ...]
    lexicon: Lexicon
    whoosh: FileIndex
    pieces: Callable[[int], Iterable[str]]
    _read: dict[int, Places] = field(default_factory=dict)

    def places(self, number: int) -> Places:
        """The terms at each place of each piece of a document's text."""
        if number not in self._read:
            self._read[number] = places(self.analysis, self.pieces(number))
        return self._read[number]

    def searcher(self) -> Searcher:
        """A Whoosh searcher that scores as the browser does."""
        return self.whoosh.searcher(weighting=BM25F(K1=K1, **{f"{name}_B": w.b for name, w in FIELDS.items()}))


def write(storage: Storage, analysis: Analysis, found: tuple[Document, ...]) -> FileIndex:
    """Write the terms of documents, in memory or in a folder."""
    schema = Schema(**{name: TEXT(phrase=False) for name in FIELDS})
    index = storage.create_index(schema)
    writer = index.writer(limitmb=IN_MEMORY)
    for document in found:
        writer.add_document(**_terms(analysis, document))
    writer.commit()
    return index


def _terms(analysis: Analysis, document: Document) -> dict[str, list[str]]:
    """The terms of each field; Whoosh takes a list as it is, without analysis of its own."""
    terms = {name: field_terms(analysis, name, document) for name in FIELDS}
    return {name: found for name, found in terms.items() if found}


def field_terms(analysis: Analysis, name: str, document: Document) -> list[str]:
    """The terms of a field. Names and what people say are also known by their neighbouring words."""
    if name == "phrase":
        pieces = (*document.texts["name"], *document.texts["said"])
        return [run for piece in pieces for run in analysis.index_runs(piece)]
    return [term for piece in document.texts[name] for term in analysis.index_terms(piece)]
