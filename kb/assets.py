"""Where the files that ship with the package lie: templates, and the base shown as a demonstration."""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).parent


def templates_dir() -> Path:
    """The folder of templates: installed beside the package, else in the checkout."""
    return _shipped("templates", "templates")


def demo_dir() -> Path:
    """The folder of the demonstration base: installed beside the package, else in the checkout."""
    return _shipped("demo", "content")


def start_dir() -> Path:
    """The folder of the small worked base that a new one begins with."""
    return templates_dir() / "start"


def _shipped(installed: str, checkout: str) -> Path:
    beside = _HERE / installed
    return beside if beside.is_dir() else _HERE.parent / checkout
