"""A rule's docstring taken apart: summary, explanation, a bad and a good example.

In an example, a line `=== name.md` begins another file; `!` in the margin marks a line to be reported;
`\\0` stands for a NUL.
"""

from __future__ import annotations

import re
import textwrap
from dataclasses import dataclass

_SECTION = re.compile(r"^(Bad|Good):[ \t]*$", re.MULTILINE)
_FILE = re.compile(r"^=== (\S+)$")


@dataclass(frozen=True, slots=True)
class Manual:
    """`bad` and `good` are examples as they stand in the docstring, margin and all."""

    summary: str
    text: str
    bad: str
    good: str


@dataclass(frozen=True, slots=True)
class Example:
    """The files of an example, and the (file, line) places that are marked."""

    files: dict[str, str]
    marks: frozenset[tuple[str, int]]


def read_manual(docstring: str) -> Manual:
    """Take a rule's docstring apart."""
    head, *rest = _SECTION.split(docstring.strip())
    examples = dict(zip(rest[::2], rest[1::2], strict=True))
    summary, _, text = head.strip().partition("\n")
    return Manual(summary, textwrap.dedent(text).strip(), examples.get("Bad", ""), examples.get("Good", ""))


def read_example(text: str, page: str = "page.md") -> Example:
    """The files of an example: four columns of margin, then the line."""
    files: dict[str, list[str]] = {}
    marks: set[tuple[str, int]] = set()
    for line in text.strip("\n").split("\n"):
        if match := _FILE.match(line[4:]):
            page = match[1]
            files.setdefault(page, [])
            continue
        files.setdefault(page, []).append(line[4:].replace("\\0", "\0"))
        if line[:4].strip() == "!":
            marks.add((page, len(files[page])))
    return Example({name: "\n".join(lines).rstrip() + "\n" for name, lines in files.items()}, frozenset(marks))


def printed(example: str) -> str:
    """An example as it is shown to a reader: without margin and marks."""
    return "\n".join(line[4:] for line in example.strip("\n").split("\n"))
