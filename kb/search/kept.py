"""The index of a base as it was last built, kept in the user's own cache folder for `find`.

Only an index that this user's own runs wrote is opened, and only while the pages and the program are the same.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from functools import cache, partial
from pathlib import Path

from whoosh.filedb.filestore import FileStorage

from kb import __version__
from kb.search.analysis import Analysis
from kb.search.index import Index, Row, write
from kb.search.language import language_of
from kb.search.lexicon import Lexicon

_PROGRAM = ("search/*.py", "read/*.py", "graph.py", "reference.py")


def kept_index(folder: Path, vehicle: str | None, pages: Mapping[str, bytes]) -> Index | None:
    """The index kept for a base with exactly these pages; None where there is none that can be read."""
    place = _place(folder, vehicle)
    try:
        if not _ours(place) or (place / "stamp").read_text() != stamp(pages):
            return None
        return _read(place, language_of(_json(place, "language")))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def keep(folder: Path, vehicle: str | None, pages: Mapping[str, bytes], index: Index) -> bool:
    """Keep an index in place of the one before; False where that can't be done."""
    place = _place(folder, vehicle)
    try:
        place.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        new = Path(tempfile.mkdtemp(dir=place.parent))
        _write(new, index)
        (new / "stamp").write_text(stamp(pages))
        shutil.rmtree(place, ignore_errors=True)
        new.rename(place)
    except OSError:
        return False
    return True


def stamp(pages: Mapping[str, bytes]) -> str:
    """What an index is made of: the pages, and the program that read them."""
    made = hashlib.sha256(f"{__version__} {_program()}".encode())
    for path, data in sorted(pages.items()):
        made.update(f"\0{path}\0{len(data)}\0".encode(errors="surrogatepass") + data)
    return made.hexdigest()


@cache
def _program() -> str:
    """A version is changed for a release only; who works on the program mustn't be answered from before."""
    package = Path(__file__).parent.parent
    files = sorted(path for pattern in _PROGRAM for path in package.glob(pattern))
    return hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()


def _place(folder: Path, vehicle: str | None) -> Path:
    """The folder's own place in the cache; `LOCALAPPDATA` is where Windows keeps such things."""
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or Path.home() / ".cache"
    named = f"{folder.resolve()}\0{vehicle or ''}"
    return Path(home) / "backprobe" / hashlib.sha256(named.encode(errors="surrogatepass")).hexdigest()[:24]


def _ours(place: Path) -> bool:
    return place.is_dir() and (not hasattr(os, "getuid") or place.stat().st_uid == os.getuid())


def _json(place: Path, name: str) -> object:
    return json.loads((place / f"{name}.json").read_text(encoding="utf-8"))


def _write(place: Path, index: Index) -> None:
    analysis, count = index.analysis, range(len(index.rows))
    write(FileStorage(str(place)), analysis, index.documents)
    parts = {
        "language": analysis.language.code,
        "analysis": [
            dict(analysis.stems),
            dict(analysis.kin),
            list(analysis.splits.items()),
            list(analysis.equals.items()),
        ],
        "lexicon": [dict(index.lexicon.words), dict(index.lexicon.terms)],
        "rows": [[row.kind, row.title, row.page, row.address, row.node_id] for row in index.rows],
        "pieces": [list(index.pieces(number)) for number in count],
    }
    for name, part in parts.items():
        (place / f"{name}.json").write_text(json.dumps(part), encoding="utf-8")


def _read(place: Path, language: object) -> Index:
    stems, kin, splits, equals = _json(place, "analysis")  # type: ignore[misc]
    words, terms = _json(place, "lexicon")  # type: ignore[misc]
    analysis = Analysis(
        language,  # type: ignore[arg-type]
        stems,
        kin,
        {stem: tuple(parts) for stem, parts in splits},
        {tuple(keys): tuple(names) for keys, names in equals},
    )
    rows = tuple(Row(*row) for row in _json(place, "rows"))  # type: ignore[attr-defined]
    whoosh = FileStorage(str(place)).open_index()
    return Index(analysis, (), rows, Lexicon(words, terms), whoosh, partial(_piece, place))


@cache
def _all_pieces(place: Path) -> list[list[str]]:
    return _json(place, "pieces")  # type: ignore[return-value]


def _piece(place: Path, number: int) -> Iterable[str]:
    return _all_pieces(place)[number]
