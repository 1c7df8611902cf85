"""What the script that walks a symptom is given: its matrices and plans, with no vehicle and with each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from kb.isolation.data import data_of, plan_data
from kb.isolation.figures import Hunt
from kb.isolation.matrix import strips
from kb.isolation.ways import Hunts
from kb.model import Base, Node
from kb.site.address import vehicle_key

Places = dict[str, dict[str, int]]


def walk_data(hunts: Hunts, symptom: Node) -> dict[str, Any]:
    """Plain lists and numbers, for JSON.

    `causes`, `tests`, `repairs` and `access` are ids; each of `ways` has a vehicle's key (empty: none
    chosen), a matrix, for each of its rows the place in these lists, where each cause's weight comes from,
    and a plan until fixed. `proves` has
    the causes that a row of a test (`test row`) proves, `strips` the accesses that take something off.
    """
    nodes = hunts.base.nodes
    ids: Places = {"causes": {}, "tests": {}, "repairs": {}, "access": {}}
    found = hunts.ways(symptom.id)
    ways = [
        {**_way(ids, vehicle_key(nodes[v]) if v else "", hunt), "sources": _sources(hunts, symptom, v)}
        for v, hunt in found
    ]
    return {
        "goes": symptom.yes("Comes and goes"),
        **{kind: list(found) for kind, found in ids.items()},
        "named": {access: nodes[access].name for access in ids["access"]},
        "strips": [access for access in ids["access"] if strips(nodes[access])],
        "proves": dict(_proofs(hunts.base, ids)),
        "ways": ways,
    }


def _way(ids: Places, vehicle: str, hunt: Hunt) -> dict[str, Any]:
    matrix = hunt.matrix
    rows = {
        "causes": matrix.causes,
        "tests": [test.id for test in matrix.tests],
        "repairs": [repair.id for repair in matrix.repairs],
        "access": matrix.access_ids,
    }
    places = {kind: [ids[kind].setdefault(i, len(ids[kind])) for i in found] for kind, found in rows.items()}
    return {"vehicle": vehicle, **places, "matrix": data_of(matrix), "plan": plan_data(hunt.fixed)}


def _sources(hunts: Hunts, symptom: Node, vehicle: str | None) -> list[str]:
    """Where each cause's weight comes from, in the matrix's order."""
    return [likely.source for likely in hunts.graph(vehicle).causes(symptom.id)]


def _proofs(base: Base, ids: Places) -> Iterable[tuple[str, list[int]]]:
    """The causes that a finding speaks for, by test and row."""
    for test, number in ids["tests"].items():
        for row, finding in enumerate(base.nodes[test].findings):
            proved = [ids["causes"][c.id] for c in base.all(finding.proves) if c.id in ids["causes"]]
            if proved:
                yield f"{number} {row}", proved
