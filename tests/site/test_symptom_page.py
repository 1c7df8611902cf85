"""A symptom's own page: what stands where, in which order, and what each finding leaves."""

from __future__ import annotations

from tests.site.pump import PUMP, PUMPING, SYMPTOM, Doc, built, is_a, resolve, text


def named_tests(doc: Doc) -> list[str]:
    """Names of the tests, in the order in which their blocks stand."""
    blocks = [e for e in doc.root.iter() if e.get("data-test")]
    return [e.get("data-test", "").partition("#")[2] for e in blocks]


def block(doc: Doc, anchor: str):
    """The block of a test or repair."""
    (found,) = [
        e
        for e in doc.root.iter()
        if (e.get("data-test") or e.get("data-repair") or "").endswith("#" + anchor)
    ]
    return found


def test_the_plans_first_test_comes_first_then_the_other_tests_that_speak_about_it(page):
    doc = page(SYMPTOM)
    assert named_tests(doc) == [
        "test-listen-at-the-pump",
        "test-lamp-at-the-float-plug",
        "test-volts-at-the-box",
    ]
    first = block(doc, named_tests(doc)[0])
    assert any(e is first for e in doc.one("section", "do-next").iter()) and first.get("open") is not None
    assert all(is_a(block(doc, name), "details") for name in named_tests(doc))
    assert [text(h) for h in doc.all("h2", "others")] == ["Other tests that speak about it", "Repairs"]


def test_another_symptoms_tests_stay_away(page):
    assert named_tests(page("functions/pumping.symptom-pump-runs-dry.html")) == []


def test_the_head_says_what_the_customer_says_and_what_is_known(page):
    doc = page(SYMPTOM)
    assert text(doc.one("h1")) == "Pump does not start"
    assert [text(q) for q in doc.all("q")] == ["the pump is dead", "nothing hums"]
    chips = doc.one("dl", "chips")
    assert [text(dt) for dt in doc.all("dt", within=chips)] == ["Causes left", "Until fixed", "Comes off"]
    assert [text(dd) for dd in doc.all("dd", within=chips)] == ["3", "25 min", "Lid off"]  # minutes: tests/isolation hold the plan


def test_normal_conditions_stand_before_the_first_step(page):
    doc = page(SYMPTOM)
    card = doc.one("section", "conditions")
    assert "The float is up. The tank is not empty." in text(card)
    assert doc.before(card, doc.all("ol", "steps")[0])


def test_the_symptoms_own_words_are_printed(page):
    assert "Ask when it last ran." in text(page(SYMPTOM).one("div", "prose"))


def test_messages_stand_before_the_steps_and_the_numbers_count_on(page):
    doc = page(SYMPTOM)
    test = block(doc, "test-listen-at-the-pump")
    access = {id(e) for box in doc.all("div", "access", test) for e in box.iter()}
    own = [e for e in test.iter() if id(e) not in access]
    parts = [e for e in own if is_a(e, "div", "safety") or is_a(e, "ol", "steps")]
    told = [text(doc.one("span", "word", e)) if is_a(e, "div") else text(e) for e in parts]
    wire = "cavity 4 VT/WH violet with white"
    assert told == [
        "CAUTION", "NOTICE", "1Switch on.", "DANGER", f"2Listen at J2.float {wire}. 3Switch off."
    ]  # fmt: skip
    lists = [e for e in own if is_a(e, "ol", "steps")]
    assert [ol.get("start") for ol in lists] == ["1", "2"]
    numbers = [text(n) for ol in lists for n in doc.all("span", "number", ol)]
    assert numbers == ["1", "2", "3"]


def test_an_access_brings_its_messages_before_its_steps_wherever_it_is_used(page):
    """The lid's message is the test's own here; the power's come with its access. Each stands once."""
    doc = page(SYMPTOM)
    test = block(doc, "test-lamp-at-the-float-plug")
    lid, power = doc.all("div", "access", test)
    assert [text(a) for a in doc.all("a", "hazard", test)] == ["Sharp lid", "Water near current"]
    assert doc.before(doc.all("div", "safety", test)[0], lid)
    assert not doc.all("div", "safety", lid)
    danger, notice = doc.all("div", "safety", power)
    assert "bright box. The box lights up. Look away from it. Shade your eyes." in text(notice)
    assert doc.before(danger, notice) and doc.before(notice, doc.one("ol", "steps", power))
    assert not any(x is notice for fold in doc.all("details", within=power) for x in fold.iter())


def test_a_weaker_message_above_does_not_stand_in_for_a_stronger_one():
    page = PUMPING.replace(
        "> **CAUTION** [Sharp lid]\n\n1. Put the lamp", "> **WARNING** [Sharp lid]\n\n1. Put the lamp"
    )
    doc = Doc(built({**PUMP, "functions/pumping.md": page}), SYMPTOM)
    words = [text(w) for w in doc.all("span", "word", block(doc, "test-lamp-at-the-float-plug"))]
    assert words == ["WARNING", "DANGER", "NOTICE"]
    shared = str(PUMP["shared.md"]).replace("> **CAUTION** [Sharp lid]", "> **DANGER** [Sharp lid]")
    doc = Doc(built({**PUMP, "shared.md": shared}), SYMPTOM)
    words = [text(w) for w in doc.all("span", "word", block(doc, "test-lamp-at-the-float-plug"))]
    assert words == ["CAUTION", "DANGER", "DANGER", "NOTICE"]


def test_the_steps_of_an_access_stand_once_and_are_reached_from_everywhere(page):
    doc = page(SYMPTOM)
    assert text(doc.root).count("Undo four screws.") == 1
    (link,) = doc.all("a", within=doc.one("p", "small", block(doc, "test-lamp-at-the-float-plug")))
    steps = doc.around(doc.by_id((link.get("href") or "")[1:]), "details")
    assert "Undo four screws." in text(steps) and "Do the screws up." in text(steps)


def test_a_finding_says_what_it_clears_and_leaves_and_where_the_writer_goes(page):
    doc = page(SYMPTOM)
    keys = doc.all("li", "finding", block(doc, "test-lamp-at-the-float-plug"))
    told = [(text(doc.one("p", "found", k)), text(doc.one("p", "effect", k))) for k in keys]
    assert told == [
        ("The lamp is bright", "this finding alone clears 2, leaves 1: Motor open"),
        ("The lamp is dark", "this finding alone clears 1, leaves 2: Fuse blown, Float wire open"),
        ("Couldn't read it", "clears nothing; the test is left out"),
    ]
    nexts = [text(doc.one("p", "next", key)) for key in keys[:2]]
    assert nexts == ["The writer's next: Volts at the box", "The writer's next: New fuse"]


def test_no_link_to_another_step_stands_in_a_finding_that_is_a_key(page):
    doc = page(SYMPTOM)
    assert not [a for p in doc.all("p", "next") for a in doc.all("a", within=p)]
    card = page("functions/pumping.html")
    (first, *_) = [p for p in card.all("p", "next") if text(p) == "Next: Volts at the box"]
    assert (card.one("a", within=first).get("href") or "").endswith("#test-volts-at-the-box")


def test_proof_clears_what_it_does_not_name_and_done_is_said(page):
    doc = page(SYMPTOM)
    keys = doc.all("li", "finding", block(doc, "test-listen-at-the-pump"))
    assert text(doc.one("p", "effect", keys[2])) == "this finding alone clears 2, leaves 1: Fuse blown"
    assert text(doc.one("p", "next", keys[1])) == "The writer's next: done"
    assert text(doc.one("p", "effect", keys[1])) == "this finding alone clears nothing, leaves 3"


LIMITED = (
    PUMPING.replace("## Cause: Float wire open\n\n", "## Cause: Float wire open\n\n- Only on: [Hask Fen]\n\n")
    .replace("- Takes: 4 min", "- Takes: 4 min\n- Only on: [Hask Fen]")
    .replace("- Takes: 5 min\n", "- Takes: 5 min\n- Only on: [Ostrel Weir]\n")
)  # fmt: skip
WEIR, FEN = "vehicles/weir.html#vehicle-ostrel-weir", "vehicles/weir.html#vehicle-hask-fen"


def test_a_finding_that_leaves_nothing_says_so():
    page = PUMPING.replace(
        "| None | < 1 V | |", "| None | < 1 V | [Motor open]; [Fuse blown]; [Float wire open] |"
    )
    doc = Doc(built({**PUMP, "functions/pumping.md": page}), SYMPTOM)
    keys = doc.all("li", "finding", block(doc, "test-volts-at-the-box"))
    assert text(doc.one("p", "effect", keys[1])) == "leaves none of the causes written here"


def test_a_reading_in_numbers_is_drawn_on_a_scale(page):
    """11 to 13 V on 0 to 15 V: from 73.33 % on, 13.33 % wide. Below 1 V: from 0, 6.67 %. (worked here)"""
    doc = page(SYMPTOM)
    keys = doc.all("li", "finding", block(doc, "test-volts-at-the-box"))
    drawn = [doc.all("rect", within=doc.one("svg", "scale", key))[0] for key in keys[:2]]
    assert [(r.get("x"), r.get("width")) for r in drawn] == [("73.33%", "13.33%"), ("0.0%", "6.67%")]
    assert text(doc.one("p", "reads", keys[0])) == "reads 11 to 13 V"


def test_the_causes_are_drawn_by_weight_with_their_repairs_and_tests(page):
    """Weights: fuse 6 + 2 jobs, motor 1, wire 3; 12 in all. The trunk of 14 px carries what is left."""
    doc = page(SYMPTOM)
    rows = doc.all("li", within=doc.one("ul", "causes"))
    assert text(doc.all("h2", within=doc.one("aside"))[0]) == "What is left"
    assert [text(doc.all("a", within=row)[0]) for row in rows] == [
        "Fuse blown",
        "Float wire open",
        "Motor open",
    ]
    weights = [text(doc.one("p", "weight", row)) for row in rows]
    assert weights == [
        "2 of 2 jobs here; writer's word: common; 8 of 12 by weight",
        "0 of 2 jobs here; writer's word: occasional; 3 of 12 by weight",
        "0 of 2 jobs here; writer's word: rare; 1 of 12 by weight",
    ]
    assert text(doc.one("p", "then", rows[2])) == "then New pump or New motor"
    widths = [[line.get("stroke-width") for line in doc.all("line", within=row)] for row in rows]
    assert widths == [["14", "5", "12"], ["5", "2", "4"], ["2", "2"]]


def test_a_repair_names_its_causes_and_its_proof(page):
    doc = page(SYMPTOM)
    fuse = block(doc, "repair-new-fuse")
    assert text(doc.one("p", "kind", fuse)) == "Repair of Fuse blown"
    assert text(doc.one("p", "prove", fuse)) == "Prove it Listen at the pump"
    assert "1 h 30 min" in text(doc.one("summary", within=block(doc, "repair-new-pump")))
    names = [text(h) for h in doc.all("h3", within=doc.one("div", "walk")) if "repair" in fold_class(doc, h)]
    assert names == ["New fuse", "Mend the wire", "New pump", "New motor"]


def fold_class(doc: Doc, heading) -> str:
    """The classes of the folded block around a heading."""
    around = [e for e in doc.all("details") if any(x is heading for x in e.iter())]
    return around[-1].get("class", "") if around else ""


def test_the_probe_goes_where_the_circuit_says(page):
    doc = page(SYMPTOM)
    where = doc.one("div", "where", block(doc, "test-lamp-at-the-float-plug"))
    (spot,) = doc.all("div", "spot", where)
    assert spot.get("data-vehicles") == "vehicles/weir.html#vehicle-ostrel-weir"
    assert text(doc.one("p", "hold", spot)) == "Position on test lamp Ostrel Weir"
    leads = [text(p) for p in doc.all("p", "lead", spot)]
    assert leads == [
        "J2.float pump cavity 4 VT/WH violet with white red lead",
        "J2.back pump cavity 11 GN/YE green with yellow black lead",
    ]
    eye = doc.one("div", "where", block(doc, "test-listen-at-the-pump"))
    assert text(doc.one("p", "hold", eye)) == "Position on watch motor M1 Ostrel Weir"


def test_a_clamp_goes_round_a_wire_of_a_colour():
    vehicle = str(PUMP["vehicles/weir.md"]).replace(
        "| on | | eye | M1 | |", "| on | | clamp | W4 | |"
    )
    doc = Doc(built({**PUMP, "vehicles/weir.md": vehicle}), SYMPTOM)
    hold = doc.one("p", "hold", block(doc, "test-listen-at-the-pump"))
    assert text(hold) == "Position on clamp round wire W4 GN/YE green with yellow Ostrel Weir"


def test_what_reads_good_on_one_vehicle_is_not_told_of_another():
    """Two circuits alike but for the motor's way round: `off` turns it the other way. (invented)"""
    page = str(PUMP["vehicles/weir.md"])
    circuit = page[page.index("## Circuit") : page.index("# Vehicle: Hask Fen")]
    other = circuit.replace("Weir pumping", "Fen pumping").replace("positive means on/off", "positive means off/on")
    other = other.replace("| on | M1 on |", "| on | M1 off |").split("| Symptom of |")[0] + (
        "| Reading of" + other.split("| Reading of", 1)[1]
    )
    doc = Doc(built({**PUMP, "vehicles/weir.md": page.replace("Nothing is drawn for it yet.\n", other)}), SYMPTOM)
    where = doc.one("div", "where", block(doc, "test-listen-at-the-pump"))
    (spot,) = doc.all("div", "spot", where)
    assert spot.get("data-vehicles") == f"{WEIR} {FEN}"
    good = [(text(doc.one("strong", within=p)), p.get("data-limit")) for p in doc.all("p", "good", spot)]
    assert good == [("moves on", WEIR), ("moves off", FEN)]
    lamp = doc.one("div", "where", block(doc, "test-lamp-at-the-float-plug"))
    links = [(text(a), a.get("data-limit")) for a in doc.all("a", within=doc.one("p", "good", lamp))]
    assert links == [("See it drawn: Weir pumping", WEIR), ("See it drawn: Fen pumping", FEN)]


def test_the_probe_stands_after_the_messages_in_front_of_the_step_that_names_its_point(page):
    doc = page(SYMPTOM)
    test = block(doc, "test-listen-at-the-pump")
    where = doc.one("div", "where", test)
    danger = [e for e in doc.all("div", "safety", test) if is_a(e, "div", "danger")][-1]
    assert doc.before(danger, where)
    assert doc.before(where, doc.all("ol", "steps", test)[-1])


def test_a_point_in_a_step_carries_each_vehicles_wire(page):
    doc = page(SYMPTOM)
    steps = doc.all("ol", "steps", block(doc, "test-lamp-at-the-float-plug"))[-1]
    (seen,) = doc.all("span", "seen", steps)
    assert text(seen) == "cavity 4 VT/WH violet with white"
    assert (
        seen.get("hidden") is not None
        and seen.get("data-vehicle") == "vehicles/weir.html#vehicle-ostrel-weir"
    )
    fills = [e.get("fill") for e in seen.iter() if e.get("fill")]
    assert fills == ["#7b2fa8", "#ffffff"]


def test_vehicles_with_a_circuit_for_it_and_lessons_on_it(page):
    aside = page(SYMPTOM).one("aside")
    assert "Weir pumping on Ostrel Weir" in text(aside)
    assert "Second steps" in text(aside)
    assert "No circuit of this base shows it yet." in text(
        page("functions/pumping.symptom-pump-runs-dry.html").one("aside")
    )


def test_what_was_tried_is_said_and_what_was_not(page):
    doc = page(SYMPTOM)
    assert (
        text(doc.one("p", "tried", block(doc, "test-listen-at-the-pump")))
        == "Computed, not yet tried on a vehicle."
    )
    assert text(doc.one("p", "tried", block(doc, "test-volts-at-the-box"))) == "Not yet tried on a vehicle."


def test_a_test_tried_on_a_vehicle_says_on_which():
    page = PUMPING.replace("- Takes: 4 min", "- Takes: 4 min\n- Tried on: [Ostrel Weir] — May 2024")
    doc = Doc(built({**PUMP, "functions/pumping.md": page}), SYMPTOM)
    tried = text(doc.one("p", "tried", block(doc, "test-volts-at-the-box")))
    assert tried.startswith("Tried on Ostrel Weir") and "May 2024" in tried


def test_a_fault_that_comes_and_goes_warns_of_false_clearing():
    page = PUMPING.replace("- Formerly: Dead pump", "- Comes and goes: yes")
    doc = Doc(built({**PUMP, "functions/pumping.md": page}), SYMPTOM)
    assert "cleared nothing until the fault shows" in text(doc.one("p", "goes"))


def test_a_former_name_leads_on(site, page):
    doc = page("functions/pumping.symptom-dead-pump.html")
    (refresh,) = [m.get("content") for m in doc.all("meta") if m.get("http-equiv") == "refresh"]
    assert refresh == "0; url=pumping.symptom-pump-does-not-start.html"
    leads = [
        resolve(doc.path, a.get("href", ""))[0]
        for a in doc.all("a", within=doc.all("p", within=doc.one("main"))[-1])
    ]
    assert leads == [SYMPTOM]
    written = page("functions/pumping.html")
    old = written.by_id("symptom-dead-pump")
    section = written.around(old, "section")
    assert text(written.one("h2", within=section)) == "Pump does not start"


def test_tests_of_two_pages_with_the_same_name_keep_their_anchors_apart():
    more = """## Test: Listen at the pump

- Takes: 1 min

1. Listen.

### Put back

| Finding | Clears |
|---|---|
| Nothing | [Fuse blown] |
| A hum | |
"""
    doc = Doc(built({**PUMP, "more.md": more}), SYMPTOM)
    assert len(doc.ids()) == len(set(doc.ids()))
    assert doc.by_id("more-test-listen-at-the-pump") is not None
    assert doc.by_id("test-listen-at-the-pump") is not None


def test_a_page_describes_itself_for_whoever_lists_it(page):
    about = {
        path: [m.get("content") for m in page(path).all("meta") if m.get("name") == "description"]
        for path in ("index.html", SYMPTOM)
    }
    assert about["index.html"] == ["Low Field Pumps"]
    assert about[SYMPTOM] == ["Pump does not start, said as: the pump is dead; nothing hums. 3 causes, 3 tests."]
