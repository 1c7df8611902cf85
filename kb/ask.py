"""The walk at a terminal: it prints the step, reads an answer, and goes on until the job is done or stopped."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import date

from kb.isolation.plan import Step
from kb.leads import Leads
from kb.model import Node
from kb.plans import contradiction
from kb.reference import Kind
from kb.report import Paint
from kb.walk import UNREAD, Walk
from kb.walking import (  # fmt: skip
    HISTORY,
    KEYS,
    PROVOKE,
    Card,
    end_lines,
    finding_lines,
    history_row,
    left_lines,
    other_lines,
    resume_line,
    start_lines,
    step_lines,
    why_lines,
)

Ask = Callable[[str], "str | None"]  # a prompt; None at the end of input
Tell = Callable[[str], None]
Working = Callable[[str], AbstractContextManager[None]]
THERE = "Is the fault there now? y: it is   n: it is away   b: take back   w: why this   t: another test   q: stop"
NUMBER = re.compile(r"\d+(?:\.\d+)?", re.ASCII)


def _still(what: str) -> AbstractContextManager[None]:
    return nullcontext()


class Asking:
    """One walk with one person. `ask` gives an answer or None, `tell` prints a line, `day` dates the job's row.

    `command` is what begins this walk in a shell; `working` says what takes long.
    """

    def __init__(
        self,
        walk: Walk,
        ask: Ask,
        tell: Tell,
        paint: Paint,
        day: date,
        command: Sequence[str] = (),
        working: Working = _still,
    ) -> None:
        self.walk, self.ask, self.tell, self.paint, self.day = walk, ask, tell, paint, day
        self.command, self.working = command, working
        self.leads = Leads(walk.graph)
        self.shown: tuple[object, ...] | None = None

    def run(self) -> None:
        """Walk until it ends or is stopped."""
        self._say(start_lines(self.walk, self.paint))
        going = True
        while going:
            with self.working("working out the plan"):
                step = self.walk.step
            going = self._ended() if step is None else self._one(step)

    def _say(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.tell(line)

    # The end.

    def _ended(self) -> bool:
        """The end; True where something was taken back after all."""
        walk = self.walk
        self._say(["", *end_lines(walk)])
        answer = self.ask(f"b: take back   {'Enter: note the job   ' if walk.at.fixed else ''}q: done")
        key = "q" if answer is None else answer.strip().lower()
        if key == "b" and walk.take_back():
            return True
        if walk.at.fixed:
            self._noted(asks=key != "q")
        else:
            self._stopped()
        return False

    def _noted(self, asks: bool) -> None:
        """The job's row; where nothing is asked, with what is known."""
        if not asks:
            self.ask = lambda prompt: None
        card = Card(self._day(), self._vehicle(), self._cause(), self._minutes())
        self._say(["", "The job's row for the history:", HISTORY, history_row(self.walk, card)])
        if not card.cause:
            self._say(["It counts nowhere until it names its cause."])

    def _stopped(self) -> None:
        if self.command and self.walk.past:
            self._say(["", "To go on later:", f"  {resume_line(self.walk, self.command)}"])

    def _day(self) -> str:
        usual = self.day.isoformat()
        while answer := self._typed(f"Date of the job [{usual}]"):
            try:
                return date.fromisoformat(answer).isoformat()
            except ValueError:
                self._say([f"There is no day '{answer}'. Write year, month and day: {usual}"])
        return usual

    def _minutes(self) -> str:
        usual = str(max(1, round(self.walk.spent / 60)))
        while answer := self._typed(f"Minutes it took [{usual}]"):
            if NUMBER.fullmatch(answer):
                return answer
            self._say(["Write the minutes in plain digits."])
        return usual

    def _vehicle(self) -> str:
        base = self.walk.graph.base
        if base.vehicle:
            return base.nodes[base.vehicle].name
        return self._picked("Which vehicle?", base.of_kind(Kind.VEHICLE))

    def _cause(self) -> str:
        mended = self.walk.causes(self.walk.mended)
        return mended[0].name if len(mended) == 1 else self._picked("Which cause was it?", mended)

    def _picked(self, question: str, nodes: Sequence[Node]) -> str:
        """One of some nodes by its number; nothing where that isn't known."""
        self._say([question, *(f"  {place}  {node.name}" for place, node in enumerate(nodes, 1))] if nodes else ())
        while nodes and (answer := self._typed("number, or nothing where that isn't known")):
            if (place := _place_of(answer, len(nodes))) is not None:
                return nodes[place].name
            self._say([f"Answer a number from 1 to {len(nodes)}."])
        return ""

    def _typed(self, prompt: str) -> str:
        answer = self.ask(prompt)
        return "" if answer is None or answer.strip().lower() == "q" else answer.strip()

    # A step.

    def _one(self, step: Step) -> bool:
        """One question and its answer; False to stop."""
        walk = self.walk
        if self._place() != self.shown:
            self.shown = self._place()
            self._contradicts()
            self._say(step_lines(walk, self.leads, self.paint))
            self._say(() if walk.asks else ["", *finding_lines(walk)])
        answer = self.ask(THERE if walk.asks else KEYS)
        if answer is None or answer.strip().lower() in ("q", "quit"):
            self._stopped()
            return False
        self._answer(answer.strip().lower(), step)
        return True

    def _place(self) -> tuple[object, ...]:
        return tuple(self.walk.past), self.walk.chosen

    def _contradicts(self) -> None:
        at = self.walk.at
        if at.aside:
            first = at.aside[0]
            name = self.walk.node(first.kind, first.number).name
            self._say(["", contradiction(self.walk.matrix, at, name) + "."])

    def _answer(self, answer: str, step: Step) -> None:
        if answer == "u" and step.kind == "test" and not self.walk.asks:
            self.walk.say(UNREAD)
        elif answer == "b":
            self._back()
        elif answer == "w":
            with self.working("comparing"):
                lines = [*why_lines(self.walk), *left_lines(self.walk)]
            self._say(lines)
        elif answer == "t" or re.fullmatch(r"t\s*\d+", answer):
            self._other(answer[1:].strip())
        elif self.walk.asks:
            self._there(answer)
        else:
            self._found(answer, step)

    def _there(self, answer: str) -> None:
        if answer in ("y", "yes"):
            self.walk.there = True
            self._say(["", *finding_lines(self.walk)])
        else:
            self._say([PROVOKE if answer in ("n", "no") else "Answer y, n, b, w, t or q."])

    def _found(self, answer: str, step: Step) -> None:
        count = len(self.walk.effects(step))
        if (place := _place_of(answer, count)) is not None:
            self.walk.say(place)
        else:
            self._say([f"Answer a number from 1 to {count}, or a letter: {KEYS}"])

    def _back(self) -> None:
        if not self.walk.take_back():
            self._say(["Nothing was done yet."])
        self.shown = None

    def _other(self, chosen: str) -> None:
        """The symptom's tests by number; with a number, that one next."""
        place = _place_of(chosen, len(self.walk.matrix.tests))
        if place is None:
            self._say(other_lines(self.walk))
            return
        self.walk.choose(place)
        if self.walk.chosen != place:
            self._say([f"Before {self.walk.node('test', place).name} comes another test."])


def _place_of(answer: str, count: int) -> int | None:
    """The place, from 0, that a number from 1 to `count` names."""
    return int(answer) - 1 if answer.isascii() and answer.isdecimal() and 1 <= int(answer[:9]) <= count else None
