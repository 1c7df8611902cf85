"""The site while it is written: served on loopback from memory, built anew when a file changes."""

from __future__ import annotations

import json
import mimetypes
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import parse_qs, unquote, urlsplit

from watchfiles import watch

from kb.assets import templates_dir
from kb.build import Reader, checked, site_of
from kb.read.folder import UnknownVehicle, UnreadableBase
from kb.report import as_text
from kb.site.offline import names, unkept

HOST = "127.0.0.1"
SCRIPT = "view.js"
_PATIENCE = 20.0
_NAMES = ("localhost", HOST, "[::1]")
_TYPES = {".js": "text/javascript", ".woff2": "font/woff2", ".svg": "image/svg+xml", ".md": "text/plain"}


@dataclass(frozen=True, slots=True)
class Edition:
    """One build: its number, its files, and what the check said."""

    version: int
    files: Mapping[str, bytes]
    report: str


class Desk:
    """Holds the newest edition and builds the next; readers may wait for it."""

    def __init__(self, folder: Path, vehicle: str | None) -> None:
        self.reader, self.vehicle = Reader(folder), vehicle
        self.edition = Edition(0, {}, "")
        self.changed = threading.Condition()

    def build(self) -> str:
        """Build the base as it stands now; what the check says. A base that can't be read keeps the old site.

        Raises UnreadableBase and UnknownVehicle where there is no old site yet.
        """
        try:
            found = checked(self.reader.folder, self.reader.read(self.vehicle), self.reader.hunts)
            files = dict(site_of(found, scripts=(SCRIPT,), keep=False))
            files[names(found.base).worker] = unkept()
            self.reader.hunts = found.hunts.used()
        except (UnreadableBase, UnknownVehicle, OSError) as error:
            if not self.edition.files:
                raise
            return f"the site shown is the last one that could be built: {error}"
        files[f"static/{SCRIPT}"] = (templates_dir() / "view" / SCRIPT).read_bytes()
        report = as_text(found.base, found.diagnostics)
        with self.changed:
            self.edition = Edition(self.edition.version + 1, files, report)
            self.changed.notify_all()
        return report

    def wait(self, version: int, seconds: float = _PATIENCE) -> int:
        """The newest edition's number, at once if it isn't `version`, else when it changes or time is up."""
        with self.changed:
            self.changed.wait_for(lambda: self.edition.version != version, seconds)
            return self.edition.version

    def keep_building(self, stop: threading.Event, tell: Callable[[str], None]) -> None:
        """Build again on each change below the folder until `stop` is set."""
        for _ in watch(self.reader.folder, stop_event=stop, debounce=200, raise_interrupt=False):
            tell(self.build())


class Handler(BaseHTTPRequestHandler):
    """Answers GET and HEAD from the newest edition, and only to this machine's own names."""

    server_version = "backprobe"
    sys_version = ""
    protocol_version = "HTTP/1.1"

    def __init__(self, desk: Desk, *arguments: object) -> None:
        self.desk = desk
        super().__init__(*arguments)  # type: ignore[arg-type]

    def do_GET(self) -> None:
        """A file of the site, or the number of the newest build."""
        if not self._known_host():
            self._send(HTTPStatus.MISDIRECTED_REQUEST, b"not served under this name\n", "text/plain")
            return
        parts = urlsplit(self.path)
        if parts.path == "/-/version":
            self._version(parts.query)
        else:
            self._file(unquote(parts.path).lstrip("/"))

    do_HEAD = do_GET

    def _known_host(self) -> bool:
        """False for another host's name: a page elsewhere could point it at this machine."""
        host = self.headers.get("Host", "")
        name, port = (host.rpartition(":")[::2]) if not host.endswith("]") and ":" in host else (host, "")
        return name.lower() in _NAMES and port in ("", str(self.server.server_address[1]))

    def _version(self, query: str) -> None:
        after = parse_qs(query).get("after", ["-1"])[0]
        version = self.desk.wait(int(after)) if after.isdecimal() and len(after) < 10 else self.desk.edition.version
        self._send(HTTPStatus.OK, json.dumps({"version": version}).encode(), "application/json")

    def _file(self, path: str) -> None:
        name = f"{path}index.html" if not path or path.endswith("/") else path
        data = self.desk.edition.files.get(name)
        if data is None:
            self._send(HTTPStatus.NOT_FOUND, b"the site has no such page\n", "text/plain")
            return
        kind = _TYPES.get(Path(name).suffix) or mimetypes.guess_type(name)[0] or "application/octet-stream"
        self._send(HTTPStatus.OK, data, kind)

    def _send(self, status: HTTPStatus, data: bytes, kind: str) -> None:
        charset = "; charset=utf-8" if kind.startswith(("text/", "application/json")) else ""
        self.send_response(status)
        self.send_header("Content-Type", kind + charset)
        self.send_header("Content-Length", str(len(data)))
        self.send_header("Cache-Control", "no-store")
        self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(data)

    def log_message(self, format: str, *args: object) -> None:
        """Requests aren't told: the terminal is for problems."""


class Server(ThreadingHTTPServer):
    """Serves on loopback; waiting readers don't keep it from closing."""

    daemon_threads = True


def make_server(desk: Desk, port: int) -> Server:
    """A server on loopback; port 0 takes any free one. Raises OSError where the port is taken."""
    return Server((HOST, port), partial(Handler, desk))


def serve(folder: Path, vehicle: str | None, port: int, tell: Callable[[str], None]) -> None:
    """Build, then serve and build again on changes until interrupted."""
    desk = Desk(folder, vehicle)
    report = desk.build()
    server = make_server(desk, port)
    tell(f"{report}\nhttp://{HOST}:{server.server_address[1]}/  (Ctrl+C ends it)")
    stop = threading.Event()
    watcher = threading.Thread(target=desk.keep_building, args=(stop, tell), daemon=True)
    watcher.start()
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        tell("ended")
    finally:
        stop.set()
        server.server_close()
