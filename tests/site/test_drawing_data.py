"""What a drawing shows is what the survey found, for every position, fault and part; words and files alike."""

from __future__ import annotations

import json
import re

import pytest

from kb.build import checked, site_of
from kb.checks._asked import Asked
from kb.circuit.claims import SHARES
from kb.circuit.survey import Survey
from kb.circuit.verdicts import Reading, meets
from kb.circuit.worlds import World
from kb.graph import build_graph
from kb.model import Base
from kb.read.base import read_base, read_files
from kb.site.drawing.drawn import Drawn, differ
from kb.site.drawing.expected import Cell, Row, Table, reading_words, table
from kb.site.drawing.inside import NAMES
from kb.site.drawing.shapes import number
from kb.site.drawing.shown import amperes, level, volts, works
from kb.site.sheets import open_site
from kb.site.write import site_files
from tests.conftest import ROOT
from tests.site.pump import PUMP, Doc, text, with_page, written_pages


def decoded(files: dict[str, bytes], drawn: Drawn) -> dict:
    """The content of a circuit's file."""
    script = files[f"wiring/{drawn.slug}.js"].decode()
    found = re.fullmatch(r'Backprobe\.wired\("([^"]*)",(\{.*\})\);\n', script)
    assert found and found[1] == drawn.slug
    return json.loads(found[2])


def vector(data: dict, fault: int, position: int) -> list | None:
    """One picture put together from the healthy one and its changes."""
    if data["which"][fault] is None:
        return None
    seen = list(data["healthy"][position])
    changed = data["changes"][data["which"][fault][position]]
    for place, now in zip(changed[::2], changed[1::2], strict=True):
        seen[place] = now
    return seen


@pytest.fixture(scope="module")
def demo() -> tuple[Base, dict[str, bytes], list[Drawn]]:
    """The demonstration base, its files, and its drawn circuits."""
    base = read_base(ROOT / "content")
    graph = build_graph(base)
    site = open_site(base, graph)
    drawn = [found for name in base.circuits if (found := site.drawn(base.nodes[name]))]
    return base, dict(written_pages(site)), drawn


def test_every_circuit_of_the_base_is_drawn_and_solved(demo):
    base, files, drawn = demo
    assert len(drawn) == len(base.circuits) >= 4
    assert all(one.shown and f"wiring/{one.slug}.js" in files for one in drawn)


def test_loads_fuses_and_states_are_the_surveys(demo):
    """Solved here a second time, by the survey alone."""
    _, files, drawn = demo
    for one in drawn:
        data = decoded(files, one)
        seen = Survey(one.circuit).faults()
        size = len(data["wires"])
        states = 3 * size + len(data["contacts"])
        loads = states + len(data["parts"])
        assert [f["state"] for f in data["faults"]] == [s.state for s in seen]
        for fault, found in enumerate(seen):
            for p, position in enumerate(data["positions"]):
                picture = vector(data, fault, p)
                if found.state:
                    assert picture is None
                    continue
                said = {name: data["words"][picture[states + i]] for i, name in enumerate(data["parts"])}
                for name, load in found.loads[position].items():
                    assert said[name] == f"{load.verdict} {load.direction}".strip(), (one.name, found.words, position)
                    assert picture[loads + data["loads"].index(name)] == round(load.amps * 1000)
                for name, fuse in found.fuses[position].items():
                    assert (said[name] or "whole") == fuse


def test_currents_and_voltages_are_the_solvers(demo):
    _, files, drawn = demo
    one = drawn[0]
    data, survey = decoded(files, one), Survey(one.circuit)
    for p, position in enumerate(one.circuit.positions.values()):
        (answer,) = survey.bench.solve([World(position)])
        picture = vector(data, 0, p)
        for i, (name, wire) in enumerate(one.circuit.wires.items()):
            assert picture[i] == pytest.approx(1000 * answer.current(name), abs=0.51)
            for end, terminal in enumerate((wire.start, wire.end)):
                node = answer.net.node(terminal)
                stated = picture[len(data["wires"]) + 2 * i + end]
                assert (stated is None) == (not answer.same_island(node, 0))
                assert stated is None or stated == pytest.approx(100 * answer.volts[node], abs=0.51)


def test_currents_meet_at_every_part_of_two_ends(demo):
    """What a wire brings to a fuse or load, another takes away: within the rounding of 1 mA a wire."""
    _, _, drawn = demo
    checked = 0
    for one in drawn:
        for row in one.shown.pictures:
            for picture in row:
                for part in one.circuit.parts.values():
                    if part.kind in ("fuse", "motor", "lamp", "heater"):
                        flow = [
                            sign * picture.amps[name]
                            for name, wire in one.circuit.wires.items()
                            for sign, at in ((1, wire.end), (-1, wire.start))
                            if at.part == part.name
                        ]
                        faulty = abs(sum(flow)) > len(flow) and "touches" in str(
                            one.faults[one.shown.pictures.index(row)].words
                        )
                        assert faulty or abs(sum(flow)) <= len(flow), (one.name, part.name)
                        checked += 1
    assert checked > 1000


def test_closed_contacts_are_those_that_the_position_joins(demo):
    _, files, drawn = demo
    for one in drawn:
        for position, picture in zip(one.circuit.positions.values(), one.shown.pictures[0], strict=True):
            for (name, *pair), amps in picture.contacts.items():
                if one.circuit.parts[name].kind in ("switch", "limit switch"):
                    joined = {frozenset(p) for p in position.joins.get(name, ())}
                    assert (amps is not None) == (frozenset(pair) in joined)


def test_a_burnt_contact_stays_open_and_a_welded_one_shut(demo):
    _, _, drawn = demo
    seen = set()
    for one in drawn:
        for row, pictures in zip(one.circuit.faults, one.shown.pictures[1:], strict=True):
            for change in (c for c in row.changes if c.contact and len(row.changes) == 1):
                key = (change.what, *sorted(change.contact))
                if change.how == "ohms":  # it opens and closes as the healthy one does
                    healthy = [p.contacts[key] is None for p in one.shown.pictures[0]]
                    assert one.circuit.parts[change.what].kind == "relay" or healthy == [
                        p.contacts[key] is None for p in pictures
                    ]
                else:
                    assert all((p.contacts[key] is None) == (change.how == "contact-open") for p in pictures)
                seen.add(change.how)
    assert seen == {"contact-open", "welded", "ohms"}


def test_a_contact_goes_on_to_the_bar_that_joins_the_wires_of_its_pin(demo):
    seen = 0
    for one in demo[2]:
        for part in (p for p in one.drawing.parts if p.kind == "relay"):
            (_, top, _, bottom), ends = part.box, {c.path.rpartition("L")[2] for c in part.contacts}
            for left, _, at in (bar for pin in part.pins for bar in pin.bars):
                edge = bottom if at > (top + bottom) / 2 else top
                reached = [lead for lead in part.leads if lead.startswith(f"M{number(left)} ") and str(number(edge)) in lead]
                assert reached and f"{number(left)} {number(bottom - NAMES)}" in ends or edge == top
                seen += 1
    assert seen


def test_the_table_gives_the_surveys_readings_and_the_findings_they_meet(demo):
    base, _, drawn = demo
    counted = 0
    for one in drawn:
        found = table(base, one)
        if found is None:
            continue
        seen = Survey(one.circuit).faults()
        listed = [
            (i, base.target(r.test)) for i, r in enumerate(one.circuit.readings) if r.test and base.target(r.test)
        ]
        assert [test.id for test, _ in found.tests] == [test.id for _, test in listed]
        for row, world in zip(found.rows, seen, strict=True):
            for cell, (i, test) in zip(row.cells, listed, strict=True):
                reading = world.readings[i]
                assert cell.words == reading_words(reading)
                met = [f.words.text for f in test.findings if meets(reading, f.ranges)]
                assert cell.finding == (met[0] if met else "")
                counted += bool(met)
    assert counted > 300


def test_what_a_fault_changes_is_another_finding_or_where_there_is_none_another_reading():
    whole = Row("", "", "", (Cell("12.1 V", "Full"), Cell("3 A", ""), Cell("4 A", ""), Cell("5 A", "Right")))
    fault = Row("Worn", "R", "", (Cell("11.9 V", "Full"), Cell("2 A", ""), Cell("4 A", ""), Cell("4 A", "")))
    found = Table((), (whole, fault))
    assert [changed for _, changed in found.compared(fault)] == [False, True, False, True]
    assert [changed for _, changed in found.compared(whole)] == [False] * 4
    assert not list(found.compared(Row("Short", "R", "shorted", ())))


# A small circuit of which all can be worked by hand: 12.6 V, 20 mohm, fuse, 2 m and 1 m of 1.5 mm2, a motor.


@pytest.fixture(scope="module")
def pump(site):
    """The pump's vehicle page."""
    return Doc(site, "vehicles/weir.html")


def test_the_healthy_circuit_is_drawn_without_script(pump):
    svg = pump.one("svg", "spread")
    assert svg.get("role") == "img" and "5 parts and 6 wires" in (svg.get("aria-label") or "")
    live = {g.get("data-wire") for g in pump.all("g", "live", svg)}
    assert live == {f"W{i}" for i in range(1, 7)}
    (motor,) = [g for g in pump.all("g", "part", svg) if g.get("data-part") == "M1"]
    assert "is-on" in motor.get("class").split() and "moves on" in text(motor)
    plates = {
        (g.get("data-wire"), g.get("data-end")): text(g) for g in pump.all("g", "plate", svg) if not g.get("display")
    }
    assert plates["W1", "1"].endswith(" V") and 12 < float(plates["W1", "1"].split()[0]) < 12.6
    assert "Now on: M1 moves on, 2.0" in text(pump.one("div", "now"))
    assert "F7 whole." in text(pump.one("div", "now"))


def test_each_wire_says_its_code_and_each_pin_its_name(pump, site):
    svg = pump.one("svg", "spread")
    said = [text(t) for t in pump.all("text", within=svg)]
    for word in (
        "RD",
        "VT/WH",
        "BN",
        "BK",
        "W1",
        "W6",
        "F7",
        "10 A",
        "J2",
        "box",
        "float",
        "back",
        "4",
        "11",
        "M1",
        "a",
        "b",
    ):
        assert word in said, word
    assert "30 B1 +, 12.6 V" in said and "31 ground" in said
    strokes = [p.get("stroke") for g in pump.all("g", "wire", svg) for p in pump.all("path", "core", g)]
    assert strokes[0] == "#d0121b"


def test_tables_stand_below_for_every_position_and_fault(pump):
    does = pump.one("table", "does")
    assert [text(row) for row in pump.all("tr", within=does)][1].startswith("onM1 moves on, 2.0")
    expected = pump.one("details", "expected")
    heads = [text(th) for th in pump.all("th", within=expected) if th.get("scope") == "col"]
    assert heads == ["Fault", "Lamp at the float plug test lamp at on", "Listen at the pump eye at on"]
    rows = [text(tr) for tr in pump.all("tr", within=expected)][1:]
    assert rows[0] == "nonebright The lamp is brightmoves on It hums"
    assert rows[1] == "Fuse blown F7 blowndark The lamp is darkstill It is silent"
    # what a fault doesn't change is told in the first row alone, what it changes stands out
    assert rows[2] == "Motor open M1 openbrightstill It is silent"
    (motor,) = [tr for tr in pump.all("tr", within=expected) if text(tr).startswith("Motor open")]
    assert [text(strong) for strong in pump.all("strong", within=motor)] == ["still"]


def test_a_test_gives_its_good_reading_and_leads_to_the_drawing(page):
    for path in ("functions/pumping.html", "functions/pumping.symptom-pump-does-not-start.html"):
        doc = page(path)
        good = doc.all("p", "good")
        assert {text(p) for p in good} == {"Good, computed bright See it drawn", "Good, computed moves on See it drawn"}
        links = {a.get("href") for p in good for a in doc.all("a", within=p)}
        assert links == {"../vehicles/weir.html?position=on#circuit-weir-pumping"}


def test_a_symptom_leads_to_the_drawing_in_a_position_that_shows_it(page):
    doc = page("functions/pumping.symptom-pump-does-not-start.html")
    hrefs = [a.get("href") for a in doc.all("a", within=doc.one("aside"))]
    assert "../vehicles/weir.html?position=on#circuit-weir-pumping" in hrefs


def test_a_circuit_with_a_row_that_can_not_be_read_is_not_drawn():
    page = PUMP["vehicles/weir.md"]
    assert isinstance(page, str)
    broken = {**PUMP, "vehicles/weir.md": page.replace("| W3 | J2.float pump", "| W3 | J2.flaot pump")}
    base = read_files({n: t.encode() if isinstance(t, str) else t for n, t in broken.items()})
    files = dict(site_files(base, build_graph(base)))
    assert not [path for path in files if path.startswith("wiring/")]
    assert not Doc(files, "vehicles/weir.html").all("svg", "wiring")


def test_an_unfused_short_shows_a_warning_and_no_readings():
    page = PUMP["vehicles/weir.md"]
    assert isinstance(page, str)
    shorted = page.replace("| [Motor open] | M1 open |", "| [Motor open] | W1 touches ground |")
    base = read_files(
        {**{n: t.encode() if isinstance(t, str) else t for n, t in PUMP.items()}, "vehicles/weir.md": shorted.encode()}
    )
    files = dict(site_files(base, build_graph(base)))
    doc = Doc(files, "vehicles/weir.html")
    (row,) = [tr for tr in doc.all("tr", within=doc.one("details", "expected")) if "W1 touches ground" in text(tr)]
    assert "no fuse protects" in text(row) and len(doc.all("td", within=row)) == 1
    data = json.loads(files["wiring/vehicles-weir-circuit-weir-pumping.js"].decode().split(",", 1)[1][:-3])
    assert data["which"][2] is None and data["faults"][2]["state"] == "shorted"


def test_what_a_module_decides_is_marked_as_stated():
    table_ = "# Circuit: Q\n\n| Part | Kind | Pins | Values |\n|---|---|---|---|\n| B1 | battery | + - | 12 V |\n"
    table_ += "| Q1 | output | out | 100 mohm, limit 5 A |\n| L1 | lamp | a b | 12 V, 5 W |\n| G1 | ground | p | |\n"
    table_ += "\n| Wire | From | To |\n|---|---|---|\n| W1 | Q1.out | L1.a |\n| W2 | L1.b | G1.p |\n| W3 | B1.- | G1.p |\n| W4 | B1.+ | L1.a |\n"
    table_ = table_.replace("| W4 | B1.+ | L1.a |\n", "")
    table_ += "\n| Position | Q1 drives |\n|---|---|\n| off | |\n| on | high |\n"
    base = read_files({n: t.encode() if isinstance(t, str) else t for n, t in with_page(quiet=table_).items()})
    doc = Doc(dict(site_files(base, build_graph(base))), "quiet.html")
    assert "Now on: L1 bright, 0.42 A; Q1 high: stated (not solved)." in text(doc.one("div", "now"))
    assert "offL1 dark; Q1 at rest: stated (not solved)." in text(doc.one("table", "does"))


def test_numbers_as_plates_and_words_show_them():
    assert [volts(v) for v in (None, 0, 4, -4, 99, 100, 1255, -1260, 2404)] == [
        "floating", "0.00 V", "0.04 V", "-0.04 V", "0.99 V", "1.0 V", "12.6 V", "-12.6 V", "24.0 V",
    ]  # fmt: skip
    assert [amperes(a) for a in (0, 7, -99, 100, 1065, 9996, 12350)] == [
        "0 A", "7 mA", "99 mA", "0.10 A", "1.07 A", "10.00 A", "12.4 A",
    ]  # fmt: skip
    assert [differ(e) for e in ((1200, 1200), (1200, 1196), (1200, 1195), (None, 0), (None, None))] == [
        False, False, True, True, False,
    ]  # fmt: skip
    assert [level(w) for w in ("moves up", "slow up", "still", "bright", "may blow", "blown", "")] == [
        "on", "half", "off", "on", "half", "blown", "",
    ]  # fmt: skip
    assert works("moves up") and works("warm") and not works("cold")


def test_readings_as_a_person_would_note_them():
    """12.47 of 12.6 V is 99 %; the others are rounded here."""
    assert [reading_words(r) for r in (
        Reading(12.47, "V", None, supply=12.6), Reading(-12.47, "V", None, supply=12.6), Reading(0.04, "V", None, supply=12.6),
        Reading(0.0, "V", None, defined=False), Reading(0.2, "A", None), Reading(0.06, "A", None), Reading(12.34, "ohm", None),
        Reading(None, "ohm", "OL"), Reading(None, "ohm", "undefined", defined=False), Reading(None, "", "bright"),
        Reading(None, "", "moves", "up"), None,
    )] == [
        "12.5 V, 99 % of supply", "-12.5 V, -99 % of supply", "0.04 V", "no defined voltage", "0.20 A", "60 mA", "12.3 ohm",
        "OL", "refused: the leads are live", "bright", "moves up", "no reading",
    ]  # fmt: skip


def test_two_circuits_whose_names_make_one_file_name_keep_their_own(site):
    page = PUMP["vehicles/weir.md"]
    assert isinstance(page, str)
    circuit = page[page.index("## Circuit") : page.index("| Fault of")].replace("## ", "# ")
    files = {"index.md": b"# A\n\n- Statement: S.\n", "a b.md": circuit.encode(), "a-b.md": circuit.encode()}
    base = read_files(files)
    written = dict(site_files(base, build_graph(base)))
    assert len([path for path in written if path.startswith("wiring/")]) == 2


def test_what_the_checks_solved_is_not_solved_again_for_the_site(monkeypatch, demo):
    """Each circuit is surveyed at three battery voltages by the checks, and no more by the site, whose bytes are the same."""
    base, files, _ = demo
    surveyed: list[tuple[str, float]] = []
    faults = Survey.faults
    monkeypatch.setattr(Survey, "faults", lambda self: surveyed.append((self.circuit.node, self.share)) or faults(self))
    found = checked(ROOT / "content", base)
    assert sorted(surveyed) == sorted((name, share) for name in base.circuits for share in SHARES)
    surveyed.clear()
    written = dict(site_of(found))
    assert surveyed == []
    assert {n: d for n, d in written.items() if n.startswith("wiring/")} == {
        n: d for n, d in files.items() if n.startswith("wiring/")
    }


def test_a_circuit_that_no_rule_solved_is_solved_for_the_site(demo):
    base, _, drawn = demo
    graph = build_graph(base)
    assert Asked(base, graph).already_held() == {}
    alone = open_site(base, graph).drawn(drawn[0].node)
    assert alone and alone.shown and alone.shown.pictures == drawn[0].shown.pictures
