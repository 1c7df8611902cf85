"""A served site keeps itself on the device: without network, while its server changes, and when it has changed."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import pytest

from kb.site.offline import unkept
from tests.site.pump import PUMP, SYMPTOM, Files, built
from tests.site.waiting import until

TYPES = {"html": "text/html", "js": "text/javascript", "css": "text/css", "svg": "image/svg+xml", "woff2": "font/woff2"}
NEW = "(document.querySelector('.base')?.textContent || '').includes('High Field Pumps')"
WHOLE = "document.querySelector('[data-keeping]').textContent.includes('is kept on this device')"


class Shelf:
    """A server on loopback whose files can be changed and which can be stopped."""

    def __init__(self, files: Files) -> None:
        self.files, self.asked, self.broken = dict(files), list[str](), set[str]()
        shelf = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                path = self.path.split("?")[0].lstrip("/") or "index.html"
                shelf.asked.append(path)
                data = shelf.files.get(path)
                self.send_response(200 if data is not None and path not in shelf.broken else 404)
                self.send_header("Content-Type", TYPES.get(path.rsplit(".")[-1], "application/octet-stream"))
                self.send_header("Content-Length", str(len(data or b"")))
                self.end_headers()
                self.wfile.write(data or b"")

            def log_message(self, *told: object) -> None:
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.thread = threading.Thread(target=self.server.serve_forever, args=(0.02,), daemon=True)
        self.thread.start()
        self.root = f"http://127.0.0.1:{self.server.server_address[1]}/"

    def stop(self) -> None:
        if self.thread.is_alive():
            self.server.shutdown()
            self.server.server_close()
            self.thread.join()


@pytest.fixture
def shelf(site: Files) -> Iterator[Shelf]:
    opened = Shelf(site)
    yield opened
    opened.stop()


@pytest.fixture
def visitor(browser: Any) -> Iterator[Any]:
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    page = context.new_page()
    page.set_default_timeout(20000)
    yield page
    context.close()


def changed() -> Files:
    return built({**PUMP, "index.md": str(PUMP["index.md"]).replace("Low Field Pumps", "High Field Pumps")})


def kept(visitor: Any, shelf: Shelf) -> None:
    visitor.goto(shelf.root + "index.html")
    until(visitor, WHOLE)


def test_after_one_visit_all_works_with_the_server_stopped(visitor, shelf, site):
    kept(visitor, shelf)
    assert "KB" in visitor.locator("[data-keeping]").inner_text() or "MB" in visitor.locator("[data-keeping]").inner_text()
    assert set(site) - {"kept.json"} <= set(shelf.asked)
    shelf.stop()
    visitor.goto(shelf.root + SYMPTOM)
    assert visitor.locator("h1").inner_text()
    visitor.goto(shelf.root + "search.html?q=dead+pump")
    visitor.locator(".hits li").first.wait_for()
    assert "Pump does not start" in visitor.locator(".hits").inner_text()
    visitor.goto(shelf.root)
    assert "Low Field Pumps" in visitor.title()
    until(visitor, WHOLE)


def test_a_newer_edition_is_announced_and_shown_when_asked_for(visitor, shelf):
    kept(visitor, shelf)
    shelf.files = dict(changed())
    shelf.asked.clear()
    visitor.goto(shelf.root + "index.html")
    assert visitor.title() == "Low Field Pumps"
    visitor.get_by_role("button", name="Show the newer edition").wait_for()
    assert "A newer edition" in visitor.locator(".newer [role=status]").inner_text()
    visitor.goto(shelf.root + "functions/pumping.html")
    assert "Low Field Pumps" in visitor.locator(".base").inner_text()
    assert "static/fonts/b612-400.woff2" not in shelf.asked  # what is the same isn't fetched again
    visitor.get_by_role("button", name="Show the newer edition").click()
    until(visitor, NEW, moving=True)
    names = visitor.evaluate("caches.keys()")
    assert len(names) == 1


def test_a_site_that_is_half_replaced_is_not_kept(visitor, shelf, site):
    kept(visitor, shelf)
    new = changed()
    shelf.files = {**site, "keep.js": new["keep.js"]}  # the worker is there already, the pages aren't
    visitor.goto(shelf.root + "index.html")
    until(visitor, "document.querySelector('[data-keeping]').textContent.includes('keeps what it has')")
    assert not visitor.locator(".newer").count()
    shelf.stop()
    visitor.goto(shelf.root + "functions/pumping.html")
    assert "Low Field Pumps" in visitor.locator(".base").inner_text()


def test_a_first_visit_of_a_broken_site_keeps_nothing_and_still_reads(visitor, shelf):
    shelf.broken.add("hazards.html")
    visitor.goto(shelf.root + "index.html")
    until(visitor, "document.querySelector('[data-keeping]').textContent.includes('tried again')")
    visitor.goto(shelf.root + SYMPTOM)
    assert visitor.locator("h1").inner_text()


def test_what_is_not_of_the_site_is_asked_of_the_network(visitor, shelf):
    kept(visitor, shelf)
    visitor.goto(shelf.root + "index.html")
    until(visitor, "navigator.serviceWorker.controller !== null")
    assert visitor.evaluate("fetch('other/place.txt').then((answer) => answer.status)") == 404
    assert "other/place.txt" in shelf.asked


def test_a_worker_that_gives_up_lets_the_network_answer_again(visitor, shelf):
    kept(visitor, shelf)
    visitor.goto(shelf.root + "index.html")
    until(visitor, "navigator.serviceWorker.controller !== null")
    shelf.files = {**changed(), "keep.js": unkept()}
    visitor.goto(shelf.root + "index.html")
    until(visitor, NEW, moving=True)


def test_a_device_that_saves_data_is_asked_first(visitor, shelf):
    visitor.add_init_script("Object.defineProperty(Navigator.prototype, 'connection', {get: () => ({saveData: true})})")
    visitor.goto(shelf.root + "index.html")
    key = visitor.get_by_role("button", name="Keep the whole base on it")
    key.wait_for()
    assert "hazards.html" not in shelf.asked and "KB" in key.inner_text()
    key.click()
    until(visitor, WHOLE)


def test_from_the_disk_nothing_of_this_is_loaded(root, tab):
    loaded: list[str] = []
    tab.on("request", lambda request: loaded.append(request.url))
    tab.goto((root / "index.html").as_uri())
    tab.wait_for_timeout(200)
    assert not [url for url in loaded if "offline.js" in url or "manifest" in url or "kept.json" in url]
    assert not tab.locator("[data-keeping]").is_visible()
