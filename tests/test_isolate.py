"""`backprobe isolate` as a shell sees it: its plan as text, its object for programs, and bad input (bases invented)."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from kb import cli, plans
from kb.assets import demo_dir
from kb.graph import Graph, build_graph
from kb.isolation.found import Road
from kb.isolation.plan import Step
from kb.isolation.ways import Hunts
from kb.model import Node
from kb.read.base import read_base
from kb.reference import Kind
from tests.bases import INDEX
from tests.conftest import RUN_ALL

STEP = {
    "type": "object",
    "additionalProperties": False,
    "required": ["do", "name", "minutes", "findings"],
    "properties": {
        "do": {"enum": ["test", "repair"]},
        "name": {"type": "string"},
        "minutes": {"type": "number", "minimum": 0},
        "findings": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["finding", "share", "left", "then"],
                "properties": {
                    "finding": {"type": "string"},
                    "share": {"type": "number", "minimum": 0, "maximum": 1},
                    "left": {"type": "array", "items": {"type": "string"}},
                    "then": {"oneOf": [{"type": "null"}, {"$ref": "#/$defs/step"}]},
                },
            },
        },
    },
}
CONTRACT = {
    "$defs": {"step": STEP},
    "type": "object",
    "additionalProperties": False,
    "required": ["symptom", "causes", "minutes", "proved", "gap", "plan"],
    "properties": {
        "symptom": {"type": "string"},
        "causes": {
            "type": "array",
            "items": {
                "type": "object",
                "additionalProperties": False,
                "required": ["name", "weight", "share"],
                "properties": {
                    "name": {"type": "string"},
                    "weight": {"type": "number", "exclusiveMinimum": 0},
                    "share": {"type": "number", "minimum": 0, "maximum": 1},
                },
            },
        },
        "minutes": {
            "type": "object",
            "additionalProperties": False,
            "required": ["until_fixed", "to_isolate", "writers_order"],
            "properties": {
                "until_fixed": {"type": "number"},
                "to_isolate": {"type": "number"},
                "writers_order": {"type": ["number", "null"]},
            },
        },
        "proved": {"type": "boolean"},
        "gap": {"type": "number", "minimum": 0},
        "plan": {"oneOf": [{"type": "null"}, {"$ref": "#/$defs/step"}]},
    },
}

# Lamp dead: bulb 6, socket 3, wire 1. Minutes: look 2, prod 3 behind the panel (10 + 5), repairs 5, 20, 60.
LAMP = """# Function: Lamp

## Symptom: Lamp dead
- Said as: my light is out
- Causes: [Bulb] — common; [Socket] — occasional; [Wire] — rare
- Order: [Prod]; [Look]

## Symptom: Lamp flickers
- Comes and goes: yes
- Causes: [Socket]; [Wire]

## Symptom: Lamp dim
- Causes: [Ghost]

## Cause: Bulb
- Repair: [New bulb]

## Cause: Socket
- Repair: [New socket]

## Cause: Wire
- Repair: [New wire]
- Only on: [Marl]

## Cause: Ghost

## Test: Look
- Takes: 2 min
- Formerly: Gaze

| Finding | Clears | Proves |
|---|---|---|
| The wire in it is whole | [Bulb] | |
| The wire in it = broken | | [Bulb] |

## Test: Prod
- Takes: 3 min
- Access: [Panel off]

| Finding | Clears |
|---|---|
| It wakes | [Bulb]; [Wire] |
| It stays dark | [Socket] |

## Test: Unasked
- Takes: 4 min
- Access: [Panel off]

| Finding | Clears |
|---|---|
| yes | |
| no | |

## Repair: New bulb
- Takes: 5 min
- Verify: [Look]

## Repair: New socket
- Takes: 20 min

## Repair: New wire
- Takes: 60 min

# Access: Panel off
- Takes: 10 min
- Undo: 5 min

# Vehicle: Marl

# Vehicle: Skua
"""


class Ran:
    def __init__(self, code: int, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err


Run = Callable[..., Ran]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    (tmp_path / "index.md").write_text(INDEX)
    (tmp_path / "lamp.md").write_text(LAMP)
    monkeypatch.chdir(tmp_path)

    def go(*words: str) -> Ran:
        code = cli.run(("isolate", *words))
        return Ran(code, *capsys.readouterr())

    return go


def plan(run: Run, *words: str) -> Any:
    ran = run(*words, "--format", "json")
    assert ran.code == 0
    found = json.loads(ran.out)
    jsonschema.validate(found, CONTRACT)
    return found


def shape(step: Any) -> Any:
    """A step as name, minutes and what its findings lead to."""
    return step and (step["name"], step["minutes"], {f["finding"]: (f["share"], f["left"], shape(f["then"])) for f in step["findings"]})


def test_the_plan_from_the_start(run: Run) -> None:
    """Worked by hand. Look 2, then 6/10 a bulb: 5 and its proof 2. Else the prod behind the panel, 3 + 15, then
    20 or 60. 2 + .6 * 7 + .4 * 18 + .3 * 20 + .1 * 60 = 25.4; isolated: 2 + .4 * 18 = 9.2. The writer's order begins
    with the prod: 18 + .3 * 20 + .7 * 2 + .6 * 7 + .1 * 60 = 35.6.
    """
    found = plan(run, "Lamp dead")
    assert found["causes"] == [
        {"name": "Bulb", "weight": 6, "share": 0.6}, {"name": "Socket", "weight": 3, "share": 0.3}, {"name": "Wire", "weight": 1, "share": 0.1},
    ]  # fmt: skip
    assert found["minutes"] == {"until_fixed": 25.4, "to_isolate": 9.2, "writers_order": 35.6}
    assert (found["symptom"], found["proved"], found["gap"]) == ("Lamp dead", True, 0)
    bulb = ("New bulb", 7, {"fixed": (1.0, [], None), "not fixed": (0.0, [], None)})
    socket = ("New socket", 20, {"fixed": (1.0, [], None), "not fixed": (0.0, [], None)})
    wire = ("New wire", 60, {"fixed": (1.0, [], None), "not fixed": (0.0, [], None)})
    prod = ("Prod", 18, {"It wakes": (0.75, ["Socket"], socket), "It stays dark": (0.25, ["Wire"], wire)})
    assert shape(found["plan"]) == (
        "Look", 2, {"The wire in it is whole": (0.4, ["Socket", "Wire"], prod), "The wire in it = broken": (0.6, ["Bulb"], bulb)},
    )  # fmt: skip


def test_what_was_found_is_gone_on_from(run: Run) -> None:
    found = plan(run, "lamp  DEAD", "--found", " look =the wire in it is whole")
    assert [(c["name"], c["share"]) for c in found["causes"]] == [("Socket", 0.75), ("Wire", 0.25)]
    assert found["minutes"] == {"until_fixed": 48, "to_isolate": 18, "writers_order": 48}
    both = plan(run, "Lamp dead", "--found", "Look = The wire in it is whole", "--found", "Prod = It wakes")
    assert [c["name"] for c in both["causes"]] == ["Socket"]
    assert both["minutes"] == {"until_fixed": 20, "to_isolate": 0, "writers_order": 20}


def test_names_of_old_exact_names_and_an_equals_sign_in_a_finding(run: Run) -> None:
    for words in ("Gaze = The wire in it = broken", "Test: Look=The wire in it = broken", "lamp/Look = the wire in it = BROKEN"):
        assert [c["name"] for c in plan(run, "Lamp dead", "--found", words)["causes"]] == ["Bulb"]


def test_the_customers_words_name_the_symptom(run: Run) -> None:
    assert plan(run, "My light is out")["symptom"] == "Lamp dead"


def test_a_repair_that_was_done(run: Run) -> None:
    left = plan(run, "Lamp dead", "--found", "New bulb = not fixed")
    assert [c["name"] for c in left["causes"]] == ["Socket", "Wire"]
    done = plan(run, "Lamp dead", "--found", "New bulb = fixed")
    assert (done["causes"], done["plan"]) == ([], None)
    assert done["minutes"]["until_fixed"] == 0
    assert "Fixed." in run("Lamp dead", "--found", "New bulb = fixed").out


def test_a_test_that_says_nothing_still_opens_what_it_needs(run: Run) -> None:
    """The panel is off already: the prod takes 3 and not 18 minutes."""
    ran = run("Lamp dead", "--found", "Unasked = yes", "--found", "Look = The wire in it is whole", "--format", "json")
    assert ran.err == "backprobe: 'Unasked' says nothing about 'Lamp dead'\n"
    assert json.loads(ran.out)["plan"]["minutes"] == 3


def test_findings_that_contradict_ask_for_the_one_that_clears_most_again(run: Run) -> None:
    """The wire broken proves the bulb and clears 4 of 10; waking clears the bulb and the wire, 7 of 10."""
    words = ("Lamp dead", "--found", "Look = The wire in it = broken", "--found", "Prod = It wakes")
    ran = run(*words, "--format", "json")
    assert ran.code == 0
    assert ran.err == "backprobe: the findings contradict each other: nothing is left. Do 'Prod' again, which clears most (70 %)\n"
    found = plan(run, *words)
    assert [c["name"] for c in found["causes"]] == ["Bulb"]
    assert shape(found["plan"])[:2] == ("Prod", 3)
    assert [f["left"] for f in found["plan"]["findings"]] == [[], ["Bulb"]]
    assert found["minutes"] == {"until_fixed": 10, "to_isolate": 3, "writers_order": 10}
    text = run(*words)
    assert "contradict" in text.err
    assert "1. Test: Prod" in text.out


def test_one_test_found_two_ways_is_to_be_done_again(run: Run) -> None:
    words = ("Lamp dead", "--found", "Prod = It wakes", "--found", "Prod = It stays dark")
    assert "Do 'Prod' again" in run(*words).err
    found = plan(run, *words)
    assert len(found["causes"]) == 3
    assert found["plan"]["name"] == "Prod"
    assert plan(run, "Lamp dead", "--found", "Prod = It wakes", "--found", "Prod = It wakes")["plan"]["name"] == "New socket"


def test_when_no_repair_helped_it_is_something_else(run: Run) -> None:
    words = [w for name in ("New bulb", "New socket", "New wire") for w in ("--found", f"{name} = not fixed")]
    ran = run("Lamp dead", *words)
    assert "something else" in ran.err
    assert plan(run, "Lamp dead", *words)["causes"] != []


def test_overlapping_findings_share_a_causes_weight(run: Run, tmp_path: Path) -> None:
    """`Wire` survives both findings of Look (a half each way): 3 and .5, for Bulb 6 is cleared."""
    page = LAMP.replace("| The wire in it = broken | | [Bulb] |", "| The wire in it = broken | [Socket] | |")
    (tmp_path / "lamp.md").write_text(page)
    found = plan(run, "Lamp dead", "--found", "Look = The wire in it is whole")
    assert found["causes"] == [
        {"name": "Socket", "weight": 3, "share": 0.8571}, {"name": "Wire", "weight": 0.5, "share": 0.1429},
    ]  # fmt: skip


def test_a_vehicle_has_its_own_causes(run: Run) -> None:
    assert [c["name"] for c in plan(run, "Lamp dead", "--vehicle", "skua")["causes"]] == ["Bulb", "Socket"]


def test_a_cause_without_a_repair_ends_in_nothing_to_do(run: Run) -> None:
    assert plan(run, "Lamp dim")["plan"] is None
    assert "Nothing more can be done" in run("Lamp dim").out


def test_a_symptom_without_causes(run: Run, tmp_path: Path) -> None:
    (tmp_path / "lamp.md").write_text("# Symptom: S\n")
    assert plan(run, "S") == {
        "symptom": "S", "causes": [], "minutes": {"until_fixed": 0, "to_isolate": 0, "writers_order": None},
        "proved": True, "gap": 0, "plan": None,
    }  # fmt: skip
    assert "It has no causes." in run("S").out


def test_a_base_with_errors_gives_what_could_be_read(run: Run, tmp_path: Path) -> None:
    (tmp_path / "lamp.md").write_text(LAMP.replace("[New wire]", "[Nw wire]", 1).replace("- Takes: 2 min", "- Takes: soon"))
    assert plan(run, "Lamp dead")["plan"]["name"] == "Look"


def test_a_first_test_without_findings_ends_no_hunt(run: Run, tmp_path: Path) -> None:
    page = LAMP.replace("- Takes: 3 min", "- After: [Warm up]\n- Takes: 3 min")
    (tmp_path / "lamp.md").write_text(page + "\n# Test: Warm up\n- Takes: 1 min\n")
    found = plan(run, "Lamp dead", "--found", "Look = The wire in it is whole")
    assert shape(found["plan"])[0] == "Warm up"
    assert [f["finding"] for f in found["plan"]["findings"]] == ["done"]
    assert found["minutes"]["to_isolate"] == 19
    on = plan(run, "Lamp dead", "--found", "Look = The wire in it is whole", "--found", "Warm up = done")
    assert on["minutes"]["to_isolate"] == 18


BAD = [
    (("Lamp ded",), "no symptom 'Lamp ded'; did you mean 'Lamp dead'?"),
    (("flickers",), "did you mean 'Lamp flickers'?"),
    (("Nothing of the kind",), "no symptom 'Nothing of the kind'"),
    (("Lamp dead", "--found", "Lok = x"), "no test or repair 'Lok'; did you mean 'Look'?"),
    (("Lamp dead", "--found", "Look = broken"), "it has 'The wire in it is whole', 'The wire in it = broken'"),
    (("Lamp dead", "--found", "Prod = It wake"), "did you mean 'It wakes'?"),
    (("Lamp dead", "--found", "New bulb = done"), "it has 'fixed', 'not fixed'"),
    (("Lamp dead", "--found", "Look"), "no equals sign"),
    (("Lamp dead", "--vehicle", "Marls"), "no vehicle 'Marls'; did you mean 'Marl'?"),
    (("Lamp dead", "--format", "sarif"), "--format"),
    ((), "SYMPTOM"),
]


@pytest.mark.parametrize(("words", "told"), BAD)
def test_bad_input_ends_with_one_line_and_2(run: Run, words: tuple[str, ...], told: str) -> None:
    ran = run(*words)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("backprobe: ")
    assert ran.err.count("\n") == 1
    assert told in ran.err


def test_what_is_not_for_the_vehicle_says_so(run: Run, tmp_path: Path) -> None:
    page = LAMP.replace("- Said as: my light is out\n", "- Said as: my light is out\n- Only on: [Marl]\n")
    (tmp_path / "lamp.md").write_text(page)
    assert "doesn't apply to Skua" in run("Lamp dead", "--vehicle", "Skua").err


def test_two_of_one_name_have_to_be_told_apart(run: Run, tmp_path: Path) -> None:
    (tmp_path / "other.md").write_text("# Symptom: Lamp dead\n- Causes: [Bulb]\n")
    assert run("Lamp dead").err == "backprobe: 'Lamp dead' can mean several: write 'lamp/Lamp dead' or 'other/Lamp dead'\n"
    assert [c["name"] for c in plan(run, "other/Lamp dead")["causes"]] == ["Bulb"]


def test_the_text_names_each_step_once(run: Run) -> None:
    out = run("Lamp dead").out
    assert "\x1b" not in out
    assert out.startswith("Lamp dead\n\n   60 %  Bulb    writer's word: common\n")
    assert "Expected: 25 min until fixed, 9 min until isolated, 36 min until fixed in the writer's order." in out
    assert "   - The wire in it is whole (40 %): 2 left: Socket; Wire\n     2. Test: Prod (18 min)\n        first: Panel off\n" in out
    assert "its proof: Look" in out
    assert out.count("Test: Prod") == 1
    assert "comes and goes" in run("Lamp flickers").out


# The demonstration base.


@pytest.fixture(scope="module")
def demo() -> tuple[Graph, Hunts]:
    base = read_base(demo_dir())
    graph = build_graph(base)
    return graph, Hunts(base, graph)


def unfolded(step: Step | None, known: dict[int, int]) -> int:
    """How many steps a plan has where it is written out as a tree."""
    if step is None:
        return 0
    if id(step) not in known:
        known[id(step)] = 1 + sum(unfolded(lead.then, known) for lead in step.leads)
    return known[id(step)]


def symptoms() -> list[Node]:
    return list(read_base(demo_dir()).of_kind(Kind.SYMPTOM))


def agreed(found: dict[str, Any]) -> None:
    """The shape of the answer, its shares and its minutes."""
    jsonschema.validate({**found, "plan": None}, CONTRACT)
    assert found["plan"] is not None
    assert sum(c["share"] for c in found["causes"]) == pytest.approx(1, abs=0.01)
    order = found["minutes"]["writers_order"]
    assert order is None or order >= found["minutes"]["until_fixed"] - found["gap"]
    assert sum(f["share"] for f in found["plan"]["findings"]) == pytest.approx(1, abs=0.01)


@pytest.mark.parametrize("symptom", symptoms(), ids=lambda n: n.name)
def test_every_symptom_has_a_plan_as_agreed(demo: tuple[Graph, Hunts], symptom: Node) -> None:
    graph, hunts = demo
    report = plans.report(graph, symptom, Road(hunts.hunt(symptom.id)), ())
    if RUN_ALL or unfolded(hunts.hunt(symptom.id).fixed.first, {}) < 20_000:  # more is tens of megabytes
        agreed(json.loads(plans.as_json(report)))
    text = plans.as_text(report)
    steps = [line.split(". ", 1)[1] for line in text.split("\n") if line.lstrip()[:1].isdigit() and ". " in line]
    assert steps
