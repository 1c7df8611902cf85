"""Single changes to the demonstration base that leave every claim as true as it was, so that nothing new is told.

Each shape's docstring says from where that is known. See `claims_trial.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from kb.circuit.curves import OHM_PER_KM
from kb.netlist import Circuit
from kb.reference import Kind
from kb.source import Span
from tests.checks.claims_trial import Claim, Claims, Shape, bounds
from tests.checks.trial import Edit, cells, replaced, row

HARMLESS: list[Shape] = []


def harmless(make: Shape) -> Shape:
    HARMLESS.append(make)
    return make


@harmless
def cleared_where_its_fault_never_reads_so(d: Claims) -> Iterator[Claim]:
    """By the survey: no fault of the cause, in any circuit, gives a reading that the row's cell covers."""
    for test in d.read_tests():
        about = {s.id for s in d.graph.symptoms_of(test.id)}
        for line, row_ in d.cells_of(test):
            known = [t for t in d.of_test(test) if t.cause]
            taken = set(d.named(row_["Clears"] + row_.get("Proves", ""), test))
            for cause in (
                sorted({t.cause for t in known} - taken) if row_["Reading"] and "[" in row_.get("Next", "") else ()
            ):
                never = not any(t.within(row_["Reading"]) for t in known if t.cause == cause)
                if never and d.symptoms_with[cause] <= about and _another_left(d, test.id, line, cause):
                    clears = "; ".join(filter(None, (row_["Clears"], d.ref(cause))))
                    yield Claim(d.with_cell(test, line, Clears=clears))


def _another_left(d: Claims, test: str, line: int, cause: str) -> bool:
    """True where the row leaves another cause of each symptom, and another row of the test leaves this one."""
    findings = d.base.nodes[test].findings
    place = next(i for i, finding in enumerate(findings) if finding.span.line == line)
    left = [{s: {n.id for n in d.graph.left(test, i, s)} for s in d.symptoms_with[cause]} for i in range(len(findings))]
    others = [found for i, found in enumerate(left) if i != place]
    return all(rest - {cause} for rest in left[place].values()) and any(
        cause in rest for o in others for rest in o.values()
    )


@harmless
def cleared_and_never_measured_here(d: Claims) -> Iterator[Claim]:
    """By construction: no circuit holds both a reading of this test and a fault of this cause."""
    for test in d.read_tests():
        about = {s.id for s in d.graph.symptoms_of(test.id)}
        measured = {t.cause for t in d.of_test(test)}
        for line, row_ in d.cells_of(test):
            taken = set(d.named(row_["Clears"] + row_.get("Proves", ""), test))
            for cause, symptoms in sorted(d.symptoms_with.items()):
                if (
                    cause not in measured | taken
                    and symptoms <= about
                    and "[" in row_.get("Next", "")
                    and _another_left(d, test.id, line, cause)
                ):
                    clears = "; ".join(filter(None, (row_["Clears"], d.ref(cause))))
                    yield Claim(d.with_cell(test, line, Clears=clears))


@harmless
def findings_in_another_order(d: Claims) -> Iterator[Claim]:
    """By construction: readings of a test's rows don't overlap, so their order means nothing."""
    for test in d.read_tests():
        yield Claim(d.edit(test.page, _turned(d, test.page, [line for line, _ in d.cells_of(test)])))


def _turned(d: Claims, page: str, lines: list[int]) -> dict[int, list[str]]:
    return {line: [d.lines[page][other - 1]] for line, other in zip(lines, reversed(lines), strict=True)}


@harmless
def a_reading_wider_where_nothing_reads(d: Claims) -> Iterator[Claim]:
    """By the survey: no instrument of the test shows, under any stated fault, what the row now covers as well."""
    for test in d.read_tests():
        rows = d.cells_of(test)
        for line, row_ in rows:
            for part in (p for p in row_["Reading"].split(", ") if re.match(r"[<>] ", p)):
                wider = row_["Reading"].replace(part, _wider(part))
                others = ", ".join(r["Reading"] for at, r in rows if at != line and r["Reading"])
                numbers = [p for p in others.split(", ") if re.search(r"\d", p) and bounds(p)[2] == bounds(part)[2]]
                free = not any(_meet(p, _wider(part)) for p in numbers)
                same = all(t.within(wider) == t.within(row_["Reading"]) for t in d.of_test(test))
                if free and same and not _newly_absolute(part):
                    yield Claim(d.with_cell(test, line, Reading=wider))


def _newly_absolute(part: str) -> bool:
    """True where a bound in volts passes 1 V by being wider: from there on a rule asks for a share of the supply."""
    volts = re.fullmatch(r"[<>] ([\d.]+) V", part)
    now = re.fullmatch(r"[<>] ([\d.]+) V", _wider(part))
    return bool(volts and now and float(volts[1]) <= 1 < float(now[1]))


def _wider(part: str) -> str:
    """`> 80 %` as `> 78.4 %`, `< 20 %` as `< 20.4 %`: a fiftieth more."""
    number = re.search(r"[\d.]+", part)
    assert number
    return part.replace(number[0], f"{float(number[0]) * (0.98 if part[0] == '>' else 1.02):.4g}", 1)


def _meet(one: str, two: str) -> bool:
    (a, b, _), (c, e, _) = bounds(one), bounds(two)
    return max(a, c) < min(b, e)


# Tables of circuits.


def _spans(circuit: Circuit) -> Iterator[tuple[str, list[Span]]]:
    """The rows of each table whose order means nothing."""
    yield "wires", [w.span for w in circuit.wires.values() if w.span]
    yield "faults", [f.span for f in circuit.faults]
    yield "symptoms", [s.span for s in circuit.symptoms]
    yield "readings", [r.span for r in circuit.readings]
    yield "positions", [p.span for p in circuit.positions.values() if p.span]


@harmless
def rows_of_a_circuit_in_another_order(d: Claims) -> Iterator[Claim]:
    """By construction: the rows are the same."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for _, spans in _spans(circuit):
            if len(spans) > 1:
                yield Claim(d.edit(page, _turned(d, page, [span.line for span in spans])))


@harmless
def a_wire_from_its_other_end(d: Claims) -> Iterator[Claim]:
    """By construction: a wire has no direction; a clamp's amperes are compared without their sign."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for wire in circuit.wires.values():
            if wire.span:
                name, start, end, *rest = cells(d.lines[page][wire.span.line - 1])
                yield Claim(d.edit(page, {wire.span.line: [row([name, end, start, *rest])]}))


@harmless
def loads_of_a_symptom_in_another_order(d: Claims) -> Iterator[Claim]:
    """By construction: all of it has to hold, in whatever order."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for symptom in circuit.symptoms:
            text = d.shows_as(circuit, symptom.span.line)
            turned = "; ".join(reversed(text.split("; ")))
            if turned != text:
                line = symptom.span.line
                yield Claim(d.edit(page, {line: replaced(d.lines[page][line - 1], text, turned)}))


@harmless
def a_value_in_another_unit(d: Claims) -> Iterator[Claim]:
    """By construction: 5 mohm is 0.005 ohm, 12 ohm is 0.012 kohm."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for part in circuit.parts.values():
            match = re.search(r"([\d.]+) (m?)ohm", part.value_text)
            if match and part.span:
                new = f"{float(match[1]) / 1000:.6g} {'ohm' if match[2] else 'kohm'}"
                yield Claim(d.edit(page, {part.span.line: replaced(d.lines[page][part.span.line - 1], match[0], new)}))


@harmless
def a_contact_named_from_its_other_pin(d: Claims) -> Iterator[Claim]:
    """By construction: `feed-V` and `V-feed` are one contact."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for position in circuit.positions.values():
            pairs = [pair for joins in position.joins.values() for pair in joins]
            if pairs and position.span:
                a, b = pairs[0]
                new = replaced(d.lines[page][position.span.line - 1], f"{a}-{b}", f"{b}-{a}")
                yield Claim(d.edit(page, {position.span.line: new}))


@harmless
def a_variant_stated_twice(d: Claims) -> Iterator[Claim]:
    """By construction: the same fault of the same cause once more."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for fault in circuit.faults:
            yield Claim(d.put_in(page, fault.span.line, [d.lines[page][fault.span.line - 1]]))


@harmless
def leads_of_a_lamp_swapped(d: Claims) -> Iterator[Claim]:
    """By construction: a lamp has no direction, nor has a resistance that an ohmmeter sends its current through."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        bent = any(part.kind in ("diode", "led") for part in circuit.parts.values())
        for placed in circuit.readings:
            if placed.instrument in ("test lamp", "LED lamp") or placed.instrument == "ohmmeter" and not bent:
                parts = cells(d.lines[page][placed.span.line - 1])
                yield Claim(d.edit(page, {placed.span.line: [row([*parts[:-2], parts[-1], parts[-2]])]}))


@harmless
def a_fault_as_two_in_a_row(d: Claims) -> Iterator[Claim]:
    """By construction: what is open stays open when a little resistance is put in its way as well."""
    for circuit in d.base.circuits.values():
        page = d.base.nodes[circuit.node].page
        for fault in circuit.faults:
            match = re.fullmatch(r"(W\d+) open", fault.words)
            wire = circuit.wires.get(match[1]) if match else None
            if match and wire and wire.mm2 in OHM_PER_KM:
                line = fault.span.line
                new = replaced(d.lines[page][line - 1], fault.words, f"{fault.words}; {match[1]} 1 ohm")
                yield Claim(d.edit(page, {line: new}))


@harmless
def a_cause_of_no_circuit_more(d: Claims) -> Iterator[Claim]:
    """By construction: no circuit states a fault of the cause, so none can deny it; tests that name it already speak here."""
    stated = {d.cause_of(fault) for circuit in d.base.circuits.values() for fault in circuit.faults}
    for symptom in d.nodes(Kind.SYMPTOM):
        line, own = d.fact_line(symptom, "Causes"), {c.cause.id for c in d.graph.causes(symptom.id)}
        for cause in sorted(set(d.symptoms_with) - own - stated) if line else ():
            if {t.id for t in d.graph.tests_of(cause)} <= {t.id for t in d.graph.tests(symptom.id)}:
                edit = d.edit(symptom.page, {line: [f"{d.lines[symptom.page][line - 1]}; {d.ref(cause)} — rare"]})
                yield Claim(Edit(edit.files, path=symptom.page, line=line))
