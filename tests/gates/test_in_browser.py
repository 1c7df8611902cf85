"""The demonstration site in a real browser: accessibility, policy, width, and no request to outside.

Each page is looked at in one of six ways (three sizes, two colour schemes) by a fixed choice; all
six with BACKPROBE_ALL.
"""

from __future__ import annotations

import colorsys
import random
import threading
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import RUN_ALL
from tests.site.waiting import until

pytestmark = pytest.mark.gate

SIZES = ((360, 740), (820, 1180), (1440, 900))
WAYS = tuple(product(SIZES, ("light", "dark")))
FIRST = "functions/glass-adjustment.symptom-glass-of-one-mirror-dead-every-way.html#walk="
DONE = "test-selector-and-the-other-side~0"
STATES = (
    "search.html?q=mirror+dead",
    "search.html?q=zzzz",
    FIRST + DONE,  # after a finding
    FIRST + DONE + ".test-lamp-at-the-mirror-plug~u.test-gone~1",  # one that couldn't be read, one unknown
    FIRST + DONE + ".repair-clear-the-overload-and-cycle-the-key~0",  # fixed
    "functions/glass-adjustment.symptom-glass-adjustment-comes-and-goes.html",
)
# A walk that left the plan first says that it works the rest out, and then moves its cards.
SETTLED = "!(document.getElementById('do-next')?.textContent || '').startsWith('Working')"
SEED = 535  # any number: the choice only has to be the same each time
OPEN = "document.querySelectorAll('details').forEach(d => { d.open = true })"
AXE = """async () => {
  await document.fonts.ready;
  // The strip stays at the foot of the screen, over whatever scrolls below it: axe would see words covered.
  for (const strip of document.querySelectorAll('.stick')) strip.style.position = 'static';
  const found = await axe.run(document, {resultTypes: ['violations', 'incomplete']});
  // Words on a drawing: axe can't tell what lies under them, `CONTRAST` below can.
  const drawn = node => document.querySelector(node.target[0])?.closest('svg');
  for (const rule of found.incomplete)
    if (rule.id === 'color-contrast') rule.nodes = rule.nodes.filter(node => !drawn(node));
  found.incomplete = found.incomplete.filter(rule => rule.nodes.length);
  const told = list => list.map(r => r.id + ': ' + r.nodes.map(n => n.target.join(' ') + ' ' + (n.any[0]?.message || '')).join(' | '));
  return {violations: told(found.violations), incomplete: told(found.incomplete)};
}"""


# Contrast of each word in a drawing with the shape, or the ground of the page, right under its middle.
CONTRAST = """() => {
  const parts = colour => (colour.match(/[\\d.]+/g) || []).map(Number);
  const light = ([r, g, b]) => [r, g, b].map(c => c / 255)
    .map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const solid = colour => { const p = parts(colour); return p.length >= 3 && (p[3] ?? 1) > 0 ? p : null; };
  const paint = element => {
    const style = getComputedStyle(element);
    if (!(element instanceof SVGElement) || element instanceof SVGSVGElement) return solid(style.backgroundColor);
    if (element instanceof SVGTextContentElement || element instanceof SVGGElement) return null;
    return style.fill !== 'none' ? solid(style.fill) : solid(style.stroke);
  };
  const found = [];
  for (const word of document.querySelectorAll('main svg text')) {
    word.scrollIntoView({block: 'center', inline: 'center'});
    const box = word.getBoundingClientRect();
    if (!box.width || !word.textContent.trim()) continue;
    const below = document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2)
      .filter(e => e !== word && !word.contains(e)).map(paint).find(Boolean) || [255, 255, 255];
    const ink = solid(getComputedStyle(word).fill) || [0, 0, 0];
    const [a, b] = [light(ink), light(below)].sort((x, y) => y - x);
    found.push([word.textContent, (a + 0.05) / (b + 0.05)]);
  }
  return found;
}"""


# Else each page that is opened would begin to keep the whole site: that has tests of its own.
UNKEPT = "delete Navigator.prototype.serviceWorker"

SQUEEZED = """() => [...document.querySelectorAll('main *, header *, footer *')]
  .filter(e => e.checkVisibility() && [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim().length > 3))
  .filter(e => { const box = e.getBoundingClientRect(); return box.height > 60 && box.width < 20; })
  .map(e => e.textContent.trim())"""


class Quiet(SimpleHTTPRequestHandler):
    """Serves a folder without a word."""

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing."""


@pytest.fixture(scope="module")
def serve() -> Iterator[Callable[[Path], str]]:
    """Serve folders on loopback; the address of each."""
    servers = []

    def start(folder: Path) -> str:
        server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder)))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        servers.append(server)
        return f"http://127.0.0.1:{server.server_port}/"

    yield start
    for server in servers:
        server.shutdown()
        server.server_close()


class Tab:
    """A browser's page that notes what the console says and what is asked for."""

    def __init__(self, browser: Any, root: str, axe: Path | None = None) -> None:
        self.root = root
        self.page = browser.new_page()
        self.told: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.told.append(f"{self.page.url}: {message.text}"))
        self.page.on("pageerror", lambda error: self.told.append(f"{self.page.url}: {error}"))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.add_init_script(UNKEPT)
        if axe:
            self.page.add_init_script(path=str(axe))

    def open(self, path: str, size: tuple[int, int], scheme: str = "light") -> None:
        """Go to a page of the site in one of the ways."""
        self.page.set_viewport_size({"width": size[0], "height": size[1]})
        self.page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
        self.page.goto(self.root + path, wait_until="load")
        until(self.page, SETTLED)

    def outside(self) -> list[str]:
        """Requests to anything but the site."""
        return [url for url in self.asked if not url.startswith((self.root, "data:", "about:"))]


def ways(pages: tuple[str, ...]) -> list[tuple[str, tuple[int, int], str]]:
    """Pages with the size and scheme to look at them in."""
    chance = random.Random(SEED)
    listed = [*(p for p in looked_at(pages) if not moved(p)), *STATES]
    return [(p, *way) for p in listed for way in (WAYS if RUN_ALL else [chance.choice(WAYS)])]


def looked_at(pages: tuple[str, ...]) -> list[str]:
    """All pages; of the sheets to print, which are many and alike, every fortieth in the short run."""
    paper = [path for path in pages if path.endswith(".sheet.html")]
    return [path for path in pages if path not in paper or RUN_ALL or path in paper[::40]]


def moved(path: str) -> bool:
    """A page that only leads on to another."""
    return "moved" in path


@pytest.fixture(scope="module")
def axe(tools: Path) -> Path:
    """The script of axe-core."""
    path = tools / "node_modules/axe-core/axe.min.js"
    if not path.exists():
        pytest.skip("axe-core (npm) is absent")
    return path


def test_axe_console_and_requests_on_every_page(browser, serve, demo, pages, axe):
    tab = Tab(browser, serve(demo), axe)
    wrong: list[tuple[object, ...]] = []
    for number, (path, size, scheme) in enumerate(ways(pages)):
        tab.open(path, size, scheme)
        if number % 2:
            tab.page.evaluate(OPEN)
        found = tab.page.evaluate(AXE)
        wrong.extend((path, size, scheme, said) for said in found["violations"] + found["incomplete"])
    assert wrong == []
    assert tab.told == []
    assert tab.outside() == []
    assert len(tab.asked) > len(pages)
    tab.page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_where_a_job_is_open_and_a_newer_edition_waits(browser, serve, demo, axe, scheme):
    tab = Tab(browser, serve(demo), axe)
    for size in SIZES:
        tab.open(FIRST + DONE, size, scheme)
        tab.page.evaluate("localStorage.setItem('backprobe.job', JSON.stringify({href: location.href, name: 'Glass dead'}))")
        tab.open("hazards.html", size, scheme)
        assert tab.page.locator(".open-job").is_visible()
        tab.page.evaluate("document.querySelector('.open-job').className = 'newer'")
        found = tab.page.evaluate(AXE)
        assert found == {"violations": [], "incomplete": []}
    assert tab.told == []
    tab.page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_in_drawings_stand_out(browser, serve, demo, pages, scheme):
    """WCAG 2.2, 1.4.3 Contrast (Minimum): 4.5 to 1."""
    tab = Tab(browser, serve(demo))
    seen, faint = 0, []
    for path in (
        pages if RUN_ALL else [p for p in pages if p.startswith(("index", "vehicles", "functions/g", "functions/t"))]
    ):
        tab.open(path, SIZES[1], scheme)
        tab.page.evaluate(OPEN)
        words = tab.page.evaluate(CONTRAST)
        seen += len(words)
        faint.extend((path, word, round(ratio, 2)) for word, ratio in words if ratio < 4.5)
    assert faint == []
    assert seen > 50
    tab.page.close()


def test_the_measure_of_contrast_sees_faint_words(browser, serve, tmp_path):
    drawing = '<svg width="99" height="99"><rect width="99" height="99" fill="{}"/><text x="9" y="50" fill="{}">word</text></svg>'
    pairs = (("#fff", "#000"), ("#fff", "#777"), ("#000", "#111"))
    (tmp_path / "index.html").write_text("<main>" + "".join(drawing.format(*pair) for pair in pairs) + "</main>")
    tab = Tab(browser, serve(tmp_path))
    tab.open("index.html", SIZES[1])
    assert [round(ratio, 2) for _, ratio in tab.page.evaluate(CONTRAST)] == [21.0, 4.48, 1.11]
    tab.page.close()


def test_no_page_is_wider_than_a_screen_of_320(browser, serve, demo, pages):
    """WCAG 2.2, 1.4.10 Reflow: no scrolling in two dimensions at a width of 320 CSS pixels.

    Nor are words squeezed into a column that is narrower than two letters.
    """
    tab = Tab(browser, serve(demo))
    wide, squeezed = [], []
    for path in [*looked_at(pages), *STATES]:
        tab.open(path, (320, 740))
        tab.page.evaluate(OPEN)
        if tab.page.evaluate("document.documentElement.scrollWidth") > 320:
            wide.append(path)
        squeezed.extend((path, words) for words in tab.page.evaluate(SQUEEZED))
    assert wide == []
    assert squeezed == []
    assert tab.told == []
    tab.page.close()


def test_the_site_works_from_a_folder(browser, demo, pages):
    """From the disk: nothing on the console, no request but to files of the site, the search finds."""
    tab = Tab(browser, demo.as_uri() + "/")
    chance = random.Random(SEED)
    for path in pages if RUN_ALL else chance.sample(pages, 8):
        tab.open(path, SIZES[1])
    tab.open("search.html?q=mirror", SIZES[1])
    tab.page.wait_for_selector(".hit")
    assert tab.told == []
    assert tab.outside() == []
    tab.page.close()


# The same instruments on pages that are wrong.

POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:"
WRONG = f"""<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Wrong</title>
<meta http-equiv="Content-Security-Policy" content="{POLICY}"></head>
<body><main><h1>Wrong</h1><img src="http://127.0.0.1:9/elsewhere.png"><script>alert(1)</script>
<pre style="color: red">{"x" * 500}</pre></main></body></html>"""


def test_the_instruments_see_what_is_wrong(browser, serve, tmp_path, axe):
    (tmp_path / "index.html").write_text(WRONG)
    tab = Tab(browser, serve(tmp_path), axe)
    tab.open("index.html", (320, 740))
    assert any(said.startswith("image-alt") for said in tab.page.evaluate(AXE)["violations"])
    assert tab.page.evaluate("document.documentElement.scrollWidth") > 320
    assert sum("Content Security Policy" in said for said in tab.told) >= 2
    tab.page.close()
    (tmp_path / "index.html").write_text(WRONG.replace(POLICY, "img-src *"))
    tab = Tab(browser, serve(tmp_path))
    tab.open("index.html", (320, 740))
    assert tab.outside() == ["http://127.0.0.1:9/elsewhere.png"]
    tab.page.close()


# Safety panels as they look. Colours by ANSI Z535.1 as safety red, orange, yellow, blue (from memory).
HUES = {"DANGER": (345, 10), "WARNING": (20, 40), "CAUTION": (45, 60), "NOTICE": (200, 225)}
LOOK = """() => [...document.querySelectorAll('.safety')].map(panel => {
  const band = panel.querySelector('.band'), word = panel.querySelector('.word');
  return {word: word.innerText, colour: getComputedStyle(band).backgroundColor, size: parseFloat(getComputedStyle(word).fontSize),
          italic: getComputedStyle(word).fontStyle, triangle: !!band.querySelector('.triangle'), wide: band.querySelector('.triangle')?.getBoundingClientRect().width || 0,
          body: parseFloat(getComputedStyle(panel.querySelector('.says')).fontSize), outline: getComputedStyle(panel).borderTopWidth};
})"""


def hue(colour: str) -> float:
    """The hue in degrees of `rgb(r, g, b)`."""
    red, green, blue = (int(part) / 255 for part in colour.removeprefix("rgb(").rstrip(")").split(",")[:3])
    return colorsys.rgb_to_hsv(red, green, blue)[0] * 360


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_safety_panels_look_as_the_standard_says(browser, serve, demo, scheme):
    tab = Tab(browser, serve(demo))
    tab.open("hazards.html", SIZES[0], scheme)
    panels = tab.page.evaluate(LOOK)
    assert {p["word"] for p in panels} >= {"WARNING", "CAUTION", "NOTICE"}
    for panel in panels:
        low, high = HUES[panel["word"]]
        shade = hue(panel["colour"])
        assert low <= shade <= high or (low > high and (shade >= low or shade <= high)), panel
        assert panel["triangle"] == (panel["word"] != "NOTICE"), panel
        assert (panel["wide"] >= 16) == panel["triangle"], panel
        assert (panel["italic"] == "italic") == (panel["word"] == "NOTICE"), panel
        assert panel["size"] > panel["body"], panel
    tab.page.close()
