"""The plan as a linear programme, solved by HiGHS: no state is worth more than what any act there comes to.

State values are variables; the first one's is made as great as it can be below all acts. Without pruning, memo
or order of search: what it shares with the planner is the matrix alone.
"""

from __future__ import annotations

import numpy as np
import pytest

from kb.isolation.plan import Planner
from tests.conftest import RUN_ALL
from tests.isolation.made import ENOUGH, made
from tests.isolation.unpruned import State, Unpruned

optimize = pytest.importorskip("scipy.optimize", reason="scipy is not installed; it comes with the test extra")
sparse = pytest.importorskip("scipy.sparse", reason="scipy is not installed; it comes with the test extra")

INSTANCES = 1_000 if RUN_ALL else 200


def greatest(referee: Unpruned) -> float:
    """The greatest weight x seconds of the first state with V(state) <= cost + sum of V below, for every act."""
    place: dict[State, int] = {referee.start(): 0}
    states, rows, columns, entries, costs = [referee.start()], [], [], [], []
    ended = []
    for state in states:  # grows as states are met
        acts = referee.acts(state)
        ended.append(not acts)
        for _, cost, below in acts:
            for met in (state, *below):
                if met not in place:
                    place[met] = len(states)
                    states.append(met)
                rows.append(len(costs))
                columns.append(place[met])
            entries += [1.0, *[-1.0] * len(below)]
            costs.append(float(cost))
    limits = np.array([(0.0, 0.0 if over else np.inf) for over in ended])
    aim = np.zeros(len(states))
    aim[0] = -1.0
    matrix = sparse.coo_array((entries, (rows, columns)), shape=(len(costs), len(states))) if costs else None
    solved = optimize.linprog(aim, matrix, costs or None, bounds=limits, method="highs")
    assert solved.status == 0, solved.message
    return -solved.fun


@pytest.mark.parametrize("isolate", [False, True], ids=["until-fixed", "until-isolated"])
def test_the_linear_programme_gives_the_plans_value(isolate: bool) -> None:
    for seed in range(INSTANCES):
        m = made(seed + 20_000)
        value = float(Planner(m, isolate, ENOUGH).plan().seconds * sum(m.weights))
        assert greatest(Unpruned(m, isolate)) == pytest.approx(value, abs=1e-6, rel=1e-6), seed
