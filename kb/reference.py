"""The kinds of node, and names in brackets that refer to nodes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from kb.source import Span


class Kind(StrEnum):
    """The kinds of node. BASE is `index.md` itself, PAGE the prose of a page outside its nodes."""

    BASE = "Base"
    PAGE = "Page"
    FUNCTION = "Function"
    SYMPTOM = "Symptom"
    CAUSE = "Cause"
    TEST = "Test"
    REPAIR = "Repair"
    ACCESS = "Access"
    TOOL = "Tool"
    HAZARD = "Hazard"
    TERM = "Term"
    VEHICLE = "Vehicle"
    CIRCUIT = "Circuit"
    LESSON = "Lesson"
    QUESTION = "Question"
    EXERCISE = "Exercise"


HEADING_KINDS: tuple[Kind, ...] = tuple(k for k in Kind if k not in (Kind.BASE, Kind.PAGE))
PROCEDURES: frozenset[Kind] = frozenset((Kind.TEST, Kind.REPAIR, Kind.ACCESS))


@dataclass(frozen=True, slots=True)
class Ref:
    """A name in brackets. `label` is the name as written, `shown` the words printed for it.

    `kinds` are the kinds that its place takes; empty means any kind.
    """

    span: Span
    label: str
    shown: str
    kinds: frozenset[Kind] = frozenset()
