"""What a base is made of: nodes, their facts, references, steps, messages and findings.

Two stages share these types. Reading a file gives a `Page`: everything that this file alone tells.
Joining pages gives a `Base`, which also knows what each reference names (`Base.targets`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from kb.diagnostic import Problem
from kb.netlist import Circuit
from kb.reference import Kind, Ref
from kb.source import Source, Span


class SignalWord(StrEnum):
    """ANSI Z535.6 signal words, strongest first; `rank` 0 is the strongest."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"

    @property
    def rank(self) -> int:
        """0 for DANGER to 3 for NOTICE."""
        return list(SignalWord).index(self)


@dataclass(frozen=True, slots=True)
class Inline:
    """A piece of running text. `type` is one of
    text, strong, emph, code, point, ref, link, image, break, html.

    strong, emph, ref and link hold `children`; the others hold `text` (an image: its words).
    link and image have `href`; a link may have `title`; a ref has `ref`; a `point` is `J2.tilt`.
    """

    type: str
    span: Span
    text: str = ""
    children: tuple[Inline, ...] = ()
    href: str = ""
    title: str = ""
    ref: Ref | None = None


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell of a table, or a stretch of a fact: its plain text (white space folded) and contents."""

    span: Span
    text: str
    inlines: tuple[Inline, ...] = ()
    refs: tuple[Ref, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table; `cells` are padded to the header's length."""

    span: Span
    cells: tuple[Cell, ...]
    written: int


@dataclass(frozen=True, slots=True)
class Table:
    """A pipe table. `role` is `prose`, `findings`, or the first header of a wiring table."""

    span: Span
    header: Row
    rows: tuple[Row, ...]
    aligns: tuple[str, ...] = ()
    role: str = "prose"


@dataclass(frozen=True, slots=True)
class Message:
    """A safety message. It names hazards (`refs`) or states its own (`title` and `body`)."""

    span: Span
    signal_word: SignalWord
    title: str
    refs: tuple[Ref, ...]
    body: tuple[Inline, ...]
    sentences: int


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of a node's body. `type` is one of
    paragraph, heading, steps, bullets, item, quote, message, code, html, rule, table.

    `steps` is an ordered list whose first number, counted on over messages, is `start`.
    A `heading` (without a kind) has `level` and `anchor`.
    """

    type: str
    span: Span
    inlines: tuple[Inline, ...] = ()
    children: tuple[Block, ...] = ()
    text: str = ""
    start: int = 1
    level: int = 0
    anchor: str = ""
    message: Message | None = None
    table: Table | None = None


@dataclass(frozen=True, slots=True)
class Moment:
    """One thing met on the way down a node's body: a `message`, or words that count as a step.

    `numbered` tells a step of an ordered list from other words (paragraph, item, heading, cell).
    """

    span: Span
    text: str
    numbered: bool = False
    message: Message | None = None


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a fact: its text, the references in it, its remark after a dash.

    `number` is minutes (durations), money (`Costs`) or a cause's weight (`Causes`, `How often`).
    """

    span: Span
    text: str
    refs: tuple[Ref, ...] = ()
    inlines: tuple[Inline, ...] = ()
    remark: str = ""
    number: float | None = None


@dataclass(frozen=True, slots=True)
class Fact:
    """A key and its values, in the order written. `key` is spelled as in `kb.read.facts`."""

    key: str
    span: Span
    key_span: Span
    values: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class ReadingRange:
    """What a `Reading` cell says of one alternative.

    `word` is a verdict (`bright`, `OL` ...) and the rest empty, or `word` is empty and the value
    lies in [low, high) of `unit`; `relative` is `` (absolute), `percent` of the supply or `within`
    (of the supply, in `unit`). A bound of None is open; `low_open` excludes the lower bound itself.
    """

    word: str = ""
    low: float | None = None
    high: float | None = None
    low_open: bool = False
    high_closed: bool = False
    unit: str = ""
    relative: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """A row of a findings table; `next` is a reference, the word `done` (`done` True), or nothing.

    `only` names the vehicles on which it can be found; empty: on all.
    """

    span: Span
    words: Cell
    reading: Cell
    ranges: tuple[ReadingRange, ...]
    clears: tuple[Ref, ...]
    proves: tuple[Ref, ...]
    next: Ref | None
    done: bool
    only: tuple[Ref, ...] = ()

    @property
    def refs(self) -> tuple[Ref, ...]:
        """The references of all columns but the finding's own words."""
        return (*self.clears, *self.proves, *((self.next,) if self.next else ()), *self.only)


@dataclass(frozen=True, slots=True)
class Point:
    """A point of a circuit named in code style in a page's text: `J2.tilt` or `J2.tilt mirror`."""

    span: Span
    text: str


@dataclass(frozen=True, slots=True)
class Node:
    """A heading with a kind and what it holds.

    `id` is `page path#anchor` (the page's path with `.md`); `parent` the id of the node around it.
    `span` is the heading's line, `name_span` the name in it, `end_line` the last line it holds.
    """

    id: str
    kind: Kind
    name: str
    page: str
    anchor: str
    level: int
    span: Span
    name_span: Span
    end_line: int
    parent: str | None = None
    facts: Mapping[str, Fact] = field(default_factory=dict)
    blocks: tuple[Block, ...] = ()
    moments: tuple[Moment, ...] = ()
    findings: tuple[Finding, ...] = ()
    points: tuple[Point, ...] = ()
    prose_refs: tuple[Ref, ...] = ()
    old_anchors: tuple[str, ...] = ()

    def values(self, key: str) -> tuple[Value, ...]:
        """The values of a fact; an absent fact has none."""
        fact = self.facts.get(key)
        return fact.values if fact else ()

    def text(self, key: str) -> str:
        """The text of a fact's first value, or an empty string."""
        values = self.values(key)
        return values[0].text if values else ""

    def refs(self, key: str) -> tuple[Ref, ...]:
        """The references of all values of a fact, in order."""
        return tuple(ref for value in self.values(key) for ref in value.refs)

    def yes(self, key: str) -> bool:
        """True where a flag such as `Comes and goes` says yes."""
        return self.text(key).casefold() == "yes"

    def words(self, key: str) -> tuple[str, ...]:
        """The texts of all values of a fact."""
        return tuple(value.text for value in self.values(key))


@dataclass(frozen=True, slots=True)
class Allowance:
    """A comment that lets `rule` pass on the lines `first` to `last`; empty `reason`: none given."""

    span: Span
    rule: str
    reason: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Target:
    """An ordinary link's or image's destination, as written, and where it stands."""

    span: Span
    href: str
    image: bool
    words: str


@dataclass(frozen=True, slots=True)
class Page:
    """One file, read by itself. `nodes` are in page order; the first is BASE or PAGE, always there."""

    path: str
    source: Source
    nodes: tuple[Node, ...]
    refs: tuple[Ref, ...]
    links: tuple[Target, ...]
    allowances: tuple[Allowance, ...]
    problems: tuple[Problem, ...]
    anchors: frozenset[str]
    circuits: Mapping[str, Circuit] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """The name of the page's first heading, or its path."""
        return next((n.name for n in self.nodes if n.name), self.path)


@dataclass(frozen=True, slots=True)
class Job:
    """A row of the job history that can be counted: ids of nodes where the base has them."""

    line: int
    date: str
    vehicle: str | None
    symptom: str | None
    cause: str | None
    minutes: float | None
    repair: str | None = None
    tests: tuple[str, ...] = ()
    returned: bool = False
    other: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Base:
    """All pages joined. `targets` gives the node id that a reference names (absent: none does).

    `nodes` are in order of page path, then line. `files` are the base's other files.
    `vehicle` is the id of the vehicle it is limited to, if any; `elsewhere` are then other
    vehicles' circuits, `jobs_elsewhere` other vehicles' jobs, and `dropped` the references to nodes that
    don't apply to it.
    """

    pages: Mapping[str, Page]
    nodes: Mapping[str, Node]
    targets: Mapping[Ref, str]
    circuits: Mapping[str, Circuit]
    jobs: tuple[Job, ...]
    problems: tuple[Problem, ...]
    files: frozenset[str] = frozenset()
    sources: Mapping[str, Source] = field(default_factory=dict)
    vehicle: str | None = None
    elsewhere: Mapping[str, Circuit] = field(default_factory=dict)
    dropped: frozenset[Ref] = frozenset()
    jobs_elsewhere: tuple[Job, ...] = ()

    @property
    def root(self) -> Node:
        """The BASE node of `index.md`: title, statement, language and the like."""
        return self.pages["index.md"].nodes[0]

    @property
    def title(self) -> str:
        """The base's title: the first heading of `index.md`."""
        return self.root.name

    @property
    def language(self) -> str:
        """BCP 47 tag; `en` where the base names none."""
        return self.root.text("Language") or "en"

    def target(self, ref: Ref) -> Node | None:
        """The node that a reference names, or None."""
        found = self.targets.get(ref)
        return self.nodes[found] if found else None

    def all(self, refs: tuple[Ref, ...]) -> tuple[Node, ...]:
        """The nodes that references name, in order, without those that name none."""
        return tuple(node for node in map(self.target, refs) if node)

    def of_kind(self, *kinds: Kind) -> tuple[Node, ...]:
        """All nodes of these kinds, in order of page and line."""
        return tuple(node for node in self.nodes.values() if node.kind in kinds)

    def parent(self, node: Node) -> Node | None:
        """The node around `node`, if it is a node of its own kind (not BASE or PAGE)."""
        return self.nodes.get(node.parent) if node.parent else None

    def ancestors(self, node: Node) -> Iterator[Node]:
        """The nodes around `node`, innermost first."""
        around = self.parent(node)
        while around:
            yield around
            around = self.parent(around)

    def children(self, node: Node) -> tuple[Node, ...]:
        """The nodes directly inside `node`, in page order."""
        return tuple(n for n in self.pages[node.page].nodes if n.parent == node.id)
