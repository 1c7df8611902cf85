"""`find` answers from an index that was kept, while pages and program are the same; it says which."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from kb import cli
from kb.read import base
from kb.read.folder import UnknownVehicle
from kb.search import kept
from kb.search.query import find
from kb.search.ready import indexed

QUESTIONS = ["wont start", "strainre", '"no water"', "bobber", "J2.float", "pump lamp fuse", "the of", "مرآة"]


@pytest.fixture
def folder(pump_pages, tmp_path, monkeypatch) -> Path:
    """The pump's pages on the disk, and an empty cache."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    for name, text in pump_pages.items():
        (tmp_path / "base" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "base" / name).write_text(text, encoding="utf-8")
    return tmp_path / "base"


def test_an_index_that_was_kept_answers_as_one_that_is_new(folder, pump):
    assert not indexed(folder)[1]
    index, was_kept = indexed(folder)
    assert was_kept and index.rows == pump.rows
    for words in QUESTIONS:
        assert find(index, words) == find(pump, words)
        assert find(index, words, "cause", 3, True) == find(pump, words, "cause", 3, True)


def test_nothing_is_read_again_where_the_index_was_kept(folder, monkeypatch):
    indexed(folder)
    monkeypatch.setattr(base, "page_of", None)
    assert indexed(folder)[1]
    (folder / "index.md").write_text("# Other\n", encoding="utf-8")
    with pytest.raises(TypeError):
        indexed(folder)


@pytest.mark.parametrize("change", ["a page changed", "a page is new", "a page is gone", "the program changed"])
def test_what_changed_is_built_anew(folder, monkeypatch, change):
    indexed(folder)
    if change == "a page changed":
        (folder / "shared.md").write_text("# Tool: Ladder\n")
    elif change == "a page is new":
        (folder / "new.md").write_text("# Tool: Ladder\n")
    elif change == "a page is gone":
        (folder / "shared.md").unlink()
    else:
        monkeypatch.setattr(kept, "_program", lambda: "another")
    index, was_kept = indexed(folder)
    assert not was_kept and indexed(folder)[1]
    assert bool(find(index, "ladder")) == (change in ("a page changed", "a page is new"))


def test_vehicles_have_indexes_of_their_own(folder):
    whole, limited = indexed(folder)[0], indexed(folder, "Ostrel Weir")
    assert not limited[1] and indexed(folder, "Ostrel Weir")[1] and indexed(folder)[1]
    assert whole.rows
    with pytest.raises(UnknownVehicle):
        indexed(folder, "Nobody's")


@pytest.mark.parametrize("harm", ["cut", "empty", "gone", "nonsense"])
def test_a_kept_index_that_is_broken_is_built_anew(folder, harm):
    indexed(folder)
    (place,) = (folder.parent / "cache" / "backprobe").iterdir()
    for file in place.iterdir():
        if file.name == "stamp":
            continue
        if harm == "gone":
            file.unlink()
        else:
            data = file.read_bytes()
            file.write_bytes({"cut": data[: len(data) // 2], "empty": b"", "nonsense": b"{]" * 40}[harm])
    index, was_kept = indexed(folder)
    assert not was_kept and find(index, "wont start")


def test_a_cache_that_cannot_be_written_does_no_harm(folder, monkeypatch):
    (folder.parent / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder.parent / "file"))
    assert [indexed(folder)[1] for _ in range(2)] == [False, False]


def test_find_says_where_its_answer_is_from(folder, capsys):
    told = []
    for _ in range(2):
        assert cli.run(("find", "--base", str(folder), "--format", "json", "strainre")) == 0
        told.append(capsys.readouterr())
    assert told[0].out == told[1].out and json.loads(told[0].out)["hits"][0]["name"] == "Strainer blocked"
    assert set(json.loads(told[0].out)) == {"query", "hits"}
    assert "index built" in told[0].err and "kept of these pages" in told[1].err
    assert cli.run(("find", "--base", str(folder), "strainre")) == 0
    assert capsys.readouterr().out.startswith("Searched for `strainer` instead of `strainre`.\nCause ")
    assert cli.run(("find", "--base", str(folder), "strainer", "F14")) == 0
    assert capsys.readouterr().out.startswith("Nothing here has `f14`.\nCause ")


def test_another_folder_has_another_index(folder):
    indexed(folder)
    shutil.copytree(folder, folder.parent / "copy")
    assert not indexed(folder.parent / "copy")[1]


def test_neither_parser_nor_graph_is_loaded_to_answer_from_a_kept_index(folder, tmp_path):
    """They would take a third of the time of an answer."""
    script = """
import sys
from kb.cli import main
try:
    main(["find", "--base", sys.argv[1], "pump"])
finally:
    print(sorted({"markdown_it", "networkx", "kb.graph", "kb.read.page"} & sys.modules.keys()))
"""
    environment = {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "cache"), "PYTHONPATH": os.pathsep.join(sys.path)}
    command = [sys.executable, "-c", script, str(folder)]
    loaded = [
        subprocess.run(command, env=environment, capture_output=True, text=True).stdout.splitlines()[-1] for _ in "12"
    ]
    assert loaded == ["['kb.graph', 'kb.read.page', 'markdown_it', 'networkx']", "[]"]
