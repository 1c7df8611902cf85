"""The command `backprobe`: its words, and how it ends. What a word does is loaded when it is said."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module

import click

from kb import __version__

WORDS = {
    "start": ("commands", "start"),
    "check": ("commands", "check"),
    "site": ("commands", "site"),
    "view": ("commands", "view"),
    "find": ("finding", "find"),
    "isolate": ("commands", "isolate"),
    "readings": ("commands", "readings_command"),
    "why": ("commands", "why"),
}


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; the exit code: 0 done, 1 the base has errors, 2 can't be read."""
    try:
        return int(backprobe.main(args=arguments, prog_name="backprobe", standalone_mode=False) or 0)
    except click.ClickException as error:
        click.echo(f"backprobe: {' '.join(error.format_message().split())}", err=True)
        return 2
    except click.Abort:
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return 0


class Words(click.Group):
    """A group whose commands are loaded one by one."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All words, in the order in which they are met."""
        return list(WORDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a word; None where there is none."""
        if cmd_name not in WORDS:
            return None
        module, name = WORDS[cmd_name]
        command: click.Command = getattr(import_module(f"kb.{module}"), name)
        return command


@click.group(cls=Words, context_settings={"help_option_names": ["--help"], "max_content_width": 100})
@click.version_option(__version__, message="backprobe %(version)s")
def backprobe() -> None:
    """Markdown procedure pages in, a checked fault index and a searchable site out."""


if __name__ == "__main__":
    main()
