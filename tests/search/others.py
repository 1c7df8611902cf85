"""Two other engines on the same nodes, to hold the ranking against: SQLite's FTS5 and bm25s."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Sequence

from kb.search.documents import TEXTS
from kb.search.index import Index

Ask = Callable[[str], Sequence[str]]


def texts(index: Index) -> list[list[str]]:
    """The fields of each node, in the order that breaks our ties."""
    return [[" ; ".join(document.texts[field]) for field in TEXTS] for document in index.documents]


def names(index: Index) -> list[str]:
    """What the grades are given to."""
    return [document.node.name for document in index.documents]


def fts5(index: Index, weights: Sequence[float] = (1,) * len(TEXTS)) -> Ask:
    """FTS5 with the Porter stemmer, any of the words; each field with its weight."""
    base, named = sqlite3.connect(":memory:"), names(index)
    base.execute(f"create virtual table nodes using fts5({', '.join(TEXTS)}, tokenize='porter unicode61')")
    rows = [(number, *fields) for number, fields in enumerate(texts(index), 1)]
    base.executemany(f"insert into nodes(rowid, {', '.join(TEXTS)}) values (?, ?, ?, ?, ?, ?, ?)", rows)
    order = f"bm25(nodes, {', '.join(map(str, weights))})"

    def ask(question: str) -> list[str]:
        words = " OR ".join(f'"{word}"' for word in re.findall(r"\w+", question))
        found = base.execute(
            f"select rowid from nodes where nodes match ? order by {order}, rowid limit 200", (words,)
        )
        return [named[number - 1] for (number,) in found] if words else []

    return ask


def bm25s(index: Index) -> Ask:
    """bm25s (Lucene's BM25) over all fields as one text, its English stop words, Whoosh's stemmer."""
    import bm25s as engine

    stem, named = index.analysis.language.stem, names(index)

    def cut(lines: list[str]) -> list[list[str]]:
        cut_lines = engine.tokenize(lines, stopwords="en", return_ids=False, show_progress=False)
        return [[stem(word) for word in line] for line in cut_lines]

    ranking = engine.BM25()
    ranking.index(cut([" ; ".join(fields) for fields in texts(index)]), show_progress=False)

    def ask(question: str) -> list[str]:
        numbers, scores = ranking.retrieve(cut([question]), k=min(200, len(named)), show_progress=False)
        pairs = zip(numbers[0], scores[0], strict=True)
        return [named[number] for number, score in pairs if score > 0]

    return ask
