"""Style sheets as they are shipped: one file for every page, in which paper keeps to itself."""

from __future__ import annotations

from kb.assets import templates_dir
from kb.site.styles import JOINED, shipped_styles
from tests.site.pump import Doc


def test_a_page_asks_for_one_style_sheet_that_holds_those_for_screen_and_paper(site):
    sources = {path.name: path.read_text("utf-8") for path in (templates_dir() / "static").glob("*.css")}
    sent = {name: data.decode() for name, data in shipped_styles((templates_dir() / "static").glob("*.css"))}
    parts = [name for name, _ in JOINED["site.css"]]
    assert set(sources) - set(parts) == set(sent) - {"site.css"}
    screen, _, paper = sent["site.css"].partition("@media print{\n" + sources["print.css"][:6])
    assert screen == sources["search.css"] + sources["site.css"]
    assert paper == sources["print.css"][6:] + "}\n"
    for page in ("index.html", "search.html"):
        assert [link.get("href") for link in Doc(site, page).all("link") if link.get("rel") == "stylesheet"] == [
            "static/site.css"
        ]


def test_what_is_for_paper_stays_on_paper(root, tab):
    tab.goto((root / "search.html").as_uri())
    heads = "getComputedStyle(document.querySelector('.rail.top')).display"
    assert tab.evaluate(heads) != "none"
    tab.emulate_media(media="print")
    assert tab.evaluate(heads) == "none"
    assert tab.pdf(prefer_css_page_size=True).startswith(b"%PDF")
