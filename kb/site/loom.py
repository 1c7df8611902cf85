"""How thick and how long the lines of a loom drawing are: thickness is weight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

TRUNK = 14
BRANCH = 12
REACH = (28, 78)


@dataclass(frozen=True, slots=True)
class Branch:
    """One row of a drawing, in CSS pixels: the trunk above and below the branch, and the branch."""

    above: int
    below: int
    thick: int
    reach: int


def branches(weights: Sequence[float]) -> tuple[Branch, ...]:
    """Branches from the top down; the trunk carries what is still to leave it."""
    total, heaviest = sum(weights) or 1, max(weights, default=0) or 1
    left, drawn = sum(weights), []
    for weight in weights:
        after = left - weight
        drawn.append(Branch(_width(left, total, TRUNK), _width(after, total, TRUNK), *_branch(weight, heaviest)))
        left = after
    return tuple(drawn)


def trunk(share: float, most: float) -> int:
    """The width of a trunk with this share, where the heaviest has `most`."""
    return _width(share, most or 1, TRUNK)


def _branch(weight: float, heaviest: float) -> tuple[int, int]:
    near, far = REACH
    return _width(weight, heaviest, BRANCH), round(near + (far - near) * weight / heaviest)


def _width(part: float, whole: float, widest: int) -> int:
    return max(2, round(widest * part / whole)) if part > 0 else 0
