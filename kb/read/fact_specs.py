"""Which facts each kind of node has, and the shape of their values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum, auto

from kb.reference import Kind


class Shape(Enum):
    """What a fact's value looks like."""

    TEXT = auto()  # one text, never split
    TEXTS = auto()  # texts between semicolons
    CHOICES = auto()  # one text a bullet, the key may come again
    REFS = auto()  # references between semicolons
    REMARKED = auto()  # references, each with a remark after a dash
    WEIGHTED = auto()  # references, each with a frequency after a dash
    FREQUENCY = auto()
    DURATION = auto()
    DURATIONS = auto()  # a duration, and others on named vehicles
    NUMBER = auto()
    FLAG = auto()
    SIGNAL = auto()
    ANSWER = auto()  # a quantity, and how far off it may be
    LANGUAGE = auto()
    ADDRESS = auto()


@dataclass(frozen=True, slots=True)
class Spec:
    """What a kind's fact takes: the shape, the kinds its references may name, whether it must be there."""

    shape: Shape
    kinds: frozenset[Kind] = frozenset()
    required: bool = False


def _refs(*kinds: Kind, shape: Shape = Shape.REFS, required: bool = False) -> Spec:
    return Spec(shape, frozenset(kinds), required)


_TEXT, _TEXTS, _FLAG = Spec(Shape.TEXT), Spec(Shape.TEXTS), Spec(Shape.FLAG)
_NEEDED = Spec(Shape.TEXT, required=True)
_COMMON = {"Formerly": _TEXTS, "Only on": _refs(Kind.VEHICLE)}
_TAKES = _refs(Kind.VEHICLE, shape=Shape.DURATIONS, required=True)
_TRIED = _refs(Kind.VEHICLE, shape=Shape.REMARKED)

_OWN: dict[Kind, dict[str, Spec]] = {
    Kind.BASE: {
        "Statement": _NEEDED,
        "Language": Spec(Shape.LANGUAGE),
        "Edition": _TEXT,
        "History": _TEXT,
        "Hour costs": Spec(Shape.NUMBER),
        "Address": Spec(Shape.ADDRESS),
    },
    Kind.PAGE: {},
    Kind.FUNCTION: {"Said as": _TEXTS, "Works only when": _TEXT},
    Kind.SYMPTOM: {
        "Said as": _TEXTS,
        "Causes": _refs(Kind.CAUSE, shape=Shape.WEIGHTED),
        "Order": _refs(Kind.TEST),
        "Comes and goes": _FLAG,
    },
    Kind.CAUSE: {"Repair": _refs(Kind.REPAIR), "How often": Spec(Shape.FREQUENCY)},
    Kind.TEST: {
        "Takes": _TAKES,
        "Access": _refs(Kind.ACCESS),
        "Needs": _refs(Kind.TOOL),
        "After": _refs(Kind.TEST),
        "Comes and goes": _FLAG,
        "Tried on": _TRIED,
    },
    Kind.REPAIR: {
        "Takes": _TAKES,
        "Access": _refs(Kind.ACCESS),
        "Needs": _refs(Kind.TOOL),
        "Parts": _TEXTS,
        "Costs": Spec(Shape.NUMBER),
        "Try": _FLAG,
        "Verify": _refs(Kind.TEST),
        "Tried on": _TRIED,
    },
    Kind.ACCESS: {
        "Takes": _TAKES,
        "Undo": Spec(Shape.DURATION),
        "Access": _refs(Kind.ACCESS),
        "Needs": _refs(Kind.TOOL),
    },
    Kind.TOOL: {"Said as": _TEXTS},
    Kind.HAZARD: {
        "Signal word": Spec(Shape.SIGNAL, required=True),
        "Hazard": _NEEDED,
        "Consequence": _NEEDED,
        "Avoidance": _NEEDED,
        "With access": _refs(Kind.ACCESS),
        "With tool": _refs(Kind.TOOL),
        "In function": _refs(Kind.FUNCTION),
        "At words": _TEXTS,
    },
    Kind.TERM: {"Said as": _TEXTS},
    Kind.VEHICLE: {"Years": _TEXT, "Circuits": _refs(Kind.CIRCUIT)},
    Kind.CIRCUIT: {},
    Kind.LESSON: {
        "For": _TEXT,
        "Takes": Spec(Shape.DURATION),
        "After": _refs(Kind.LESSON),
        "Objectives": _TEXTS,
        "Covers": _refs(),
    },
    Kind.QUESTION: {
        "Right": Spec(Shape.CHOICES),
        "Wrong": Spec(Shape.CHOICES),
        "Answer": Spec(Shape.ANSWER),
        "Because": _TEXT,
    },
    Kind.EXERCISE: {
        "Circuit": _refs(Kind.CIRCUIT, required=True),
        "Symptom": _refs(Kind.SYMPTOM, required=True),
        "Hidden": _refs(Kind.CAUSE, required=True),
        "Budget": Spec(Shape.DURATION, required=True),
    },
}
FACTS: Mapping[Kind, Mapping[str, Spec]] = {
    kind: own if kind in (Kind.BASE, Kind.PAGE) else own | _COMMON for kind, own in _OWN.items()
}
KEYS = {kind: {key.casefold(): key for key in specs} for kind, specs in FACTS.items()}
ALL_KEYS = frozenset(key for keys in KEYS.values() for key in keys)
