"""The same hits in a real browser, from a disk and from a server, and nothing fetched besides."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from kb.assets import templates_dir
from kb.search.query import find

PAGE = """<!doctype html><html lang="en" data-root="../"><head><meta charset="utf-8"><title>Search</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self'">
<script defer src="../static/words.js"></script><script defer src="../static/rank.js"></script><script defer src="../static/shards.js"></script></head></html>
"""
QUESTIONS = ["wont start", "back probe", "J2.float", "bobber", "the of", "مرآة", "pump lamp fuse", "12 volts"]


class Quiet(SimpleHTTPRequestHandler):
    """Serves files and keeps still."""

    def log_message(self, format: str, *args: Any) -> None:
        """No lines on standard error."""


@pytest.fixture(scope="module")
def site(pump_files: dict[str, bytes], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A page in a folder of its own, the scripts and the index."""
    root = tmp_path_factory.mktemp("site")
    files = pump_files | {"pages/search.html": PAGE.encode()}
    for name in ("words.js", "rank.js", "shards.js"):
        files[f"static/{name}"] = (templates_dir() / "static" / name).read_bytes()
    for name, data in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(data)
    return root


@pytest.fixture(scope="module")
def served(site: Path) -> Iterator[str]:
    """The site on a loopback server."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(site)))
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.mark.parametrize("place", ["disk", "server"])
def test_a_browser_finds_what_the_terminal_finds(pump, site, browser, served, place):
    page, complaints = browser.new_page(), []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto((site.as_uri() if place == "disk" else served) + "/pages/search.html")
    for words in QUESTIONS:
        theirs = page.evaluate("words => Backprobe.find(words, {most: 5})", words)
        ours = find(pump, words, most=5)
        assert [(h["kind"], h["name"], h["address"]) for h in theirs] == [
            (h.kind, h.name, h.address) for h in ours
        ]
        assert [h["score"] for h in theirs] == pytest.approx([h.score for h in ours], rel=0, abs=1e-9)
    assert complaints == []
    page.close()
