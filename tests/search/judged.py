"""Questions with graded answers (`judged.csv`), and how well an order of names answers them.

The grades were given by name before any ranking of these questions was seen. Rankings are tuned on one half only.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

HALVES = ("tuning", "held out")
GRADES = (3, 2, 1)
DEPTH = 10
FILE = Path(__file__).parent / "judged.csv"
AMONG = frozenset((Path(__file__).parent / "judged_among.txt").read_text(encoding="utf-8").splitlines())


@dataclass(frozen=True, slots=True)
class Judged:
    """A question, who asks it, and the names that answer it: 3 is what was looked for, 1 is worth a look."""

    half: str
    asker: str
    question: str
    grades: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Quality:
    """Means over `count` questions: nDCG of the first ten, and one over the rank of the first of grade 3."""

    ndcg: float
    mrr: float
    count: int

    def __str__(self) -> str:
        return f"nDCG@10 {self.ndcg:.3f}, MRR {self.mrr:.3f} ({self.count} questions)"


def judged(half: str, names: Collection[str] | None = None) -> tuple[Judged, ...]:
    """The questions of a half, with the grades of those names that a base has; none without a grade 3."""
    with FILE.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["half"] == half]
    found = (Judged(half, row["asked by"], row["question"], _grades(row, names)) for row in rows)
    return tuple(one for one in found if 3 in one.grades.values())


def _grades(row: Mapping[str, str], names: Collection[str] | None) -> dict[str, int]:
    listed = ((name.strip(), grade) for grade in GRADES for name in row[str(grade)].split(";"))
    return {name: grade for name, grade in listed if name and (names is None or name in names)}


def ndcg(found: Sequence[str], grades: Mapping[str, int]) -> float:
    """Järvelin and Kekäläinen (2002), gain 2^grade - 1 and discount log2(1 + rank), as commonly reported."""
    best = _gain(sorted(grades.values(), reverse=True))
    return _gain([grades.get(name, 0) for name in found]) / best if best else 0.0


def _gain(grades: Sequence[int]) -> float:
    return sum((2**grade - 1) / math.log2(rank + 1) for rank, grade in enumerate(grades[:DEPTH], 1))


def reciprocal(found: Sequence[str], grades: Mapping[str, int]) -> float:
    """One over the rank of the first name of grade 3 among the first ten."""
    ranks = (rank for rank, name in enumerate(found[:DEPTH], 1) if grades.get(name) == 3)
    return 1 / next(ranks, math.inf)


def condensed(found: Sequence[str]) -> list[str]:
    """The first ten of those names that stood in the base when the grades were given.

    What came later was never judged, so it is left out rather than taken for wrong: condensed lists, after Sakai,
    "Alternatives to bpref" (2007; from memory).
    """
    return [name for name in found if name in AMONG][:DEPTH]


def quality(ask: Callable[[str], Sequence[str]], questions: Iterable[Judged]) -> Quality:
    """How well `ask` answers; it gives names, the best first, some hundred of them."""
    answers = [(condensed(ask(one.question)), one.grades) for one in questions]
    count = len(answers)
    return Quality(
        sum(ndcg(*answer) for answer in answers) / count,
        sum(reciprocal(*answer) for answer in answers) / count,
        count,
    )
