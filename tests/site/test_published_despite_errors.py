"""A base published despite errors: each faulty place is marked, and the state lists them."""

from __future__ import annotations

from kb.diagnostic import Diagnostic, Problem, Severity
from tests.site.pump import PUMP, SYMPTOM, Doc, built, text


def wrong(path: str, line: int, message: str, severity: Severity = Severity.ERROR):
    """Diagnostics with one problem on a line."""

    def found(base):
        source = base.pages[path].source
        return (Diagnostic(severity, Problem("odd-rule", source.line_span(line), message, "mend it")),)

    return found


def line_of(path: str, words: str) -> int:
    """The line of the only line that begins with some words."""
    lines = str(PUMP[path]).split("\n")
    (number,) = [i for i, line in enumerate(lines, 1) if line.startswith(words)]
    return number


def marked(path: str, words: str, page: str) -> Doc:
    """A page of the site with an error at these words."""
    return Doc(built(PUMP, wrong(path, line_of(path, words), "this is <odd>")), page)


PLACES = [
    ("## Cause: Motor open", "h2", "Motor open"),
    ("- Works only when", "dd", "The float is up."),
    ("Water goes round.", "p", "Water goes round."),
    ("| It hums |", "li", "It hums"),
    ("3. Switch off.", "li", "3Switch off."),
    ("> **NOTICE: loud pump", "div", "NOTICE"),
]


def test_each_place_is_marked_where_it_stands():
    for words, tag, near in PLACES:
        doc = marked("functions/pumping.md", words, "functions/pumping.html")
        (fault,) = doc.all("span", "fault")
        assert "error this is <odd>: mend it functions/pumping.md:" in text(fault)
        before = [e for e in doc.all(tag) if near in text(e) and doc.order[e] < doc.order[fault]]
        assert before, words
        following = list(doc.root.iter())[doc.order[before[-1]] :]
        assert following.index(fault) < 40, words


def test_an_error_on_any_line_of_any_page_is_marked_on_its_page_once():
    def found(base):
        return tuple(
            Diagnostic(Severity.ERROR, Problem("odd-rule", page.source.line_span(line), "odd"))
            for page in base.pages.values()
            for line in range(1, len(page.source.lines) + 1)
        )

    site = built(PUMP, found)
    for path in (path for path in PUMP if path.endswith(".md")):
        doc = Doc(site, path.removesuffix(".md") + ".html")
        places = [text(at) for at in doc.all("span", "at") if text(at).startswith(path)]
        count = len(str(PUMP[path]).split("\n"))
        assert sorted(places) == sorted(f"{path}:{line}" for line in range(1, count + 1))


def test_the_symptoms_own_page_is_marked_too():
    doc = marked("functions/pumping.md", "3. Switch off.", SYMPTOM)
    (fault,) = doc.all("span", "fault")
    assert "Switch off." in text(doc.around(fault, "li"))


def test_every_page_says_that_it_was_published_despite_errors():
    site = built(PUMP, wrong("functions/pumping.md", 1, "odd"))
    for path in (p for p in site if p.endswith(".html")):
        assert "Published despite 1 error" in text(Doc(site, path).one("p", "despite")), path
    assert ", 1 on this page" in text(Doc(site, "functions/pumping.html").one("p", "despite"))
    assert "on this page" not in text(Doc(site, "shared.html").one("p", "despite"))


def test_the_state_lists_the_error_with_its_place_and_rule():
    line = line_of("functions/pumping.md", "3. Switch off.")
    site = built(PUMP, wrong("functions/pumping.md", line, "this is <odd>"))
    doc = Doc(site, "base-state.html")
    (item,) = doc.all("li", within=doc.one("ol", "todo"))
    assert text(item) == f"error functions/pumping.md:{line} odd-rule this is <odd>mend it"
    place = doc.all("a", within=item)[0]
    assert place.get("href") == "functions/pumping.html#test-listen-at-the-pump"
    assert text(doc.one("p", "headline")).startswith("1 error, no warnings, no notes.")


def test_warnings_are_listed_and_mark_nothing():
    site = built(PUMP, wrong("functions/pumping.md", 1, "odd", Severity.WARNING))
    doc = Doc(site, "functions/pumping.html")
    assert not doc.all("span", "fault") and not doc.all("p", "despite")
    assert len(doc.all("li", within=Doc(site, "base-state.html").one("ol", "todo"))) == 1


def test_an_error_in_a_file_that_is_no_page_is_listed():
    def found(base):
        source = base.sources["jobs.csv"]
        return (Diagnostic(Severity.ERROR, Problem("odd-rule", source.line_span(2), "odd row")),)

    doc = Doc(built(PUMP, found), "base-state.html")
    (item,) = doc.all("li", within=doc.one("ol", "todo"))
    assert "jobs.csv:2" in text(item)
    assert doc.all("a", within=item)[0].get("href") == "index.html"


def test_a_whole_site_can_be_built_from_a_broken_base():
    files = {
        "index.md": "# A\n\n- Statement: S.\n\n[Nothing]\n",
        "page.md": "# Symptom: S\n\n- Causes: [None]; [C]\n- Order: [Gone]\n\n# Cause: C\n\n# Test: T\n\n"
        "> **WARNING** [No hazard]\n\n1. x `J9.a`\n\n| Finding | Clears | Next |\n|---|---|---|\n| a | [None] | [Gone] |\n| b | [C] |\n",
    }
    site = built(files)
    doc = Doc(site, "page.symptom-s.html")
    assert len(doc.all("span", "fault")) >= 3
    assert "No hazard (names nothing)" in text(doc.one("div", "safety"))
