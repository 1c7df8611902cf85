"""SQLite's FTS5 and tantivy on the same nodes: engines that run beside a program, not in a page."""

from __future__ import annotations

import importlib
import re
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import ModuleType

from tests.bench.peers.corpus import Slip
from tests.bench.peers.figures import Figures, share, sizes

Rows = Sequence[tuple[str, str, str]]  # name, said as, body
Ask = Callable[[str], Sequence[int]]
TANTIVY = "tantivy==0.27.0"
ROUNDS = 3


def fts5(rows: Rows, questions: Sequence[str], slips: Sequence[Slip], folder: Path) -> Figures:
    """FTS5 with the Porter stemmer, any of the words; it knows no slips."""
    started = time.perf_counter()
    base = sqlite3.connect(folder / "fts5.db")
    base.execute("create virtual table nodes using fts5(name, said, body, tokenize='porter unicode61')")
    base.executemany(
        "insert into nodes(rowid, name, said, body) values (?, ?, ?, ?)", [(n, *row) for n, row in enumerate(rows)]
    )
    base.commit()
    seconds = time.perf_counter() - started

    def ask(question: str) -> list[int]:
        words = " OR ".join(f'"{word}"' for word in re.findall(r"\w+", question))
        found = base.execute("select rowid from nodes where nodes match ? order by rank limit 10", (words,))
        return [number for (number,) in found]

    size = (folder / "fts5.db").stat().st_size
    return Figures(
        "FTS5 porter",
        seconds,
        size,
        None,
        warm=spent(ask, questions),
        kept=kept(ask, slips),
        note="native, text within",
    )


def tantivy(rows: Rows, questions: Sequence[str], slips: Sequence[Slip], folder: Path, tools: Path) -> Figures:
    """tantivy with its English stemmer; slips with its fuzzy terms of one slip, which the timed questions are without."""
    engine = fetched(tools)
    if engine is None:
        return Figures("tantivy", note="can't be fetched")
    started = time.perf_counter()
    index = filled(engine, rows, folder / "tantivy")
    seconds = time.perf_counter() - started
    searcher, fields = index.searcher(), ["name", "said", "body"]

    def ask(question: str, **more: object) -> list[int]:
        query = index.parse_query(question, fields, **more)
        hits = searcher.search(query, 10).hits
        return [searcher.doc(place)["number"][0] for _, place in hits]

    fuzzy = dict.fromkeys(fields, (False, 1, True))
    share_kept = kept(lambda question: ask(question, fuzzy_fields=fuzzy), slips)
    raw, small = sizes(folder / "tantivy")
    return Figures(
        "tantivy", seconds, raw, small, warm=spent(ask, questions), kept=share_kept, note="native; slips: fuzzy terms"
    )


def filled(engine: ModuleType, rows: Rows, folder: Path) -> object:
    """An index of the rows in a folder."""
    builder = engine.SchemaBuilder()
    for field in ("name", "said", "body"):
        builder.add_text_field(field, tokenizer_name="en_stem")
    builder.add_unsigned_field("number", stored=True)
    folder.mkdir()
    index = engine.Index(builder.build(), path=str(folder))
    writer = index.writer()
    for number, (name, said, body) in enumerate(rows):
        writer.add_document(engine.Document(name=name, said=said, body=body, number=number))
    writer.commit()
    writer.wait_merging_threads()
    index.reload()
    return index


def fetched(tools: Path) -> ModuleType | None:
    """The package from a folder of tools, where pip puts it if it is absent."""
    place = tools / "python"
    if not (place / "tantivy").is_dir():
        command = [
            sys.executable,
            "-m",
            "pip",
            "install",
            "--quiet",
            "--only-binary",
            ":all:",
            "--target",
            str(place),
            TANTIVY,
        ]
        subprocess.run(command, capture_output=True, timeout=300)
    sys.path.append(str(place))
    try:
        return importlib.import_module("tantivy")
    except ImportError:
        return None
    finally:
        sys.path.remove(str(place))


def spent(ask: Ask, questions: Sequence[str]) -> list[float]:
    """Milliseconds of each answer, after a round that isn't counted."""
    found = []
    for number in range(ROUNDS + 1):
        for question in questions:
            started = time.perf_counter()
            ask(question)
            if number:
                found.append(1000 * (time.perf_counter() - started))
    return found


def kept(ask: Ask, slips: Sequence[Slip]) -> float:
    """The share of slips for which the clean question's best hit is still in ten."""
    return share([bool(best := ask(slip.clean)[:1]) and best[0] in ask(slip.slipped) for slip in slips])
