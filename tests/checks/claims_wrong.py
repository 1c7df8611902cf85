"""Single changes that make a page of the demonstration base claim what its solved circuit denies.

Each shape's docstring says from where the claim is known to be wrong. See `claims_trial.py`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from kb.circuit.survey import Seen
from kb.model import Node
from kb.netlist import Circuit, FaultRow, Part, SymptomRow
from kb.reference import Kind
from tests.checks.claims_trial import Claim, Claims, Shape, Told, bounds, covers, shown
from tests.checks.trial import Edit, cells, replaced, row

WRONG: list[Shape] = []


def wrong(make: Shape) -> Shape:
    WRONG.append(make)
    return make


def at(edit: Edit, rules: str, *lines: int, words: str = "", path: str = "") -> Claim:
    """A wrong claim that one of these rules has to tell at one of these lines, in the edited file or another."""
    placed = Edit(edit.files, path=path or edit.path, line=min(lines, default=0))
    return Claim(placed, frozenset(rules.split()), frozenset(lines), words)


def added(cell: str, ref: str) -> str:
    return f"{cell}; {ref}" if cell else ref


# Findings.


@wrong
def cleared_though_its_fault_reads_so(d: Claims) -> Iterator[Claim]:
    """By the survey: the cause's own fault gives a reading that the row's cell covers, at some battery voltage."""
    for test in d.read_tests():
        for line, row_ in d.cells_of(test):
            causes = {t.cause for t in d.of_test(test) if t.cause and row_["Reading"] and t.within(row_["Reading"])}
            for cause in sorted(causes - set(d.named(row_["Clears"] + row_.get("Proves", ""), test))):
                edit = d.with_cell(test, line, Clears=added(row_["Clears"], d.ref(cause)))
                yield at(edit, "false-claim", line, words="rules out")


@wrong
def no_longer_among_the_proved(d: Claims) -> Iterator[Claim]:
    """By the survey: the row's reading is met by two causes of one symptom, and now proves the other alone."""
    for test in d.read_tests():
        for line, row_ in d.cells_of(test):
            proved = d.named(row_.get("Proves", ""), test)
            for cause in proved if row_["Reading"] and len(proved) > 1 else ():
                meets = any(t.cause == cause and t.within(row_["Reading"]) for t in d.of_test(test))
                related = any(d.symptoms_with[cause] & d.symptoms_with[other] for other in proved if other != cause)
                if meets and related:
                    left = [ref for ref in re.findall(r"\[[^\]]+\]", row_["Proves"]) if d.named(ref, test) != [cause]]
                    yield at(
                        d.with_cell(test, line, Proves="; ".join(left)),
                        "false-claim",
                        line,
                        words=d.base.nodes[cause].name,
                    )


@wrong
def proved_by_what_its_fault_never_reads(d: Claims) -> Iterator[Claim]:
    """By the survey: no fault of the cause gives, in any circuit, a reading that the row's cell covers."""
    for test in d.read_tests():
        for line, row_ in d.cells_of(test):
            known = [t for t in d.of_test(test) if t.cause]
            for cause in sorted({t.cause for t in known}) if row_["Reading"] and row_.get("Proves") else ():
                never = not any(t.within(row_["Reading"]) for t in known if t.cause == cause)
                if never and cause not in d.named(row_["Clears"], test):
                    edit = d.with_cell(test, line, Proves=added(row_["Proves"], d.ref(cause)))
                    yield at(edit, "false-claim", line, words=f"proves `{d.base.nodes[cause].name}`")


@wrong
def two_rows_swap_their_readings(d: Claims) -> Iterator[Claim]:
    """By the survey: a cause that one row clears reads what now is that row's reading."""
    for test in d.read_tests():
        rows = [r for r in d.cells_of(test) if r[1]["Reading"]]
        for (line, one), (other_line, other) in zip(rows, rows[1:], strict=False):
            cleared = [(line, one, other["Reading"]), (other_line, other, one["Reading"])]
            lines = [at_ for at_, row_, now in cleared if _clears_wrongly(d, test, row_["Clears"], now)]
            if lines:
                new = {line: [row(list({**one, "Reading": other["Reading"]}.values()))],
                       other_line: [row(list({**other, "Reading": one["Reading"]}.values()))]}  # fmt: skip
                yield at(d.edit(test.page, new), "false-claim", *lines)


def _clears_wrongly(d: Claims, test: Node, clears: str, reading: str) -> bool:
    causes = set(d.named(clears, test))
    return any(t.within(reading) for t in d.of_test(test) if t.cause in causes)


def _bare(d: Claims, test: Node, line: int, cell: str) -> list[Told]:
    """What this row alone covers: readings of the healthy circuit and of causes that the test names."""
    others = ", ".join(r["Reading"] for at_, r in d.cells_of(test) if at_ != line and r["Reading"])
    named = set(d.named(" ".join(" ".join(r.values()) for _, r in d.cells_of(test)), test)) | {""}
    return [t for t in d.of_test(test) if t.cause in named and t.within(cell) and not t.within(others) and others]


@wrong
def a_row_without_its_reading(d: Claims) -> Iterator[Claim]:
    """By the survey: a fault that the test names, or none, gives a reading that this row alone covered."""
    for test in d.read_tests():
        for line, row_ in d.cells_of(test):
            if row_["Reading"] and _bare(d, test, line, row_["Reading"]):
                yield at(d.with_cell(test, line, Reading=""), "uncovered-reading", test.span.line)


@wrong
def a_reading_made_narrower(d: Claims) -> Iterator[Claim]:
    """By the survey: a reading lies in what this row alone covered and covers no more."""
    for test in d.read_tests():
        for line, row_ in d.cells_of(test):
            for told in _bare(d, test, line, row_["Reading"]):
                narrow = _narrower(row_["Reading"], told)
                if narrow and not told.all_within(narrow):
                    yield at(d.with_cell(test, line, Reading=narrow), "uncovered-reading", test.span.line)


def _narrower(cell: str, told: Told) -> str:
    """The cell without the word that was read, or with an end beyond the number that was."""
    reading, parts = told.readings[0], cell.split(", ")
    if reading.value is None or not reading.defined:
        word = "undefined" if not reading.defined else reading.verdict or ""
        return ", ".join(part for part in parts if part != word) if word in parts and len(parts) > 1 else ""
    for part in parts:
        if not part.isalpha() and covers(part, reading):
            number = re.search(r"[\d.]+", part)
            value = _in_unit(part, reading.value, reading.supply)
            new = value * (1.04 if not part.startswith("<") else 0.96)
            return cell.replace(part, part.replace(number[0], f"{new:.4g}", 1)) if number and new > 1e-3 else ""
    return ""


def _in_unit(part: str, value: float, supply: float) -> float:
    unit = bounds(part)[2]
    return abs(value) / supply * 100 if unit == "%" else abs(value) / (1000 if unit == "kohm" else 1)


@wrong
def a_reading_that_takes_in_another_rows(d: Claims) -> Iterator[Claim]:
    """By construction: the cell holds the other row's reading beside its own."""
    for test in d.read_tests():
        rows = [r for r in d.cells_of(test) if r[1]["Reading"]]
        for (line, one), (other_line, other) in zip(rows, rows[1:], strict=False):
            both = f"{one['Reading']}, {other['Reading']}"
            yield at(d.with_cell(test, line, Reading=both), "overlapping-readings", other_line)


@wrong
def a_bound_moved_into_another_rows(d: Claims) -> Iterator[Claim]:
    """By construction: the lower end of the upper row lies below the upper end of the lower one."""
    for test in d.read_tests():
        rows = [(line, r, p) for line, r in d.cells_of(test) for p in r["Reading"].split(", ") if re.search(r"\d", p)]
        for line, row_, part in rows:
            for other_line, _, other in rows:
                low, (_, high, unit) = bounds(part)[0], bounds(other)
                if part.startswith(">") and other.startswith("<") and bounds(part)[2] == unit and high <= low:
                    moved = part.replace(re.search(r"[\d.]+", part)[0], f"{high * 0.9:.4g}", 1)  # type: ignore[index]
                    edit = d.with_cell(test, line, Reading=row_["Reading"].replace(part, moved))
                    yield at(edit, "overlapping-readings", max(line, other_line))


@wrong
def volts_instead_of_a_share_of_the_supply(d: Claims) -> Iterator[Claim]:
    """By construction: 85 % of 12.6 V is 10.7 V; the circuit's battery stands at 11.8 or 14.5 V as well."""
    for test in d.read_tests():
        circuits = [t.circuit for t in d.of_test(test)]
        stand = any(p.kind == "output" and "rest" in p.values for c in circuits for p in c.parts.values())
        for line, row_ in d.cells_of(test):
            match = re.search(r"([\d.]+) % of supply", row_["Reading"])
            if match and not stand and " to " not in row_["Reading"] and float(match[1]) * 0.126 > 1:
                new = row_["Reading"].replace(match[0], f"{float(match[1]) * 0.126:.3g} V")
                yield at(d.with_cell(test, line, Reading=new), "absolute-reading", line)


# Symptoms and causes.


def stated(d: Claims) -> Iterator[tuple[Circuit, FaultRow, str, tuple[Seen, ...]]]:
    """Each fault row that has an answer, with its cause and what is seen at the three voltages."""
    for held in d.held.values():
        for place, fault in enumerate(held.circuit.faults, 1):
            seen = tuple(s[place] for s in held.seen)
            if not any(s.state for s in seen):
                yield held.circuit, fault, d.cause_of(fault), seen


@wrong
def a_cause_that_shows_otherwise(d: Claims) -> Iterator[Claim]:
    """By the survey: a fault of the cause shows, in a circuit that says how the symptom shows, as something else."""
    for symptom in d.nodes(Kind.SYMPTOM):
        line, own = d.fact_line(symptom, "Causes"), {c.cause.id for c in d.graph.causes(symptom.id)}
        denied = {cause for circuit, _, cause, seen in stated(d) if d.shows(circuit, seen, symptom.id) is False}
        for cause in sorted(denied - own) if line else ():
            new = [f"{d.lines[symptom.page][line - 1]}; {d.ref(cause)} — rare"]
            yield at(d.edit(symptom.page, {line: new}), "cause-cannot-explain", line)


@wrong
def a_symptom_shows_as_something_else(d: Claims) -> Iterator[Claim]:
    """By the survey: a fault of one of its causes doesn't make the load do that."""
    for circuit, _, cause, seen in stated(d):
        for symptom_row in circuit.symptoms:
            symptom = d.base.target(symptom_row.symptom) if symptom_row.symptom else None
            alone = (
                symptom
                and sum(bool(r.symptom) and d.base.targets.get(r.symptom) == symptom.id for r in circuit.symptoms) == 1
            )
            if symptom and alone and symptom.id in d.symptoms_with.get(cause, ()):
                yield from _told_wrongly(d, circuit, symptom_row, symptom, seen)


def _told_wrongly(
    d: Claims, circuit: Circuit, symptom_row: SymptomRow, symptom: Node, seen: tuple[Seen, ...]
) -> Iterator[Claim]:
    page, line = d.base.nodes[circuit.node].page, symptom_row.span.line
    text = d.shows_as(circuit, line)
    for load, word in re.findall(r"(\w+) (\w+)(?=[,;]|$)", text):
        for other in words_of(circuit.parts[load]):
            new = text.replace(f"{load} {word}", f"{load} {other}", 1)
            if other != word and not any(shown(new, s) for s in seen):
                edit = d.edit(page, {line: replaced(d.lines[page][line - 1], text, new)})
                yield at(edit, "cause-cannot-explain", d.fact_line(symptom, "Causes"), path=symptom.page)


def words_of(part: Part) -> tuple[str, ...]:
    if part.kind == "motor":
        return ("still", "slow", "moves", *(part.turns or ()))
    if part.kind == "cell":
        return ("dimmed", "tinted", "clear")
    return ("hot", "warm", "cold") if part.kind in ("heater", "resistor") else ("bright", "dim", "dark")


@wrong
def a_cause_with_the_fault_of_another(d: Claims) -> Iterator[Claim]:
    """By the survey: the other's fault doesn't show as a symptom of this cause."""
    faults = list(stated(d))
    for circuit, fault, cause, _ in faults:
        page = d.base.nodes[circuit.node].page
        for _, other, _, seen in (f for f in faults if f[0] is circuit and f[2] != cause):
            denied = [s for s in sorted(d.symptoms_with.get(cause, ())) if d.shows(circuit, seen, s) is False]
            for symptom in (d.base.nodes[s] for s in denied[:1]):
                first = cells(d.lines[page][fault.span.line - 1])[0]
                edit = d.edit(page, {fault.span.line: [row([first, other.words])]})
                yield at(edit, "cause-cannot-explain", d.fact_line(symptom, "Causes"), path=symptom.page)
