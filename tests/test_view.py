"""The site while it is written: served on loopback, built anew on change, to no other host's name."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb.read.folder import UnreadableBase
from kb.view import HOST, Desk, Server, make_server

INDEX = "# A base\n\n- Statement: Follow the maker's instructions.\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "index.md").write_text(INDEX)
    (tmp_path / "page.md").write_text("# Term: Feed\n\nThe first words.\n")
    return tmp_path


@pytest.fixture
def desk(folder: Path) -> Desk:
    desk = Desk(folder, None)
    desk.build()
    return desk


@pytest.fixture
def server(desk: Desk) -> Iterator[Server]:
    server = make_server(desk, 0)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join()


def ask(server: Server, path: str, host: str | None = None, method: str = "GET") -> tuple[int, bytes]:
    port = server.server_address[1]
    line = http.client.HTTPConnection(HOST, port, timeout=10)
    line.request(method, path, headers={"Host": host if host is not None else f"localhost:{port}"})
    answer = line.getresponse()
    body = answer.read()
    line.close()
    return answer.status, body


def test_pages_are_served_on_loopback_only(server: Server) -> None:
    assert server.server_address[0] == "127.0.0.1"
    assert ask(server, "/")[0] == 200
    assert b"The first words." in ask(server, "/page.html")[1]
    assert ask(server, "/static/site.css")[0] == 200
    assert ask(server, "/nothing.html")[0] == 404
    assert ask(server, "/page.html", method="HEAD") == (200, b"")


@pytest.mark.parametrize("path", ["/../index.md", "/%2e%2e/index.md", "/..%2findex.md", "//etc/passwd", "/page.md"])
def test_nothing_but_the_site_is_served(server: Server, path: str) -> None:
    assert ask(server, path)[0] == 404


@pytest.mark.parametrize("host", ["evil.example", "evil.example:{port}", "127.0.0.1.evil.example", "localhost:1", "", "localhost@evil"])
def test_other_hosts_names_are_refused(server: Server, host: str) -> None:
    status, body = ask(server, "/", host.format(port=server.server_address[1]))
    assert status == 421  # RFC 9110, 15.5.20
    assert b"A base" not in body


@pytest.mark.parametrize("host", ["localhost:{port}", "127.0.0.1:{port}", "[::1]:{port}", "LOCALHOST"])
def test_this_machines_own_names_are_answered(server: Server, host: str) -> None:
    assert ask(server, "/", host.format(port=server.server_address[1]))[0] == 200


def test_a_change_is_built_and_told_to_a_waiting_page(server: Server, desk: Desk, folder: Path) -> None:
    stop = threading.Event()
    watcher = threading.Thread(target=desk.keep_building, args=(stop, lambda text: None), daemon=True)
    watcher.start()
    answers: list[bytes] = []
    waiting = threading.Thread(target=lambda: answers.append(ask(server, "/-/version?after=1")[1]))
    waiting.start()
    try:
        for attempt in range(50):
            (folder / "page.md").write_text(f"# Term: Feed\n\nOther words {attempt}.\n")
            waiting.join(0.3)
            if answers:
                break
    finally:
        stop.set()
        watcher.join(10)
    assert json.loads(answers[0])["version"] > 1
    assert b"Other words" in ask(server, "/page.html")[1]


def test_problems_are_shown_on_the_page(desk: Desk, folder: Path) -> None:
    (folder / "page.md").write_text("# Term: Feed\n\nSee [Nobody].\n")
    assert "unknown-name" in desk.build()
    page = desk.edition.files["page.html"].decode()
    assert "no node is called" in page
    assert "view.js" in page


def test_a_base_that_cant_be_read_keeps_the_last_site(desk: Desk, folder: Path) -> None:
    (folder / "index.md").unlink()
    assert "the last one that could be built" in desk.build()
    assert b"The first words." in desk.edition.files["page.html"]


def test_without_a_base_there_is_nothing_to_serve(tmp_path: Path) -> None:
    with pytest.raises(UnreadableBase):
        Desk(tmp_path, None).build()


def test_a_page_that_did_not_change_is_not_read_again(desk: Desk, folder: Path) -> None:
    before = dict(desk.reader.kept)
    (folder / "page.md").write_text("# Term: Feed\n\nOther.\n")
    desk.build()
    kept = [key for key, page in desk.reader.kept.items() if before.get(key) is page]
    assert [path for path, _ in kept] == ["index.md"]


def test_waiting_ends_by_itself(desk: Desk) -> None:
    begun = time.monotonic()
    assert desk.wait(desk.edition.version, seconds=0.05) == desk.edition.version
    assert time.monotonic() - begun < 5
