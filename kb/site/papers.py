"""The sheets to print: one for each symptom's plan, each test and each lesson."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from hashlib import sha256

from kb.model import Node
from kb.reference import Kind
from kb.site.address import node_address, symptom_address
from kb.site.context import Site
from kb.site.gather import gather
from kb.site.given import Data, Sheet, given
from kb.site.paper import (
    JobSheet,
    Line,
    Part,
    job_sheet,
    lesson_nodes,
    letters,
    plugs,
    public,
    put_back,
    sheet_of,
    sheet_of_symptom,
)
from kb.site.qr import code
from kb.site.render import render

MARK = 8  # hexadecimal digits of a sheet's mark


def papers(site: Site) -> Iterator[Sheet]:
    """Every sheet, in the order of the base."""
    for symptom in site.base.of_kind(Kind.SYMPTOM):
        yield _sheet(
            site, sheet_of_symptom(symptom), symptom_address(symptom), "symptom", partial(_symptom, site, symptom)
        )
    for test in site.base.of_kind(Kind.TEST):
        yield _sheet(site, sheet_of(test), node_address(test), "test", partial(_test, test))
    for lesson in site.base.of_kind(Kind.LESSON):
        yield _sheet(site, sheet_of(lesson), node_address(lesson), "lesson", partial(_lesson, site, lesson))


def _sheet(site: Site, path: str, of: str, what: str, more: Callable[[], Data]) -> Sheet:
    template = f"paper_{what}.html.j2"
    return Sheet(path, template, lambda: _marked(template, given(site, path, lambda: _paper(site, of, more()))))


def _paper(site: Site, of: str, more: Data) -> Data:
    """`of` is the site path of what the sheet is printed from."""
    address = public(site.base, of)
    return {
        "of": of,
        "qr": code(address) if address else None,
        "scripts": ("site.js", "sheet.js"),
        "plugs": partial(plugs, site.base),
        "put_back": put_back,
        **more,
    }


def _marked(template: str, data: Data) -> Data:
    """The sheet with its content mark: two sheets with one mark say the same."""
    said = render(template, {**data, "mark": ""})
    return {**data, "mark": sha256(said).hexdigest()[:MARK]}


def _symptom(site: Site, symptom: Node) -> Data:
    gathering = gather(site.base, site.graph, site.wiring, site.hunts, symptom)
    sheet = job_sheet(site.base, gathering)
    return {
        "g": gathering,
        "sheet": sheet,
        "letters": letters([card.likely.cause for card in gathering.causes]),
        "cards": {card.node.id: card for card in gathering.tests},
        "first_uses": sheet.first_uses(site.graph),
        "level": lambda block: min(max(block.level, 3), 6),
    }


def _test(test: Node) -> Data:
    part = Part(0, test, tuple(Line(finding) for finding in test.findings))
    return {"sheet": JobSheet((part,), ()), "alone": part, "level": lambda block: min(max(block.level, 3), 6)}


def _lesson(site: Site, lesson: Node) -> Data:
    nodes = lesson_nodes(site.base, lesson)
    return {"lesson": lesson, "nodes": nodes, "questions": tuple(n for n in nodes if n.kind is Kind.QUESTION)}
