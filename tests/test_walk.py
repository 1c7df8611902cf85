"""A symptom walked step by step, without a terminal and at one. Figures are the invented pump's."""

from __future__ import annotations

import os
import random
import select
import sys
import time
from datetime import date
from pathlib import Path

import pytest

from kb.ask import Asking
from kb.assets import demo_dir
from kb.graph import build_graph
from kb.isolation.found import Road
from kb.isolation.named import symptom_named
from kb.isolation.ways import Hunts
from kb.model import Base
from kb.read.base import read_base, read_files
from kb.reference import Kind
from kb.report import plain
from kb.site.wiring import Wiring
from kb.walk import UNREAD, Walk
from tests.conftest import RUN_ALL
from tests.site.pump import PUMP, PUMPING

ROOT = Path(__file__).parent.parent


def walk_of(base: Base, symptom: str) -> Walk:
    graph = build_graph(base)
    node = symptom_named(base, symptom)
    return Walk(graph, node, Road(Hunts(base, graph).hunt(node.id)))


def pump(page: str = PUMPING) -> Walk:
    files = {k: v.encode() if isinstance(v, str) else v for k, v in {**PUMP, "functions/pumping.md": page}.items()}
    return walk_of(read_files(files), "Pump does not start")


def next_of(walk: Walk) -> str:
    return walk.node(walk.step.kind, walk.step.number).name if walk.step else ""


def left(walk: Walk) -> list[str]:
    return [c.name for c in walk.causes(walk.at.left)]


def talk(walk: Walk, *answers: str) -> str:
    """All that is printed while these answers are given; then input ends."""
    told: list[str] = []
    waiting = list(answers)
    Asking(
        walk,
        Wiring(walk.graph.base),
        lambda prompt: told.append(prompt) or (waiting.pop(0) if waiting else None),
        told.append,
        plain,
        date(2024, 5, 6),
    ).run()
    return "\n".join(told)


def test_a_walk_from_the_first_test_to_the_job_row():
    """Listening 2 min and the lid 5, the fuse 3 with its proof 2: 12 min."""
    walk = pump()
    assert next_of(walk) == "Listen at the pump"
    told = talk(walk, "3", "1")
    assert "Found: Fuse blown." in told and "Prove it: Listen at the pump." in told
    assert "Fixed: Fuse blown, after about 12 min by the times written here." in told
    row = "2024-05-06,,Pump does not start,Fuse blown,12,New fuse,Listen at the pump,"
    assert row in told.splitlines()


def test_the_last_cause_is_left_over_until_something_speaks_for_it():
    walk = pump()
    told = talk(walk, "1")
    assert left(walk) == ["Float wire open"] and walk.found == 0
    assert "Left over: Float wire open. No finding has spoken for it yet; the proof decides." in told


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
    assert any(line.startswith("Where on Ostrel Weir: position on, eye on motor M1") for line in told)


def test_taking_back_unread_and_out_of_order():
    walk = pump()
    walk.say(UNREAD)
    assert left(walk) == ["Fuse blown", "Motor open", "Float wire open"] and next_of(walk) != "Listen at the pump"
    assert walk.take_back() and next_of(walk) == "Listen at the pump"
    assert not walk.take_back()
    told = talk(walk, "t", "t 1", "1")
    assert "  1  Volts at the box" in told and "Do this next: Volts at the box (4 min)" in told
    assert left(walk) == ["Motor open", "Float wire open"]


def test_why_tells_chances_and_the_next_best():
    told = talk(pump(), "w")
    shares = [line.split("%")[0].strip() for line in told.splitlines() if "%  It " in line or "%  The strip" in line]
    assert shares == ["12", "54", "33"]  # of 12: hums 1.5, silent 4 + 1 + 1.5, burnt 4
    assert "if you began with Lamp at the float plug" in told


def test_findings_that_contradict_ask_for_the_test_that_clears_most():
    walk = pump()
    walk.say(0)  # it hums: the wire
    lamp = next(i for i in walk.open_tests() if walk.node("test", i).name == "Lamp at the float plug")
    walk.choose(lamp)
    walk.say(0)  # bright: the motor
    assert walk.at.aside and left(walk)
    told = talk(walk)
    assert "the findings contradict each other" in told and f"Do '{next_of(walk)}' again" in told
    walk.say(1)  # read another way
    assert not walk.at.aside


def test_a_fault_that_sleeps_is_never_cleared():
    walk = pump(PUMPING.replace("- Formerly: Dead pump", "- Comes and goes: yes"))
    assert walk.asks
    told = talk(walk, "1", "n", "1", "y", "1")
    assert "Answer y, n, b or q." in told and "While it is away no finding clears anything." in told
    assert left(walk) == ["Float wire open"]
    assert len(walk.past) == 1  # only the answer after `y` counted


def test_a_repair_that_did_not_help_leads_to_nothing_left():
    told = talk(pump(), "1", "2")
    assert "nothing is left. Do 'Listen at the pump' again" in told


@pytest.mark.parametrize("answer", ["0", "9", "x", "", "t 99", "w", "b"])
def test_any_answer_is_met_calmly(answer):
    walk = pump()
    assert talk(walk, answer)
    assert left(walk) == ["Fuse blown", "Motor open", "Float wire open"]


HARD = ("Mirror does not fold either way", "One mirror stays misted")


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
        os.environ["NO_COLOR"] = "1"
        words = ["-m", "kb.cli", "isolate", "the pump is dead", "--base", str(tmp_path)]
        os.execv(sys.executable, [sys.executable, *words])
    told = read_until_prompt(terminal)
    for answer in ("3", "1", "q"):
        os.write(terminal, f"{answer}\n".encode())
        told += read_until_prompt(terminal)
    _, status = os.waitpid(child, 0)
    os.close(terminal)
    assert os.waitstatus_to_exitcode(status) == 0
    assert "Do this next: Listen at the pump (7 min)" in told and "Fixed: Fuse blown" in told
    assert "\x1b[" not in told
