"""Where a finding's readings lie on a meter's scale, in per cent of its length."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kb.model import Finding, ReadingRange
from kb.site.drawing.metrics import width

_STEPS = (1, 2, 5)
_VOLTS = 15.0
_SIZE = 13  # of labels, px
_NARROWEST = 176.0  # px of a scale on a screen of 320
_APART = 8.0  # px between labels


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale from 0 to `top` with ticks (per cent, label) and a finding's blocks (per cent, width)."""

    unit: str
    ticks: tuple[tuple[float, str], ...]
    blocks: tuple[tuple[float, float], ...]


def scales(findings: Sequence[Finding]) -> tuple[Scale | None, ...]:
    """One scale for all findings of a test that read a number of one unit; None for the others."""
    ranges = [r for finding in findings for r in finding.ranges if _absolute(r)]
    units = {r.unit for r in ranges}
    if len(units) != 1:
        return tuple(None for _ in findings)
    unit = units.pop()
    bounds = [b for r in ranges for b in (r.low, r.high) if b is not None]
    if not bounds or min(bounds) < 0 or max(bounds) <= 0:
        return tuple(None for _ in findings)
    step, top = _top(max(bounds), unit)
    return tuple(_scale(finding, unit, step, top) for finding in findings)


def _absolute(r: ReadingRange) -> bool:
    return not r.word and not r.relative and r.unit in ("V", "A", "ohm")


def _top(highest: float, unit: str) -> tuple[float, float]:
    """The step between ticks and the scale's end: 15 V where that is enough, else about six steps."""
    if unit == "V" and highest <= _VOLTS:
        wanted = max(highest * 1.25, 1.0) if highest <= 1 else _VOLTS
    else:
        wanted = highest * 1.25
    size = 10.0 ** _exponent(wanted / 5)
    step = next((s * size for s in _STEPS if s * size >= wanted / 5.01), 10 * size)
    count = -(-wanted // step)
    return step, step * count


def _exponent(value: float) -> int:
    exponent = 0
    while 10.0**exponent > value:
        exponent -= 1
    while 10.0 ** (exponent + 1) <= value:
        exponent += 1
    return exponent


def _scale(finding: Finding, unit: str, step: float, top: float) -> Scale | None:
    blocks = tuple(_block(r, top) for r in finding.ranges if _absolute(r))
    if not blocks:
        return None
    count = round(top / step)
    labels = _fitting([f"{step * i:.6g}" for i in range(count + 1)], unit)
    ticks = tuple((round(100 * i / count, 2), label) for i, label in enumerate(labels))
    return Scale(unit, ticks, blocks)


def _fitting(labels: Sequence[str], unit: str) -> Iterator[str]:
    """The labels, empty where one would run into those beside it; the first and the last always stand."""
    *begun, last = labels
    free, end = 0.0, _NARROWEST - width(f"{last} {unit}", _SIZE) - _APART
    for i, label in enumerate(begun):
        middle, half = _NARROWEST * i / len(begun), width(label, _SIZE) / 2
        start = middle - half if i else 0.0
        stands = start >= free and (not i or start + 2 * half <= end)
        free = start + 2 * half + _APART if stands else free
        yield label if stands else ""
    yield last


def _block(r: ReadingRange, top: float) -> tuple[float, float]:
    low, high = r.low or 0.0, top if r.high is None else r.high
    return round(100 * low / top, 2), round(100 * max(high - low, top / 100) / top, 2)
