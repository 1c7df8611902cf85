"""The files of a base's folder. It imports no parser: who only looks whether pages changed waits for none."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from kb.files import MARK

INDEX = "index.md"


class UnreadableBase(Exception):
    """The folder is no base: it can't be read, or has no `index.md`."""


class UnknownVehicle(Exception):
    """The base has no vehicle of this name."""


def find_files(folder: Path) -> dict[str, Path]:
    """The files of a base by path with `/`, sorted; without dot files and sites that this tool wrote."""
    if not folder.is_dir():
        raise UnreadableBase(f"there is no folder {folder.name!r} to read a base from")
    found = dict(sorted(_paths(folder)))
    if INDEX not in found:
        raise UnreadableBase(f"{folder.name or str(folder)!r} holds no index.md, so it is no base")
    return found


def _paths(folder: Path) -> Iterator[tuple[str, Path]]:
    for where, folders, files in os.walk(folder):
        folders[:] = [name for name in folders if not _hidden(Path(where, name))]
        for name in files:
            path = Path(where, name)
            if not name.startswith("."):
                yield path.relative_to(folder).as_posix(), path


def _hidden(folder: Path) -> bool:
    return folder.name.startswith(".") or (folder / MARK).exists()


def is_page(path: str) -> bool:
    """True for a Markdown file."""
    return path.lower().endswith(".md")


def bytes_of(file: Path | bytes) -> bytes | None:
    """The bytes of a file, or None where it can't be read."""
    if isinstance(file, bytes):
        return file
    try:
        return file.read_bytes()
    except OSError:
        return None
