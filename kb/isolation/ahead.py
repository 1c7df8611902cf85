"""Figures of many hunts worked out in several processes at once, before they are asked for one by one."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import Any

from kb.isolation.figures import Hunt
from kb.isolation.matrix import Matrix

Job = tuple[Hunt, Sequence[str]]  # a hunt, and which of its figures: `ORDERS` or `ENDS`
Tell = Callable[[int, int], None]
HARD = 100  # causes x tests: below, a hunt is sooner worked out than handed over


def processors() -> int:
    """How many processes can run at once."""
    return os.cpu_count() or 1


def work_out(jobs: Iterable[Job], processes: int, tell: Tell) -> None:
    """Work out figures of hunts, those of the hard ones first and several at once.

    What they come to is the same without; for one process, or one hard hunt, nothing is begun here. With
    more, a script that calls this has to keep what it does under `if __name__ == "__main__"`, since each process
    imports it. `tell` is told how many of how many are done.
    """
    waiting = {(id(hunt), tuple(names)): hunt for hunt, names in jobs if _size(hunt) >= HARD and not hunt.known(names)}
    hard = sorted(((hunt, names) for (_, names), hunt in waiting.items()), key=lambda job: _size(job[0]), reverse=True)
    if len(hard) < 2 or processes < 2:
        return
    try:
        with ProcessPoolExecutor(min(processes, len(hard)), get_context("spawn")) as pool:
            found = [pool.submit(_figures, hunt.matrix, hunt.order, hunt.budget, names) for hunt, names in hard]
            for number, ((hunt, _), one) in enumerate(zip(hard, found, strict=True), 1):
                hunt.learn(one.result())
                tell(number, len(hard))
    except (OSError, BrokenProcessPool):
        return  # no processes to be had: each is worked out when it is asked for


def _size(hunt: Hunt) -> int:
    return len(hunt.matrix.causes) * len(hunt.matrix.tests)


def _figures(matrix: Matrix, order: tuple[int, ...], budget: int, names: tuple[str, ...]) -> dict[str, Any]:
    hunt = Hunt(matrix, order, budget)
    return {name: getattr(hunt, name) for name in names}
