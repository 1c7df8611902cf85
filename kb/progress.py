"""How long work tells how far it is."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[int, int, str], None]
"""Takes what is done, of how much, and of what."""


def quiet(done: int, total: int, what: str) -> None:
    """Tell nobody."""
