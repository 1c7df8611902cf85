"""The terminal: colour only where it is one, and a bar for what takes longer than a second."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Timer
from typing import TextIO

import click
from rich.console import Console
from rich.progress import Progress as Bar
from rich.progress import TaskID

from kb.progress import Progress

_STYLES = {
    "error": {"fg": "red", "bold": True},
    "warning": {"fg": "yellow", "bold": True},
    "note": {"fg": "cyan"},
    "place": {"bold": True},
    "caret": {"fg": "red"},
    "help": {"fg": "green"},
    "gutter": {"dim": True},
}
_PATIENCE = 1.0


def coloured(stream: TextIO) -> bool:
    """True for a terminal whose user did not set NO_COLOR."""
    return stream.isatty() and not os.environ.get("NO_COLOR")


def paint(text: str, style: str) -> str:
    """Text in a style, where standard output is a terminal."""
    return click.style(text, **_STYLES[style]) if coloured(sys.stdout) else text  # type: ignore[arg-type]


@contextmanager
def progress() -> Iterator[Progress]:
    """Calls draw a bar on standard error once a second has gone by; on no terminal they draw nothing."""
    if not sys.stderr.isatty():
        yield lambda done, total, what: None
        return
    bar = Bar(console=Console(stderr=True), transient=True)
    tasks: dict[str, TaskID] = {}
    begun = time.monotonic()

    def tell(done: int, total: int, what: str) -> None:
        if time.monotonic() - begun < _PATIENCE:
            return
        if not tasks:
            bar.start()
        if what not in tasks:
            tasks[what] = bar.add_task(what, total=total)
        bar.update(tasks[what], completed=done, total=total)

    try:
        yield tell
    finally:
        bar.stop()


@contextmanager
def working(what: str) -> Iterator[None]:
    """Says on standard error what takes so long, once a second has gone by; on no terminal nothing."""
    if not sys.stderr.isatty():
        yield
        return
    status = Console(stderr=True).status(what)
    timer = Timer(_PATIENCE, status.start)
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        timer.join()
        status.stop()


def asked(prompt: str) -> str | None:
    """What a person answers to a prompt; None at the end of input."""
    click.echo()
    try:
        return str(click.prompt(prompt, default="", show_default=False, prompt_suffix="\n> "))
    except click.Abort:
        return None
