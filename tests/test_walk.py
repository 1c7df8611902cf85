"""A symptom walked step by step, without a terminal and at one. Figures are the invented pump's."""

from __future__ import annotations

import os
import random
import select
import shlex
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from kb.ask import Asking
from kb.assets import demo_dir
from kb.graph import build_graph
from kb.isolation.found import Found, Road
from kb.isolation.named import found, given, symptom_named
from kb.isolation.ways import Hunts
from kb.model import Base
from kb.read.base import read_base, read_files
from kb.reference import Kind
from kb.report import plain
from kb.walk import UNREAD, Walk
from tests.conftest import RUN_ALL
from tests.site.pump import PUMP, PUMPING

HARD = ("Mirror does not fold either way", "One mirror stays misted")
ROOT = Path(__file__).parent.parent


def walk_of(base: Base, symptom: str) -> Walk:
    graph = build_graph(base)
    node = symptom_named(base, symptom)
    return Walk(graph, node, Road(Hunts(base, graph).hunt(node.id)))


FILES = {k: v.encode() if isinstance(v, str) else v for k, v in PUMP.items()}


def pump(page: str = PUMPING) -> Walk:
    return walk_of(read_files({**FILES, "functions/pumping.md": page.encode()}), "Pump does not start")


def next_of(walk: Walk) -> str:
    return walk.node(walk.step.kind, walk.step.number).name if walk.step else ""


def left(walk: Walk) -> list[str]:
    return [c.name for c in walk.causes(walk.at.left)]


def talk(walk: Walk, *answers: str, command: tuple[str, ...] = ()) -> str:
    """All that is printed while these answers are given; then input ends."""
    told: list[str] = []
    waiting = list(answers)
    Asking(
        walk,
        lambda prompt: told.append(prompt) or (waiting.pop(0) if waiting else None),
        told.append,
        plain,
        date(2024, 5, 6),
        command,
    ).run()
    return "\n".join(told)


def done(walk: Walk, name: str, row: int) -> None:
    """A test done out of order."""
    walk.choose(next(i for i, t in enumerate(walk.matrix.tests) if walk.graph.base.nodes[t.id].name == name))
    walk.say(row)


def test_a_walk_from_the_first_test_to_the_job_row():
    """Listening 2 min and the lid 5, the fuse 3 with its proof 2: 12 min."""
    walk = pump()
    assert next_of(walk) == "Listen at the pump"
    told = talk(walk, "3", "1", "", "2024-02-30", "2024-03-01", "7", "2", "soon", "20")
    assert "Found: Fuse blown." in told
    assert "Prove it: Listen at the pump." in told
    assert "Fixed: Fuse blown, after about 12 min by the times written here." in told
    assert "There is no day '2024-02-30'." in told
    assert "Answer a number from 1 to 2." in told
    assert "Write the minutes in plain digits." in told
    assert told.endswith("2024-03-01,Hask Fen,Pump does not start,Fuse blown,20,New fuse,Listen at the pump,no")


@pytest.mark.parametrize("ends", [(), ("q",), ("", "", "", "")])
def test_the_row_has_what_is_known_where_nothing_is_said(ends):
    told = talk(pump(), "3", "1", *ends)
    assert told.endswith("2024-05-06,,Pump does not start,Fuse blown,12,New fuse,Listen at the pump,no")


def test_the_row_is_read_as_a_job_of_the_history():
    told = talk(pump(), "3", "1", "", "", "2", "")
    rows = "\n".join(told.splitlines()[-2:]) + "\n"
    read = read_files({**FILES, "jobs.csv": rows.encode()})
    assert [p for p in read.problems if p.span.path == "jobs.csv"] == []
    (job,) = read.jobs
    names = [read.nodes[i].name for i in (job.vehicle, job.symptom, job.cause, job.repair, *job.tests)]
    assert names == ["Hask Fen", "Pump does not start", "Fuse blown", "New fuse", "Listen at the pump"]
    assert (job.date, job.minutes, job.returned) == ("2024-05-06", 12, False)


def test_a_repair_is_followed_by_its_proof_as_it_is_done():
    """The proof's lid is off already, so its steps are not told again; its messages are."""
    told = talk(pump(), "3").split("Do this next: New fuse")[1].splitlines()
    proof = told.index("Prove it: Listen at the pump.")
    assert told.index("1. Put the new fuse in.") < proof < told.index("1. Switch on.")
    assert proof < told.index("  DANGER: Water near current") < next(i for i, line in enumerate(told) if line.startswith("2. Listen at"))
    assert "First: Lid off (already so)" in told
    assert "1. Undo four screws." not in told


def test_a_step_is_told_once_when_the_fault_is_there():
    walk = pump(PUMPING.replace("- Formerly: Dead pump", "- Comes and goes: yes"))
    told = talk(walk, "n", "y")
    assert told.count("Do this next: Listen at the pump") == 1
    assert told.count("What did you find?") == 1


def test_of_several_causes_that_one_repair_mends_the_row_asks_which():
    page = PUMPING.replace("- Repair: [New fuse]", "- Repair: [New pump]").replace("- Repair: [Mend the wire]", "- Repair: [New pump]")
    told = talk(pump(page), "1", "", "", "", "3", "")
    assert "Left: Fuse blown, Motor open, Float wire open. This repair mends each of them." in told
    assert "Which cause was it?" in told
    assert ",Float wire open," in told.splitlines()[-1]
    assert talk(pump(page), "1").endswith("It counts nowhere until it names its cause.")


def test_before_the_first_step_stand_the_statement_and_what_looks_like_a_fault():
    told = talk(pump()).splitlines()
    assert told[0].startswith("The maker's instructions come first.")
    assert "Pumping works only when: The float is up. The tank is not empty." in told
    assert "   67 %  Fuse blown       2 of 2 jobs here; writer's word: common" in told


def test_the_last_cause_is_left_over_until_something_speaks_for_it():
    walk = pump()
    told = talk(walk, "1")
    assert left(walk) == ["Float wire open"]
    assert walk.found == 0
    assert "Left over: Float wire open. The findings cleared the others; the proof decides." in told


def test_messages_stand_before_what_calls_for_them():
    """The lid's and the pump's message head the test; water's stands before the step that tells of it."""
    told = talk(pump()).splitlines()
    places = [
        next(i for i, line in enumerate(told) if words in line)
        for words in (
            "CAUTION: Sharp lid", "NOTICE: loud pump", "First: Lid off", "1. Undo four screws.", "1. Switch on.",
            "DANGER: Water near current", "2. Listen at", "3. Switch off.", "What did you find?",
        )
    ]  # fmt: skip
    assert places == sorted(places)


def test_a_message_that_the_page_lacks_is_told_all_the_same():
    page = PUMPING.replace("> **CAUTION** [Sharp lid]\n\n> **NOTICE", "> **NOTICE", 1)
    told = talk(pump(page)).splitlines()
    assert told.index("  CAUTION: Sharp lid") < told.index("1. Switch on.")


def test_where_the_leads_go_and_what_is_expected_there():
    """Ostrel Weir's motor moves in position on; that is the circuit solved with nothing wrong."""
    told = talk(pump())
    assert "Where on Ostrel Weir: position on, eye on motor M1\n  With nothing wrong (computed from the drawing): moves on" in told


def test_taking_back_unread_and_out_of_order():
    walk = pump()
    walk.say(UNREAD)
    assert left(walk) == ["Fuse blown", "Motor open", "Float wire open"]
    assert next_of(walk) != "Listen at the pump"
    assert walk.take_back()
    assert next_of(walk) == "Listen at the pump"
    assert not walk.take_back()
    told = talk(walk, "t", "t 1", "1", "t")
    assert "  1  Volts at the box\n" in told
    assert "Do this next: Volts at the box (4 min)" in told
    assert "  1  Volts at the box (done: Full volts)" in told
    assert left(walk) == ["Motor open", "Float wire open"]


def test_a_choice_is_taken_back_before_an_act():
    walk = pump()
    talk(walk, "1", "t1", "b")
    assert (walk.chosen, len(walk.past)) == (None, 1)
    talk(walk, "b", "b")
    assert walk.past == []


def test_what_has_to_come_first_is_done_first():
    page = PUMPING.replace("- Takes: 5 min\n- Access: [Lid off]; [Power on]", "- Takes: 5 min\n- After: [Volts at the box]\n- Access: [Lid off]")
    walk = pump(page)
    number = next(i for i, t in enumerate(walk.matrix.tests) if walk.graph.base.nodes[t.id].name == "Lamp at the float plug")
    told = talk(walk, f"t {number + 1}")
    assert "Before Lamp at the float plug comes another test." in told
    assert next_of(walk) == "Volts at the box"
    walk.say(1)
    walk.choose(number)
    assert next_of(walk) == "Lamp at the float plug"


def test_minutes_so_far_count_an_access_once_and_what_was_done_in_vain():
    """Listening 2 and the lid 5; the lamp 5 and the power, the lid being off; listening again 2."""
    walk = pump()
    walk.say(UNREAD)
    assert walk.spent == 7 * 60
    done(walk, "Lamp at the float plug", 1)
    power = walk.spent - 12 * 60
    assert 0 <= power < 5 * 60
    done(walk, "Listen at the pump", 1)
    assert walk.spent == 14 * 60 + power


def test_why_tells_chances_and_the_next_best():
    told = talk(pump(), "w")
    shares = [line.split("%")[0].strip() for line in told.splitlines() if "%  It " in line or "%  The strip" in line]
    assert shares == ["12", "54", "33"]  # of 12: hums 1.5, silent 4 + 1 + 1.5, burnt 4
    assert "if you began with Lamp at the float plug" in told


def test_the_best_beginning_is_the_plans_own():
    base = read_base(demo_dir())
    graph = build_graph(base)
    for symptom in base.of_kind(Kind.SYMPTOM):
        walk = Walk(graph, symptom, Road(Hunts(base, graph).hunt(symptom.id)))
        if symptom.name not in HARD and walk.plan.proved and walk.step:
            found = walk.road.choices(walk.at, 99)
            assert found[0] == (walk.plan.seconds, walk.step.kind, walk.step.number)
            assert [seconds for seconds, _, _ in found] == sorted(seconds for seconds, _, _ in found)


def contradicting() -> Walk:
    """It hums: the wire. The lamp is bright: the motor."""
    walk = pump()
    walk.say(0)
    done(walk, "Lamp at the float plug", 0)
    return walk


def test_findings_that_contradict_ask_for_the_test_that_clears_most():
    walk = contradicting()
    assert walk.at.aside
    assert left(walk)
    told = talk(walk)
    assert "the findings contradict each other" in told
    assert f"Do '{next_of(walk)}' again" in told
    walk.say(1)  # read another way
    assert not walk.at.aside
    assert walk.take_back()
    assert walk.at.aside


def test_findings_that_stand_when_done_again_mean_something_else():
    """Each test is asked for again once; then nothing is left, and the walk says so and ends."""
    walk = contradicting()
    again = []
    for _ in range(4):
        if walk.step is None:
            break
        again.append(next_of(walk))
        walk.say(next(p.row for p in walk.counted if walk.node(p.kind, p.number).name == again[-1]))
    assert sorted(again) == ["Lamp at the float plug", "Listen at the pump"]
    told = talk(walk)
    assert "Nothing written here is left. The cause is none of those listed, or a finding misled." in told


def test_a_fault_that_sleeps_is_never_cleared():
    walk = pump(PUMPING.replace("- Formerly: Dead pump", "- Comes and goes: yes"))
    assert walk.asks
    told = talk(walk, "1", "n", "1", "y", "1", "y")
    assert "Answer y, n, b, w, t or q." in told
    assert "While it is away no finding clears anything." in told
    assert "that it works now proves nothing yet" in told
    assert left(walk) == ["Float wire open"]
    assert len(walk.past) == 1  # only the answer after `y` counted


@pytest.mark.parametrize("seed", range(20))
def test_whatever_is_said_while_it_sleeps_clears_nothing(seed):
    walk = pump(PUMPING.replace("- Formerly: Dead pump", "- Comes and goes: yes"))
    dice = random.Random(seed)
    talk(walk, *(dice.choice(["1", "2", "3", "n", "u", "w", "t", "t 1", "t 3", "b", "x"]) for _ in range(30)))
    for test in range(len(walk.matrix.tests)):
        walk.choose(test)
        walk.say(0)
        walk.say(UNREAD)
    assert left(walk) == ["Fuse blown", "Motor open", "Float wire open"]


def test_a_repair_that_did_not_help_asks_for_the_test_again_and_then_is_something_else():
    walk = pump()
    told = talk(walk, "1", "2")
    assert "nothing is left. Do 'Listen at the pump' again" in told
    told = talk(walk, "1")
    assert "Nothing written here is left." in told


def test_what_was_found_can_be_gone_on_from_later():
    walk = pump()
    told = talk(walk, "2", "q", command=("backprobe", "isolate", "the pump is dead"))
    line = told.splitlines()[-1].strip()
    assert line == "backprobe isolate 'the pump is dead' --found 'Listen at the pump = It is silent'"
    past = given(walk.graph.base, walk.matrix, shlex.split(line)[-1])
    assert found(walk.matrix, past) == Found("test", 1, 1, 7)


@pytest.mark.parametrize("answer", ["0", "9", "x", "", "t 99", "w", "b", "\u0661", "1e3", "99999999999999999999"])
def test_any_answer_is_met_calmly(answer):
    walk = pump()
    assert talk(walk, answer)
    assert left(walk) == ["Fuse blown", "Motor open", "Float wire open"]


def test_a_walk_through_any_symptom_ends():
    base = read_base(demo_dir())
    graph = build_graph(base)
    dice = random.Random(7)
    for symptom in base.of_kind(Kind.SYMPTOM):
        if symptom.name in HARD and not RUN_ALL:
            continue
        road = Road(Hunts(base, graph).hunt(symptom.id))
        for _ in range(5 if RUN_ALL else 1):
            walk = Walk(graph, symptom, road)
            for _ in range(80):
                if walk.step is None or walk.at.aside:
                    break
                walk.there = True
                possible = [i for i, e in enumerate(walk.effects(walk.step)) if e.left or walk.step.kind == "repair"]
                walk.say(dice.choice(possible))
            else:
                pytest.fail(symptom.name)


def read_until_prompt(terminal: int) -> str:
    told, end = b"", time.monotonic() + 60
    while time.monotonic() < end and not told.endswith(b"> "):
        if select.select([terminal], [], [], 0.2)[0]:
            try:
                more = os.read(terminal, 65536)
            except OSError:
                break
            if not more:
                break
            told += more
    return told.decode()


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_whole_walk_at_a_terminal(tmp_path):
    import pty

    for name, data in PUMP.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(data.encode() if isinstance(data, str) else data)
    child, terminal = pty.fork()
    if not child:
        os.chdir(ROOT)
        os.environ |= {"NO_COLOR": "1", "TERM": "dumb"}
        words = ["-m", "kb.cli", "isolate", "the pump is dead", "--base", str(tmp_path)]
        os.execv(sys.executable, [sys.executable, *words])
    told = read_until_prompt(terminal)
    for answer in ("w", "b", "3", "1", "", "2024-03-01", "1", "25"):
        os.write(terminal, f"{answer}\n".encode())
        told += read_until_prompt(terminal)
    os.close(terminal)
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == 0
    assert "Do this next: Listen at the pump (7 min)" in told
    assert "if you began with" in told
    assert "Nothing was done yet." in told
    assert "2024-03-01,Ostrel Weir,Pump does not start,Fuse blown,25,New fuse,Listen at the pump,no" in told
    assert "\x1b[" not in told
