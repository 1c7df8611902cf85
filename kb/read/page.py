"""One file as a page: its nodes with their facts, bodies and findings, and all problems met."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from kb.diagnostic import Problem
from kb.model import (
    Allowance,
    Block,
    Fact,
    Finding,
    Node,
    Page,
    Table,
    Target,
)
from kb.netlist import Circuit
from kb.read.blocks import ALLOWANCE, Blocks
from kb.read.body import (
    each,
    is_allowance,
    levels,
    moments,
    number_steps,
    own_inlines,
    points,
    prose_refs,
    role_of,
    with_messages,
    with_roles,
)
from kb.read.circuit import CircuitReader
from kb.read.fact_specs import ALL_KEYS
from kb.read.facts import FactReader, has_key, is_fact_list, item_content, key_of
from kb.read.findings import FindingsReader
from kb.read.headings import Anchors, Heading, anchor_of, read_heading, slug
from kb.read.inlines import plain, walk
from kb.read.lost import never_closed
from kb.reference import PROCEDURES, Kind, Ref
from kb.source import Source, Span

_POINT_KINDS = PROCEDURES | {Kind.CIRCUIT}


def read_page(source: Source) -> Page:
    """Read one file. Whatever is wrong with it becomes a problem of the page."""
    return _PageReader(source).read()


@dataclass(slots=True)
class _Draft:
    """A node while its blocks are being gathered."""

    kind: Kind
    heading: Heading | None
    level: int
    span: Span
    parent: int | None
    blocks: list[Block] = field(default_factory=list)
    anchor: str = ""
    end_line: int = 0


class _PageReader:
    def __init__(self, source: Source) -> None:
        self.source = source
        self.problems = _byte_problems(source)
        self.blocks = Blocks(source)
        self.problems.extend(self.blocks.problems)
        self.anchors = Anchors()
        self.refs: list[Ref] = []
        self.circuits: dict[str, Circuit] = {}

    def read(self) -> Page:
        drafts = list(self._drafts())
        self._anchors(drafts)
        ids = [self._id(d) for d in drafts]
        nodes = tuple(self._node(d, ids) for d in drafts)
        allowances = tuple(self._allowances(drafts))
        links = tuple(self._links())
        self._nested_headings(self.blocks.top, inside=False)
        self._html()
        return Page(
            self.source.path,
            self.source,
            nodes,
            tuple(self.refs),
            links,
            allowances,
            tuple(self.problems),
            frozenset(self.anchors.taken),
            self.circuits,
        )

    def _problem(self, rule: str, span: Span, message: str, help: str = "") -> None:
        self.problems.append(Problem(rule, span, message, help))

    # Drafts: which blocks belong to which node.

    def _drafts(self) -> Iterator[_Draft]:
        index = self.source.path == "index.md"
        root = _Draft(Kind.BASE if index else Kind.PAGE, None, 0, self.source.span(1, 1, 0), None)
        drafts, current = [root], 0
        for block in self.blocks.top:
            if block.type != "heading":
                drafts[current].blocks.append(block)
                continue
            heading = read_heading(block, self.blocks, self.problems)
            while current and drafts[current].level >= block.level and (heading or drafts[current].level > 0):
                self._close(drafts[current], block.span.line - 1)
                current = drafts[current].parent or 0
            if heading:
                parent = current if current else None
                drafts.append(_Draft(heading.kind, heading, block.level, block.span, parent))
                current = len(drafts) - 1
            elif index and current == 0 and block.level == 1 and root.heading is None:
                name = plain(block.inlines)
                root.heading, root.span = Heading(Kind.BASE, name, block.span), block.span
                root.blocks.append(block)
            else:
                drafts[current].blocks.append(block)
        last = len(self.source.lines)
        for draft in drafts:
            self._close(draft, draft.end_line or last)
        return iter(drafts)

    def _close(self, draft: _Draft, line: int) -> None:
        while line > draft.span.line and not self.source.lines[line - 1].strip():
            line -= 1
        draft.end_line = draft.end_line or max(line, draft.span.line)

    def _anchors(self, drafts: list[_Draft]) -> None:
        for draft in drafts:
            if draft.heading and draft.kind is not Kind.BASE:
                draft.anchor = self.anchors.take(anchor_of(draft.kind, draft.heading.name))
        for draft in drafts:
            draft.blocks = [
                replace(b, anchor=self.anchors.take(slug(plain(b.inlines)) or "section")) if b.type == "heading" else b
                for b in draft.blocks
            ]

    def _id(self, draft: _Draft) -> str:
        return f"{self.source.path}#{draft.anchor}" if draft.anchor else self.source.path

    # Nodes: facts, then body.

    def _node(self, draft: _Draft, ids: list[str]) -> Node:
        facts, unknown, body = self._facts(draft)
        self._stray(draft, body)
        body = with_messages(body)
        id_ = self._id(draft)
        findings, body = self._tables(draft, body, id_)
        body = tuple(number_steps(body, draft.kind))
        prose = tuple(prose_refs(body)) + tuple(unknown)
        self.refs.extend(r for f in facts.values() for v in f.values for r in v.refs)
        self.refs.extend(prose)
        self.refs.extend(r for row in findings for r in row.refs)
        old = tuple(anchor_of(draft.kind, v.text) for v in facts["Formerly"].values) if "Formerly" in facts else ()
        return Node(
            id_,
            draft.kind,
            draft.heading.name if draft.heading else "",
            self.source.path,
            draft.anchor,
            draft.level,
            draft.span,
            draft.heading.name_span if draft.heading else draft.span,
            draft.end_line,
            ids[draft.parent] if draft.parent else None,
            facts,
            body,
            tuple(moments(body)),
            findings,
            tuple(points(body)) if draft.kind in _POINT_KINDS else (),
            prose,
            tuple(a for a in old if a not in self.anchors.taken),
        )

    def _facts(self, draft: _Draft) -> tuple[dict[str, Fact], list[Ref], tuple[Block, ...]]:
        reader = FactReader(draft.kind, self.blocks)
        body = list(draft.blocks)
        title = next((i for i, b in enumerate(body) if draft.kind is Kind.BASE and b.span == draft.span), None)
        start = 0 if title is None else title + 1
        at = next((i for i in range(start, len(body)) if not is_allowance(body[i])), None)
        listed = (draft.heading is not None) and at is not None and is_fact_list(body[at], draft.kind, self.blocks)
        if listed and at is not None:
            reader.read(body.pop(at))
            self.problems.extend(reader.problems)
        return reader.facts, reader.unknown, tuple(b for i, b in enumerate(body) if i != title)

    def _stray(self, draft: _Draft, body: tuple[Block, ...]) -> None:
        after_heading = False
        for block in body:
            if after_heading and block.type in ("bullets", "steps"):
                self._stray_below_heading(block, draft.kind)
            else:
                self._stray_in(block, draft.kind)
            if not is_allowance(block):
                after_heading = block.type == "heading"

    def _stray_below_heading(self, block: Block, kind: Kind) -> None:
        told = False
        for item in block.children:
            content, span = item_content(item, self.blocks)
            key = key_of(content)
            if key and span and key.casefold() in ALL_KEYS and not told:
                self._stray_problem(span, key, "facts are read only directly below a heading `Kind: Name`")
                told = True
            for child in item.children[1:]:
                self._stray_in(child, kind)

    def _stray_in(self, block: Block, kind: Kind) -> None:
        if block.type == "paragraph":
            content = self.blocks.contents[block.span][0]
            if has_key(content, kind):
                self._stray_problem(
                    block.span, str(key_of(content)), "move it into the list directly below the heading"
                )
        for child in block.children:
            self._stray_in(child, kind)

    def _stray_problem(self, span: Span, key: str, help: str) -> None:
        places = self.blocks.contents[span][1]
        self._problem("stray-fact", places.span(0, len(key)), f"`{key}` is a fact that isn't read here", help)

    def _tables(
        self, draft: _Draft, body: tuple[Block, ...], id_: str
    ) -> tuple[tuple[Finding, ...], tuple[Block, ...]]:
        roles: dict[Span, str] = {}
        findings: Table | None = None
        wiring: list[Table] = []
        for block in each(body):
            role = role_of(block.table, draft.kind) if block.table else "prose"
            if block.table is None or role == "prose":
                continue
            if role == "misplaced" or role == "findings" and findings:
                self._misplaced(block.table, draft.kind, role)
            elif role == "findings":
                findings, roles[block.span] = block.table, role
            else:
                wiring.append(replace(block.table, role=role))
                roles[block.span] = role
        rows = self._findings(findings) if findings else ()
        if draft.kind is Kind.CIRCUIT:
            self._circuit(id_, wiring)
        return rows, tuple(with_roles(body, roles))

    def _misplaced(self, table: Table, kind: Kind, role: str) -> None:
        message = f"a table with `{table.header.cells[0].text}` has no place in a {kind.value.lower()}"
        if role == "findings":
            message = "a test has one findings table; this is the second"
        self._problem(
            "misplaced-table", table.header.span, message, "findings belong below a Test, wiring tables below a Circuit"
        )

    def _findings(self, table: Table) -> tuple[Finding, ...]:
        reader = FindingsReader(self.blocks)
        rows = reader.read(table)
        self.problems.extend(reader.problems)
        self.refs.extend(reader.refs)
        return rows

    def _circuit(self, id_: str, tables: list[Table]) -> None:
        reader = CircuitReader(id_, self.blocks)
        circuit = reader.read(tables)
        lost = any(
            p.rule == "lost-text" and t.span.line <= p.span.line <= t.span.end_line
            for p in self.problems
            for t in tables
        )
        self.circuits[id_] = replace(circuit, sound=circuit.sound and not lost)
        self.problems.extend(reader.problems)
        self.refs.extend(reader.refs)

    # What concerns the page as a whole.

    def _allowances(self, drafts: list[_Draft]) -> Iterator[Allowance]:
        ends = {d.span: d.end_line for d in drafts}
        for blocks in levels(self.blocks.top):
            for index, block in enumerate(blocks):
                if block.type == "html" and (match := ALLOWANCE.fullmatch(block.text)):
                    yield self._allowance(block, match[1], blocks[index + 1 :], ends)

    def _allowance(self, block: Block, text: str, after: tuple[Block, ...], ends: dict[Span, int]) -> Allowance:
        rule, _, reason = text.strip().partition(":")
        below = next((b for b in after if not is_allowance(b)), None)
        first = below.span.line if below else 0
        last = below.span.end_line if below else 0
        if below and below.type == "heading":
            last = ends.get(below.span) or self._section_end(below, after)
        return Allowance(block.span, rule.strip(), " ".join(reason.split()), first, last)

    def _section_end(self, heading: Block, after: tuple[Block, ...]) -> int:
        later = (b for b in after if b.type == "heading" and b.level <= heading.level and b is not heading)
        closing = next((b for b in later if b.span.line > heading.span.line), None)
        return closing.span.line - 1 if closing else len(self.source.lines)

    def _links(self) -> Iterator[Target]:
        for inline in walk(i for b in each(self.blocks.top) for i in own_inlines(b)):
            if inline.type in ("link", "image"):
                words = plain((inline,)) if inline.type == "link" else inline.text
                yield Target(inline.span, inline.href, inline.type == "image", words)

    def _nested_headings(self, blocks: Iterable[Block], inside: bool) -> None:
        for block in blocks:
            if inside and block.type == "heading" and read_heading(block, self.blocks, []):
                self._problem(
                    "bad-value",
                    block.span,
                    "a node's heading stands in a list or quote, where it opens none",
                    "begin the heading at the line's start",
                )
            self._nested_headings(block.children, True)

    def _html(self) -> None:
        help = "write it in Markdown; a sign `<` that is meant as such is written `\\<`"
        for block in each(self.blocks.top):
            if block.type == "html" and not is_allowance(block) and not never_closed(block.text):
                self._problem("raw-html", block.span, "HTML is shown as text", help)
            for inline in walk(own_inlines(block)):
                if inline.type == "html":
                    self._problem("raw-html", inline.span, "HTML is shown as text", help)


def _byte_problems(source: Source) -> list[Problem]:
    return [
        Problem("unreadable-page", span, "this isn't UTF-8 text, or holds a NUL", "save the page as UTF-8")
        for span in source.bad_bytes
    ]
