"""How a fact list is read: its keys, the values behind them, and what is wrong with either."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from kb.diagnostic import Problem
from kb.model import Block, Cell, Fact, Value
from kb.quantity import nearest
from kb.read.blocks import Blocks
from kb.read.fact_specs import FACTS, KEYS, Shape
from kb.read.fact_values import READERS, joined, taken
from kb.read.inlines import taking
from kb.reference import Kind, Ref
from kb.source import Span

KEY = re.compile(r"((?:[^\W\d_]+ ){0,2}[^\W\d_]+):(?=\s|$)")
FINDINGS_COLUMNS = frozenset(("finding", "reading", "clears", "proves", "next"))
_SINGLE = frozenset(
    (
        Shape.ANSWER,
        Shape.DURATION,
        Shape.NUMBER,
        Shape.FLAG,
        Shape.SIGNAL,
        Shape.FREQUENCY,
        Shape.LANGUAGE,
        Shape.ADDRESS,
    )
)


def key_of(content: str) -> str | None:
    """The key that a text begins with, as written, or None."""
    match = KEY.match(content)
    return match[1] if match else None


def has_key(content: str, kind: Kind) -> bool:
    """True where a text begins with a key of this kind."""
    key = key_of(content)
    return bool(key) and str(key).casefold() in KEYS[kind]


def meant_key(key: str, kind: Kind) -> str | None:
    """The key of `kind` that is written here, or that is one slip away."""
    known = KEYS[kind]
    exact = known.get(key.casefold())
    near = None if exact else nearest(key.casefold(), known)
    return known[near] if near else exact


def item_content(item: Block, blocks: Blocks) -> tuple[str, Span | None]:
    """The text of an item's first paragraph, and its span."""
    first = item.children[0] if item.children else None
    if first is None or first.type != "paragraph":
        return "", None
    return blocks.contents[first.span][0], first.span


def is_fact_list(block: Block, kind: Kind, blocks: Blocks) -> bool:
    """True for a bullet list with at least one key that the kind knows or nearly knows."""
    if block.type != "bullets":
        return False
    keys = (key_of(item_content(item, blocks)[0]) for item in block.children)
    return any(key and meant_key(key, kind) for key in keys)


class FactReader:
    """Reads one fact list. `problems` are what was met."""

    def __init__(self, kind: Kind, blocks: Blocks) -> None:
        self.kind, self.blocks = kind, blocks
        self.problems: list[Problem] = []
        self.facts: dict[str, Fact] = {}
        self.unknown: list[Ref] = []

    def read(self, block: Block) -> None:
        """Read every bullet of a fact list."""
        for item in block.children:
            self._bullet(item)

    def _problem(self, rule: str, span: Span, message: str, help: str = "") -> None:
        self.problems.append(Problem(rule, span, message, help))

    def _bullet(self, item: Block) -> None:
        content, span = item_content(item, self.blocks)
        key = key_of(content)
        if span is None or key is None:
            self._problem(
                "bad-value",
                span or item.span,
                "a bullet without a key in a list of facts",
                "write `Key: value`, or move the text below the facts",
            )
            return
        places = self.blocks.contents[span][1]
        key_span = places.span(0, len(key))
        meant = meant_key(key, self.kind)
        if meant is None or meant.casefold() != key.casefold():
            self._unknown(key, key_span, meant)
        cells = [
            cell for spot, start in self._texts(item, span, len(key) + 1) for cell in self._cells(spot, start, meant)
        ]
        if meant is None:
            self.unknown.extend(ref for cell in cells for ref in cell.refs)
        elif cells:
            self._run_on(item)
            self._add(Fact(meant, item.span, key_span, tuple(self._values(meant, cells))))

    def _run_on(self, item: Block) -> None:
        """A line that begins with a key, but without a bullet of its own, has run into the bullet above it."""
        for block in item.children:
            content, places = self.blocks.contents.get(block.span, ("", None))
            start = content.find("\n") + 1
            while start and places:
                if has_key(content[start:], self.kind):
                    span = places.span(start, start + len(str(key_of(content[start:]))))
                    self._problem(
                        "stray-fact",
                        span,
                        f"`{key_of(content[start:])}` runs on in the fact above it",
                        "begin the line with `- `",
                    )
                start = content.find("\n", start) + 1

    def _unknown(self, key: str, span: Span, meant: str | None) -> None:
        offer = f"did you mean `{meant}`?" if meant else "its facts: " + ", ".join(FACTS[self.kind])
        if self.kind is Kind.TEST and key.casefold() in FINDINGS_COLUMNS:
            offer = f"`{key}` is a column of the test's findings table"
        self._problem("unknown-fact", span, f"`{key}` is no fact of a {self.kind.value}", offer)

    def _texts(self, item: Block, span: Span, start: int) -> Iterator[tuple[Span, int]]:
        """The running texts of a bullet: its own line, further paragraphs, a nested list's items."""
        yield span, start
        for child in item.children[1:]:
            if child.type == "paragraph":
                yield child.span, 0
            elif child.type in ("bullets", "steps"):
                for inner in child.children:
                    yield from self._nested(inner)
            else:
                self._problem(
                    "bad-value", child.span, "a fact holds text or a nested list only", "move this below the facts"
                )

    def _nested(self, item: Block) -> Iterator[tuple[Span, int]]:
        _, span = item_content(item, self.blocks)
        if span:
            yield span, 0
        for child in item.children[1:] if span else item.children:
            self._problem("bad-value", child.span, "a value of a fact is one line of text", "write one value a bullet")

    def _cells(self, span: Span, start: int, key: str | None) -> tuple[Cell, ...]:
        spec = FACTS[self.kind].get(key or "")
        whole = spec is not None and spec.shape in (Shape.TEXT, Shape.CHOICES, Shape.ANSWER)
        return self.blocks.split(span, "" if whole else ";", start)

    def _add(self, fact: Fact) -> None:
        before = self.facts.get(fact.key)
        if before and FACTS[self.kind][fact.key].shape is not Shape.CHOICES:
            self._problem(
                "bad-value",
                fact.key_span,
                f"`{fact.key}` stands here twice",
                "write all values behind one key, with `;` between them",
            )
            return
        values = (before.values if before else ()) + fact.values
        self.facts[fact.key] = replace(before or fact, values=values)

    def _values(self, key: str, cells: list[Cell]) -> Iterator[Value]:
        spec = FACTS[self.kind][key]
        if spec.shape is Shape.TEXT:
            cells = [joined(cells)]
        elif spec.shape in _SINGLE and len(cells) > 1:
            self._problem("bad-value", cells[1].span, f"`{key}` takes one value", "remove the others")
            cells = cells[:1]
        for index, cell in enumerate(cells):
            value = Value(cell.span, cell.text, taken(cell.refs, spec), taking(cell.inlines, spec.kinds))
            read = READERS.get(spec.shape)
            wrong = None
            if read:
                value, wrong = read(value, index)
            if wrong:
                self._problem("bad-value", value.span, f"`{key}`: {wrong[0]}", wrong[1])
            yield value
