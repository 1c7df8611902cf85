"""Drawn circuits in a real browser from the disk: keys, words, marks, motion, sizes of letters, and no script."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from kb.graph import build_graph
from kb.read.base import read_base
from kb.site.drawing.drawn import Drawn
from kb.site.sheets import open_site
from tests.conftest import ROOT
from tests.site.pump import PUMP, built, written_pages
from tests.site.waiting import until

WEIR = "vehicles/weir.html"


def write(folder: Path, files: dict[str, bytes]) -> Path:
    """Files in a folder."""
    for name, data in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


@pytest.fixture(scope="module")
def pump(site, tmp_path_factory) -> Path:
    """The pump's site."""
    return write(tmp_path_factory.mktemp("pump"), dict(site))


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> tuple[Path, list[Drawn]]:
    """The demonstration base's site, and its drawn circuits."""
    base = read_base(ROOT / "content")
    graph = build_graph(base)
    pages = open_site(base, graph)
    drawn = [found for name in base.circuits if (found := pages.drawn(base.nodes[name]))]
    return write(tmp_path_factory.mktemp("demo"), dict(written_pages(pages))), drawn


@pytest.fixture
def tab(browser: Any) -> Iterator[Any]:
    """A page whose console has to stay empty."""
    context = browser.new_context(viewport={"width": 820, "height": 1180}, reduced_motion="reduce")
    page = context.new_page()
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    yield page
    context.close()
    assert told == []


def page_of(drawn: Drawn) -> str:
    """The site path of a circuit's page."""
    return drawn.node.page.removesuffix(".md") + ".html"


def box_of(tab: Any, drawn: Drawn) -> Any:
    """A circuit's drawing with its keys."""
    return tab.locator(f'.drawn[data-wiring="{drawn.slug}"]')


def test_a_fault_stops_the_current_and_is_told(pump, tab):
    tab.goto((pump / WEIR).as_uri())
    assert tab.evaluate("Backprobe.wiring.taken.size") == 0  # nothing is fetched before it is asked for
    assert tab.locator(".spread .wire.live").count() == tab.locator(".slim .wire.live").count() == 6
    tab.locator(".faults").evaluate("e => { e.open = true }")
    tab.get_by_role("button", name="Motor open").click()
    until(tab, "document.querySelector('.now').textContent.includes('M1 still')")
    assert tab.locator(".now").inner_text().split("\n")[-1] == "With a fault put in: Motor open, M1 open"
    assert tab.locator(".wire.live, .way.live").count() == 0
    for motor in tab.locator('.part[data-part="M1"]').all():
        assert {"wrong", "is-off"} <= set(motor.get_attribute("class").split())
        assert motor.locator(".state").text_content() == "still"
    assert tab.locator("[data-fault][aria-pressed=true]").count() == 1
    tab.locator(".faults").evaluate("e => { e.open = true }")
    tab.get_by_role("button", name="Fuse blown").click()
    until(tab, "document.querySelector('.now').textContent.includes('F7 blown')")
    for svg in (tab.locator(".spread"), tab.locator(".slim")):
        assert "is-blown" in svg.locator('.part[data-part="F7"]').get_attribute("class")
        assert svg.locator('.plate[data-wire="W1"][data-end="1"] text').text_content() == "12.6 V"
        assert svg.locator('.plate[data-wire="W2"][data-end="1"] text').text_content() == "0.00 V"


def test_the_healthy_picture_of_the_script_is_the_one_of_the_page(demo, tab):
    """What stands there without script, and what the script draws for it: the same to the letter."""
    folder, drawn = demo
    for one in drawn:
        tab.goto((folder / page_of(one)).as_uri())
        box = box_of(tab, one)
        picture = "e => [...e.querySelectorAll('.wiring'), e.querySelector('.now')].map(x => x.outerHTML).join('')"
        before = box.evaluate(picture)
        keys = box.locator("[data-position]")
        if keys.count() > 1:
            keys.nth((one.first + 1) % keys.count()).click(force=True)
            until(tab, "n => Backprobe.wiring.taken.has(n)", arg=one.slug)
            keys.nth(one.first).click()
        else:
            box.locator(".faults").evaluate("e => { e.open = true }")
            box.locator('[data-fault="0"]').click()
            until(tab, "n => Backprobe.wiring.taken.has(n)", arg=one.slug)
        tab.wait_for_timeout(60)
        after = box.evaluate(picture)
        assert tidy(after) == tidy(before), one.name


def tidy(markup: str) -> str:
    """Without what a class list leaves behind."""
    return " ".join(markup.replace(' class=""', "").split()).replace(' "', '"')


def test_the_scripts_words_are_those_of_the_tables(demo, tab):
    """For each circuit, fault and position."""
    folder, drawn = demo
    for one in drawn:
        tab.goto((folder / page_of(one)).as_uri())
        tab.add_script_tag(url=(folder / f"wiring/{one.slug}.js").as_uri())
        said = tab.evaluate("""slug => {
            const { taken, picture, told } = Backprobe.wiring, circuit = taken.get(slug);
            return circuit.faults.map((_, f) => circuit.positions.map((_, p) => {
                const seen = picture(circuit, f, p);
                return seen && told(circuit, seen);
            }));
        }""", one.slug)
        expected = [
            [one.said(f, p) if one.shown.pictures[f] else None for p in range(len(one.positions))] for f in range(len(one.faults))
        ]
        assert said == expected, one.name


def test_a_test_leads_to_the_drawing_in_its_position(demo, tab):
    folder, drawn = demo
    one, row, test = next(
        (d, r, t) for d in drawn for r in d.circuit.readings
        if r.test and r.position != d.positions[d.first] and len(d.positions) > 2 for t in [r.test.label]
    )  # fmt: skip
    tab.goto((folder / page_of(one)).as_uri() + f"?position={row.position.replace(' ', '%20')}#{one.node.anchor}")
    until(tab, "n => Backprobe.wiring.taken.has(n)", arg=one.slug)
    pressed = box_of(tab, one).locator("[data-position][aria-pressed=true]")
    assert pressed.inner_text() == row.position and test
    assert box_of(tab, one).locator(".position").inner_text() == row.position


def test_an_unfused_short_is_told_as_a_warning(browser, tab, tmp_path):
    page = PUMP["vehicles/weir.md"]
    assert isinstance(page, str)
    files = {**PUMP, "vehicles/weir.md": page.replace("| [Motor open] | M1 open |", "| [Motor open] | W1 touches ground |")}
    folder = write(tmp_path, dict(built(files, lambda base: ())))
    tab.goto((folder / WEIR).as_uri())
    tab.locator(".faults").evaluate("e => { e.open = true }")
    tab.get_by_role("button", name="W1 touches ground").click()
    until(tab, "document.querySelector('.now').textContent.includes('no fuse protects')")
    assert "don't measure there" in tab.locator(".now").inner_text()
    assert tab.locator(".wire.live").count() == 0
    assert tab.locator(".plate:not([display])").count() == 0
    assert tab.locator(".way.wrong").evaluate_all("ways => ways.map(way => way.dataset.wire)") == ["W1", "W1"]


def test_a_missing_file_is_told(pump, tab, tmp_path):
    shutil.copytree(pump, tmp_path / "site")
    shutil.rmtree(tmp_path / "site/wiring")
    context = tab.context.browser.new_context(viewport={"width": 820, "height": 900})
    page = context.new_page()
    page.goto((tmp_path / "site" / WEIR).as_uri())
    page.locator(".faults").evaluate("e => { e.open = true }")
    page.get_by_role("button", name="Motor open").click()
    until(page, "document.querySelector('.told').textContent.includes('missing')")
    context.close()


def test_keys_work_from_the_keyboard_and_the_words_are_a_live_region(pump, tab):
    tab.set_viewport_size({"width": 360, "height": 740})
    tab.goto((pump / WEIR).as_uri())
    assert tab.get_by_role("status").inner_text().startswith("Now on: M1 moves on")
    tab.locator(".faults summary").focus()
    tab.keyboard.press("Enter")
    tab.keyboard.press("Tab")
    tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    until(tab, "document.querySelector('[role=status]').textContent.includes('F7 blown')")
    assert tab.get_by_role("group", name="Weir pumping, drawn").get_attribute("tabindex") == "0"
    assert "5 parts and 6 wires" in tab.get_by_role("img", name="Wiring of Weir pumping").get_attribute("aria-label")


def test_on_a_phone_a_chosen_fault_leads_back_to_the_drawing(browser, pump):
    """The faults stand above the drawing there, and are folded away once one is chosen; at its side they stay."""
    for width, stays in ((360, False), (1440, True)):
        context = browser.new_context(viewport={"width": width, "height": 740}, reduced_motion="reduce")
        page = context.new_page()
        page.goto((pump / WEIR).as_uri())
        fold = page.locator(".faults")
        assert fold.evaluate("e => e.open") == stays
        if not stays:
            fold.locator("summary").click()
        page.get_by_role("button", name="Motor open").click()
        until(page, "document.querySelector('.with').textContent.includes('M1 open')")
        assert fold.evaluate("e => e.open") == stays
        if not stays:
            assert fold.locator("summary").evaluate("e => e === document.activeElement")
            assert page.locator(".now").evaluate("e => e.getBoundingClientRect().bottom < innerHeight")
        context.close()


BEAD = "getComputedStyle(document.querySelector('.spread .wire.live .bead')).animationName"


def test_beads_run_only_where_motion_is_wanted_and_arrows_always_tell(pump, browser):
    for motion, name in (("reduce", "none"), ("no-preference", "run")):
        context = browser.new_context(reduced_motion=motion)
        page = context.new_page()
        page.goto((pump / WEIR).as_uri())
        assert page.evaluate(BEAD) == name
        shown = page.locator(".spread .way.live").evaluate_all(
            "ways => ways.map(w => [...w.querySelectorAll('.fore, .aft')].filter(a => getComputedStyle(a).display !== 'none').length)"
        )
        assert len(shown) == 6 and min(shown) >= 1
        context.close()


def test_without_script_the_drawing_and_the_tables_stand(pump, browser):
    context = browser.new_context(java_script_enabled=False, viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto((pump / WEIR).as_uri())
    assert page.locator(".slim").is_visible() and page.locator(".spread").is_hidden()
    assert page.locator(".slim .wire.live").count() == 6
    assert page.locator("[data-fault]").first.is_hidden() and page.locator(".does").is_visible()
    page.locator(".expected summary").click()
    assert page.locator(".expected table").is_visible()
    context.close()


TEXTS = """() => [...document.querySelectorAll('.wiring')].filter(svg => svg.getClientRects().length).flatMap((svg, s) => {
  const shown = e => { for (; e && e !== svg; e = e.parentNode) if (getComputedStyle(e).display === 'none') return false; return true; };
  return [...svg.querySelectorAll('text')].filter(t => t.textContent && shown(t)).map(t => {
    const b = t.getBBox();
    return {svg: s, words: t.textContent, box: [b.x, b.y, b.x + b.width, b.y + b.height],
            size: parseFloat(getComputedStyle(t).fontSize) * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width,
            right: b.x + b.width, width: svg.viewBox.baseVal.width};
  });
})"""


@pytest.mark.parametrize("width", [320, 360, 820, 1440])
def test_letters_are_13_px_or_more_and_no_word_covers_another(demo, browser, width):
    """By the browser's own boxes, which are a full line high: 4 px of line above and below count as air."""
    folder, drawn = demo
    context = browser.new_context(viewport={"width": width, "height": 900}, reduced_motion="reduce")
    page = context.new_page()
    count = 0
    for path in dict.fromkeys(page_of(one) for one in drawn):
        page.goto((folder / path).as_uri())
        page.evaluate("document.fonts.ready")
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), path
        found = page.evaluate(TEXTS)
        assert [t["words"] for t in found if t["size"] < 12.99] == []
        assert [t["words"] for t in found if t["right"] > t["width"] or t["box"][0] < 0] == []
        for i, a in enumerate(found):
            for b in found[:i]:
                if a["svg"] == b["svg"]:
                    first, second = a["box"], b["box"]
                    beside = first[0] >= second[2] or second[0] >= first[2]
                    assert beside or first[1] + 8 >= second[3] or second[1] + 8 >= first[3], (path, a, b)
        count += len(found)
    context.close()
    assert count > 300


@pytest.mark.parametrize("width", [320, 360, 699, 700, 820, 900, 1100, 1300, 1400])
def test_a_drawing_needs_no_panning_and_is_the_wide_one_where_that_has_room(browser, demo, width):
    """The widest drawings reach beyond their page; one that a wide screen has no room for either pans there."""
    folder, drawn = demo
    context = browser.new_context(viewport={"width": width, "height": 740})
    page = context.new_page()
    for one in drawn:
        page.goto((folder / page_of(one)).as_uri())
        sketch = box_of(page, one).locator(".sketch")
        assert sketch.evaluate("e => e.scrollWidth <= e.clientWidth") or width == 1400 and one.drawing.width > 1336, one.name
        assert page.evaluate("document.documentElement.scrollWidth") <= width, one.name
        shown = sketch.locator(".wiring").evaluate_all("all => all.filter(s => s.getClientRects().length).map(s => s.classList[1])")
        assert shown == (["slim"] if width < one.room else ["spread"]), one.name
    context.close()


def test_a_fault_shows_in_the_narrow_drawing_on_a_phone(browser, demo):
    """Each current, state, voltage and contact as in the wide one, for every fault of a circuit."""
    folder, drawn = demo
    one = max(drawn, key=lambda d: len(d.circuit.wires))
    context = browser.new_context(viewport={"width": 360, "height": 740}, reduced_motion="reduce")
    page = context.new_page()
    page.goto((folder / page_of(one)).as_uri())
    box = box_of(page, one)
    seen = set()
    for fault in range(0, len(one.faults), 3):
        box.locator(f'[data-fault="{fault}"]').evaluate("key => key.click()")
        until(page, "n => Backprobe.wiring.taken.has(n)", arg=one.slug)
        page.wait_for_timeout(30)
        wide, narrow = (box.evaluate(SHOWN, cls) for cls in (".spread", ".slim"))
        assert wide == narrow and wide
        seen.add(str(wide))
    assert len(seen) > 5
    context.close()


SHOWN = """(box, cls) => {
  const all = (what, said) => [...box.querySelectorAll(`${cls} ${what}`)].map(said).sort();
  const on = e => [...e.classList].sort().join(" ");
  return [...all(".wire, .way", e => e.dataset.wire + on(e)), ...all(".part:not(.battery)", e => `${e.dataset.part} ${on(e)} ${e.querySelector(".state").textContent}`),
    ...all(".joint:not(.pass)", e => e.dataset.key + on(e)), ...all(".disc", e => e.dataset.pin + on(e)),
    ...all(".plate text", e => `${e.parentNode.dataset.wire} ${e.parentNode.dataset.end} ${e.textContent}`)];
}"""


def test_a_print_shows_the_wide_drawing(browser, demo):
    folder, drawn = demo
    context = browser.new_context(viewport={"width": 360, "height": 740})
    page = context.new_page()
    page.goto((folder / page_of(drawn[-1])).as_uri())
    page.emulate_media(media="print")
    assert box_of(page, drawn[-1]).locator(".spread").is_visible() and box_of(page, drawn[-1]).locator(".slim").is_hidden()
    context.close()


def test_the_file_of_a_circuit_is_small(demo):
    folder, drawn = demo
    for one in drawn:
        size = (folder / f"wiring/{one.slug}.js").stat().st_size
        worlds = len(one.faults) * len(one.positions)
        assert size < 4000 + 400 * worlds, (one.name, size)


def test_an_open_contact_has_a_gap_and_a_closed_one_none(browser, demo):
    folder, drawn = demo
    page = browser.new_page(viewport={"width": 1440, "height": 900})
    switched = next(one for one in drawn if any(part.kind == "switch" for part in one.circuit.parts.values()))
    page.goto((folder / page_of(switched)).as_uri())
    lines = page.locator(".joint.contact > .line").evaluate_all(
        "lines => lines.map(e => [e.parentNode.matches('.shut'), getComputedStyle(e).strokeDasharray, e.getAttribute('pathLength')])"
    )
    dashes = {shut: {dash for is_shut, dash, _ in lines if is_shut is shut} for shut in (True, False)}
    # of a hundred parts of its way 32 are drawn, 36 left out, 32 drawn
    assert dashes == {True: {"none"}, False: {"32px, 36px"}} and {length for *_, length in lines} == {"100"}
    page.close()
