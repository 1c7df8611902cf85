"""A folder as a base: which files are read, what stands for one vehicle, what is no base at all."""

from __future__ import annotations

import os

import pytest

from kb.read.base import named, read_base, read_files
from kb.read.folder import UnknownVehicle, UnreadableBase
from kb.reference import Kind
from tests.bases import INDEX, told


def folder(tmp_path, **files: str):
    """A folder with these pages."""
    for name, text in {"index": INDEX, **files}.items():
        path = tmp_path / (name.replace("__", "/") + ".md")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return tmp_path


def test_all_pages_below_a_folder_are_read(tmp_path):
    folder(tmp_path, a="# Test: A\n", sub__b="# Test: B\n", sub__deep__c="# Test: C\n")
    (tmp_path / "picture.png").write_bytes(b"\x89PNG")
    read = read_base(tmp_path)
    assert list(read.pages) == ["a.md", "index.md", "sub/b.md", "sub/deep/c.md"]
    assert read.files == {"a.md", "index.md", "sub/b.md", "sub/deep/c.md", "picture.png"}


def test_a_folder_and_the_same_files_in_memory_are_the_same_base(tmp_path):
    folder(tmp_path, a="# Test: A\n- After: [B]\n", sub__b="# Test: B\n")
    files = {p.relative_to(tmp_path).as_posix(): p.read_bytes() for p in tmp_path.rglob("*.md")}
    assert read_base(tmp_path) == read_files(files)


def test_the_order_of_files_changes_nothing():
    files = {"index.md": INDEX.encode(), "b.md": b"# Test: X\n", "a.md": b"# Test: X\n\n[X] [Y]\n"}
    assert read_files(files) == read_files(dict(reversed(files.items())))


@pytest.mark.parametrize("hidden", [".git/a.md", ".hidden.md", ".venv/lib/b.md"])
def test_hidden_files_and_folders_are_left_out(tmp_path, hidden):
    folder(tmp_path)
    path = tmp_path / hidden
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("# Test: Hidden\n")
    assert list(read_base(tmp_path).pages) == ["index.md"]


def test_a_site_written_into_the_base_is_left_out(tmp_path):
    folder(tmp_path, published__a="# Test: A\n")
    (tmp_path / "published/.backprobe-site").write_text("")
    assert list(read_base(tmp_path).pages) == ["index.md"]


@pytest.mark.parametrize("files", [{}, {"a.md": b""}, {"sub/index.md": b""}])
def test_without_a_front_page_there_is_no_base(files, tmp_path):
    for name, data in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(data)
    with pytest.raises(UnreadableBase, match=r"index\.md"):
        read_base(tmp_path)
    with pytest.raises(UnreadableBase, match=r"index\.md"):
        read_files(files)


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(UnreadableBase, match="no folder"):
        read_base(tmp_path / "gone")
    (tmp_path / "file").write_text("")
    with pytest.raises(UnreadableBase):
        read_base(tmp_path / "file")


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="this system has no symbolic links")
def test_a_page_that_can_not_be_read_is_told(tmp_path):
    folder(tmp_path, a="# Test: A\n")
    (tmp_path / "b.md").symlink_to(tmp_path / "nowhere")
    read = read_base(tmp_path)
    assert told(read) == [("unreadable-page", 1, "")]
    assert "a.md#test-a" in read.nodes


def test_pages_have_names_in_any_case_and_script(tmp_path):
    folder(tmp_path, **{"Über uns": "# Test: A\n"})
    (tmp_path / "LOUD.MD").write_text("# Test: B\n")
    assert {"Über uns.md", "LOUD.MD", "index.md"} == set(read_base(tmp_path).pages)


VEHICLES = {
    "index.md": INDEX + "- History: h.csv\n",
    "v.md": """# Vehicle: V
- Circuits: [Shared circuit]

## Circuit: Own circuit

# Vehicle: W

## Circuit: Circuit of W

# Circuit: Shared circuit

# Circuit: Loose circuit
""",
    "p.md": """# Symptom: S
- Causes: [A]; [B]; [C]

# Cause: A
- Only on: [V]

# Cause: B
- Only on: [W]

# Cause: C
- Only on: [V]; [W]

## Test: Inside A
""",
    "h.csv": "date,vehicle,symptom,cause,minutes\n2024-01-01,V,S,A,5\n2024-01-02,W,S,B,6\n2024-01-03,Other,S,C,7\n",
}


def limited(vehicle: str | None):
    return read_files({name: text.encode() for name, text in VEHICLES.items()}, vehicle)


@pytest.mark.parametrize("name", ["V", "v", " V "])
def test_a_base_for_one_vehicle(name):
    read = limited(name)
    assert [n.name for n in read.of_kind(Kind.CAUSE)] == ["A", "C"]
    assert [read.nodes[c].name for c in read.circuits] == ["Own circuit", "Shared circuit"]
    assert [job.line for job in read.jobs] == [2]
    assert [n.name for n in read.all(read.nodes["p.md#symptom-s"].refs("Causes"))] == ["A", "C"]
    assert read.vehicle == "v.md#vehicle-v"


def test_only_on_is_not_inherited_by_nesting():
    assert "p.md#test-inside-a" in limited("W").nodes


def test_without_a_vehicle_all_counts():
    read = limited(None)
    assert (len(read.of_kind(Kind.CAUSE)), len(read.circuits), len(read.jobs)) == (3, 4, 3)


def test_an_unknown_vehicle():
    with pytest.raises(UnknownVehicle, match="no vehicle 'Vx'; did you mean 'V'"):
        limited("Vx")


def test_a_node_by_kind_and_name():
    read = limited(None)
    assert named(read, Kind.CAUSE, " a ").id == "p.md#cause-a"
    assert named(read, Kind.TEST, "a") is None
