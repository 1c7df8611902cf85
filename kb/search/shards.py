"""The index as files for the browser: a start, terms with their postings, cards of hits.

Each file is one call, `Backprobe.take(name, stamp, data)`, since a page opened from a disk may load
scripts but not read files. Numbers in `terms` files are varints (7 bits a byte, low bits first).
"""

from __future__ import annotations

import hashlib
import json
from base64 import b64encode
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

from whoosh.reading import IndexReader
from whoosh.searching import Searcher

from kb.search.analysis import LONGEST, MOST_TERMS, UNITS
from kb.search.cards import Card
from kb.search.documents import FIELDS, Document
from kb.search.index import BOOSTS, K1, B, Index
from kb.site.address import node_address

SHARD_BYTES = 3_000
CARDS_A_FILE = 8


@dataclass(frozen=True, slots=True)
class Postings:
    """Where one field holds a term: ascending document numbers and how often each has it."""

    field: int
    idf: float
    entries: tuple[tuple[int, int], ...]


def shard_files(index: Index) -> dict[str, bytes]:
    """All files below `search/`, by path. `stamp` ties them together: a page that was loaded before
    the base changed must not mix old and new.
    """
    with index.searcher() as searcher:
        terms = _by_term(searcher)
        shards = list(_shards(terms))
        data: dict[str, object] = {f"terms-{n}": shard for n, (_, shard) in enumerate(shards)}
        data |= {f"cards-{n}": cards for n, cards in enumerate(_cards(index))}
        data["boot"] = _boot(index, searcher, [first for first, _ in shards])
    if index.analysis.stems:
        data["stems"] = sorted(index.analysis.stems.items())
    texts = {name: json.dumps(value, separators=(",", ":")) for name, value in sorted(data.items())}
    stamp = hashlib.sha256("\n".join(texts.values()).encode()).hexdigest()[:12]
    return {f"search/{name}.js": _call(name, stamp, text) for name, text in texts.items()}


def _call(name: str, stamp: str, text: str) -> bytes:
    return f'Backprobe.take("{name}","{stamp}",{text});\n'.encode("ascii")


def _boot(index: Index, searcher: Searcher, borders: list[str]) -> dict[str, object]:
    """Statistics of the index and the words of its analysis."""
    reader = searcher.reader()
    kinds = sorted({document.node.kind.value for document in index.documents})
    levels, lengths = _lengths(reader, len(index.documents))
    return {
        "documents": len(index.documents),
        "kinds": kinds,
        "kind": _base64(bytes(kinds.index(d.node.kind.value) for d in index.documents)),
        "fields": [[BOOSTS[f], searcher.avg_field_length(f) or 1] for f in FIELDS],
        "levels": levels,
        "lengths": lengths,
        "k1": K1,
        "b": B,
        "borders": borders,
        "cards": CARDS_A_FILE,
        "words": _words(index),
    }


def _words(index: Index) -> dict[str, object]:
    analysis = index.analysis
    return {
        "english": analysis.language.english,
        "stems": bool(analysis.stems),
        "joins": analysis.language.joins,
        "stops": " ".join(sorted(analysis.language.stops)),
        "same": sorted(analysis.language.same.items()),
        "splits": [[stem, " ".join(parts)] for stem, parts in sorted(analysis.splits.items())],
        "equals": [[" ".join(keys), " ".join(names)] for keys, names in analysis.equals.items()],
        "units": sorted(UNITS.items()),
        "longest": LONGEST,
        "most": MOST_TERMS,
    }


def _lengths(reader: IndexReader, count: int) -> tuple[list[int], list[str]]:
    """Field lengths as Whoosh gives them back (it keeps one byte of each), not as they were."""
    rows = [[reader.doc_field_length(n, f, 0) or 0 for n in range(count)] for f in FIELDS]
    levels = sorted({length for row in rows for length in row})
    place = {length: at for at, length in enumerate(levels)}
    return levels, [_base64(bytes(place[length] for length in row)) for row in rows]


def _by_term(searcher: Searcher) -> dict[str, list[Postings]]:
    """All postings by term, in the order in which JavaScript compares strings."""
    reader, found = searcher.reader(), dict[str, list[Postings]]()
    for number, field in enumerate(FIELDS):
        for term in (raw.decode() for raw in reader.lexicon(field)):
            entries = tuple(_entries(reader, field, term))
            found.setdefault(term, []).append(Postings(number, searcher.idf(field, term), entries))
    return {term: found[term] for term in sorted(found, key=lambda t: t.encode("utf-16-be"))}


def _entries(reader: IndexReader, field: str, term: str) -> Iterator[tuple[int, int]]:
    matcher = reader.postings(field, term)
    while matcher.is_active():
        yield matcher.id(), int(matcher.weight())
        matcher.next()


def _shards(terms: dict[str, list[Postings]]) -> Iterator[tuple[str, list[object]]]:
    """First term and data of each shard: the idf of each number of documents, then the terms."""
    names = deque(terms)
    while names:
        first, before, data = names[0], "", bytearray()
        idf: dict[int, float] = {}
        while names and len(data) < SHARD_BYTES:
            name = names.popleft()
            data += _term(before, name, terms[name])
            idf |= {len(p.entries): p.idf for p in terms[name]}
            before = name
        yield first, [sorted(idf.items()), _base64(bytes(data))]


def _term(before: str, term: str, fields: list[Postings]) -> bytes:
    """Bytes shared with the term before, the rest of it, a bit for each field, its postings."""
    old, new = before.encode(), term.encode()
    shared = next((n for n in range(min(len(old), len(new))) if old[n] != new[n]), min(len(old), len(new)))
    rest = new[shared:]
    mask = sum(1 << postings.field for postings in fields)
    return b"".join([_varint(shared), _varint(len(rest)), rest, _varint(mask), *map(_postings, fields)])


def _postings(postings: Postings) -> bytes:
    """The count, then for each document twice the gap, plus one and the frequency if it isn't one."""
    data, before = bytearray(_varint(len(postings.entries))), -1
    for document, frequency in postings.entries:
        gap, before = document - before - 1, document
        data += _varint(gap << 1) if frequency == 1 else _varint(gap << 1 | 1) + _varint(frequency)
    return bytes(data)


def _varint(value: int) -> bytes:
    data = bytearray()
    while value > 127:
        data.append(value & 127 | 128)
        value >>= 7
    return bytes([*data, value])


def _base64(data: bytes) -> str:
    return b64encode(data).decode("ascii")


def _cards(index: Index) -> Iterator[list[list[object]]]:
    rows = [_card(d, c) for d, c in zip(index.documents, index.cards, strict=True)]
    for start in range(0, len(rows), CARDS_A_FILE):
        yield rows[start : start + CARDS_A_FILE]


def _card(document: Document, card: Card) -> list[object]:
    node, near = document.node, card.next
    place = [document.texts["name"][0], node.page, node_address(node)]
    test = [near.name, near.minutes] if near else None
    return [*place, card.said, card.fits, card.minutes, test, card.word]
