"""The command `find`. It loads no more than it needs, so that it answers while the words are still in mind."""

from __future__ import annotations

from pathlib import Path

import click

from kb.dump import dump
from kb.options import Refused, base_option, format_option, from_base, vehicle_option
from kb.quantity import nearest
from kb.reference import HEADING_KINDS
from kb.search.query import find as find_hits
from kb.search.query import instead_of
from kb.search.ready import indexed
from kb.terminal import paint

KEPT = "answered from the index that was kept of these pages"
BUILT = "the pages are new or changed: index built, and kept where this user's cache can be written"


@click.command()
@base_option
@vehicle_option
@click.argument("words", nargs=-1, required=True)
@click.option("--kind", metavar="K", help="Only nodes of this kind: symptom, cause, test ...")
@click.option("--most", type=click.IntRange(1, 1000), default=10, show_default=True)
@format_option("text", "json")
def find(
    folder: Path | None, vehicle: str | None, words: tuple[str, ...], kind: str | None, most: int, form: str
) -> None:
    """Search the base."""
    query, wanted = " ".join(words), _kind(kind)
    index, kept = from_base(folder, vehicle, indexed)
    hits = find_hits(index, query, wanted, most)
    click.echo(f"backprobe: {KEPT if kept else BUILT}", err=True)
    if form == "json":
        listed = [
            {"kind": h.kind, "name": h.name, "page": h.page, "address": h.address, "score": h.score} for h in hits
        ]
        click.echo(dump({"query": query, "hits": listed}))
        return
    for lost, near in instead_of(index, query) if hits else ():
        click.echo(f"Searched for `{near}` instead of `{lost}`." if near else f"Nothing here has `{lost}`.")
    for hit in hits:
        click.echo(f"{hit.kind:<9} {paint(hit.name, 'place')}\n          {hit.address}")
    if not hits:
        click.echo(f"Nothing found for `{query}`. Try other words for it, or fewer.")


def _kind(given: str | None) -> str | None:
    if given is None:
        return None
    names = {kind.value.casefold(): kind.value for kind in HEADING_KINDS}
    if given.casefold() not in names:
        near = nearest(given, names.values())
        raise Refused(f"no kind is called '{given}'" + (f"; did you mean '{near.lower()}'?" if near else ""))
    return names[given.casefold()]
