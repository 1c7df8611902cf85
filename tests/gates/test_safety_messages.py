"""Safety messages of the demonstration site, as ANSI Z535.6 has them (its practice, from memory).

A signal word, the hazard, what can come of it, how to keep clear of it, in this order; the alert
triangle with DANGER, WARNING and CAUTION, where people can be hurt, and never with NOTICE.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree.ElementTree import Element

import pytest

from kb.build import Checked
from kb.reference import PROCEDURES, Kind
from tests.site.pump import Doc, is_a, text

pytestmark = pytest.mark.gate
WORDS = ("DANGER", "WARNING", "CAUTION", "NOTICE")


@pytest.fixture(scope="module")
def docs(demo: Path, pages: tuple[str, ...]) -> dict[str, Doc]:
    """All pages of the site, parsed strictly."""
    files = {path: (demo / path).read_bytes() for path in pages}
    return {path: Doc(files, path) for path in pages}


def panels(docs: dict[str, Doc]) -> Iterator[tuple[Doc, Element]]:
    for doc in docs.values():
        for panel in doc.all("div", "safety"):
            yield doc, panel


def test_there_are_panels_on_many_pages(docs):
    assert len({doc.path for doc, _ in panels(docs)}) > 10


def test_each_panel_leads_with_one_signal_word(docs):
    for doc, panel in panels(docs):
        word = text(doc.one("span", "word", panel))
        assert word in WORDS
        assert text(panel).startswith(word), doc.path
        assert word.lower() in (panel.get("class") or "").split()
        assert panel.get("aria-label") == word


def test_the_triangle_stands_with_words_of_injury_only_and_before_the_word(docs):
    for doc, panel in panels(docs):
        word = doc.one("span", "word", panel)
        triangles = doc.all("svg", "triangle", panel)
        assert len(triangles) == (text(word) != "NOTICE"), doc.path
        assert all(doc.before(t, word) for t in triangles)


def test_a_panel_of_a_hazard_gives_hazard_consequence_and_avoidance_in_this_order(docs, checked: Checked):
    hazards = {h.name: h for h in checked.base.of_kind(Kind.HAZARD)}
    seen = set()
    for doc, panel in panels(docs):
        for name in (text(link) for link in doc.all("a", "hazard", panel)):
            said = text(doc.one("div", "says", panel))
            parts = [hazards[name].text(key) for key in ("Hazard", "Consequence", "Avoidance")]
            places = [said.find(part) for part in parts]
            assert -1 not in places, (doc.path, name)
            assert places == sorted(places), (doc.path, name)
            assert said == " ".join(parts)
            seen.add(name)
    assert seen == set(hazards)


def test_no_panel_has_a_weaker_word_than_its_hazard(docs, checked: Checked):
    hazards = {h.name: h.text("Signal word") for h in checked.base.of_kind(Kind.HAZARD)}
    for doc, panel in panels(docs):
        word = text(doc.one("span", "word", panel))
        for link in doc.all("a", "hazard", panel):
            assert WORDS.index(word) <= WORDS.index(hazards[text(link)]), (doc.path, text(link))


def test_the_page_of_hazards_has_each_once_strongest_first(docs, checked: Checked):
    doc = docs["hazards.html"]
    words = [text(word) for word in doc.all("span", "word")]
    assert len(words) == len(checked.base.of_kind(Kind.HAZARD))
    assert words == sorted(words, key=WORDS.index)


STEPS = frozenset(("li", "p", "td", "th", "pre", "h2", "h3", "h4", "h5", "h6"))


def test_each_procedure_prints_the_messages_it_calls_for_before_the_step_that_calls(docs, checked: Checked):
    """On the page where it is written: the panel stands below the node's heading and above the step."""
    count = 0
    for node in checked.base.of_kind(*PROCEDURES):
        doc = docs[node.page.removesuffix(".md") + ".html"]
        own = section(doc, node.anchor, {n.anchor for n in checked.base.pages[node.page].nodes})
        inside = {id(e) for panel in own if is_a(panel, "div", "safety") for e in panel.iter()}
        for call in checked.graph.hazards(node.id):
            panel = next((e for e in own if is_a(e, "a", "hazard") and text(e) == call.hazard.name), None)
            assert panel is not None, (node.id, call.hazard.name)
            words = call.moment.text if call.moment else ""
            step = next(e for e in own if e.tag in STEPS and id(e) not in inside and words and step_of(e, words))
            assert doc.before(panel, step), (node.id, call.hazard.name)
            count += 1
    assert count > 50


def section(doc: Doc, anchor: str, anchors: set[str]) -> list[Element]:
    """The elements below a node's heading up to the next node's."""
    found: list[Element] = []
    for element in doc.root.iter():
        if found and element.get("id") in anchors:
            break
        if found or element.get("id") == anchor:
            found.append(element)
    return found[1:]


def step_of(element: Element, words: str) -> bool:
    """True where an element says the words of a step in their order; beside a circuit's points it says more."""
    said = iter(re.findall(r"\w+", " ".join(element.itertext())))
    return all(word in said for word in re.findall(r"\w+", words))


def test_no_page_heaps_more_than_three_messages_before_one_step(checked: Checked):
    """Common practice, no source: a reader skips what stands in heaps."""
    for node in checked.base.of_kind(*PROCEDURES):
        marks = "".join("m" if moment.message else "." for moment in node.moments)
        assert "mmmm" not in marks, node.id
