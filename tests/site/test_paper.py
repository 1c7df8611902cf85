"""Sheets to print: what stands on them, that a finding leads on as the plan does, that a mark means one content."""

from __future__ import annotations

import re

import pytest

from kb.graph import build_graph
from kb.isolation.ways import Hunts
from kb.read.base import read_files
from kb.site.gather import gather
from kb.site.paper import job_sheet, letters, paper_address, public, put_back
from kb.site.wiring import Wiring
from tests.bases import base, node
from tests.site.pump import INDEX, PUMP, PUMPING, SYMPTOM, Doc, built, text

SHEET = "functions/pumping.symptom-pump-does-not-start.sheet.html"
TEST = "functions/pumping.test-lamp-at-the-float-plug.sheet.html"
LESSON = "lessons/all.lesson-second-steps.sheet.html"
ADDRESSED = {**PUMP, "index.md": INDEX.replace("- History", "- Address: https://pumps.example/book/\n- History")}


def parts(doc: Doc) -> dict[str, object]:
    """The parts of a job sheet by name."""
    return {text(doc.one("h2", within=part)): part for part in doc.all("section", "part")}


def rows(doc: Doc, within) -> list[list[str]]:
    """The cells of a findings table."""
    table = doc.one("table", "found", within)
    return [[text(cell) for cell in doc.all("td", within=row)] for row in doc.all("tr", within=table)][1:]


def test_each_symptom_test_and_lesson_has_a_sheet_and_a_key_that_leads_there(site, page):
    sheets = {path for path in site if path.endswith(".sheet.html")}
    assert sheets == {
        SHEET, TEST, LESSON, "functions/pumping.symptom-pump-runs-dry.sheet.html",
        "functions/pumping.test-listen-at-the-pump.sheet.html", "functions/pumping.test-volts-at-the-box.sheet.html",
        "lessons/all.lesson-first-steps.sheet.html",
    }  # fmt: skip
    led = {
        f"{path.rpartition('/')[0]}/{a.get('href')}"
        for path in (SYMPTOM, "functions/pumping.symptom-pump-runs-dry.html", "functions/pumping.html", "lessons/all.html")
        for a in page(path).all("a", "print-card")
    }
    assert led == sheets


def test_a_job_sheet_has_the_fields_of_a_job_and_the_statement(page):
    doc = page(SHEET)
    assert [text(f) for f in doc.all("span", "field")] == [
        "Repair order", "Plate", "Date", "Done by", "Cause", "Minutes", "Signed"
    ]  # fmt: skip
    assert text(doc.one("p", "statement")).startswith("The maker's instructions come first.")
    assert re.fullmatch(r"Low Field Pumps, third, mark [0-9a-f]{8}", text(doc.one("p", "from")))
    assert "The float is up. The tank is not empty." in text(doc.one("p", "conditions"))
    assert [text(tr) for tr in doc.all("tr", within=doc.one("table", "causes"))][1:] == [
        "a Fuse blown8 of 12New fuse 2", "b Float wire open3 of 12Mend the wire 6", "c Motor open1 of 12New pump, New motor 4"
    ]  # fmt: skip


def test_parts_follow_the_plan_and_each_finding_names_the_next(page):
    """The plan begins with listening (2 min); tests/isolation hold it. Humming clears fuse and motor: the wire is left."""
    doc = page(SHEET)
    found = parts(doc)
    assert list(found) == ["Listen at the pump", "New fuse", "Lamp at the float plug", "New motor", "Volts at the box", "Mend the wire"]
    assert rows(doc, found["Listen at the pump"]) == [
        ["It hums", "moves", "", "cross out a c; go on at 6"],
        ["It is silent", "still", "", "clears nothing; go on at 3"],
        ["The strip is burnt", "", "", "cross out b c; go on at 2"],
    ]
    assert rows(doc, found["New motor"]) == [["Mended", "the cause is found"], ["Not mended", "cross out c; the plan ends: nothing is left"]]
    for anchor in (a.get("href", "")[1:] for a in doc.all("a", "square")):
        assert doc.by_id(anchor) is not None


def test_where_what_is_left_decides_the_next_part_it_says_so(page):
    """After the strip was burnt only the fuse was left, after volts were missing the wire is left too."""
    doc = page(SHEET)
    (_, not_mended) = rows(doc, parts(doc)["New fuse"])
    assert not_mended == ["Not mended", "cross out a; go on by what is left: nothing: end b: 6"]


def test_every_lead_of_the_plan_stands_in_its_line():
    base = read_files({name: data if isinstance(data, bytes) else data.encode() for name, data in PUMP.items()})
    graph = build_graph(base)
    hunts = Hunts(base, graph)
    symptom = node(base, "Pump does not start")
    sheet = job_sheet(base, gather(base, graph, Wiring(base), hunts, symptom))
    hunt = hunts.hunt(symptom.id)
    names = {part.number: part.node.id for part in sheet.parts}
    lines = {part.node.id: part.lines for part in sheet.parts}
    stack, seen = [hunt.fixed.first], 0
    while stack:
        step = stack.pop()
        acts = hunt.matrix.tests if step.kind == "test" else hunt.matrix.repairs
        for line, lead in zip(lines[acts[step.number].id], step.leads, strict=True):
            left = {hunt.matrix.causes[i] for i in range(len(hunt.matrix.causes)) if lead.left >> i & 1}
            (way,) = [way for way in line.ways if {n.id for n in way.left} == left]
            if lead.then:
                after = hunt.matrix.tests if lead.then.kind == "test" else hunt.matrix.repairs
                assert after[lead.then.number].id in {names[number] for number in way.then}
                stack.append(lead.then)
                seen += 1
            else:
                assert line.ends
    assert seen > 5


def test_a_test_that_only_proves_a_repair_stands_on_the_sheet_with_its_messages():
    page_ = PUMPING.replace("- Takes: 20 min\n", "- Takes: 20 min\n- Verify: [Run it in the tank]\n") + (
        "\n## Test: Run it in the tank\n\n- Takes: 3 min\n\n> **DANGER** [Water near current]\n\n1. Run it.\n\n"
        "| Finding | Clears |\n|---|---|\n| It runs | |\n"
    )
    doc = Doc(built({**PUMP, "functions/pumping.md": page_}), SHEET)
    part = parts(doc)["Run it in the tank"]
    assert "Done to prove a repair." in text(part)
    assert [text(a) for a in doc.all("a", "hazard", part)] == ["Water near current"]
    assert "Run it in the tank 7" in text(doc.one("p", "prove", parts(doc)["Mend the wire"]))


def test_every_part_brings_its_messages_before_its_steps_and_an_accesss_steps_stand_once(page):
    doc = page(SHEET)
    assert text(doc.root).count("Undo four screws.") == 1
    lamp = parts(doc)["Lamp at the float plug"]
    assert [text(w) for w in doc.all("span", "word", lamp)] == ["CAUTION", "DANGER", "NOTICE"]
    assert "Steps: 1" in text(doc.all("p", "what", lamp)[0])
    danger = doc.all("div", "safety", lamp)[1]
    assert doc.before(danger, doc.all("ol", "steps", lamp)[0])


@pytest.mark.parametrize("sheet", [SHEET, TEST])
def test_what_is_put_back_stands_behind_all_that_is_found(page, sheet):
    doc = page(sheet)
    assert text(doc.root).count("Do the screws up.") == 1
    back = doc.one("section", "back")
    assert text(doc.one("h2", within=back)) == "Put back" and "Put back" not in text(doc.one("div", "undo", back))
    assert [text(li) for li in doc.all("li", within=back)] == ["1Do the screws up."]
    assert all(doc.before(table, back) for table in doc.all("table", "found"))


WORKED = """# Access: Lid off

{undo}

The lid.

1. Lift it.

> **CAUTION: edge.** It cuts. Wear gloves.

2. Lay it down.

{back}
"""


@pytest.mark.parametrize(
    ("undo", "back", "kept"),
    [
        ("- Undo: 3 min", "Put back:\n\n1. Set it on.\n2. Press it.\n\nNo seal is used twice.", ["steps", "paragraph"]),
        ("- Undo: 3 min", "Put it back with a new seal, and only when it is dry:\n\n1. Set it on.", ["paragraph", "steps"]),
        ("- Undo: 3 min", "### Put back\n\n1. Set it on.", ["steps"]),
        ("- Undo: 3 min", "", []),
        ("", "On a wet day:\n\n1. Wipe it.", []),
    ],
)
def test_where_an_access_begins_to_be_put_back(undo, back, kept):
    lid = node(base(WORKED.format(undo=undo, back=back)), "Lid off")
    off, found = put_back(lid, lid.blocks)
    assert [block.type for block in found] == kept
    assert len(off) + len(found) in {len(lid.blocks), len(lid.blocks) - 1}
    assert [block.type for block in off][:4] == ["paragraph", "steps", "message", "steps"]


def test_the_sheet_of_a_test_shows_the_plug_with_the_pins_under_test(page):
    doc = page(TEST)
    (face,) = doc.all("svg", "face")
    walls = [r.get("stroke-width") for r in doc.all("rect", within=face)]
    assert walls == ["5", "5"]  # both pins have a lead: table `Reading of` of the invented base
    assert rows(doc, doc.root) == [
        ["The lamp is bright", "bright", "", "clears Fuse blown, Float wire open; next: Volts at the box"],
        ["The lamp is dark", "dark", "", "clears Motor open; next: New fuse"],
    ]


def test_a_lessons_answers_stand_apart(page):
    doc = page(LESSON)
    answers = doc.one("section", "answers")
    assert "that no current flows. A lamp needs current." in text(answers)
    for section in doc.all("section", "question"):
        assert "A lamp needs current." not in text(section) and not doc.all("details", within=section)
        assert all(li.get("data-right") is None for li in doc.all("li", within=section))
    assert [text(f) for f in doc.all("span", "field")] == ["Name", "Date", "Answer", "Found", "Minutes"]


def test_a_mark_stays_while_the_content_stays_and_changes_with_it(site):
    def mark(files, path):
        return text(Doc(built(files), path).one("code", within=Doc(built(files), path).one("p", "from")))

    old = text(Doc(site, TEST).one("p", "from"))
    assert mark(PUMP, TEST) in old
    changed = {**PUMP, "functions/pumping.md": PUMPING.replace("Put the lamp on", "Hold the lamp on")}
    assert mark(changed, TEST) not in old
    other = {**PUMP, "functions/pumping.md": PUMPING.replace("1. Measure at the box.", "1. Measure there.")}
    assert mark(other, TEST) in old


def test_an_address_gives_codes_and_without_one_there_is_neither_code_nor_address(site):
    for path, data in built(ADDRESSED).items():
        if path.endswith(".sheet.html"):
            assert b"<path d=\"M4 4h7v1h-7z" in data, path  # a finder pattern of 7 modules, 4 modules of white before it
            assert b"https://pumps.example/book/functions/" in data or b"https://pumps.example/book/lessons/" in data
        assert path.endswith(".sheet.html") or b"<figure class=\"qr\"" not in data
    assert not any(b"class=\"qr\"" in data for data in site.values())


def test_public_addresses():
    def at(root, path):
        return public(read_files({"index.md": f"# A\n\n- Statement: S.\n- Address: {root}\n".encode()}), path)

    assert at("https://a.example/x/", "index.html") == "https://a.example/x/"
    assert at("https://a.example", "f/ä b.html#test-c") == "https://a.example/f/%C3%A4%20b.html#test-c"
    assert at("<https://a.example/>", "p.html") == "https://a.example/p.html"
    assert at("nonsense", "p.html") == ""


def test_addresses_of_sheets_and_letters_of_causes():
    assert paper_address("f/a.html#test-b") == "f/a.test-b.sheet.html"
    assert paper_address("f/a.symptom-b.html") == "f/a.symptom-b.sheet.html"
    base = read_files({"index.md": b"# A\n", "p.md": "".join(f"# Cause: C{i}\n\n" for i in range(28)).encode()})
    found = letters([n for n in base.nodes.values() if n.name.startswith("C")])
    assert list(found.values())[24:] == ["y", "z", "aa", "ab"]
