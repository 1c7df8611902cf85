"""What commands share: their options, the folder of a base, and how they refuse."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from kb.progress import Progress
from kb.read.folder import UnknownVehicle, UnreadableBase
from kb.terminal import progress

Command = TypeVar("Command", bound=Callable[..., Any])


class Refused(click.ClickException):
    """The command or base can't be read: one line on standard error, exit 2."""

    exit_code = 2


def base_option(command: Command) -> Command:
    """`--base DIR`."""
    return click.option(
        "--base",
        "folder",
        type=click.Path(path_type=Path),
        metavar="DIR",
        help="The base. Left out: this folder if it holds index.md, else content/ in it.",
    )(command)


def vehicle_option(command: Command) -> Command:
    """`--vehicle NAME`."""
    return click.option("--vehicle", metavar="NAME", help="Take only what applies to this vehicle.")(command)


def format_option(*formats: str) -> Callable[[Command], Command]:
    """`--format`, the first of `formats` being what is printed when it is left out."""
    return click.option("--format", "form", type=click.Choice(formats), default=formats[0], show_default=True)


def folder_of(given: Path | None) -> Path:
    """The folder given, else the base that is at hand. Raises Refused where there is none."""
    if given is not None:
        return given
    here = Path()
    if (here / "index.md").is_file():
        return here
    if (here / "content" / "index.md").is_file():
        return here / "content"
    raise Refused(
        "no index.md in this folder or in content/; name a base with --base, or write one with 'backprobe start DIR'"
    )


Made = TypeVar("Made")


def from_base(given: Path | None, vehicle: str | None, make: Callable[[Path, str | None, Progress], Made]) -> Made:
    """What is made from a base, with progress shown. Raises Refused where the base can't be read."""
    folder = folder_of(given)
    try:
        with progress() as tell:
            return make(folder, vehicle, tell)
    except (UnreadableBase, UnknownVehicle) as error:
        raise Refused(str(error)) from error
    except OSError as error:
        raise Refused(f"{folder} can't be read: {error.strerror}") from error
