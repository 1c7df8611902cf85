"""A page, a search and a walk in Firefox and in WebKit, from the disk. The site is that of an invented pump."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

from tests.conftest import ROOT
from tests.site.pump import PUMP, SYMPTOM, built

pytestmark = pytest.mark.gate

KEY = "[data-test$='#test-listen-at-the-pump'] .finding[data-row='0'] button"
# Each script gives something true when what is waited for stands on the page.
READ = "(() => { const h1 = document.querySelector('h1'); return h1 && h1.textContent; })()"
HITS = "(() => { const hit = document.querySelector('.hits a, .hit a'); return hit && hit.textContent.trim(); })()"
PRESS = f'(() => {{ const key = document.querySelector("{KEY}"); if (!key) return null; key.click(); return key.textContent; }})()'
LEFT = "(() => { const told = document.querySelector('[data-told=left]').textContent; return told === '1' && location.hash; })()"


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The address of the pump's site in a folder."""
    folder = tmp_path_factory.mktemp("pump")
    for name, data in built(PUMP).items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder.as_uri() + "/"


def steps(root: str) -> list[tuple[str, str]]:
    """What is done: addresses to open (empty: stay), and what is waited for there."""
    return [
        (root + "index.html", READ),
        (root + "search.html?q=humms+pump", HITS),  # one word written wrong
        (root + SYMPTOM, PRESS),
        ("", LEFT),
    ]


def held(found: list[Any]) -> None:
    """What every browser has to give."""
    title, hit, pressed, address = found
    assert title == "What does the customer say?"
    assert "pump" in hit.lower()
    assert pressed == "It hums" and address == "#walk=test-listen-at-the-pump~0"


def test_firefox(root, tools):
    firefox, node = shutil.which("firefox-esr") or shutil.which("firefox"), shutil.which("node")
    if not (firefox and node and (tools / "node_modules/puppeteer-core").exists()):
        pytest.skip("Firefox, node or puppeteer-core (npm) is absent")
    command = [node, "tests/gates/firefox.mjs", str(tools), firefox, json.dumps(steps(root))]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=120)
    assert run.returncode == 0, run.stderr
    held(json.loads(run.stdout))


@contextmanager
def webkit() -> Iterator[Any]:
    """A WebKit window on a screen that nobody sees."""
    selenium = pytest.importorskip("selenium.webdriver")
    from selenium.webdriver.webkitgtk.options import Options
    from selenium.webdriver.webkitgtk.service import Service

    driver, screen = shutil.which("WebKitWebDriver"), shutil.which("Xvfb")
    window = next(Path("/usr/lib").glob("*/webkit2gtk-4.*/MiniBrowser"), None)
    if not (driver and screen and window):
        pytest.skip("WebKitWebDriver, its browser or Xvfb is absent")
    shown = subprocess.Popen([screen, ":97", "-screen", "0", "1280x900x24"], stderr=subprocess.DEVNULL)
    try:
        options = Options()
        options.binary_location = str(window)
        options.add_argument("--automation")
        env = {"DISPLAY": ":97", "WEBKIT_DISABLE_COMPOSITING_MODE": "1", "WEBKIT_FORCE_SANDBOX": "0"}
        browser = selenium.WebKitGTK(options=options, service=Service(driver, env={**os.environ, **env}))
        yield browser
        browser.quit()
    finally:
        shown.terminate()
        shown.wait()


@pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")
def test_webkit(root):
    found = []
    with webkit() as browser:
        for address, script in steps(root):
            if address:
                browser.get(address)
            end = monotonic() + 20
            while not (value := browser.execute_script(f"return {script}")):
                assert monotonic() < end, (address, script)
                sleep(0.05)
            found.append(value)
    held(found)
