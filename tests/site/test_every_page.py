"""What holds for every page: it parses, leads somewhere, carries the statement, runs nothing inline."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests.site.pump import PUMP, Doc, built, resolve, text, with_page

ROOT = Path(__file__).parent.parent.parent
STATEMENT = "The maker's instructions come first. Work on mains is for people licensed for it."


def test_the_pages_of_the_site(site):
    pages = {path for path in site if path.endswith(".html") and not path.endswith(".sheet.html")}  # see test_paper.py
    assert pages == {
        "index.html", "search.html", "vehicles.html", "by-tool.html", "by-part.html", "lessons.html",
        "hazards.html", "base-state.html", "rules.html", "shop.html", "functions/pumping.html", "shared.html",
        "vehicles/weir.html", "lessons/all.html", "functions/pumping.symptom-pump-does-not-start.html",
        "functions/pumping.symptom-pump-runs-dry.html", "functions/pumping.symptom-dead-pump.html",
    }  # fmt: skip


def test_every_page_has_one_title_one_main_and_the_statement(docs):
    for doc in docs.values():
        assert text(doc.one("p", "statement", doc.one("footer"))) == STATEMENT, doc.path
        assert text(doc.one("title", within=doc.one("head")))
        assert doc.one("main").get("id") == "work"
        assert doc.all("h1"), doc.path


def test_the_statement_comes_from_the_base():
    files = {"index.md": "# A\n\n- Statement: Only **trained** people <may> do this.\n", "page.md": "# P\n"}
    doc = Doc(built(files), "page.html")
    assert text(doc.one("p", "statement")) == "Only trained people <may> do this."


def test_every_link_and_anchor_leads_somewhere(site, docs):
    checked = 0
    for doc in docs.values():
        for _element, link in doc.links():
            if link.startswith("https:"):
                continue
            assert not link.startswith("/") and "://" not in link, (doc.path, link)
            target, anchor = resolve(doc.path, link)
            assert target in site, (doc.path, link)
            if anchor:
                assert anchor in docs[target].ids(), (doc.path, link)
            checked += 1
    assert checked > 300


def test_ids_are_given_once(docs):
    for doc in docs.values():
        assert [name for name, count in Counter(doc.ids()).items() if count > 1] == [], doc.path


def test_nothing_runs_or_looks_inline(docs):
    for doc in docs.values():
        assert not doc.all("style"), doc.path
        for script in doc.all("script"):
            if script.get("type") in ("application/json", "application/ld+json"):  # data, which no browser runs
                assert json.loads("".join(script.itertext())) and script.get("src") is None
                continue
            assert script.get("src") and not text(script) and script.get("defer") is not None
            assert script.get("type") is None
        for element in doc.root.iter():
            names = {str(name).lower() for name in element.attrib}
            assert not [name for name in names if name == "style" or name.startswith("on")], doc.path


def test_the_policy_forbids_all_but_the_sites_own_files(docs):
    for doc in docs.values():
        (policy,) = [
            m.get("content") for m in doc.all("meta") if m.get("http-equiv") == "Content-Security-Policy"
        ]
        rules = dict(part.strip().split(" ", 1) for part in policy.split(";"))
        assert rules["default-src"] == "'none'"
        assert (
            rules["script-src"] == rules["style-src"] == rules["connect-src"] == rules["font-src"] == "'self'"
        )
        assert "unsafe" not in policy


def test_data_root_leads_to_the_root(docs):
    for doc in docs.values():
        assert doc.one("html").get("data-root") == "../" * doc.path.count("/")


def test_the_language_is_the_bases():
    files = {"index.md": "# A\n\n- Statement: S.\n- Language: de\n"}
    assert Doc(built(files), "index.html").one("html").get("lang") == "de"


def test_fonts_come_with_their_licences(site):
    fonts = {path for path in site if path.endswith(".woff2")}
    assert fonts == {f"static/fonts/{name}.woff2" for name in ("b612-400", "b612-700", "tape")}
    for name in ("b612", "tape"):
        assert b"SIL OPEN FONT LICENSE" in site[f"static/fonts/{name}-LICENSE.txt"]


def test_the_renamed_font_does_not_carry_the_reserved_name(site):
    """OFL-1.1, condition 3: a modified version may not use a reserved font name."""
    fonttools = pytest.importorskip("fontTools.ttLib", reason="fonttools is absent")
    font = fonttools.TTFont(ROOT / "templates/static/fonts/tape.woff2")
    names = {str(record) for record in font["name"].names if record.nameID in (1, 4, 6)}
    assert names == {"Backprobe Tape", "BackprobeTape"}


def test_only_linked_files_are_copied(site):
    assert site["pictures/box.svg"] == b"<svg/>"
    assert site["pictures/lid.png"] == b"lid"
    assert "pictures/unused.png" not in site
    assert "jobs.csv" not in site


SCRIPT = """
import hashlib
from tests.site.pump import PUMP, built
sums = hashlib.sha256()
for path, data in sorted(built(PUMP).items()):
    sums.update(path.encode() + b"\\0" + data)
print(sums.hexdigest())
"""


def test_two_builds_are_byte_identical():
    """Also where Python orders its sets otherwise."""
    sums = {
        subprocess.run(
            [sys.executable, "-c", SCRIPT],
            cwd=ROOT,
            env={"PYTHONHASHSEED": seed, "PATH": ""},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(sums) == 1


def test_a_page_that_stands_where_a_way_in_would_keeps_its_place():
    site = built(with_page(search="# My search\n\nWords of the base.\n"))
    assert text(Doc(site, "search.html").one("h1")) == "My search"
    assert Doc(site, "index.html").one("form").get("action") == "search-2.html"
    assert Doc(site, "search-2.html").one("form").get("action") == "search-2.html"


def test_names_of_pages_may_hold_anything():
    site = built({**PUMP, "odd #1/ä ?.md": "# Tool: Odd one\n\nSee [Pumping].\n"})
    doc = Doc(site, "odd #1/ä ?.html")
    for _, link in doc.links():
        assert resolve(doc.path, link)[0] in site, link
    tools = Doc(site, "by-tool.html")
    (href,) = [a.get("href") for a in tools.all("a") if text(a) == "Odd one"]
    assert href == "odd%20%231/%C3%A4%20%3F.html#tool-odd-one"
