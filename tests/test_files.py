"""A folder is written beside and swapped: what fails or is killed leaves the old one whole."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb import files
from kb.files import MARK, NotOurs, write_folder


def content(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_files_stand_in_their_folders(tmp_path: Path) -> None:
    out = tmp_path / "site"
    assert write_folder(out, [("index.html", b"a"), ("deep/er/page.html", b"b")]) == 2
    assert content(out) == {MARK: b"", "index.html": b"a", "deep/er/page.html": b"b"}


def test_a_second_writing_replaces_all_of_the_first(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write_folder(out, [("old.html", b"old")])
    write_folder(out, [("new.html", b"new")])
    assert content(out) == {MARK: b"", "new.html": b"new"}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


def test_a_failing_build_leaves_the_old_site(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write_folder(out, [("index.html", b"old")])

    def failing() -> Iterator[tuple[str, bytes]]:
        yield "index.html", b"new"
        raise RuntimeError("in the middle")

    with pytest.raises(RuntimeError):
        write_folder(out, failing())
    assert content(out) == {MARK: b"", "index.html": b"old"}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


def test_a_killed_build_leaves_the_old_site_and_the_next_build_works(tmp_path: Path) -> None:
    out = tmp_path / "site"
    write_folder(out, [("index.html", b"old")])
    script = textwrap.dedent(
        """
        import sys, time
        from pathlib import Path
        from kb.files import write_folder
        def slow():
            yield "index.html", b"new"
            print("halfway", flush=True)
            time.sleep(60)
            yield "other.html", b"new"
        write_folder(Path(sys.argv[1]), slow())
        """
    )
    root = Path(__file__).parent.parent
    with subprocess.Popen(
        [sys.executable, "-c", script, str(out)], cwd=root, stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(root)}
    ) as build:
        assert build.stdout and build.stdout.readline() == b"halfway\n"
        build.send_signal(signal.SIGKILL)
    assert content(out) == {MARK: b"", "index.html": b"old"}
    write_folder(out, [("index.html", b"newest")])
    assert content(out) == {MARK: b"", "index.html": b"newest"}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]


def test_a_folder_of_other_files_is_not_touched(tmp_path: Path) -> None:
    out = tmp_path / "photos"
    out.mkdir()
    (out / "holiday.jpg").write_bytes(b"dear")
    with pytest.raises(NotOurs):
        write_folder(out, [("index.html", b"a")])
    assert content(out) == {"holiday.jpg": b"dear"}


def test_an_empty_folder_may_be_used(tmp_path: Path) -> None:
    (tmp_path / "site").mkdir()
    write_folder(tmp_path / "site", [("index.html", b"a")])
    assert (tmp_path / "site" / "index.html").read_bytes() == b"a"


def test_without_an_exchange_of_names_two_moves_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "_exchange", lambda a, b: False)
    out = tmp_path / "site"
    write_folder(out, [("old.html", b"old")])
    write_folder(out, [("new.html", b"new")])
    assert content(out) == {MARK: b"", "new.html": b"new"}
    assert [p.name for p in tmp_path.iterdir()] == ["site"]
