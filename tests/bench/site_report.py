"""What each kind of page weighs, asks for and scores: `python -m tests.bench.site_report TOOLS`.

TOOLS is a folder in which `npm install lighthouse@12.8.2` was run; without it the scores are left out. The demo's
site is built, served on loopback, packed as web servers do, and opened in Chromium on a phone's screen.
"""

from __future__ import annotations

import gzip
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO

from kb.build import check_base, site_of
from kb.files import write_folder
from tests.conftest import ROOT

TYPES = (
    "index.html", "functions/glass-adjustment.symptom-glass-of-one-mirror-dead-every-way.html",
    "functions/glass-adjustment.html", "search.html?q=only+goes+left", "vehicles/velm-skua.html", "vehicles.html",
    "lessons/2-lamp-meter-and-load.html", "by-part.html", "base-state.html", "hazards.html",
)  # fmt: skip
AREAS = ("performance", "accessibility", "best-practices", "seo")
USEFUL = "() => performance.getEntriesByName('first-contentful-paint')[0]?.startTime || 0"


PACKED = {".html", ".css", ".js", ".svg", ".json"}


class Quiet(SimpleHTTPRequestHandler):
    """Serves a folder without a word, texts packed as web servers send them."""

    def send_head(self) -> BytesIO | BinaryIO | None:
        """Headers, then what is to be sent."""
        path = Path(self.translate_path(self.path))
        if path.suffix not in PACKED or not path.is_file():
            return super().send_head()
        data = gzip.compress(path.read_bytes(), 9, mtime=0)
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", self.guess_type(str(path)))
        self.send_header("Content-Encoding", "gzip")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        return BytesIO(data)

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing."""


def served(folder: Path) -> str:
    """The address of a folder on loopback, as long as this program runs."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return f"http://127.0.0.1:{server.server_port}/"


def loaded(root: str, folder: Path) -> None:
    """Bytes, bytes packed and requests of each kind of page, and milliseconds until something is painted."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for path in TYPES:
            page = browser.new_page(viewport={"width": 360, "height": 740})
            asked: list[str] = []
            page.on("request", lambda request, asked=asked: asked.append(request.url))
            page.goto(root + path, wait_until="load")
            files = [folder / url.removeprefix(root).partition("?")[0] for url in asked if url.startswith(root)]
            raw = [file.read_bytes() for file in files if file.is_file()]
            packed = sum(len(gzip.compress(data, 9, mtime=0)) for data in raw)
            print(
                f"{path:75} {len(asked):3} requests {sum(map(len, raw)):9,} B {packed:8,} B packed"
                f" {page.evaluate(USEFUL):6.0f} ms"
            )
            page.close()
        browser.close()


def scored(root: str, tools: Path) -> None:
    """Scores of 100 by area for each kind of page."""
    program = tools / "node_modules/.bin/lighthouse"
    if not program.exists():
        print("lighthouse (npm) is absent: no scores")
        return
    flags = "--headless=new --no-sandbox --host-resolver-rules='MAP * ~NOTFOUND , EXCLUDE 127.0.0.1'"
    for path in TYPES:
        command = [
            str(program),
            root + path,
            "--quiet",
            "--output=json",
            f"--chrome-flags={flags}",
            f"--only-categories={','.join(AREAS)}",
        ]
        chromium = shutil.which("chromium") or ""
        run = subprocess.run(command, capture_output=True, text=True, env={**os.environ, "CHROME_PATH": chromium})
        told = json.loads(run.stdout)["categories"] if run.returncode == 0 else {}
        print(f"{path:75} " + "  ".join(f"{area} {100 * told[area]['score']:.0f}" for area in AREAS if area in told))


def main(words: list[str]) -> None:
    """Build, serve, tell."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "site"
        write_folder(folder, site_of(check_base(ROOT / "content")))
        files = [file for file in folder.rglob("*") if file.is_file()]
        print(f"{len(files)} files, {sum(file.stat().st_size for file in files):,} B")
        root = served(folder)
        loaded(root, folder)
        scored(root, Path(words[0]) if words else Path(".tools"))


if __name__ == "__main__":
    main(sys.argv[1:])
