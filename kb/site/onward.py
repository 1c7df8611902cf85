"""What one finding of a test leaves of a symptom's causes, and where its writer goes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kb.graph import survivors
from kb.model import Base, Finding, Node


@dataclass(frozen=True, slots=True)
class View:
    """What a finding alone clears, leaves and proves of some causes."""

    cleared: tuple[Node, ...]
    left: tuple[Node, ...]
    proved: tuple[Node, ...]


def view(base: Base, causes: Sequence[Node], finding: Finding) -> View:
    """A finding as it stands with all causes still possible."""
    kept = survivors(base, finding, [cause.id for cause in causes])
    left = tuple(cause for cause in causes if cause.id in kept)
    cleared = tuple(cause for cause in causes if cause.id not in kept)
    return View(cleared, left, base.all(finding.proves))
