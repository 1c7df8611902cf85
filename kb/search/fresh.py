"""The index of a base, built anew."""

from __future__ import annotations

from whoosh.filedb.filestore import RamStorage
from whoosh.index import FileIndex

from kb.graph import Graph
from kb.model import Base
from kb.search.documents import documents, equals
from kb.search.index import FIELDS, Index, Row, write
from kb.search.language import language_of
from kb.search.lexicon import lexicon
from kb.search.vocabulary import learn
from kb.site.address import node_address


def build_index(base: Base, graph: Graph) -> Index:
    """Read every node of the base into a fresh index."""
    found = documents(base, graph)
    analysis = learn(language_of(base.language), [text for d in found for text in d.pieces], equals(base))
    whoosh = write(RamStorage(), analysis, found)
    written = ((word.text for text in d.pieces for word in analysis.words(text)) for d in found)
    rows = tuple(Row(d.node.kind, d.title, d.node.page, node_address(d.node), d.node.id) for d in found)
    return Index(analysis, found, rows, lexicon(written, _counts(whoosh)), whoosh, lambda n: found[n].pieces)


def _counts(whoosh: FileIndex) -> dict[str, int]:
    """Each term with the number of documents that have it in that field which has most."""
    found: dict[str, int] = {}
    with whoosh.reader() as reader:
        for name in FIELDS:
            for term in (raw.decode() for raw in reader.lexicon(name)):
                found[term] = max(found.get(term, 0), reader.doc_frequency(name, term))
    return found
