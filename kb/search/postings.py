"""Where the terms of an index stand, as Whoosh scores them: read, cut where many documents have a term, and packed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace

from whoosh.reading import IndexReader
from whoosh.searching import Searcher

from kb.search.index import FIELDS, K1
from kb.search.packed import in_order, varint


@dataclass(frozen=True, slots=True)
class Postings:
    """Where one field holds a term: ascending document numbers, how often each has it, the level of its length.

    `measured`: whether lengths count in this field at all. `count`: how many documents have it, wherever they stand.
    """

    field: int
    idf: float
    entries: tuple[tuple[int, int, int], ...]
    measured: bool
    count: int


@dataclass(frozen=True, slots=True)
class Held:
    """The postings of a term, field by field. Where `tail` is a number, documents that the term adds least to are in
    a file of that number; each of them gets at most `bound` from it.
    """

    fields: tuple[Postings, ...]
    tail: int | None = None
    bound: float = 0.0


def levels_of(reader: IndexReader, count: int) -> tuple[list[int], list[list[int]]]:
    """The field lengths there are, as Whoosh gives them back (it keeps one byte of each), not as they were;
    and for each field the place among them of each document's.
    """
    rows = [[reader.doc_field_length(n, f, 0) or 0 for n in range(count)] for f in FIELDS]
    levels = sorted({length for row in rows for length in row})
    place = {length: at for at, length in enumerate(levels)}
    return levels, [[place[length] for length in row] for row in rows]


def by_term(searcher: Searcher, lengths: Sequence[Sequence[int]]) -> dict[str, Held]:
    """All postings by term."""
    reader, found = searcher.reader(), dict[str, list[Postings]]()
    for number, (field, weight) in enumerate(FIELDS.items()):
        for term in (raw.decode() for raw in reader.lexicon(field)):
            entries = tuple(_entries(reader, field, term, lengths[number]))
            postings = Postings(number, searcher.idf(field, term), entries, weight.b > 0, len(entries))
            found.setdefault(term, []).append(postings)
    return {term: Held(tuple(found[term])) for term in in_order(found)}


def _entries(reader: IndexReader, field: str, term: str, lengths: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    matcher = reader.postings(field, term)
    while matcher.is_active():
        yield matcher.id(), int(matcher.weight()), lengths[matcher.id()]
        matcher.next()


def spreads(searcher: Searcher, levels: Sequence[int]) -> list[list[float]]:
    """For each field and level of length what BM25F adds to a frequency below the line."""
    averages = [searcher.avg_field_length(field) or 1 for field in FIELDS]
    return [
        [K1 * (1 - weight.b + weight.b * length / average) for length in levels]
        for average, weight in zip(averages, FIELDS.values(), strict=True)
    ]


def parted(
    terms: Mapping[str, Held], spread: Sequence[Sequence[float]], long: int, head: int
) -> tuple[dict[str, Held], list[Held]]:
    """The terms, those of more than `long` documents cut down to the `head` documents that they add most to; and what
    was cut off. A document is in one of both with all its fields, so who finds it in a head knows all of it.
    """
    kept, tails = dict[str, Held](), list[Held]()
    for term, held in terms.items():
        kept[term] = held
        if max(postings.count for postings in held.fields) > long:
            kept[term], tail = _cut(held, _added(held, spread), head, len(tails))
            tails.append(tail)
    return kept, tails


def _added(held: Held, spread: Sequence[Sequence[float]]) -> Mapping[int, float]:
    """What a term adds to the score of each document."""
    added: defaultdict[int, float] = defaultdict(float)
    for postings, weight in ((p, list(FIELDS.values())[p.field]) for p in held.fields):
        for document, tf, level in postings.entries:
            below = tf + spread[postings.field][level if postings.measured else 0]
            added[document] += postings.idf * (tf * (K1 + 1) / below) * weight.boost
    return added


def _cut(held: Held, added: Mapping[int, float], head: int, number: int) -> tuple[Held, Held]:
    best = sorted(added, key=lambda document: (-added[document], document))
    # a billionth more: a sum in another order may differ in its last bit
    bound = added[best[head]] * (1 + 1e-9)
    return Held(_of(held, set(best[:head])), number, bound), Held(_of(held, set(best[head:])))


def _of(held: Held, documents: Set[int]) -> tuple[Postings, ...]:
    return tuple(replace(p, entries=tuple(e for e in p.entries if e[0] in documents)) for p in held.fields)


def floats(terms: Sequence[Held]) -> tuple[list[tuple[int, float]], list[float]]:
    """The idf of each number of documents: a logarithm isn't the same in its last bits everywhere. And the bounds of
    terms that were cut, in order.
    """
    idfs = {postings.count: postings.idf for held in terms for postings in held.fields}
    return sorted(idfs.items()), [held.bound for held in terms if held.tail is not None]


def packed(held: Held) -> bytes:
    """Twice a number with a bit for each field, plus one and the number of the tail if there is one; then of each
    field twice the count, plus one where lengths count, if there is a tail how many are here, and these.
    """
    cut = held.tail is not None
    data = varint(sum(1 << p.field for p in held.fields) << 1 | cut) + (varint(held.tail or 0) if cut else b"")
    for postings in held.fields:
        data += varint(postings.count << 1 | postings.measured)
        data += (varint(len(postings.entries)) if cut else b"") + packed_entries(postings)
    return data


def packed_entries(postings: Postings) -> bytes:
    """For each document twice the gap, plus one and the frequency if it isn't one, and the level of its length. So no
    page loads the lengths of all documents.
    """
    data, before = bytearray(), -1
    for document, frequency, level in postings.entries:
        gap, before = document - before - 1, document
        data += varint(gap << 1) if frequency == 1 else varint(gap << 1 | 1) + varint(frequency)
        data += varint(level) if postings.measured else b""
    return bytes(data)
