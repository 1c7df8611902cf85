"""A folder of files as a base: pages read, names resolved, circuits and history joined."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from kb.diagnostic import Problem
from kb.model import Base, Finding, Job, Node, Page
from kb.netlist import Circuit
from kb.quantity import nearest
from kb.read.findings import VERDICTS
from kb.read.folder import INDEX, UnknownVehicle, UnreadableBase, bytes_of, find_files, is_page
from kb.read.history import HistoryReader
from kb.read.names import Index, Resolver, cleared_and_proved, doubled, folded, lost_names, twice_named
from kb.read.page import read_page
from kb.reference import Kind, Ref
from kb.source import Source, Span, read_source


def read_base(folder: Path, vehicle: str | None = None) -> Base:
    """Read all pages and files below `folder`.

    Raises UnreadableBase without a readable folder and `index.md`, UnknownVehicle for a wrong name.
    """
    return _join(find_files(folder), vehicle)


def read_files(files: Mapping[str, bytes], vehicle: str | None = None) -> Base:
    """A base from files in memory, by path with `/`."""
    if INDEX not in files:
        raise UnreadableBase("there is no index.md, so this is no base")
    return _join(dict(sorted(files.items())), vehicle)


def _join(files: Mapping[str, Path] | Mapping[str, bytes], vehicle: str | None) -> Base:
    pages = {path: page_of(path, bytes_of(files[path])) for path in sorted(files) if is_page(path)}
    return join_pages(pages, frozenset(files), tables_of(files), vehicle)


def page_of(path: str, data: bytes | None) -> Page:
    """The page of a file's bytes; None: it couldn't be read."""
    page = read_page(read_source(path, data or b""))
    if data is not None:
        return page
    unread = Problem(
        "unreadable-page",
        Span(path, 1, 1, 1, 1),
        "the page can't be read",
        "see whether the file may be read",
    )
    return replace(page, problems=(unread, *page.problems))


def tables_of(files: Mapping[str, Path] | Mapping[str, bytes]) -> dict[str, bytes | None]:
    """The CSV files of the base, as one of them may be its job history."""
    return {path: bytes_of(file) for path, file in files.items() if path.lower().endswith(".csv")}


def join_pages(
    pages: Mapping[str, Page],
    files: frozenset[str],
    tables: Mapping[str, bytes | None],
    vehicle: str | None = None,
) -> Base:
    """Join pages into a base. `tables` are the CSV files; `vehicle` limits the base to one."""
    nodes = {node.id: node for page in pages.values() for node in page.nodes}
    index = Index(nodes.values(), frozenset[str]().union(*map(lost_names, pages.values())))
    resolver = Resolver(index)
    for page in pages.values():
        resolver.resolve(page)
    failed = {problem.span for problem in resolver.problems}
    circuits = {i: _whole(c, failed) for page in pages.values() for i, c in page.circuits.items()}
    found = [*(p for page in pages.values() for p in page.problems), *resolver.problems]
    found.extend(p for page in pages.values() for p in _joined(page, resolver.targets))
    found.extend(_direction_words(nodes.values(), circuits))
    base = Base(pages, nodes, resolver.targets, circuits, (), tuple(found), files)
    base = _with_history(base, index, tables)
    return base if vehicle is None else limited(base, index, vehicle)


def _whole(circuit: Circuit, failed: set[Span]) -> Circuit:
    """A circuit with a name that couldn't be read in its rows isn't sound."""
    rows = [r.cause for r in circuit.faults] + [r.symptom for r in circuit.symptoms]
    refs = [*rows, *(r.test for r in circuit.readings)]
    return replace(circuit, sound=circuit.sound and not any(ref and ref.span in failed for ref in refs))


def _joined(page: Page, targets: Mapping[Ref, str]) -> Iterator[Problem]:
    yield from twice_named(page)
    yield from cleared_and_proved(page, targets)
    for node in page.nodes:
        for key in ("Causes", "Order", "Hidden"):
            for value in doubled(node.values(key), targets):
                yield Problem("bad-value", value.span, f"`{value.text}` stands in `{key}` twice", "name it once")


def _direction_words(nodes: Iterable[Node], circuits: Mapping[str, Circuit]) -> Iterator[Problem]:
    """A word in a `Reading` cell that is neither a verdict nor the direction of any motor."""
    turns = {w for c in circuits.values() for p in c.parts.values() for w in p.turns or ()}
    drawn = bool(circuits) and all(c.sound for c in circuits.values())  # else a motor may be yet unread
    for row in (row for node in nodes for row in node.findings):
        for word in {r.word for r in row.ranges} - VERDICTS - {""}:
            near = nearest(word, VERDICTS | turns, 2 if len(word) > 4 else 1)
            if word not in turns and (drawn or near):
                yield _no_verdict(row, word, near)


def _no_verdict(row: Finding, word: str, near: str | None) -> Problem:
    help = f"did you mean `{near}`?" if near else "verdicts: " + ", ".join(sorted(VERDICTS))
    return Problem("bad-value", row.reading.span, f"`{word}` is no verdict and no motor's direction", help)


def _with_history(base: Base, index: Index, tables: Mapping[str, bytes | None]) -> Base:
    stated = base.root.values("History")
    if not stated:
        return base
    path = next((i.href for i in stated[0].inlines if i.href), stated[0].text)
    data = tables.get(path)
    if data is None:
        missing = Problem(
            "dead-link",
            stated[0].span,
            f"the base has no readable file `{path}`",
            "name a CSV file of the base, by its path from index.md",
        )
        return replace(base, problems=(*base.problems, missing))
    source = read_source(path, data)
    jobs, problems = _history(base, index, source)
    bad = tuple(
        Problem("unreadable-page", s, "this isn't UTF-8 text, or holds a NUL", "save the file as UTF-8")
        for s in source.bad_bytes
    )
    return replace(base, jobs=jobs, problems=(*base.problems, *bad, *problems), sources={path: source})


def _history(base: Base, index: Index, source: Source) -> tuple[tuple[Job, ...], list[Problem]]:
    def causes(symptom: str) -> frozenset[str | None]:
        values = base.nodes[symptom].values("Causes")
        return frozenset(base.targets.get(v.refs[0]) if v.refs else None for v in values)

    reader = HistoryReader(source, index.all, causes, index.lost)
    jobs = reader.read()
    return jobs, reader.problems


def limited(base: Base, index: Index, vehicle: str) -> Base:
    """The base as it is for one vehicle, by name: its circuits, its history rows, the nodes that apply to it."""
    chosen = index.find("Vehicle", vehicle)
    if chosen is None:
        names = [n.name for n in base.of_kind(Kind.VEHICLE)]
        near = nearest(vehicle, names)
        told = f"; did you mean {near!r}?" if near else f"; it has {', '.join(names[:8])}" if names else ""
        raise UnknownVehicle(f"the base has no vehicle {vehicle!r}{told}")
    return on_vehicle(base, chosen)


def on_vehicle(base: Base, chosen: str) -> Base:
    """The base limited to the vehicle with this id."""
    kept = {i: n for i, n in base.nodes.items() if _applies(base, n, chosen)}
    own = {base.targets.get(r) for r in base.nodes[chosen].refs("Circuits")}
    circuits = {i: c for i, c in base.circuits.items() if i in own or _belongs(base, base.nodes[i], chosen)}
    jobs = tuple(job for job in base.jobs if job.vehicle == chosen)
    targets = {ref: i for ref, i in base.targets.items() if i in kept}
    elsewhere = {i: c for i, c in base.circuits.items() if i not in circuits}
    dropped = frozenset(base.targets.keys() - targets.keys())
    return replace(
        base,
        nodes=kept,
        targets=targets,
        circuits=circuits,
        jobs=jobs,
        vehicle=chosen,
        elsewhere=elsewhere,
        dropped=dropped,
        jobs_elsewhere=tuple(job for job in base.jobs if job.vehicle != chosen),
    )


def _belongs(base: Base, circuit: Node, vehicle: str) -> bool:
    """A circuit that stands inside a vehicle, or that names it in `Only on`."""
    return circuit.parent == vehicle or vehicle in {base.targets.get(ref) for ref in circuit.refs("Only on")}


def _applies(base: Base, node: Node, vehicle: str) -> bool:
    refs = node.refs("Only on")
    return not refs or vehicle in {base.targets.get(ref) for ref in refs}


def named(base: Base, kind: Kind, name: str) -> Node | None:
    """The node of a kind with this name, regardless of case; None without."""
    return next((n for n in base.of_kind(kind) if folded(n.name) == folded(name)), None)
