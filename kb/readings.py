"""What circuits give under each fault, for people and programs: a table, JSON, CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from kb.circuit.figures import Threshold, silent, tests_of, thresholds, together
from kb.circuit.ranges import Range, Ranged, ends, findings_over, ranges
from kb.circuit.survey import Seen, Survey
from kb.circuit.tolerances import TOLD
from kb.circuit.verdicts import Reading, figures, finding_of, in_words, percent
from kb.dump import dump
from kb.model import Base, Node, ReadingRange


@dataclass(frozen=True)
class Surveyed:
    """A circuit with all that it shows at the battery's stated volts, the healthy circuit first, and its ranges."""

    base: Base
    node: Node
    survey: Survey
    seen: tuple[Seen, ...]
    ranges: tuple[Ranged, ...]


def survey(base: Base, node: Node) -> Surveyed:
    """Solve a circuit with each of its faults in each of its positions, and within its tolerances."""
    made = Survey(base.circuits[node.id])
    seen, tests = made.faults(), tests_of(base, made.circuit)
    within = {place for place, test in tests.items() if any(r.relative == "within" for r in _alternatives(test))}
    return Surveyed(base, node, made, tuple(seen), tuple(ranges(made, seen, within)))


def _alternatives(test: Node) -> list[ReadingRange]:
    return [r for finding in test.findings for r in finding.ranges]


def as_json(circuits: Sequence[Surveyed]) -> str:
    """One object: each circuit's rows, fault by fault, position by position."""
    listed = [{"page": c.node.page, "circuit": c.node.name, "rows": list(_rows(c))} for c in circuits]
    return dump({"circuits": listed})


def _rows(circuit: Surveyed) -> Iterator[dict[str, Any]]:
    for seen, ranged in zip(circuit.seen, circuit.ranges, strict=True):
        cause = circuit.base.target(seen.row.cause) if seen.row and seen.row.cause else None
        for position in circuit.survey.circuit.positions:
            yield {
                "fault": seen.words or None,
                "cause": cause.name if cause else None,
                "position": position,
                "loads": {n: _load(v) for n, v in seen.loads.get(position, {}).items()},
                "fuses": dict(seen.fuses.get(position, {})),
                "readings": {t.name: _reading(t, r, x) for t, r, x in _read(circuit, seen, ranged, position)},
            }


def _load(load: Any) -> dict[str, Any]:
    return {
        "verdict": load.verdict,
        "direction": load.direction or None,
        "volts": load.volts,
        "amps": load.amps,
    }


def _read(circuit: Surveyed, seen: Seen, ranged: Ranged, position: str) -> Iterator[tuple[Node, Reading, Range]]:
    for place, test in tests_of(circuit.base, circuit.survey.circuit).items():
        row = circuit.survey.circuit.readings[place]
        reading, range_ = (of[place] if of else None for of in (seen.readings, ranged.readings))
        if row.position == position and reading and range_:
            yield test, reading, range_


def _reading(test: Node, reading: Reading, range_: Range) -> dict[str, Any]:
    met = finding_of(test, reading)
    words = test.findings[met].words.text if met is not None else None
    verdict = reading.verdict if reading.value is None else None
    low, high = ends(range_)
    return {"value": reading.value, "unit": reading.unit or None, "verdict": verdict, "defined": reading.defined,
            "finding": words, "low": low, "high": high, "verdicts": list(range_.words)}  # fmt: skip


HEAD = (
    "page",
    "circuit",
    "fault",
    "cause",
    "position",
    "what",
    "kind",
    "verdict",
    "direction",
    "value",
    "unit",
    "finding",
    "low",
    "high",
)


def as_csv(circuits: Sequence[Surveyed]) -> str:
    """One line a load, fuse and reading (RFC 4180)."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEAD)
    for circuit in circuits:
        for row in _rows(circuit):
            start = (
                circuit.node.page,
                circuit.node.name,
                row["fault"] or "",
                row["cause"] or "",
                row["position"],
            )
            for cells in _lines(row):
                writer.writerow((*start, *cells))
    return out.getvalue().removesuffix("\r\n")


def _lines(row: dict[str, Any]) -> Iterator[tuple[str, ...]]:
    for name, load in row["loads"].items():
        yield name, "load", load["verdict"], load["direction"] or "", f"{load['amps']:.4f}", "A", "", "", ""
    for name, word in row["fuses"].items():
        yield name, "fuse", word, "", "", "", "", "", ""
    for name, read in row["readings"].items():
        value, low, high = ("" if read[key] is None else f"{read[key]:.4f}" for key in ("value", "low", "high"))
        yield name, "reading", read["verdict"] or "", "", value, read["unit"] or "", read["finding"] or "", low, high


def as_text(circuits: Sequence[Surveyed]) -> str:
    """A table a circuit for people, then what its readings can't tell."""
    return "\n\n".join("\n".join(_text(circuit)) for circuit in circuits)


def _text(circuit: Surveyed) -> Iterator[str]:
    yield f"{circuit.node.name} ({circuit.node.page}), as one finds it, at the battery's stated volts"
    yield f"  Ranges: {TOLD}; found by a search of corners, no promise"
    for seen, ranged in zip(circuit.seen, circuit.ranges, strict=True):
        cause = circuit.base.target(seen.row.cause) if seen.row and seen.row.cause else None
        yield ""
        yield f"  {seen.words}  [{cause.name}]" if cause else f"  {seen.words or 'whole'}"
        yield from _fault(circuit, seen, ranged)
    yield from _limits(circuit)


def _fault(circuit: Surveyed, seen: Seen, ranged: Ranged) -> Iterator[str]:
    if seen.state:
        why = "a short with no fuse before it" if seen.state == "shorted" else "no settled state"
        yield f"    no readings: {why}"
        return
    for position, loads in seen.loads.items():
        does = [f"{n} {v.verdict}{' ' + v.direction if v.direction else ''}" for n, v in loads.items()]
        fuses = [f"{n} {word}" for n, word in seen.fuses[position].items() if word != "whole"]
        yield f"    {position}: {', '.join([*does, *fuses])}"
        for test, reading, range_ in _read(circuit, seen, ranged, position):
            yield f"      {test.name}: {_told(reading, range_)}{_findings(test, reading, range_)}"
    for name in ranged.blows:
        yield f"    within the tolerances {name} can blow"
    for name in ranged.saved:
        yield f"    within the tolerances {name} can stay whole"


def _told(reading: Reading, range_: Range) -> str:
    """A reading with its range: figures, or the words met where there are more than one."""
    found = ", or ".join(_range(reading, range_))
    if not found:
        return in_words(reading)
    words, bracket, share = in_words(reading).partition(" (")
    return f"{words} ({share.removesuffix(')')}; range found {found})" if bracket else f"{words} (range found {found})"


def _range(reading: Reading, range_: Range) -> Iterator[str]:
    if range_.value:
        share = _span(*map(percent, range_.share)) if range_.share else ""
        unit = next(met.unit for met in range_.met if met.value is not None)
        yield f"{_span(*map(figures, range_.value))} {unit}" + (f", {share} of supply" if share else "")
    if range_.value and range_.words or len(range_.words) > 1:
        yield (" or " if range_.steps else " to ").join((range_.words[0], *range_.words[1:][-1:]))
    if len(range_.directions) > 1:
        yield " or ".join(range_.directions)


def _span(low: str, high: str) -> str:
    return f"{low} to {high}" if low != high else low


def _findings(test: Node, reading: Reading, range_: Range) -> str:
    """The finding that is met, and those that the range meets too."""
    met, others = finding_of(test, reading), findings_over(test, range_)
    told = f" -> {test.findings[met].words.text}" if met is not None else ""
    also = [test.findings[i].words.text if i is not None else "no finding" for i in others if i != met]
    return told + (f"; in the range also: {'; '.join(also)}" if also and test.findings else "")


def _limits(circuit: Surveyed) -> Iterator[str]:
    base, made = circuit.base, circuit.survey
    yield "\n  What these readings can't tell"
    for test, causes in silent(base, made.circuit, circuit.seen):
        if causes:
            yield f"    {test.name}: the same as whole under {', '.join(c.name for c in causes)}"
    for group in together(base, made.circuit, circuit.seen):
        yield f"    separated by none of them: {', '.join(c.name for c in group)}"
    yield from _sizes(thresholds(base, made))


def _sizes(found: Sequence[Threshold]) -> Iterator[str]:
    """One line a fault: from which size on it changes the finding of which test."""
    if found:
        yield "\n  From which size on a bad joint changes a finding (steps of 1, 2, 5)"
    for words in dict.fromkeys(t.words for t in found):
        told = [f"{t.test.name} {t.ohms:g} ohm" for t in found if t.words == words and t.ohms is not None]
        yield f"    {words}: {', '.join(told) or 'none at any size'}"
