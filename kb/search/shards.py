"""The index as files for the browser: a start, terms with their postings, words, places, cards of hits.

Each file is one call, `Backprobe.take(name, stamp, data)`, since a page opened from a disk may load
scripts but not read files. `boot` is asked for first, `terms-*` by the words of a question, `cards-*` by its hits;
`lexicon-*` for unknown words, `places` and `places-*` for quotes, `sides` for filters, `lines-*` for context.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from whoosh.reading import IndexReader
from whoosh.searching import Searcher

from kb.search import lexicon
from kb.search.analysis import LONGEST, MOST_TERMS, UNITS
from kb.search.asked import NEAR
from kb.search.cards import Card
from kb.search.documents import Document
from kb.search.index import FIELDS, K1, Index
from kb.search.packed import base64, in_order, shards, varint, word_after
from kb.site.address import node_address

SHARD_BYTES = 2_000
CARDS_A_FILE = 8


@dataclass(frozen=True, slots=True)
class Postings:
    """Where one field holds a term: ascending document numbers, how often each has it, the level of its length.

    `measured`: whether lengths count in this field at all.
    """

    field: int
    idf: float
    entries: tuple[tuple[int, int, int], ...]
    measured: bool


def shard_files(index: Index, cards: Sequence[Card]) -> dict[str, bytes]:
    """All files below `search/`, by path. `stamp` ties them together: a page that was loaded before
    the base changed must not mix old and new.
    """
    data: dict[str, object] = {}
    with index.searcher() as searcher:
        levels, lengths = _lengths(searcher.reader(), len(index.documents))
        terms = _by_term(searcher, lengths)
        parts = list(shards(terms, lambda term: _term(terms[term]), SHARD_BYTES))
        data |= {f"terms-{n}": [_idfs(terms, held), base64(part)] for n, (held, part) in enumerate(parts)}
        data |= {f"cards-{n}": rows for n, rows in enumerate(_eights(map(_card, index.documents, cards)))}
        data |= {f"lines-{n}": rows for n, rows in enumerate(_eights(map(_lines, index.documents)))}
        data |= dict(_lexicons(index)) | dict(_places(index))
        data["sides"] = _sides(index, cards)
        data["boot"] = _boot(index, searcher, levels, _borders([held for held, _ in parts]))
    if index.analysis.stems:
        data["stems"] = sorted(index.analysis.stems.items())
    texts = {name: json.dumps(value, separators=(",", ":")) for name, value in sorted(data.items())}
    stamp = hashlib.sha256("\n".join(texts.values()).encode()).hexdigest()[:12]
    return {f"search/{name}.js": _call(name, stamp, text) for name, text in texts.items()}


def _call(name: str, stamp: str, text: str) -> bytes:
    return f'Backprobe.take("{name}","{stamp}",{text});\n'.encode("ascii")


def _borders(shards: list[list[str]]) -> list[str]:
    """Where each shard begins: no more of its first term than tells it from the last one before it."""
    before = ("", *(held[-1] for held in shards))
    return [_start(last, held[0]) for last, held in zip(before, shards, strict=False)]


def _start(before: str, word: str) -> str:
    shared = next((n for n, pair in enumerate(zip(before, word, strict=False)) if pair[0] != pair[1]), len(before))
    return word[: shared + 1]


def _boot(index: Index, searcher: Searcher, levels: list[int], borders: list[str]) -> dict[str, object]:
    """Statistics of the index and the words of its analysis."""
    kinds = sorted({document.node.kind.value for document in index.documents})
    return {
        "documents": len(index.documents),
        "kinds": kinds,
        "kind": base64(bytes(kinds.index(d.node.kind.value) for d in index.documents)),
        "fields": [[w.boost, searcher.avg_field_length(f) or 1, w.b] for f, w in FIELDS.items()],
        "levels": levels,
        "k1": K1,
        "borders": borders,
        "cards": CARDS_A_FILE,
        "words": _words(index),
        "lexicon": sorted({len(word) for word in index.lexicon.words}),
        "near": _limits(),
    }


def _limits() -> dict[str, object]:
    """How far a word unknown may be from the one that is meant."""
    return {
        "weight": NEAR,
        "shortest": lexicon.SHORTEST,
        "long": lexicon.LONG,
        "begun": lexicon.BEGUN,
        "ending": lexicon.ENDING,
        "most": lexicon.MOST,
        "nearest": lexicon.NEAREST,
    }


def _words(index: Index) -> dict[str, object]:
    analysis = index.analysis
    return {
        "english": analysis.language.english,
        "stems": bool(analysis.stems),
        "joins": analysis.language.joins,
        "stops": " ".join(sorted(analysis.language.stops)),
        "same": sorted(analysis.language.same.items()),
        "kin": sorted(analysis.kin.items()),
        "splits": [[stem, " ".join(parts)] for stem, parts in sorted(analysis.splits.items())],
        "equals": [[" ".join(keys), " ".join(names)] for keys, names in analysis.equals.items()],
        "units": sorted(UNITS.items()),
        "longest": LONGEST,
        "most": MOST_TERMS,
    }


def _lengths(reader: IndexReader, count: int) -> tuple[list[int], list[list[int]]]:
    """The field lengths there are, as Whoosh gives them back (it keeps one byte of each), not as they were;
    and for each field the place among them of each document's.
    """
    rows = [[reader.doc_field_length(n, f, 0) or 0 for n in range(count)] for f in FIELDS]
    levels = sorted({length for row in rows for length in row})
    place = {length: at for at, length in enumerate(levels)}
    return levels, [[place[length] for length in row] for row in rows]


def _by_term(searcher: Searcher, lengths: list[list[int]]) -> dict[str, list[Postings]]:
    """All postings by term."""
    reader, found = searcher.reader(), dict[str, list[Postings]]()
    for number, (field, weight) in enumerate(FIELDS.items()):
        for term in (raw.decode() for raw in reader.lexicon(field)):
            entries = tuple(_entries(reader, field, term, lengths[number]))
            postings = Postings(number, searcher.idf(field, term), entries, weight.b > 0)
            found.setdefault(term, []).append(postings)
    return {term: found[term] for term in in_order(found)}


def _entries(reader: IndexReader, field: str, term: str, lengths: list[int]) -> Iterator[tuple[int, int, int]]:
    matcher = reader.postings(field, term)
    while matcher.is_active():
        yield matcher.id(), int(matcher.weight()), lengths[matcher.id()]
        matcher.next()


def _idfs(terms: dict[str, list[Postings]], held: list[str]) -> list[tuple[int, float]]:
    """The idf of each number of documents: a logarithm isn't the same in its last bits everywhere."""
    return sorted({len(postings.entries): postings.idf for term in held for postings in terms[term]}.items())


def _term(fields: list[Postings]) -> bytes:
    """A bit for each field, then its postings."""
    return b"".join([varint(sum(1 << postings.field for postings in fields)), *map(_postings, fields)])


def _postings(postings: Postings) -> bytes:
    """Twice the count, plus one where lengths count; then for each document twice the gap, plus one and the
    frequency if it isn't one, and the level of its length. So no page loads the lengths of all documents.
    """
    data, before = bytearray(varint(len(postings.entries) << 1 | postings.measured)), -1
    for document, frequency, level in postings.entries:
        gap, before = document - before - 1, document
        data += varint(gap << 1) if frequency == 1 else varint(gap << 1 | 1) + varint(frequency)
        data += varint(level) if postings.measured else b""
    return bytes(data)


def _lexicons(index: Index) -> Iterator[tuple[str, object]]:
    """The words of each length, each with the number of documents that have it."""
    words = index.lexicon.words
    for length in sorted({len(word) for word in words}):
        data, before = bytearray(), ""
        for word in in_order(w for w in words if len(w) == length):
            data += word_after(before, word) + varint(words[word])
            before = word
        yield f"lexicon-{length}", base64(bytes(data))


def _places(index: Index) -> Iterator[tuple[str, object]]:
    """For each term the documents that have it, with its places in each: pieces of text stand far apart."""
    found: defaultdict[str, dict[int, list[int]]] = defaultdict(dict)
    for number in range(len(index.documents)):
        at = 0
        for piece in index.places(number):
            for terms in piece:
                for term in dict.fromkeys(terms):
                    found[term].setdefault(number, []).append(at)
                at += 1
            at += MOST_TERMS
    parts = list(shards(in_order(found), lambda term: _placed(found[term]), SHARD_BYTES))
    yield "places", [held[0] for held, _ in parts]
    yield from ((f"places-{n}", base64(part)) for n, (_, part) in enumerate(parts))


def _placed(places: dict[int, list[int]]) -> bytes:
    data, before = bytearray(varint(len(places))), -1
    for document, held in places.items():
        data += varint(document - before - 1) + _ascending(held)
        before = document
    return bytes(data)


def _ascending(numbers: Sequence[int]) -> bytes:
    gaps = (number - before - 1 for before, number in zip((-1, *numbers), numbers, strict=False))
    return varint(len(numbers)) + b"".join(map(varint, gaps))


def _sides(index: Index, cards: Sequence[Card]) -> dict[str, object]:
    """What hits are narrowed by: the functions of each document, and the vehicles that it is only for."""
    return {
        "function": _sets([document.functions for document in index.documents]),
        "vehicle": _sets([card.fits for card in cards]),
    }


def _sets(rows: Sequence[tuple[str, ...]]) -> list[object]:
    """All names, the sets of them that occur, and the number of each document's set."""
    names = sorted({name for row in rows for name in row})
    sets = sorted(set(rows))
    place = {row: at for at, row in enumerate(sets)}
    return [names, [[names.index(name) for name in row] for row in sets], [place[row] for row in rows]]


def _eights(rows: Iterable[list[object]]) -> Iterator[list[list[object]]]:
    held = list(rows)
    for start in range(0, len(held), CARDS_A_FILE):
        yield held[start : start + CARDS_A_FILE]


def _card(document: Document, card: Card) -> list[object]:
    node, near = document.node, card.next
    place = [document.title, node.page, node_address(node)]
    first = [near.name, near.minutes] if near else None
    own = [[vehicle, minutes, act.name, act.minutes] for vehicle, minutes, act in card.own]
    return [*place, card.said, card.fits, card.minutes, first, card.word, *([own] if own else [])]


def _lines(document: Document) -> list[object]:
    """The text in which a hit's words are shown, where its name and what people say don't have them."""
    texts = document.texts
    return [text for text in (*texts["body"], *texts["aside"]) if text.strip()]
