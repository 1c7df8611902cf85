"""What each command but `find` does."""

from __future__ import annotations

import shutil
import sys
from datetime import date
from itertools import chain
from pathlib import Path

import click

from kb import plans, readings
from kb.ask import Asking
from kb.assets import demo_dir, start_dir
from kb.build import Checked, Reader, book_of, check_base, site_of
from kb.checks import CATALOGUE
from kb.checks._asked import Asked
from kb.checks._manual import printed
from kb.circuit.claims import Held
from kb.dump import dump
from kb.files import NotOurs, write_file, write_folder
from kb.graph import Graph, build_graph
from kb.isolation.found import Road
from kb.isolation.named import Unknown, found, given, symptom_named
from kb.isolation.ways import Hunts
from kb.options import Refused, base_option, folder_of, format_option, from_base, vehicle_option
from kb.quantity import nearest
from kb.read.folder import UnknownVehicle, UnreadableBase
from kb.read.names import folded
from kb.reference import Kind
from kb.report import as_annotations, as_json, as_sarif, as_text, counts, summary
from kb.site.press import Absent, press
from kb.terminal import asked, paint, progress, working
from kb.view import serve
from kb.walk import Past, Walk

OUT = "published"


def _checked(given: Path | None, vehicle: str | None) -> Checked:
    return from_base(given, vehicle, check_base)


def _graph(given: Path | None, vehicle: str | None) -> Graph:
    """The base with its graph, no rule applied."""
    return from_base(given, vehicle, lambda folder, name, tell: build_graph(Reader(folder).read(name, tell)))


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--demo", is_flag=True, help="Write the demonstration base instead of the small one.")
def start(folder: Path, demo: bool) -> None:
    """Write a small worked base, with one page of each kind, that checks clean."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise Refused(f"'{folder}' exists and isn't an empty folder; name a new one")
    try:
        shutil.copytree(demo_dir() if demo else start_dir(), folder, dirs_exist_ok=True)
    except OSError as error:
        raise Refused(f"'{folder}' can't be written: {error.strerror}") from error
    click.echo(f"A base stands in {folder}. Next: backprobe check --base {folder}")


@click.command()
@base_option
@vehicle_option
@format_option("text", "json", "sarif", "annotations")
@click.option("--warnings-fail", is_flag=True, help="Exit 1 on warnings too.")
def check(folder: Path | None, vehicle: str | None, form: str, warnings_fail: bool) -> int:
    """Apply the rules and print each problem at its line."""
    found = _checked(folder, vehicle)
    click.echo(_report(found, form))
    number = counts(found.diagnostics)
    return 1 if number["error"] or warnings_fail and number["warning"] else 0


def _report(found: Checked, form: str) -> str:
    if form == "text":
        return as_text(found.base, found.diagnostics, paint)
    if form == "annotations":
        folder = found.folder.as_posix()
        return as_annotations(found.base, found.diagnostics, "" if folder == "." else folder)
    return (as_json if form == "json" else as_sarif)(found.base, found.diagnostics)


@click.command()
@base_option
@vehicle_option
@click.option("--out", type=click.Path(path_type=Path), default=Path(OUT), metavar="DIR", show_default=True)
@click.option("--despite-errors", is_flag=True, help="Write it with errors too, each faulty place marked.")
@click.option("--book", type=click.Path(path_type=Path), metavar="FILE", help="Print the whole base as one PDF too.")
@format_option("text", "json")
def site(
    folder: Path | None, vehicle: str | None, out: Path, despite_errors: bool, book: Path | None, form: str
) -> int:
    """Check the base, then write the site."""
    if book is not None:
        _printable(book)
    found = _checked(folder, vehicle)
    if found.errors and not despite_errors:
        click.echo(_report(found, form))
        return 1
    number = _write(found, out, book)
    if form == "json":
        made = {"out": out.as_posix(), "files": number, "counts": counts(found.diagnostics)}
        click.echo(dump(made | ({"book": book.as_posix()} if book else {})))
    else:
        printed = f"\nThe book is {book}" if book else ""
        click.echo(
            f"{summary(found.base, found.diagnostics)}\n{number} files written. Open {out / 'index.html'}{printed}"
        )
    return 1 if found.errors else 0


def _printable(book: Path) -> None:
    """Refuse early what can't become a book: a long build would be lost."""
    if book.suffix.lower() != ".pdf" or book.is_dir():
        raise Refused(f"'{book}' isn't a name for a book; name a file that ends in .pdf")
    try:
        press()
    except Absent as error:
        raise Refused(str(error)) from error


def _write(found: Checked, out: Path, book: Path | None) -> int:
    """Print the book, if one is asked for, then write the site, then the book; how many files `out` has.

    A book within `out` is written with the site, whose folder is exchanged whole.
    """
    inside = _inside(found, out, book)
    try:
        with progress() as tell:
            printed = book_of(found, tell) if book else b""
            number = write_folder(out, chain(site_of(found, tell), [(inside, printed)] if inside else []))
    except NotOurs as error:
        raise Refused(str(error)) from error
    except OSError as error:
        raise Refused(f"'{out}' can't be written: {error.strerror}; the old site stands as it was") from error
    try:
        if book and not inside:
            write_file(book, printed)
    except OSError as error:
        raise Refused(f"'{book}' can't be written: {error.strerror}; an old book stands as it was") from error
    return number


def _inside(found: Checked, out: Path, book: Path | None) -> str:
    """The path of a book within `out`; empty where it lies elsewhere, or there is none."""
    if book is None or out.resolve() not in book.resolve().parents:
        return ""
    inside = book.resolve().relative_to(out.resolve()).as_posix()
    if inside in found.base.files:
        raise Refused(f"'{book}' is the name of a file of the base, which the site may hold; name another")
    return inside


@click.command()
@base_option
@vehicle_option
@click.option("--port", type=click.IntRange(0, 65535), default=8030, show_default=True, help="0: any free port.")
def view(folder: Path | None, vehicle: str | None, port: int) -> None:
    """Show the site while you write: on this machine only, built anew on each change."""
    try:
        serve(folder_of(folder), vehicle, port, click.echo)
    except (UnreadableBase, UnknownVehicle) as error:
        raise Refused(str(error)) from error
    except OSError as error:
        raise Refused(f"port {port} can't be used: {error.strerror}") from error


@click.command()
@base_option
@vehicle_option
@click.argument("symptom")
@click.option("--found", "findings", multiple=True, metavar="'TEST = FINDING'", help="What was found already.")
@format_option("text", "json")
def isolate(folder: Path | None, vehicle: str | None, symptom: str, findings: tuple[str, ...], form: str) -> None:
    """Walk a symptom to its fault at a terminal; otherwise print the plan."""
    graph = _graph(folder, vehicle)
    try:
        node = symptom_named(graph.base, symptom)
        road = Road(Hunts(graph.base, graph).hunt(node.id))
        acts = [given(graph.base, road.matrix, words) for words in findings]
    except Unknown as error:
        raise Refused(str(error)) from error
    report = plans.report(graph, node, road, acts)
    for remark in plans.remarks(report, acts):
        click.echo(f"backprobe: {remark}", err=True)
    if form == "text" and sys.stdin.isatty() and sys.stdout.isatty():
        command = ["backprobe", "isolate", symptom]
        command += ["--base", str(folder)] if folder else []
        command += ["--vehicle", vehicle] if vehicle else []
        past = [Past(f.kind, f.number, f.row) for act in acts if (f := found(road.matrix, act))]
        walk = Walk(graph, node, road, past, plans.opened(graph, road.matrix, acts))
        Asking(walk, asked, click.echo, paint, date.today(), command, working).run()
        return
    with working("working out the plan"):
        told = plans.as_json(report) if form == "json" else plans.as_text(report, paint)
    click.echo(told)


@click.command("readings")
@base_option
@vehicle_option
@click.argument("circuit", required=False)
@format_option("text", "json", "csv")
def readings_command(folder: Path | None, vehicle: str | None, circuit: str | None, form: str) -> None:
    """Print what each fault of a circuit gives in each position."""
    graph = _graph(folder, vehicle)
    wanted = [n for n in graph.base.of_kind(Kind.CIRCUIT) if circuit is None or folded(n.name) == folded(circuit)]
    if circuit is not None and not wanted:
        names = [n.name for n in graph.base.of_kind(Kind.CIRCUIT)]
        near = nearest(circuit, names)
        raise Refused(f"the base has no circuit '{circuit}'" + (f"; did you mean '{near}'?" if near else ""))
    asked = Asked(graph.base, graph)
    sound = [n for n in wanted if isinstance(asked.held(n.id), Held)]
    for node in wanted:
        if node not in sound:
            click.echo(
                f"backprobe: '{node.name}' isn't solved: its tables have problems, see 'backprobe check'",
                err=True,
            )
    surveyed = [readings.survey(graph.base, node) for node in sound]
    click.echo({"json": readings.as_json, "csv": readings.as_csv, "text": readings.as_text}[form](surveyed))


@click.command()
@click.argument("rule", required=False)
def why(rule: str | None) -> None:
    """Explain a rule, or list all."""
    if rule is None:
        width = max(map(len, CATALOGUE))
        for each in CATALOGUE.values():
            click.echo(
                f"{each.name:<{width}}  {paint(f'{each.severity.value:<7}', each.severity.value)}  {each.summary}"
            )
        return
    known = CATALOGUE.get(rule)
    if known is None:
        near = nearest(rule, CATALOGUE)
        raise Refused(
            f"no rule is called '{rule}'" + (f"; did you mean '{near}'?" if near else "; 'backprobe why' lists all")
        )
    severity = paint(known.severity.value, known.severity.value)
    parts = [f"{paint(known.name, 'place')} ({severity})", known.summary, known.manual.text]
    parts += ["Bad:\n\n" + _indented(known.bad), "Good:\n\n" + _indented(known.good)]
    click.echo("\n\n".join(part for part in parts if part))


def _indented(example: str) -> str:
    return "\n".join(f"    {line}".rstrip() for line in printed(example).split("\n"))
