"""A plan in words tells every step once and every finding; drawn, nothing stands on anything else."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from functools import cache
from itertools import combinations
from math import log2

import html5lib
import pytest

from kb.graph import build_graph
from kb.isolation.figures import Hunt
from kb.isolation.matrix import build_matrix, money_seconds
from kb.isolation.plan import Step
from kb.read.base import read_files
from kb.reference import Kind
from kb.site.drawing.grown import SIZE, flows, lines
from kb.site.drawing.metrics import width
from kb.site.drawing.tree import Box, Tree, draw_tree, thickness
from kb.site.planned import Planned, planned
from kb.site.render import environment
from kb.site.unfolded import Stop, each, unfold
from tests.site.plans import Case, demo, made_up
from tests.site.pump import PUMP, SYMPTOM, Doc, is_a, text

ROOM = 1080 - 15 - 2 * 16 - 2 * 24  # px of a screen of 1080, less its scroll bar and the paddings
CASES = [*range(40), "demo"]
PAGE = '{% from "plan.html.j2" import whole_plan with context %}<!DOCTYPE html><title>t</title>{{ whole_plan(p) }}'


@cache
def cases(which: int | str) -> tuple[Case, ...]:
    """The demo's plans, or one that is made up."""
    return tuple(demo()) if which == "demo" else (made_up(int(which)),)


@pytest.fixture(params=CASES)
def some(request: pytest.FixtureRequest) -> tuple[Case, ...]:
    """Plans to look at."""
    return cases(request.param)


def steps(first: Step | None) -> list[Step]:
    """The distinct steps of a plan."""
    found: dict[int, Step] = {}

    def walk(step: Step | None) -> None:
        if step and id(step) not in found:
            found[id(step)] = step
            for lead in step.leads:
                walk(lead.then)

    walk(first)
    return list(found.values())


def told(case: Case) -> tuple[Stop, ...]:
    """The lists of a case."""
    return unfold(case.graph, case.symptom, case.matrix, case.first)


def rendered(case: Case):
    """A case's list and drawing as HTML, with figures that are made up."""
    stops = told(case)
    every = tuple(each(stops))
    drawing = draw_tree(every) if len(every) > 1 else None
    given = Planned(stops, len(every), Fraction(600), Fraction(60), Fraction(0), None, Fraction(700), drawing)
    source = environment().from_string(PAGE).render(p=given, local=lambda node: node.anchor)
    return html5lib.parse(source, namespaceHTMLElements=False)


def test_every_step_is_told_once(some):
    for case in some:
        rows = {"test": case.matrix.tests, "repair": case.matrix.repairs}
        stops = list(each(told(case)))
        assert [stop.number for stop in stops] == list(range(1, len(stops) + 1))
        wanted = Counter((s.kind, rows[s.kind][s.number].id, s.seconds) for s in steps(case.first))
        assert Counter((s.kind, s.node.id, s.seconds) for s in stops) == wanted


def test_what_follows_is_told_right_there_or_next_or_elsewhere_and_leads_back_to_no_earlier_state(some):
    for case in some:
        stops = {stop.number: stop for stop in each(told(case))}
        for lists in [told(case), *(w.rungs for s in stops.values() for w in s.ways if w.rungs)]:
            for stop, after in zip(lists, [*lists[1:], None], strict=True):
                assert [way.then for way in stop.ways if way.on] == ([after.number] if after else [])
        for stop in stops.values():
            for way in stop.ways:
                assert not way.rungs or way.rungs[0].number == way.then
                if way.then:
                    assert stops[way.then].causes == way.left
                    assert stops[way.then].below < stop.below


def test_the_lead_with_most_steps_below_goes_on_so_that_lists_stay_shallow(some):
    """Each list in a list holds at most half of the steps that hang on the step it stands in."""

    def depth(stops: tuple[Stop, ...]) -> int:
        return 1 + max((depth(way.rungs) for stop in stops for way in stop.ways if way.rungs), default=0)

    for case in some:
        if case.first:
            assert depth(told(case)) <= 1 + log2(len(steps(case.first)))


def test_every_finding_is_told_and_chances_add_to_one(some):
    for case in some:
        for stop in each(told(case)):
            assert sum(way.share for way in stop.ways) == 1
            if stop.kind == "test":
                written = [finding.words.text for finding in stop.node.findings]
                assert {words for way in stop.ways for words in way.words} == set(written)
                assert sum(len(way.readings) for way in stop.ways) == len(written)


def test_a_steps_time_is_its_own_with_what_it_opens_and_a_repairs_proof_and_costs():
    for case in cases("demo"):
        opened = dict(zip(case.matrix.access_ids, case.matrix.access, strict=True))
        own = {row.id: row.seconds for row in (*case.matrix.tests, *case.matrix.repairs)}
        for stop in each(told(case)):
            assert stop.seconds == own[stop.node.id] + sum(opened[access.id] for access in stop.opens)
            assert stop.money == (money_seconds(case.base, stop.node) if stop.kind == "repair" else 0)


def test_on_the_page_each_number_stands_once_and_each_link_leads_to_one(some):
    for case in some:
        doc = rendered(case)
        ids = Counter(e.get("id") for e in doc.iter() if (e.get("id") or "").startswith("plan-"))
        title = {"plan-tree-title"} if len(steps(case.first)) > 1 else set()
        assert set(ids) == {f"plan-{i + 1}" for i in range(len(steps(case.first)))} | title
        assert set(ids.values()) <= {1}
        links = [e.get("href", "")[1:] for e in doc.iter() if is_a(e, "a", "go-step")]
        assert set(links) <= set(ids)


def test_on_the_page_every_finding_of_a_step_stands_at_the_step():
    for case in cases("demo"):
        doc = rendered(case)
        for stop in each(told(case)):
            (rung,) = [e for e in doc.iter() if e.get("id") == f"plan-{stop.number}"]
            (forks,) = [e for e in rung if is_a(e, "ul", "forks")]
            said = [text(e) for fork in forks for e in fork if is_a(e, "strong")]
            assert len(said) == len(set(said))
            assert set(said) >= ({" ".join(f.words.text.split()) for f in stop.node.findings} or {"Mended"})


# Drawn.


def apart(a: Box, b: Box) -> bool:
    """True for boxes that share no more than an edge."""
    return a[2] <= b[0] + 0.01 or b[2] <= a[0] + 0.01 or a[3] <= b[1] + 0.01 or b[3] <= a[1] + 0.01


def inside(inner: Box, outer: Box) -> bool:
    """True for a box that doesn't reach over another."""
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def shapes(tree: Tree) -> list[Box]:
    """Everything that takes room: boxes, tapes, rings, the words at rings."""
    rings = [(end.x - 8, end.y - 8, end.x + 8, end.y + 8) for end in tree.ends]
    words = [label.box for end in tree.ends for label in end.labels]
    return [*(b.box for b in tree.boxes), *(limb.tape for limb in tree.limbs), *rings, *words]


@cache
def drawings(which: int | str) -> tuple[tuple[tuple[Stop, ...], Tree], ...]:
    """The drawings of these cases with their steps."""
    every = [tuple(each(told(case))) for case in cases(which)]
    return tuple((stops, draw_tree(stops)) for stops in every if len(stops) > 1)


@pytest.mark.parametrize("which", CASES)
def test_nothing_stands_on_anything_else(which):
    for _, tree in drawings(which):
        for a, b in combinations(shapes(tree), 2):
            assert apart(a, b), (a, b)
        for box in shapes(tree):
            assert inside(box, (0, 0, tree.width, tree.height)), box


@pytest.mark.parametrize("which", CASES)
def test_words_stand_in_their_boxes_and_tapes_and_not_on_each_other(which):
    for _, tree in drawings(which):
        held = [(b.box, b.labels) for b in tree.boxes] + [(limb.tape, limb.labels) for limb in tree.limbs]
        for box, labels in held:
            assert all(inside(label.box, box) for label in labels), (box, labels)
            assert all(apart(a.box, b.box) for a, b in combinations(labels, 2)), labels


@pytest.mark.parametrize("which", CASES)
def test_no_branch_runs_upright_through_a_tape(which):
    for _, tree in drawings(which):
        for limb in tree.limbs:
            for x, y, to in re.findall(r"Q([\d.]+) [\d.]+ [\d.]+ ([\d.]+)V([\d.]+)", limb.path):
                low, high = sorted((float(y), float(to)))
                run = (float(x) - limb.thick / 2, low, float(x) + limb.thick / 2, high)
                assert all(apart(run, other.tape) for other in tree.limbs), limb
                assert all(apart(run, box.box) for box in tree.boxes), limb


@pytest.mark.parametrize("which", CASES)
def test_branches_of_a_box_stay_side_by_side(which):
    """Where two of them run upright at one height, neither lies on the other, nor crosses its way out."""
    for _, tree in drawings(which):
        runs = []
        for limb in tree.limbs:
            start = re.match(r"M([\d.]+) ([\d.]+)", limb.path)
            for x, to in re.findall(r"Q([\d.]+) [\d.]+ [\d.]+ [\d.]+V([\d.]+)", limb.path):
                runs.append((start[1], float(start[2]), float(x), limb.thick / 2, *sorted((float(start[2]), float(to)))))
        for a, b in combinations(runs, 2):
            if a[0] == b[0] and a[4] < b[5] and b[4] < a[5]:
                assert abs(a[2] - b[2]) + 0.2 >= a[3] + b[3], (a, b)
                first, second = (a, b) if a[2] < b[2] else (b, a)  # the left one turns first: it goes further
                assert not first[4] < second[1] < first[5], (a, b)


@pytest.mark.parametrize("which", CASES)
def test_a_label_stands_at_62_per_cent_of_its_branch(which):
    for _, tree in drawings(which):
        for limb in tree.limbs:
            start = float(re.match(r"M([\d.]+)", limb.path)[1])
            end = float(re.search(r"H([\d.]+)$", limb.path)[1])
            assert (limb.tape[0] + limb.tape[2]) / 2 == pytest.approx(start + 0.62 * (end - start), abs=2)


@pytest.mark.parametrize("which", CASES)
def test_it_fits_paper_and_a_screen_of_1080_with_words_of_13_px(which):
    for _, tree in drawings(which):
        assert tree.fits_paper or len(tree.boxes) == 1
        assert SIZE * min(1, ROOM / tree.width) >= 13
        assert {label.size for box in tree.boxes for label in box.labels} == {SIZE}


@pytest.mark.parametrize("which", CASES)
def test_every_chance_of_a_drawn_step_is_a_branch_and_boxes_stand_once(which):
    for stops, tree in drawings(which):
        by_number = {stop.number: stop for stop in stops}
        drawn = [box.stop for box in tree.boxes]
        assert drawn[0] == 1 and len(set(drawn)) == len(drawn)
        branches = sum(1 for n in drawn for way in by_number[n].ways if way.share)
        assert len(tree.limbs) == branches == len(tree.boxes) - 1 + len(tree.ends)
        assert tree.steps == {*drawn, *(end.stop for end in tree.ends if end.stop)}


@pytest.mark.parametrize("which", CASES)
def test_of_what_follows_the_first_step_the_heaviest_is_drawn(which):
    """The second box is the likeliest step after the first that isn't the last of its way."""
    for stops, tree in drawings(which):
        by_number = {stop.number: stop for stop in stops}
        after = [w for w in stops[0].ways if w.then and any(x.then for x in by_number[w.then].ways)]
        most = max((way.share for way in after), default=None)
        drawn = {box.stop for box in tree.boxes}
        if len(drawn) > 1:
            assert any(way.then in drawn for way in after if way.share == most)
        else:  # nothing but ends follows
            assert not after


def test_all_faults_come_to_an_end(some):
    """What flows into steps that end, and out of them, is all there is."""
    for case in some:
        stops = tuple(each(told(case)))
        if stops:
            flow = flows(stops)
            assert sum(flow[s.number] * way.share for s in stops for way in s.ways if not way.then) == 1


def test_thickness_is_share():
    """14 px for all, a line of 2 px at least (invented)."""
    assert [thickness(Fraction(n, 14)) for n in (14, 7, 2, 1, 0)] == [14, 7, 2, 2, 2]


@pytest.mark.parametrize("room", [30, 74, 120])
def test_words_are_broken_within_their_room_and_say_so_where_they_are_cut(room):
    words = "Lamp at the mirror plug, unconnectednesses too"
    whole = lines(words, room, 99)
    assert "".join(whole).replace(" ", "") == words.replace(" ", "")
    for found in (whole, lines(words, room, 2)):
        assert all(width(line, SIZE) <= room for line in found)
    assert lines(words, room, 2)[-1].endswith("...") and len(lines(words, room, 2)) == 2


def test_the_same_plan_is_told_and_drawn_alike_each_time():
    first, second = made_up(3), made_up(3)
    assert told(first) == told(second)
    assert draw_tree(tuple(each(told(first)))) == draw_tree(tuple(each(told(second))))


# The pump's page.


def pump(page: str = "") -> tuple[Planned, object]:
    """The plan of the pump's symptom, and its page's part."""
    files = {**PUMP, "functions/pumping.md": page or PUMP["functions/pumping.md"]}
    base = read_files({name: data if isinstance(data, bytes) else data.encode() for name, data in files.items()})
    graph = build_graph(base)
    symptom = base.of_kind(Kind.SYMPTOM)[0]
    matrix = build_matrix(graph, symptom.id)
    numbers = {row.id: i for i, row in enumerate(matrix.tests)}
    given = planned(graph, symptom, Hunt(matrix, [numbers[t.id] for t in base.all(symptom.refs("Order"))]))
    source = environment().from_string(PAGE).render(p=given, local=lambda node: node.anchor)
    return given, html5lib.parse(source, namespaceHTMLElements=False)


def test_the_head_says_what_it_takes_and_what_is_assumed():
    given, doc = pump()
    (said,) = [text(e) for e in doc.iter() if is_a(e, "p", "sum")]
    assert f"{given.minutes(given.fixed)} min until fixed" in said
    assert "No other plan takes less." in said and "The writer's order takes" in said
    words = text(doc)
    assert "One fault at a time is assumed." in words
    assert "This is an outline. Messages about danger stand with each test and repair" in words


def test_the_gap_is_told_where_the_plan_is_not_proved_least():
    given, _ = pump()
    unsure = Planned(given.stops, given.count, given.fixed, given.isolate, Fraction(240), None, given.fixed, given.drawing)
    source = environment().from_string(PAGE).render(p=unsure, local=lambda node: node.anchor)
    assert "Not proved to be least: another plan may take up to <strong>4 min</strong> less." in source
    assert "No other plan" not in source and "writer" not in source


def test_a_last_cause_is_left_over_until_a_finding_or_the_proof_speaks_for_it():
    _, doc = pump()
    said = [text(e) for e in doc.iter() if is_a(e, "li", "fork")]
    assert any(re.match(r"The strip is burnt [^:]*: found: Fuse blown", words) for words in said), said
    assert any(re.search(r"^(?!Mended).*: left over: ", words) for words in said)
    assert any(words.startswith("Mended: found: ") for words in said)


def test_a_symptom_without_tests_and_repairs_says_so():
    page = "# Function: F\n\n## Symptom: S\n\n- Causes: [C]\n\n## Cause: C\n"
    given, doc = pump(page)
    assert given.stops == () and given.drawing is None
    assert "Nothing can be planned yet" in text(doc)


def test_the_drawing_has_a_name_and_the_list_needs_no_script():
    given, doc = pump()
    (svg,) = [e for e in doc.iter() if is_a(e, "svg", "plan-tree")]
    assert svg.get("role") == "img"
    (title,) = [e for e in svg.iter() if is_a(e, "title")]
    assert title.get("id") == svg.get("aria-labelledby") and text(title) == given.alternative
    (words,) = [e for e in doc.iter() if is_a(e, "details", "in-words")]
    assert words.get("open") is not None


def test_the_plan_stands_on_the_symptoms_page(page):
    doc: Doc = page(SYMPTOM)
    section = doc.by_id("plan")
    links = [a.get("href", "") for a in doc.all("a", within=section)]
    assert links and all(link.startswith("#") for link in links)
    assert {link[1:] for link in links} <= set(doc.ids())
