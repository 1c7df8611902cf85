"""Writing a folder or file so that a reader finds the old one whole or the new one whole."""

from __future__ import annotations

import ctypes
import os
import shutil
import sys
from collections.abc import Iterable
from pathlib import Path

MARK = ".backprobe-site"
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2


class NotOurs(Exception):
    """The folder to be written holds files that this tool did not write."""


def write_folder(out: Path, files: Iterable[tuple[str, bytes]]) -> int:
    """Write files (path with `/`, bytes) beside `out`, then swap the folders; the number of files.

    Raises NotOurs where `out` exists and was not written by this tool, OSError where writing fails. Until
    the swap the old folder stands as it was.
    """
    if out.exists() and not _ours(out):
        raise NotOurs(f"{out.name!r} holds files that backprobe didn't write; name another folder with --out")
    new = out.parent / f".{out.name}.building"
    shutil.rmtree(new, ignore_errors=True)
    try:
        count = _write(new, files)
        swap(new, out)
    finally:
        shutil.rmtree(new, ignore_errors=True)
    return count


def write_file(path: Path, data: bytes) -> None:
    """Write a file beside `path`, then give it that name: a reader finds the old one whole or the new one whole."""
    new = path.parent / f".{path.name}.building"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        new.write_bytes(data)
        new.replace(path)
    finally:
        new.unlink(missing_ok=True)


def _ours(out: Path) -> bool:
    return out.is_dir() and ((out / MARK).exists() or not any(out.iterdir()))


def _write(folder: Path, files: Iterable[tuple[str, bytes]]) -> int:
    folder.mkdir(parents=True)
    (folder / MARK).write_bytes(b"")
    count = 0
    for path, data in files:
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
        count += 1
    return count


def swap(new: Path, out: Path) -> None:
    """Put `new` in the place of `out`: at once where the system can exchange two names, else in two moves."""
    if not out.exists():
        new.rename(out)
    elif not _exchange(new, out):
        old = out.parent / f".{out.name}.old"
        shutil.rmtree(old, ignore_errors=True)
        out.rename(old)
        new.rename(out)
        shutil.rmtree(old, ignore_errors=True)


def _exchange(a: Path, b: Path) -> bool:
    """Exchange two names in one step (Linux renameat2); False where the system doesn't offer it."""
    if not sys.platform.startswith("linux"):
        return False
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if renameat2 is None:
        return False
    names = os.fsencode(a), os.fsencode(b)
    return renameat2(_AT_FDCWD, names[0], _AT_FDCWD, names[1], _RENAME_EXCHANGE) == 0
