"""The front page and the other ways in: loom, tools, parts, lessons, hazards, vehicles, state, rules."""

from __future__ import annotations

from kb.checks import CATALOGUE
from tests.site.pump import PUMP, Doc, built, resolve, text, with_page


def pairs(doc: Doc, within):
    """The terms of a list with what is said of each."""
    return zip(doc.all("dt", within=within), doc.all("dd", within=within), strict=True)


def test_the_front_page_asks_and_shows_the_symptoms_in_the_customers_words(page):
    doc = page("index.html")
    assert text(doc.one("h1")) == "What does the customer say?"
    field = doc.by_id("said")
    assert (field.get("name"), doc.one("form").get("action")) == ("q", "search.html")
    (loom,) = doc.all("section", "loom")
    assert text(doc.one("h2", within=loom)) == "Pumping"
    rows = doc.all("li", within=loom)
    assert [text(doc.all("a", within=row)[0]) for row in rows] == [
        "the pump is deadPump does not start",
        "Pump runs dry",
    ]
    counts = [(count.get("data-own"), text(count)) for row in rows for count in doc.all("span", "count", row)]
    assert counts == [
        (None, "3 causes about 25 min until fixed"),  # tests/isolation hold plans
        ("vehicles/weir.html#vehicle-ostrel-weir", "3 causes about 30 min until fixed"),  # listening takes longer on it
        (None, "1 cause about 10 min until fixed"),  # its repair takes 10 min
    ]
    assert resolve("index.html", doc.all("a", within=rows[0])[0].get("href", ""))[0] in (
        "functions/pumping.symptom-pump-does-not-start.html",
    )


def test_the_front_page_prints_no_facts_for_writers(page):
    doc = page("index.html")
    assert "jobs.csv" not in text(doc.one("body")) and not doc.all("dl", "facts")
    assert "third. Hazards" in text(doc.one("footer"))


def test_trunks_are_as_thick_as_their_share_of_past_jobs():
    """3 jobs of 4 against 1: 14 px and round(14 x 1/3) = 5 px. (worked here)"""
    more = "# Function: Draining\n\n## Symptom: Does not drain\n\n- Causes: [Drain shut]\n\n## Cause: Drain shut\n"
    jobs = str(PUMP["jobs.csv"]) + "2024-02-01,Hask Fen,Does not drain,Drain shut,9\n"
    doc = Doc(built({**with_page(drain=more), "jobs.csv": jobs}), "index.html")
    looms = doc.all("section", "loom")
    assert [text(doc.one("p", "share", loom)) for loom in looms] == ["75 % of past jobs", "25 % of past jobs"]
    assert [doc.all("line", within=loom)[0].get("stroke-width") for loom in looms] == ["14", "5"]


def test_without_history_trunks_are_equal_and_no_share_is_claimed():
    files = {
        **with_page(drain="# Function: Draining\n\n## Symptom: Does not drain\n\n## Symptom: Drips\n"),
        "jobs.csv": "",
    }
    doc = Doc(built(files), "index.html")
    assert not doc.all("p", "share")
    assert {doc.all("line", within=loom)[0].get("stroke-width") for loom in doc.all("section", "loom")} == {
        "14"
    }


def test_symptoms_outside_a_function_are_found_too():
    doc = Doc(built({"index.md": "# A\n\n- Statement: S.\n", "page.md": "# Symptom: Lost\n"}), "index.html")
    assert [text(h) for h in doc.all("h2", within=doc.one("section", "loom"))] == ["Other symptoms"]
    assert "page.symptom-lost.html" in {href for _, href in doc.links()}


def test_by_tool(page):
    doc = page("by-tool.html")
    (entry,) = doc.all("section", "entry")
    assert text(doc.one("h2", within=entry)) == "Test lamp"
    assert text(doc.one("q", within=entry)) == "bulb tester"
    assert [text(li) for li in doc.all("li", within=entry)] == ["Test Lamp at the float plug 5 min"]


def test_by_part_or_word(page):
    doc = page("by-part.html")
    terms, parts = doc.all("dl", "terms")
    assert text(doc.one("dt", within=terms)) == "Float switch"
    assert [text(q) for q in doc.all("q", within=terms)] == ["level sensor", "bobber"]
    rows = {text(dt): text(dd) for dt, dd in pairs(doc, parts)}
    assert list(rows) == ["B1 battery", "F7 fuse", "G1 ground", "J2 connector", "M1 motor"]
    assert rows["J2 connector"] == "In Weir pumpingTouched by Listen at the pump, Lamp at the float plug"
    assert rows["F7 fuse"] == "In Weir pumping"


def test_lessons_stand_in_their_order(page):
    doc = page("lessons.html")
    assert [text(h) for h in doc.all("h2")] == ["First steps", "Second steps"]


def test_lessons_in_a_circle_all_stand_there():
    circle = (
        "# Lesson: One\n\n- Takes: 1 min\n- After: [Two]\n\n# Lesson: Two\n\n- Takes: 1 min\n- After: [One]\n"
    )
    doc = Doc(built({"index.md": "# A\n\n- Statement: S.\n", "page.md": circle}), "lessons.html")
    assert [text(h) for h in doc.all("h2")] == ["One", "Two"]


def test_hazards_the_strongest_first(page):
    doc = page("hazards.html")
    assert [text(w) for w in doc.all("span", "word")] == ["DANGER", "CAUTION"]
    assert "Avoidance" not in [text(dt) for dt in doc.all("dt")]


def test_vehicles_are_chosen_by_one_press_and_read_without_script(page):
    doc = page("vehicles.html")
    keys = list(doc.all("button"))
    assert [b.get("data-choose") for b in keys] == [
        "vehicles/weir.html#vehicle-ostrel-weir",
        "vehicles/weir.html#vehicle-hask-fen",
        "",
    ]
    assert all(b.get("hidden") is not None for b in keys)
    assert [text(s) for s in doc.all("span", "still")] == ["Ostrel Weir 2011 to 2016", "Hask Fen"]
    assert "weir.html#vehicle-hask-fen" in {href.rpartition("/")[2] for _, href in doc.links()}


def test_the_rail_knows_the_vehicles_of_the_base(docs):
    for doc in docs.values():
        (tape,) = [e for e in doc.root.iter() if e.get("data-known") is not None]
        assert text(tape) == "All vehicles"
        assert tape.get("data-known", "").split() == [
            "vehicles/weir.html#vehicle-ostrel-weir", "vehicles/weir.html#vehicle-hask-fen",
        ]  # fmt: skip


def test_a_base_without_vehicles_asks_for_none():
    doc = Doc(built({"index.md": "# A\n\n- Statement: S.\n"}), "index.html")
    assert not [e for e in doc.root.iter() if e.get("data-known") is not None]


def test_a_vehicles_page_shows_wires_in_colour_and_plugs_by_cavity(page):
    doc = page("vehicles/weir.html")
    section = doc.around(doc.by_id("circuit-weir-pumping"), "section")
    (wires,) = [t for t in doc.all("table", within=section) if text(t).startswith("Wire")]
    assert [text(th) for th in doc.all("th", within=wires)][:3] == ["Wire", "Colour", "From"]
    assert text(doc.all("td", within=doc.all("tr", within=wires)[2])[3]) == "J2.float box"
    colours = [text(doc.all("td", within=row)[1]) for row in doc.all("tr", within=wires)[1:]]
    assert colours[:3] == ["RD red", "VT/WH violet with white", "VT/WH violet with white"]
    faces = doc.all("svg", "face", section)
    assert [f.get("aria-label") for f in faces] == [
        "J2, box side: cavity 4 float violet with white, cavity 11 back brown",
        "J2, pump side: cavity 4 float violet with white, cavity 11 back green with yellow",
    ]
    words = [text(t) for t in doc.all("text", within=faces[0])]
    assert words == ["4", "float", "VT/WH", "11", "back", "BN"]
    assert [text(c) for c in doc.all("figcaption", within=section)] == ["J2, box side", "J2, pump side"]
    shown = {text(dt): text(dd) for dt, dd in pairs(doc, doc.all("dl", "related")[0])}
    assert shown == {"Its wiring": "Weir pumping", "Symptoms that its wiring shows": "Pump does not start"}


def test_a_circuits_rows_name_their_nodes_as_links(page):
    doc = page("vehicles/weir.html")
    hrefs = {text(a): a.get("href") for a in doc.all("a", within=doc.one("main"))}
    assert hrefs["Float wire open"] == "../functions/pumping.html#cause-float-wire-open"
    assert not doc.all("span", "unmet")


def test_no_plug_is_drawn_where_no_table_gives_its_cavities():
    vehicle = str(PUMP["vehicles/weir.md"]).replace(
        "| Cavity of | J2 |\n|---|---|\n| float | 4 |\n| back | 11 |\n", ""
    )
    doc = Doc(built({**PUMP, "vehicles/weir.md": vehicle}), "vehicles/weir.html")
    assert not doc.all("svg", "face")


def test_the_state_counts_and_says_what_is_missing(page):
    doc = page("base-state.html")
    counts = doc.one("table", "counts")
    rows = {
        text(doc.one("th", within=r)): text(doc.one("td", within=r)) for r in doc.all("tr", within=counts)[1:]
    }
    assert (rows["Cause"], rows["Symptom"], rows["Vehicle"], rows["Past jobs"]) == ("4", "2", "2", "3")
    gaps = {text(d.find("summary")): [text(a) for a in doc.all("a", within=d)] for d in doc.all("details")}
    assert gaps["Symptoms without a test: 1"] == ["Pump runs dry"]
    assert gaps["Causes that no test speaks of: 1"] == ["Strainer blocked"]
    assert "Pump runs dry" in gaps["Functions, symptoms and tests that no lesson covers: 4"]
    assert not [title for title in gaps if title.startswith("Causes without a repair")]


def test_coverage_of_functions_by_vehicles(page):
    doc = page("base-state.html")
    (row,) = doc.all("tr", within=doc.one("tbody", within=doc.one("table", "coverage")))
    assert [text(td) for td in doc.all("td", within=row)] == ["1 of 2", "0 of 2"]


def test_only_on_counts_in_coverage():
    pumping = str(PUMP["functions/pumping.md"]).replace(
        "## Symptom: Pump runs dry\n\n", "## Symptom: Pump runs dry\n\n- Only on: [Hask Fen]\n"
    )
    doc = Doc(built({**PUMP, "functions/pumping.md": pumping}), "base-state.html")
    (row,) = doc.all("tr", within=doc.one("tbody", within=doc.one("table", "coverage")))
    assert [text(td) for td in doc.all("td", within=row)] == ["1 of 1", "0 of 2"]


def test_the_rules_have_a_manual_page_each(page):
    doc = page("rules.html")
    assert [h.get("id") for h in doc.all("h2")] == [f"rule-{name}" for name in sorted(CATALOGUE)]
    for name, rule in CATALOGUE.items():
        section = doc.around(doc.by_id(f"rule-{name}"), "section")
        assert text(doc.one("strong", within=section)) == " ".join(rule.summary.replace("`", "").split())
        assert len(doc.all("pre", within=section)) == bool(rule.bad) + bool(rule.good)


def test_the_search_page_loads_its_scripts_in_order(page):
    doc = page("search.html")
    names = [s.get("src", "").rpartition("/")[2] for s in doc.all("script")]
    assert names == ["site.js", "find.js", "boot.js", "search.js"]
    assert "index of symptoms" in text(doc.one("noscript"))
    assert doc.one("form").get("hidden") is not None


def test_a_site_for_one_vehicle_holds_only_what_applies_to_it():
    pumping = str(PUMP["functions/pumping.md"])
    for heading in (
        "## Test: Volts at the box\n\n",
        "## Symptom: Pump runs dry\n\n",
        "## Repair: New pump\n\n",
    ):
        pumping = pumping.replace(heading, f"{heading}- Only on: [Hask Fen]\n")
    pumping += (
        "\n## Lesson: Here\n\n- Takes: 1 min\n\nSee [it](#test-volts-at-the-box) and [Pump runs dry].\n"
    )
    site = built({**PUMP, "functions/pumping.md": pumping}, vehicle="Ostrel Weir")
    docs = {path: Doc(site, path) for path in site if path.endswith(".html")}
    assert "functions/pumping.symptom-pump-runs-dry.html" not in docs
    assert "test-volts-at-the-box" not in docs["functions/pumping.html"].ids()
    assert "Pump runs dry (not on this vehicle)" in text(docs["functions/pumping.html"].one("main"))
    for doc in docs.values():
        assert [text(e) for e in doc.root.iter() if e.get("data-known") is not None] == ["Ostrel Weir"]
        for _, link in doc.links():
            target, anchor = resolve(doc.path, link)
            assert target in site and (not anchor or anchor in docs[target].ids()), (doc.path, link)
    (seen, *_) = docs["functions/pumping.html"].all("span", "seen")
    assert seen.get("hidden") is None


def test_a_site_for_a_vehicle_without_circuits_holds_nothing_of_the_others_wiring():
    site = built(PUMP, vehicle="Hask Fen")
    assert "Symptoms that its wiring shows" not in text(Doc(site, "vehicles/weir.html").root)
