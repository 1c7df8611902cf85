"""The walk at a terminal: it prints the step, reads an answer, and goes on until the job is done or stopped."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from kb.isolation.plan import Step
from kb.plans import contradiction
from kb.report import Paint
from kb.site.wiring import Wiring
from kb.walk import UNREAD, Walk
from kb.walking import (  # fmt: skip
    HISTORY,
    KEYS,
    PROVOKE,
    end_lines,
    finding_lines,
    history_row,
    left_lines,
    step_lines,
    why_lines,
)

Ask = Callable[[str], "str | None"]  # a prompt; None at the end of input
Tell = Callable[[str], None]


class Asking:
    """One walk with one person. `ask` gives an answer or None, `tell` prints a line, `day` dates the job's row."""

    def __init__(self, walk: Walk, wiring: Wiring, ask: Ask, tell: Tell, paint: Paint, day: date) -> None:
        self.walk, self.wiring, self.ask, self.tell, self.paint, self.day = walk, wiring, ask, tell, paint, day
        self.shown: tuple[object, ...] | None = None

    def run(self) -> None:
        """Walk until it ends or is stopped."""
        going = True
        while going:
            step = self.walk.step
            going = self._ended() if step is None else self._one(step)

    def _say(self, lines: Iterable[str]) -> None:
        for line in lines:
            self.tell(line)

    def _ended(self) -> bool:
        """The end; True where something was taken back after all."""
        walk = self.walk
        self._say(["", *end_lines(walk)])
        if walk.at.fixed:
            base = walk.graph.base
            vehicle = base.nodes[base.vehicle].name if base.vehicle else ""
            self._say(["", "The job's row for the history; put your own minutes in:", HISTORY])
            self.tell(history_row(walk, self.day, vehicle))
        answer = self.ask("b: take back   q: done")
        return bool(answer and answer.strip().lower() == "b" and walk.take_back())

    def _one(self, step: Step) -> bool:
        """One question and its answer; False to stop."""
        walk = self.walk
        if self._place() != self.shown:
            self.shown = self._place()
            self._contradicts()
            self._say(step_lines(walk, self.wiring, self.paint))
            if not walk.asks:
                self._say(["", *finding_lines(walk)])
        prompt = "Is the fault there now? y: it is   n: it is away   b: take back   q: stop" if walk.asks else KEYS
        answer = self.ask(prompt)
        if answer is None or answer.strip().lower() in ("q", "quit"):
            return False
        (self._there if walk.asks else self._answer)(answer.strip().lower(), step)
        return True

    def _place(self) -> tuple[object, ...]:
        return tuple(self.walk.past), self.walk.chosen, self.walk.asks

    def _contradicts(self) -> None:
        at = self.walk.at
        if at.aside:
            first = at.aside[0]
            name = self.walk.node(first.kind, first.number).name
            self._say(["", contradiction(self.walk.matrix, at, name) + "."])

    def _there(self, answer: str, step: Step) -> None:
        if answer in ("y", "yes"):
            self.walk.there = True
        elif answer in ("n", "no"):
            self._say([PROVOKE])
        elif answer == "b":
            self._back()
        elif answer == "u":
            self.walk.say(UNREAD)
        else:
            self._say(["Answer y, n, b or q."])

    def _answer(self, answer: str, step: Step) -> None:
        count = len(self.walk.effects(step))
        if answer.isdecimal() and 1 <= int(answer) <= count:
            self.walk.say(int(answer) - 1)
        elif answer == "u" and step.kind == "test":
            self.walk.say(UNREAD)
        elif answer == "b":
            self._back()
        elif answer == "w":
            self._say(why_lines(self.walk))
            self._say(left_lines(self.walk))
        elif answer == "t" or answer.startswith("t "):
            self._other(answer[1:].strip())
        else:
            self._say([f"Answer a number from 1 to {count}, or a letter: {KEYS}"])

    def _back(self) -> None:
        if not self.walk.take_back():
            self._say(["Nothing was done yet."])
        self.shown = None

    def _other(self, chosen: str) -> None:
        """The tests that weren't done, by number; with a number, that one next."""
        listed = self.walk.open_tests()
        if chosen.isdecimal() and 1 <= int(chosen) <= len(listed):
            self.walk.choose(listed[int(chosen) - 1])
            return
        for place, test in enumerate(listed, 1):
            self.tell(f"  {place}  {self.walk.node('test', test).name}")
        self._say(["t and a number: do that test next."])
