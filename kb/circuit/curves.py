"""How much current an element draws at a voltage: straight pieces of rising curves, and the thresholds.

All thresholds are fractions of rated or healthy values; nothing here knows a supply voltage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

# Copper wire: largest resistance at 20 degrees C of class 5 plain conductors, ohm per km by mm2.
# Source: IEC 60228, as given by public tables; sizes between are taken by cross-section.
OHM_PER_KM = {
    0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21, 25.0: 0.780,
}  # fmt: skip
PLAIN_WIRE = 1e-3  # ohm of a wire without size or length
FUSE_DROP = 0.08  # volts across a blade fuse at its rating; common practice, no source
CONTACT_BEHIND = 0.05  # ohm in series with a diode's threshold; common practice, no source
FRICTION = 0.02  # a running motor's current rises by this share of the seized motor's; from memory
COLD_FILAMENT = 0.55  # exponent of current over voltage; common practice, no source

BRIGHT, DIM = 0.8, 0.33  # of rated volts
SLOW = 0.6  # of the healthy speed in that position
HOT, WARM = 0.7, 0.1  # of the healthy watts
LED_BRIGHT, LED_DIM = 0.5, 0.05  # of rated current
LED_LAMP_LIT, LED_LAMP_FAINT = 1e-3, 1e-4  # A through an LED test lamp
BLOWS, MAY_BLOW = 2.0, 1.35  # times a fuse's rating
SLEEPING = 1e-3  # of rated or healthy current: below it a load has none
RESTS = 0.01  # of a load's most speed or watts: below it the load rests in that position
SHORTED = 0.5  # a battery whose terminals fall below this share of its volts is short-circuited,
SHORT_AMPS = 10.0  # and one that sends more than this to its other pole over copper alone;
COPPER = 0.5  # ohm that wires, contacts and plugs may have each on such a way; from memory
LEAST_OHMS, MOST_OHMS = 1e-5, 1e9  # below and above: no less, and open; else sums of conductances lose digits


@dataclass(frozen=True, slots=True)
class Curve:
    """I(V) in pieces: piece k holds up to `ends[k]` volts and draws `slopes[k] V + offsets[k]` A.

    The last end is infinite; the curve rises and is continuous. `start` is the piece that holds 0 V.
    """

    ends: tuple[float, ...]
    slopes: tuple[float, ...]
    offsets: tuple[float, ...]

    @property
    def start(self) -> int:
        """The piece that holds 0 V."""
        return next(k for k, end in enumerate(self.ends) if end > 0)


def line(siemens: float, amps: float = 0.0) -> Curve:
    """A resistance, or with `amps` a source behind one."""
    return Curve((np.inf,), (siemens,), (amps,))


OPEN = line(0.0)


def ohms(value: float) -> Curve:
    """A resistance in ohm."""
    return source(0.0, value)


@lru_cache(maxsize=4096)
def source(volts: float, inside: float) -> Curve:
    """A source of `volts` behind `inside` ohm, plus at the first terminal."""
    siemens = 1.0 / max(inside, LEAST_OHMS) if inside <= MOST_OHMS else 0.0
    return line(siemens, -volts * siemens)


def behind(curve: Curve, value: float) -> Curve:
    """A resistance, or a source behind one, whose ohms become `value`; open stays open."""
    return source(-curve.offsets[0] / curve.slopes[0], value) if curve.slopes[0] else curve


def backwards(curve: Curve) -> Curve:
    """The same element put in the wrong way round."""
    ends = (*(-end for end in reversed(curve.ends[:-1])), np.inf)
    return Curve(ends, curve.slopes[::-1], tuple(-amps for amps in reversed(curve.offsets)))


def through(points: Sequence[tuple[float, float]], last_slope: float) -> Curve:
    """The odd curve through (0, 0) and rising (V, I) points, which goes on with `last_slope`."""
    positive = [(0.0, 0.0), *points]
    slopes = [(b[1] - a[1]) / (b[0] - a[0]) for a, b in zip(positive, positive[1:], strict=False)] + [last_slope]
    offsets = [point[1] - slope * point[0] for point, slope in zip(positive, slopes, strict=True)]
    ends = [v for v, _ in points]
    return Curve(
        (*(-v for v in reversed(ends)), *ends, np.inf),
        (*reversed(slopes[1:]), slopes[0], *slopes[1:]),
        (*(-o for o in reversed(offsets[1:])), 0.0, *offsets[1:]),
    )


def threshold(volts: float, behind: float) -> Curve:
    """A diode or LED: nothing below `volts`, then a resistance."""
    siemens = 1.0 / max(behind, LEAST_OHMS)
    return Curve((volts, np.inf), (0.0, siemens), (0.0, -volts * siemens))


def both_ways(volts: float, behind: float) -> Curve:
    """Two of them head to tail, as in a test lamp that lights either way."""
    return Curve((-volts, volts, np.inf), (1 / behind, 0.0, 1 / behind), (volts / behind, 0.0, -volts / behind))


@lru_cache(maxsize=256)
def motor(winding: float, runs: float) -> Curve:
    """Stands below `runs x winding` volts and draws V/R; above, about `runs` and a little more."""
    winding = max(winding, LEAST_OHMS)
    return through([(runs * winding, runs)], FRICTION / winding)


@lru_cache(maxsize=256)
def filament(volts: float, watts: float) -> Curve:
    """A lamp whose current goes as V to the 0.55: cold it draws many times the current."""
    rated = watts / volts
    shares = (0.02, 0.05, 0.1, 0.2, 0.35, 0.55, 0.8, 1.0, 1.3)
    points = [(share * volts, rated * share**COLD_FILAMENT) for share in shares]
    return through(points, COLD_FILAMENT * rated / volts)


def wire_ohms(mm2: float | None, metres: float | None) -> float:
    """The resistance of a copper wire in ohm."""
    if mm2 is None or metres is None:
        return PLAIN_WIRE
    per_km = OHM_PER_KM.get(mm2) or OHM_PER_KM[min(OHM_PER_KM, key=lambda size: abs(size - mm2))] * (
        min(OHM_PER_KM, key=lambda size: abs(size - mm2)) / mm2
    )
    return max(per_km * metres / 1000, LEAST_OHMS)
