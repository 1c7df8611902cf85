"""Thirteen faults, each seeded into a copy of pages of the demonstration site: the gate it belongs to goes red.

Beside them the copy as it was: there each gate is quiet.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from http.server import ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from tests.gates.test_html import html_validate, lychee, nu
from tests.gates.test_in_browser import AXE, Quiet, Tab
from tests.gates.test_touch import KEYS, LINKS, SMALL

pytestmark = pytest.mark.gate
PAGES = ("index.html", "search.html", "vehicles.html", "hazards.html", "lessons.html")
OUTLINE = """() => { document.querySelector('.look-up').focus({focusVisible: true});
  const style = getComputedStyle(document.activeElement); return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2; }"""


@dataclass(frozen=True)
class Fault:
    """What is put in the place of what, in which file, and which gate has to see it."""

    file: str
    old: str
    new: str
    gate: str


FAULTS = {
    "an element that HTML doesn't have": Fault("hazards.html", "<main", "<blob>x</blob><main", "nu"),
    "an element that isn't closed": Fault("hazards.html", "</main>", "<div></main>", "html-validate"),
    "a key without a type": Fault("hazards.html", "</main>", "<button>Go</button></main>", "html-validate"),
    "a link to a page that is gone": Fault("lessons.html", "</main>", '<a href="gone.html">on</a></main>', "lychee"),
    "a link to an anchor that is gone": Fault(
        "lessons.html", "</main>", '<a href="hazards.html#nowhere">on</a></main>', "lychee"
    ),
    "a link without a name": Fault("index.html", ' aria-label="Search"><svg', '><svg', "axe"),
    "words too faint": Fault("static/site.css", "--ink2:#434b4e", "--ink2:#c3cbce", "axe"),
    "a style in the page": Fault("index.html", "<main", '<p style="color:red">red</p><main', "console"),
    "a script that fails": Fault("static/site.js", '"use strict";', '"use strict"; nowhere();', "console"),
    "a picture from elsewhere": Fault(
        "index.html", "<main", '<img alt="" src="http://127.0.0.1:9/elsewhere.png"><main', "outside"
    ),
    "something wider than a small phone": Fault("static/site.css", "main{", "main{min-width:400px;", "width"),
    "a key too low for a glove": Fault(
        "static/site.css", "gap:8px;min-height:48px;padding:0 14px;border:2px solid;font", "gap:8px;min-height:30px;padding:0 14px;border:2px solid;font", "size"
    ),
    "a focus that can't be seen": Fault("static/site.css", ":focus-visible{outline:3px", ":focus-visible{outline:0px", "focus"),
}  # fmt: skip


@pytest.fixture(scope="module")
def whole(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Some pages of the site with all that they load; links to other pages lead to pages that are there."""
    folder = tmp_path_factory.mktemp("seeded") / "whole"
    shutil.copytree(demo, folder, ignore=shutil.ignore_patterns("*.sheet.html"))
    return folder


@pytest.fixture
def seeded(whole: Path) -> Iterator[Callable[[Fault], Path]]:
    """Put a fault in; it is taken out afterwards."""
    before: dict[Path, str] = {}

    def put(fault: Fault) -> Path:
        path = whole / fault.file
        text = before.setdefault(path, path.read_text(encoding="utf-8"))
        assert fault.old in text
        path.write_text(text.replace(fault.old, fault.new, 1), encoding="utf-8")
        return whole

    yield put
    for path, text in before.items():
        path.write_text(text, encoding="utf-8")


def of_page(folder: Path, page: str, tmp: Path) -> Path:
    """A folder with this one page, for checkers that look at each file by itself."""
    alone = tmp / "alone"
    alone.mkdir(exist_ok=True)
    shutil.copy(folder / page, alone / page)
    return alone


class Gates:
    """The gates by name: each tells what is wrong, nothing where all is well."""

    def __init__(self, browser: Any, tools: Path, tmp: Path) -> None:
        self.browser, self.tools, self.tmp = browser, tools, tmp

    def ask(self, gate: str, folder: Path, page: str) -> object:
        """What a gate says of a page of a folder."""
        if gate in ("nu", "html-validate"):
            checker = nu if gate == "nu" else html_validate
            code, output = checker(self.tools, of_page(folder, page, self.tmp))
            return output if code else ""
        if gate == "lychee":
            code, output = lychee(folder)
            return output if code else ""
        return self._seen(gate, folder, page)

    def _seen(self, gate: str, folder: Path, page: str) -> object:
        server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder)))
        Thread(target=server.serve_forever, daemon=True).start()
        axe = self.tools / "node_modules/axe-core/axe.min.js"
        tab = Tab(self.browser, f"http://127.0.0.1:{server.server_port}/", axe if axe.exists() else None)
        try:
            tab.open(page, (320, 740))
            return {
                "axe": lambda: tab.page.evaluate(AXE)["violations"],
                "console": lambda: tab.told,
                "outside": lambda: tab.outside() + [said for said in tab.told if "elsewhere.png" in said],
                "width": lambda: tab.page.evaluate("document.documentElement.scrollWidth > 320"),
                "size": lambda: tab.page.evaluate(SMALL, [f"{KEYS}, {LINKS}", 47.5]),
                "focus": lambda: not tab.page.evaluate(OUTLINE),
            }[gate]()
        finally:
            tab.page.close()
            server.shutdown()
            server.server_close()


@pytest.fixture
def gates(browser: Any, tools: Path, tmp_path: Path) -> Gates:
    return Gates(browser, tools, tmp_path)


def page_of(fault: Fault) -> str:
    """The page on which a fault shows."""
    return fault.file if fault.file.endswith(".html") else "index.html"


@pytest.mark.parametrize("name", FAULTS)
def test_the_gate_goes_red(name, seeded, gates, whole):
    fault = FAULTS[name]
    if fault.gate != "lychee":  # the links of the whole site have a test of their own
        assert not gates.ask(fault.gate, whole, page_of(fault))
    assert gates.ask(fault.gate, seeded(fault), page_of(fault))
