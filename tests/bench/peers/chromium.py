"""Chromium on pages of a search: from a disk, and from loopback for what can't run from a disk."""

from __future__ import annotations

import json
import shutil
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote, urlsplit

from tests.conftest import ARGUMENTS

REPEATS = 10  # a page's clock ticks in tenths of milliseconds: each question is asked so often at once
CARDS = 10
# Notes when ten hits stand on our page; the peers' pages note it themselves.
WATCH = """
window.stood = 0;
new MutationObserver(() => {
  if (!window.stood && document.querySelectorAll("[data-hits] > li").length >= NEED) window.stood = performance.now();
}).observe(document, {childList: true, subtree: true});
""".replace("NEED", str(CARDS))
ENTER = """
(words) => {
  const field = document.querySelector("[data-search]");
  field.value = words;
  window.entered = performance.now();
  field.form.requestSubmit();
}
"""
WARM = """
async ([questions, repeats]) => {
  const spent = [];
  for (const question of questions) {
    await window.ask(question);
    const started = performance.now();
    for (let n = 0; n < repeats; n++) await window.ask(question);
    spent.push((performance.now() - started) / repeats);
  }
  return spent;
}
"""
# One page for all peers: `found(words)` gives up to ten names with what is said.
PAGE = """<!doctype html><meta charset="utf-8"><title>Search</title><ol id="hits"></ol>
SCRIPTS<script type="module">
ASKED
const words = new URLSearchParams(location.search).get("q");
if (words) {
  const cards = await found(words);
  document.getElementById("hits").append(...cards.map((card) => {
    const item = document.createElement("li");
    item.textContent = card.join(": ");
    return item;
  }));
  window.stood = performance.now();
}
</script>
"""


def _page(scripts: str, asked: str) -> str:
    return PAGE.replace("SCRIPTS", scripts).replace("ASKED", asked)


LIBRARY = _page(
    "".join(f'<script src="{name}.js"></script>' for name in ("library", "index", "cards", "ask")),
    "window.ask = ask;\nconst found = async (words) => ask(words).slice(0, 10).map((id) => CARDS[id]);",
)
PAGEFIND = _page(
    "",
    "const pagefind = await import('/pagefind.js');\n"
    "window.ask = async (words) => (await pagefind.search(words)).results.map((hit) => hit.id);\n"
    "const found = async (words) => Promise.all((await pagefind.search(words)).results.slice(0, 10)"
    ".map(async (hit) => { const { meta } = await hit.data(); return [meta.title, meta.said || '']; }));\n"
    "window.found = found;",
)


class Quiet(SimpleHTTPRequestHandler):
    """Serves a folder without a word."""

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of a folder on loopback."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    thread.join()
    server.server_close()


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser without a network; None where Chromium or its driver is absent."""
    program = shutil.which("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        program = None
    if program is None:
        yield None
        return
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield browser
        browser.close()


def warm(browser: Any, address: str, questions: Sequence[str], ask: str = "") -> list[float]:
    """Milliseconds of each question on a page that stays open; `ask` sets what is called."""
    page = browser.new_page()
    page.goto(address)
    page.wait_for_load_state("networkidle")
    if ask:
        page.evaluate(ask)
    page.wait_for_function("() => Boolean(window.ask)")
    page.evaluate(WARM, [list(questions), 1])
    spent = page.evaluate(WARM, [list(questions), REPEATS])
    page.close()
    return spent


def cold(
    browser: Any, address: str, questions: Sequence[str], settle: bool = False
) -> tuple[list[float], list[list[str]]]:
    """For each question milliseconds from the opening of a fresh page until its cards stand, and the files it asked
    for, those after the cards too where it shall `settle`. One page before them isn't counted.
    """
    spent, files = [], []
    for question in [questions[0], *questions]:
        context = browser.new_context()
        page = context.new_page()
        page.add_init_script(WATCH)
        asked: list[str] = []
        page.on("request", lambda request, asked=asked: asked.append(request.url))
        page.goto(f"{address}?q={quote(question)}")
        page.wait_for_function("() => window.stood > 0")
        spent.append(page.evaluate("window.stood"))
        if settle:
            page.wait_for_load_state("networkidle")
        files.append(asked)
        context.close()
    return spent[1:], files[1:]


def first(browser: Any, address: str, questions: Sequence[str]) -> list[float]:
    """For each question milliseconds from Enter on a fresh page that lies open, and has loaded all that it loads
    unasked, until its cards stand. One page before them isn't counted.
    """
    spent = []
    for question in [questions[0], *questions]:
        context = browser.new_context()
        page = context.new_page()
        page.add_init_script(WATCH)
        page.goto(address)
        page.wait_for_load_state("networkidle")
        page.evaluate(ENTER, question)
        page.wait_for_function("() => window.stood > 0")
        spent.append(page.evaluate("window.stood - window.entered"))
        context.close()
    return spent[1:]


def below(folder: Path, root: str, addresses: Sequence[str]) -> list[str]:
    """The files of a folder that these addresses name, each once."""
    names = (
        unquote(urlsplit(a)._replace(query="").geturl().removeprefix(root)) for a in addresses if a.startswith(root)
    )
    return [name for name in dict.fromkeys(names) if (folder / name).is_file()]


def pagefind_loads(
    browser: Any, root: str, folder: Path, questions: Sequence[str]
) -> tuple[list[list[str]], list[list[str]]]:
    """The files that a fresh page loads for each question until it has the ranked numbers, and ten cards."""
    ids, ten = [], []
    for question in questions:
        context = browser.new_context()
        page = context.new_page()
        asked: list[str] = []
        page.on("request", lambda request, asked=asked: asked.append(request.url))
        page.goto(root + "page.html")
        page.wait_for_function("() => Boolean(window.found)")
        for call, lists in (("ask", ids), ("found", ten)):
            page.evaluate(f"words => window.{call}(words)", question)
            lists.append([name for name in below(folder, root, asked) if name != "page.html"])
        context.close()
    return ids, ten


def pagefind_kept(browser: Any, root: str, pairs: Sequence[tuple[str, str]]) -> list[bool]:
    """For each pair of questions whether the best hit of the first is among ten of the second."""
    page = browser.new_page()
    page.goto(root + "page.html")
    page.wait_for_function("() => Boolean(window.found)")
    script = """async (pairs) => {
      const kept = [];
      for (const [clean, slipped] of pairs) {
        const [best] = await window.ask(clean);
        kept.push(best !== undefined && (await window.ask(slipped)).slice(0, 10).includes(best));
      }
      return kept;
    }"""
    kept = page.evaluate(script, json.loads(json.dumps(pairs)))
    page.close()
    return kept
