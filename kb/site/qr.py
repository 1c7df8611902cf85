"""An address as a QR code (ISO/IEC 18004), drawn as one path of squares."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import segno

QUIET = 4  # modules of white around the code, ISO/IEC 18004


@dataclass(frozen=True, slots=True)
class Code:
    """A square of `size` modules with its quiet zone; `path` draws the dark ones."""

    address: str
    size: int
    path: str


def code(address: str) -> Code:
    """The QR code of an address, error correction M (15 %) or better where that needs no larger code."""
    rows = [bytes(row) for row in segno.make_qr(address, error="m").matrix]
    runs = [run for y, row in enumerate(rows, QUIET) for run in _runs(row, y)]
    return Code(address, len(rows) + 2 * QUIET, "".join(runs))


def _runs(row: bytes, y: int) -> list[str]:
    """Each run of dark modules in a row as a closed strip."""
    found, x = [], QUIET
    for dark, run in groupby(row):
        length = len(list(run))
        if dark:
            found.append(f"M{x} {y}h{length}v1h-{length}z")
        x += length
    return found
