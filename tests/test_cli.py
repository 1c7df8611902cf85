"""The commands as a shell sees them: what they print, where, and how they end."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from kb import cli
from kb.assets import demo_dir, start_dir
from kb.files import MARK
from kb.reference import HEADING_KINDS

INDEX = "# A base\n\n- Statement: Follow the maker's instructions.\n"
BROKEN = INDEX + "\nSee [Nobody].\n"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def write(folder: Path, **pages: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in pages.items():
        (folder / f"{name}.md").write_text(text, encoding="utf-8")
    return folder


class Ran:
    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]):
    def go(*words: str) -> Ran:
        code = cli.run(words)
        return Ran(code, *capsys.readouterr())

    return go


def test_start_writes_a_base_that_checks_clean(here, run) -> None:
    assert run("start", "mine").code == 0
    checked = run("check", "--base", "mine", "--warnings-fail")
    assert checked.code == 0
    assert checked.out.endswith("nothing to mend.\n")
    text = "".join(p.read_text() for p in (here / "mine").glob("*.md"))
    missing = [kind for kind in HEADING_KINDS if not re.search(rf"^#+ {kind.value}: ", text, re.MULTILINE)]
    assert missing == []


def test_start_leaves_what_is_there(here, run) -> None:
    write(here / "mine", index=INDEX)
    ran = run("start", "mine")
    assert ran.code == 2
    assert ran.err == "backprobe: 'mine' exists and isn't an empty folder; name a new one\n"
    assert (here / "mine" / "index.md").read_text() == INDEX


def test_start_can_write_the_demonstration(here, run) -> None:
    assert run("start", "demo", "--demo").code == 0
    assert {p.name for p in (here / "demo").iterdir()} == {p.name for p in demo_dir().iterdir()}


def test_the_base_is_this_folder_or_content_in_it(here, run) -> None:
    none = run("check")
    assert (none.code, none.out) == (2, "")
    assert none.err.startswith("backprobe: no index.md")
    assert none.err.count("\n") == 1
    write(here / "content", index=INDEX, other="# Term: Feed\n")
    assert run("check").out.startswith("2 pages")
    write(here, index=INDEX)
    assert "\n3 pages" in run("check").out


@pytest.mark.parametrize(
    "words",
    [
        ("check", "--base", "nowhere"),
        ("check", "--base", "empty"),
        ("check", "--base", "base", "--vehicle", "Nobody"),
        ("check", "--base", "base", "--format", "prose"),
        ("check", "--bse", "base"),
        ("chekc",),
        ("why", "no-such-rule"),
        ("find", "--base", "base"),
        ("find", "--base", "base", "--kind", "sympton", "x"),
        ("find", "--base", "base", "--most", "0", "x"),
    ],
)
def test_what_cant_be_done_ends_with_one_line_and_2(here, run, words) -> None:
    (here / "empty").mkdir()
    write(here / "base", index=INDEX)
    ran = run(*words)
    assert ran.code == 2
    assert ran.out == ""
    assert ran.err.startswith("backprobe: ")
    assert ran.err.count("\n") == 1


def test_check_ends_with_1_on_errors_and_on_warnings_only_when_asked(here, run) -> None:
    write(here, index=BROKEN)
    assert run("check").code == 1
    write(here, index=INDEX, page="# Access: Trim off\n- Takes: 5 min\n\n1. Pull.\n")  # unreached: a warning
    assert run("check").code == 0
    assert run("check", "--warnings-fail").code == 1


@pytest.mark.parametrize("form", ["json", "sarif"])
def test_forms_for_programs_print_one_object_and_nothing_else(here, run, form) -> None:
    write(here, index=BROKEN)
    ran = run("check", "--format", form)
    assert ran.code == 1
    assert isinstance(json.loads(ran.out), dict)
    assert ran.err == ""


def test_no_colour_where_there_is_no_terminal(here, run) -> None:
    write(here, index=BROKEN)
    assert "\x1b" not in run("check").out


def test_a_vehicle_takes_only_what_applies(here, run) -> None:
    pages = "# Vehicle: Marl\n\n# Vehicle: Skua\n\n# Term: Marl word\n- Only on: [Marl]\n\n# Term: Skua word\n- Only on: [Skua]\n"
    write(here, index=INDEX, page=pages)
    assert run("check").out.startswith("2 pages, 4 nodes")
    assert run("check", "--vehicle", "skua").out.startswith("2 pages, 3 nodes")
    hits = json.loads(run("find", "--format", "json", "--vehicle", "Skua", "word").out)["hits"]
    assert [h["name"] for h in hits] == ["Skua word"]
    assert run("site", "--vehicle", "Skua").code == 0


def test_site_writes_and_says_what_to_open(here, run) -> None:
    write(here / "content", index=INDEX, page="# Term: Feed\n")
    ran = run("site")
    assert ran.code == 0
    assert ran.out.endswith(f"Open {Path('published') / 'index.html'}\n")
    assert (here / "published" / "page.html").is_file()


def test_site_with_errors_keeps_the_old_one_unless_told(here, run) -> None:
    write(here / "content", index=INDEX, page="# Term: Feed\n")
    run("site")
    before = (here / "published" / "index.html").read_bytes()
    write(here / "content", index=BROKEN)
    ran = run("site")
    assert ran.code == 1
    assert "unknown-name" in ran.out
    assert (here / "published" / "index.html").read_bytes() == before
    assert run("site", "--despite-errors").code == 1
    after = (here / "published" / "index.html").read_text()
    assert "no node is called" in after


def test_site_refuses_a_folder_of_other_files(here, run) -> None:
    write(here / "content", index=INDEX)
    write(here / "notes", mine="dear\n")
    ran = run("site", "--out", "notes")
    assert ran.code == 2
    assert (here / "notes" / "mine.md").read_text() == "dear\n"


def test_a_site_within_the_base_is_not_read_as_pages(here, run) -> None:
    write(here, index=INDEX)
    assert run("site").code == 0
    assert (here / "published" / MARK).exists()
    (here / "published" / "stray.md").write_text("# Term: Stray\n")
    assert run("check").out.startswith("1 page,")


def test_sites_are_the_same_to_the_byte(here, run) -> None:
    for out in ("one", "two"):
        assert run("site", "--base", str(start_dir()), "--out", out).code == 0
    files = [{p.relative_to(o).as_posix(): p.read_bytes() for p in o.rglob("*") if p.is_file()} for o in map(Path, ("one", "two"))]
    assert files[0] == files[1]
    assert len(files[0]) > 20
    assert not any(os.fsencode(here) in data for data in files[0].values())


def test_find_gives_addresses_on_the_site(here, run) -> None:
    write(here, index=INDEX, page="# Function: Horn\n\n## Symptom: Horn silent\n- Said as: no hoot\n")
    found = json.loads(run("find", "--format", "json", "hoot").out)
    assert found["query"] == "hoot"
    assert [{k: h[k] for k in ("kind", "name", "page", "address")} for h in found["hits"]] == [
        {"kind": "Symptom", "name": "Horn silent", "page": "page.md", "address": "page.html#symptom-horn-silent"}
    ]
    assert found["hits"][0]["score"] > 0
    assert run("find", "hoot").out.startswith("Symptom   Horn silent")
    assert json.loads(run("find", "--format", "json", "--kind", "cause", "hoot").out)["hits"] == []
    nothing = run("find", "zzzz")
    assert nothing.code == 0
    assert nothing.out.startswith("Nothing found")


def test_find_works_on_a_base_with_errors(here, run) -> None:
    write(here, index=BROKEN, page="# Term: Feed\n")
    assert run("find", "feed").code == 0


def test_why_lists_all_rules_and_explains_one(run) -> None:
    listed = run("why").out
    assert len(listed.strip().split("\n")) >= 40
    told = run("why", "late-safety-message").out
    assert "late-safety-message (error)" in told
    assert "Bad:" in told
    assert "Good:" in told
