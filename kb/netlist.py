"""A circuit as its tables state it: parts, wires, positions, faults, symptoms, readings, cavities."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kb.reference import Ref
from kb.source import Span


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in base units (V, A, W, ohm, m, mm2, or a fraction for %), and the unit's symbol."""

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Part:
    """A part. `values` are quantities by name (`volts`, `ohms`, `amps`, `watts`, `contact`, ...);
    `words` are the values that are words (`rest`: `ground`). A connector has two `sides`;
    a motor has `turns`: the words for positive and negative voltage from pin a to pin b.
    """

    name: str
    kind: str
    pins: tuple[str, ...]
    values: Mapping[str, Quantity] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    sides: tuple[str, str] | None = None
    turns: tuple[str, str] | None = None
    span: Span | None = None
    value_text: str = ""


@dataclass(frozen=True, slots=True)
class Terminal:
    """A pin of a part; `side` names a connector's side and is empty for other parts."""

    part: str
    pin: str
    side: str = ""

    def __str__(self) -> str:
        return f"{self.part}.{self.pin}" + (f" {self.side}" if self.side else "")


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire between two terminals. `colour` holds IEC 60757 codes (one, or base and tracer)."""

    name: str
    start: Terminal
    end: Terminal
    colour: tuple[str, ...] = ()
    mm2: float | None = None
    metres: float | None = None
    bundle: str = ""
    span: Span | None = None


@dataclass(frozen=True, slots=True)
class Position:
    """A state of all switches. `joins` are pin pairs by part, `drives` high or low by output;
    `must` are (load, verdict) pairs that the healthy circuit has to show.
    """

    name: str
    joins: Mapping[str, tuple[tuple[str, str], ...]]
    drives: Mapping[str, str]
    must: tuple[tuple[str, str], ...] = ()
    span: Span | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """One thing wrong. `how` is one of
    open, ohms, ground, touches, unplugged, crossed, contact-open, welded, seized, blown; of the faults that
    parts have by themselves also low (a battery), reversed (an LED), stuck-on and stuck-off (an output).

    `what` is a wire's or part's name or a terminal; `other` the second terminal or wire of
    `touches` and `crossed`; `contact` the pin pair of a switch; `ohms` the resistance.
    """

    how: str
    what: str | Terminal
    other: str | Terminal | None = None
    contact: tuple[str, str] | None = None
    ohms: float | None = None


@dataclass(frozen=True, slots=True)
class FaultRow:
    """What a cause does to the circuit; `cause` is the name in its first cell."""

    cause: Ref | None
    words: str
    changes: tuple[Change, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class SymptomRow:
    """How a symptom shows: (position, ((load, verdict), ...)) pairs, all of which must hold."""

    symptom: Ref | None
    shows: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]
    span: Span


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """Where a test's instrument goes in this circuit; `test` is the name in its first cell."""

    test: Ref | None
    position: str
    unplugged: tuple[str, ...]
    instrument: str
    red: str | Terminal | None
    black: Terminal | None
    span: Span


@dataclass(frozen=True, slots=True)
class Circuit:
    """A circuit node's tables. `sound` is False where a row could not be read."""

    node: str
    parts: Mapping[str, Part] = field(default_factory=dict)
    wires: Mapping[str, Wire] = field(default_factory=dict)
    positions: Mapping[str, Position] = field(default_factory=dict)
    faults: tuple[FaultRow, ...] = ()
    symptoms: tuple[SymptomRow, ...] = ()
    readings: tuple[ReadingRow, ...] = ()
    cavities: Mapping[Terminal, str] = field(default_factory=dict)
    sound: bool = True
