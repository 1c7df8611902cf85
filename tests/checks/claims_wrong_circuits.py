"""More single changes that make a page claim what its circuit denies: in faults, parts, wires, positions, instruments.

Each shape's docstring says from where the claim is known to be wrong. See `claims_trial.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from kb.circuit.curves import OHM_PER_KM
from kb.model import Node
from kb.netlist import Circuit, Position
from tests.checks.claims_trial import Claim, Claims, Told, covers
from tests.checks.claims_wrong import at, stated, words_of, wrong
from tests.checks.trial import cells, replaced, row

# Faults.


@wrong
def a_fault_that_changes_nothing(d: Claims) -> Iterator[Claim]:
    """By construction: the part or wire becomes what its row states; a wire by IEC 60228 and its length."""
    for circuit, fault, _, _ in stated(d):
        page = d.base.nodes[circuit.node].page
        what = fault.words.split()[0]
        ohms = _own_ohms(circuit, what)
        if ohms and ";" not in fault.words:
            line = fault.span.line
            new = row([cells(d.lines[page][line - 1])[0], f"{what} {ohms}"])
            yield at(d.edit(page, {line: [new]}), "idle-fault", line)


def _own_ohms(circuit: Circuit, what: str) -> str:
    wire, part = circuit.wires.get(what), circuit.parts.get(what.split(".")[0])
    if wire and wire.mm2 in OHM_PER_KM and wire.metres:
        return f"{OHM_PER_KM[wire.mm2] * wire.metres:.6g} mohm"
    if part and (part.kind in ("motor", "heater", "ground") or part.kind == "connector" and "." in what):
        return f"{part.values['ohms'].value:g} ohm"
    return ""


@wrong
def a_bad_spot_a_thousand_times_smaller(d: Claims) -> Iterator[Claim]:
    """By hand: some tens of milliohm beside loads of 3 ohm and more take off a hundredth, and no limit is that near."""
    for circuit, fault, cause, _ in stated(d):
        match = re.fullmatch(r"(\S+) (\d+) ohm", fault.words)
        symptoms = [s for s in sorted(d.symptoms_with.get(cause, ())) if any(
            r.symptom and d.base.targets.get(r.symptom) == s for r in circuit.symptoms)]  # fmt: skip
        if match and 5 <= int(match[2]) <= 50 and symptoms:
            page, line, symptom = d.base.nodes[circuit.node].page, fault.span.line, d.base.nodes[symptoms[0]]
            edit = d.edit(page, {line: replaced(d.lines[page][line - 1], f"{match[2]} ohm", f"{match[2]} mohm")})
            yield at(edit, "cause-cannot-explain", d.fact_line(symptom, "Causes"), path=symptom.page)


@wrong
def a_short_before_the_fuse(d: Claims) -> Iterator[Claim]:
    """By construction: the wire leads from the battery's plus to a fuse."""
    for circuit, fault, _, _ in stated(d):
        for wire in circuit.wires.values():
            ends = [circuit.parts[end.part].kind for end in (wire.start, wire.end)]
            if ends == ["battery", "fuse"] and wire.start.pin == "+":
                page, line = d.base.nodes[circuit.node].page, fault.span.line
                new = row([cells(d.lines[page][line - 1])[0], f"{wire.name} touches ground"])
                yield at(d.edit(page, {line: [new]}), "unfused-short", line)


@wrong
def a_wire_shorted_that_bypasses_its_fuse(d: Claims) -> Iterator[Claim]:
    """By construction: the wire that touches ground begins before its fuse, and the fuse's far pin hangs on nothing."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for wire in circuit.wires.values():
            fuse = circuit.parts[wire.start.part]
            if fuse.kind == "fuse" and wire.start.pin == "out" and wire.span and fuse.span:
                line = wire.span.line
                new = replaced(d.lines[page][line - 1], f"{fuse.name}.out", f"{fuse.name}.in")
                shorted = [f.span.line for f in circuit.faults if f.words == f"{wire.name} touches ground"]
                only = [w for w in circuit.wires.values() if w.start == wire.start] == [wire]
                lines = shorted + ([fuse.span.line] if only else [])
                if lines:
                    yield at(d.edit(page, {line: new}), "unfused-short circuit-fault", *lines)


# Parts, wires and positions.


def _musts(circuit: Circuit) -> Iterator[tuple[Position, str, str]]:
    """Each load that has to work in a position."""
    for position in circuit.positions.values():
        for load, word in position.must:
            if word not in ("still", "cold", "dark", "clear") and position.span:
                yield position, load, word


def _lines_of(circuit: Circuit, load: str) -> list[int]:
    return [p.span.line for p, name, _ in _musts(circuit) if name == load and p.span]


@wrong
def a_motor_the_wrong_way_round(d: Claims) -> Iterator[Claim]:
    """By construction: what was its plus is its minus, so it turns the other way wherever it has to turn."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for part in circuit.parts.values():
            lines = _lines_of(circuit, part.name)
            if part.turns and part.span and lines:
                a, b = part.turns
                new = replaced(d.lines[page][part.span.line - 1], f"means {a}/{b}", f"means {b}/{a}")
                yield at(d.edit(page, {part.span.line: new}), "circuit-fault", *lines)


@wrong
def two_wires_on_each_others_pins(d: Claims) -> Iterator[Claim]:
    """By construction: the button of one motor now feeds the other, as both wires end at the other's pin."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        wires = list(circuit.wires.values())
        for one in (w for w in wires if w.end.pin == "tilt"):
            for two in (
                w for w in wires if w.end.pin == "swing" and (w.end.part, w.end.side) == (one.end.part, one.end.side)
            ):
                far = "far " in one.bundle or one.end.part in ("J3", "J4", "J6")
                lines = [line for load in (("M5", "M6") if far else ("M1", "M2")) for line in _lines_of(circuit, load)]
                if one.span and two.span and lines:
                    yield at(
                        d.edit(page, _ends_swapped(d, page, one.span.line, two.span.line)), "circuit-fault", *lines
                    )


def _ends_swapped(d: Claims, page: str, one: int, two: int) -> dict[int, list[str]]:
    first, second = (cells(d.lines[page][line - 1]) for line in (one, two))
    first[2], second[2] = second[2], first[2]
    return {one: [row(first)], two: [row(second)]}


@wrong
def a_position_without_its_feed(d: Claims) -> Iterator[Claim]:
    """By construction: the switch or output that sends the current of this position joins or drives nothing."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for position in dict.fromkeys(p.name for p, _, _ in _musts(circuit)):
            line = circuit.positions[position].span.line  # type: ignore[union-attr]
            parts = cells(d.lines[page][line - 1])
            fed = next((i for i, text in enumerate(parts) if i and re.match(r"feed-|high|49-", text)), 0)
            if fed:
                yield at(d.edit(page, {line: [row([*parts[:fed], "", *parts[fed + 1 :]])]}), "circuit-fault", line)


@wrong
def something_else_must_happen(d: Claims) -> Iterator[Claim]:
    """By construction: the load does what its row said before, and can't do two things at once."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for position, load, word in _musts(circuit):
            turns = circuit.parts[load].turns
            other = next((t for t in turns if t != word), "still") if turns else words_of(circuit.parts[load])[-1]
            line = position.span.line if position.span else 0
            new = replaced(d.lines[page][line - 1], f"{load} {word}", f"{load} {other}")
            yield at(d.edit(page, {line: new}), "circuit-fault", line)


@wrong
def a_fuse_far_too_small(d: Claims) -> Iterator[Claim]:
    """By the survey's currents: more than a hundred times the new rating flows through it in a healthy circuit."""
    for held in d.held.values():
        page = d.base.nodes[held.circuit.node].page
        for part in (p for p in held.circuit.parts.values() if p.kind == "fuse" and p.span):
            answers = held.surveys[0].healthy.answers
            lines = [held.circuit.positions[n].span.line for n, a in answers.items() if abs(a.current(part.name)) > 0.1]  # type: ignore[union-attr]
            if lines and part.span:
                text = d.lines[page][part.span.line - 1]
                new = replaced(text, f"{part.values['amps'].value:g} A", "0.001 A")
                yield at(d.edit(page, {part.span.line: new}), "circuit-fault", *lines)


@wrong
def a_wire_left_out(d: Claims) -> Iterator[Claim]:
    """By construction: it was the only wire at a pin. (One that a fault or an instrument names can't be read then.)"""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        used = [(end.part, end.pin) for w in circuit.wires.values() for end in (w.start, w.end)]
        for wire in circuit.wires.values():
            lonely = [circuit.parts[e.part].span for e in (wire.start, wire.end) if used.count((e.part, e.pin)) == 1]
            named = any(re.search(rf"\b{wire.name}\b", r.words) for r in circuit.faults) or wire.name in [
                r.red for r in circuit.readings
            ]
            if lonely and wire.span and not named:
                yield at(d.edit(page, {wire.span.line: []}), "circuit-fault", *(span.line for span in lonely if span))


# Instruments.


@wrong
def leads_of_a_voltmeter_swapped(d: Claims) -> Iterator[Claim]:
    """By the survey and the sign: the negative of a reading meets a row that clears its cause, or no row."""
    for test in d.read_tests():
        rows = d.cells_of(test)
        for place in {id(t.place): t for t in d.of_test(test)}.values():
            if place.place.instrument == "voltmeter" and any(
                _turned(d, test, rows, t) for t in d.of_test(test) if t.place is place.place
            ):
                page, line = d.base.nodes[place.circuit.node].page, place.place.span.line
                parts = cells(d.lines[page][line - 1])
                edit = d.edit(page, {line: [row([*parts[:-2], parts[-1], parts[-2]])]})
                lines = (test.span.line, *(at_ for at_, _ in rows))
                yield at(edit, "false-claim uncovered-reading", *lines, path=test.page)


def _turned(d: Claims, test: Node, rows: list[tuple[int, dict[str, str]]], told: Told) -> bool:
    reading = told.readings[0]
    if not reading.value or not reading.defined or told.cause and told.cause not in _named(d, test, rows):
        return False
    turned = type(reading)(-reading.value, reading.unit, None, supply=reading.supply)
    met = [r for _, r in rows if r["Reading"] and covers(r["Reading"], turned)]
    return not met or any(told.cause in d.named(r["Clears"], test) for r in met)


def _named(d: Claims, test: Node, rows: list[tuple[int, dict[str, str]]]) -> set[str]:
    return set(d.named(" ".join(text for _, r in rows for text in r.values()), test))


@wrong
def another_instrument(d: Claims) -> Iterator[Claim]:
    """By construction: a lamp shows no number and a meter no brightness, so no row covers what the whole circuit shows."""
    other = {"test lamp": "voltmeter", "LED lamp": "voltmeter", "voltmeter": "test lamp"}
    for test in d.read_tests():
        texts = [r["Reading"] for _, r in d.cells_of(test) if r["Reading"]]
        for told in (t for t in d.of_test(test) if t.fault is None and t.place.instrument in other):
            apart = all(re.search(r"\d", text) for text in texts) or not any(re.search(r"\d", text) for text in texts)
            if apart:
                page, line = d.base.nodes[told.circuit.node].page, told.place.span.line
                old = told.place.instrument
                edit = d.edit(page, {line: replaced(d.lines[page][line - 1], f"| {old} |", f"| {other[old]} |")})
                yield at(edit, "uncovered-reading", test.span.line, path=test.page)


@wrong
def an_ohmmeter_on_a_live_circuit(d: Claims) -> Iterator[Claim]:
    """By construction: with its plug together and its load at work, the lead hangs on a feed; no row takes a refusal."""
    for test in d.read_tests():
        texts = ", ".join(r["Reading"] for _, r in d.cells_of(test))
        for told in (t for t in d.of_test(test) if t.fault is None and t.place.instrument == "ohmmeter"):
            loads = {w.end.part for w in told.circuit.wires.values() if w.start == told.place.red}
            live = next((p.name for p, load, _ in _musts(told.circuit) if load in loads), "")
            if live and "undefined" not in texts:
                page, line = d.base.nodes[told.circuit.node].page, told.place.span.line
                parts = cells(d.lines[page][line - 1])
                edit = d.edit(page, {line: [row([parts[0], live, "", *parts[3:]])]})
                yield at(edit, "uncovered-reading", test.span.line, path=test.page)
