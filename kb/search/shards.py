"""The index as files for the browser: a start, terms with their postings, words, places, cards of hits.

Each file is one call, `Backprobe.take(name, stamp, data)`, since a page opened from a disk may load
scripts but not read files. `boot` is asked for first, `terms-*` by the words of a question, `cards-*` by its hits;
`lexicon-*` for unknown words, `places` and `places-*` for quotes, `sides` for filters and counts, `lines-*` for
context. Large bases have `borders-*` too, which say where in `terms-*` a word is, and `tails-*`: what a term that
many documents have adds least to, asked for where it could change the best hits, and for counts.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

from whoosh.searching import Searcher

from kb.search import lexicon
from kb.search.analysis import LONGEST, MOST_TERMS, UNITS
from kb.search.asked import NEAR
from kb.search.cards import Card
from kb.search.documents import Document
from kb.search.index import FIELDS, K1, Index
from kb.search.packed import in_order, letters, shards, varint, word_after
from kb.search.postings import by_term, floats, levels_of, packed, packed_entries, parted, spreads
from kb.site.address import node_address

SHARD_BYTES = 1_000
PLACES_BYTES = 4_000  # few questions have quotes, and a device that keeps the site asks for each file
CARDS_A_FILE = 8
MOST_BORDERS = 2_048  # shards whose borders stand in the start; those of more stand in files of their own
BORDERS_A_FILE = 64
LONG_LIST = 5_000  # documents that make the list of a term a long one
HEAD = 1_000  # documents of a long list that stand in its shard


def shard_files(index: Index, cards: Sequence[Card]) -> dict[str, bytes]:
    """All files below `search/`, by path. `stamp` ties them together: a page that was loaded before
    the base changed must not mix old and new.
    """
    data: dict[str, object] = {}
    with index.searcher() as searcher:
        levels, lengths = levels_of(searcher.reader(), len(index.documents))
        terms, tails = parted(by_term(searcher, lengths), spreads(searcher, levels), LONG_LIST, HEAD)
        parts = list(shards(terms, lambda term: packed(terms[term]), SHARD_BYTES))
        data |= {
            f"terms-{n}": [*floats([terms[term] for term in held]), letters(part)]
            for n, (held, part) in enumerate(parts)
        }
        data |= {f"tails-{n}": letters(b"".join(map(packed_entries, tail.fields))) for n, tail in enumerate(tails)}
        data |= {f"cards-{n}": rows for n, rows in enumerate(_eights(_cards(index, cards)))}
        data |= {f"lines-{n}": rows for n, rows in enumerate(_eights(map(_lines, index.documents)))}
        data |= dict(_lexicons(index)) | dict(_places(index))
        data["sides"] = _sides(index, cards)
        borders = _borders([held for held, _ in parts])
        files = [borders[n : n + BORDERS_A_FILE] for n in range(0, len(borders), BORDERS_A_FILE)]
        few = len(borders) <= MOST_BORDERS
        data |= {} if few else {f"borders-{n}": file for n, file in enumerate(files)}
        data["boot"] = _boot(index, searcher, levels, borders if few else [file[0] for file in files], few)
    if index.analysis.stems:
        data["stems"] = sorted(index.analysis.stems.items())
    texts = {name: json.dumps(value, separators=(",", ":"), ensure_ascii=False) for name, value in sorted(data.items())}
    stamp = hashlib.sha256("\n".join(texts.values()).encode()).hexdigest()[:12]
    return {f"search/{name}.js": _call(name, stamp, text) for name, text in texts.items()}


def _call(name: str, stamp: str, text: str) -> bytes:
    return f'Backprobe.take("{name}","{stamp}",{text});\n'.encode()


def _borders(shards: list[list[str]]) -> list[str]:
    """Where each shard begins: no more of its first term than tells it from the last one before it."""
    before = ("", *(held[-1] for held in shards))
    return [_start(last, held[0]) for last, held in zip(before, shards, strict=False)]


def _start(before: str, word: str) -> str:
    shared = next((n for n, pair in enumerate(zip(before, word, strict=False)) if pair[0] != pair[1]), len(before))
    return word[: shared + 1]


def _boot(index: Index, searcher: Searcher, levels: list[int], borders: list[str], few: bool) -> dict[str, object]:
    """Statistics of the index and the words of its analysis."""
    return {
        "documents": len(index.documents),
        "kinds": _kinds(index),
        "fields": [[w.boost, searcher.avg_field_length(f) or 1, w.b] for f, w in FIELDS.items()],
        "levels": levels,
        "k1": K1,
        "borders": borders,
        "apart": 0 if few else BORDERS_A_FILE,
        "cards": CARDS_A_FILE,
        "words": _words(index),
        "lexicon": sorted({len(word) for word in index.lexicon.words}),
        "near": _limits(),
    }


def _kinds(index: Index) -> list[str]:
    return sorted({document.node.kind.value for document in index.documents})


def _limits() -> dict[str, object]:
    """How far a word unknown may be from the one that is meant."""
    return {
        "weight": NEAR,
        "shortest": lexicon.SHORTEST,
        "sturdy": lexicon.STURDY,
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


def _lexicons(index: Index) -> Iterator[tuple[str, object]]:
    """The words of each length, each with the number of documents that have it."""
    words = index.lexicon.words
    for length in sorted({len(word) for word in words}):
        data, before = bytearray(), ""
        for word in in_order(w for w in words if len(w) == length):
            data += word_after(before, word) + varint(words[word])
            before = word
        yield f"lexicon-{length}", letters(bytes(data))


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
    parts = list(shards(in_order(found), lambda term: _placed(found[term]), PLACES_BYTES))
    yield "places", [held[0] for held, _ in parts]
    yield from ((f"places-{n}", letters(part)) for n, (_, part) in enumerate(parts))


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
    """What hits are narrowed by: each document's kind, its functions, and the vehicles that it is only for."""
    kinds = _kinds(index)
    return {
        "kind": letters(bytes(kinds.index(document.node.kind.value) for document in index.documents)),
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


def _cards(index: Index, cards: Sequence[Card]) -> Iterator[list[object]]:
    kinds = _kinds(index)
    for document, card in zip(index.documents, cards, strict=True):
        yield _card(document, card, kinds.index(document.node.kind.value))


def _card(document: Document, card: Card, kind: int) -> list[object]:
    node, near = document.node, card.next
    place = [kind, document.title, node.page, node_address(node)]
    first = [near.name, near.minutes] if near else None
    own = [[vehicle, minutes, act.name, act.minutes] for vehicle, minutes, act in card.own]
    return [*place, card.said, card.fits, card.minutes, first, card.word, *([own] if own else [])]


def _lines(document: Document) -> list[object]:
    """The text in which a hit's words are shown, where its name and what people say don't have them."""
    texts = document.texts
    return [text for text in (*texts["body"], *texts["aside"]) if text.strip()]
