"""Defects in safety messages, tools and circuits."""

from __future__ import annotations

import re
from collections.abc import Iterator

from kb.model import Moment, Node
from kb.reference import PROCEDURES, Kind
from tests.checks.defects import shape
from tests.checks.trial import Demo, Edit, cells, replaced, row

WEAKER = {"DANGER": "WARNING", "WARNING": "CAUTION", "CAUTION": "NOTICE"}


def _owed(d: Demo) -> Iterator[tuple[Node, Moment, Moment]]:
    """A node, a message on one line that one of its access or tools calls for, and the node's first step."""
    for node in d.nodes(*PROCEDURES):
        own = {n.id for n in d.base.all((*node.refs("Access"), *node.refs("Needs")))} | {node.id}
        steps = [m for m in node.moments if m.message is None]
        for moment in node.moments:
            hazards = d.base.all(moment.message.refs) if moment.message else ()
            if len(hazards) == 1 and moment.span.line == moment.span.end_line:
                calling = {n.id for n in d.base.all((*hazards[0].refs("With access"), *hazards[0].refs("With tool")))}
                if own & calling:
                    yield node, moment, steps[0]


@shape("missing-safety-message")
def a_message_gone(d: Demo) -> Iterator[Edit]:
    for node, message, step in _owed(d):
        line = message.span.line
        yield d.edit(node.page, {line: [], line + 1: []}, "missing-safety-message", step.span.line)


@shape("missing-safety-message")
def a_signal_word_in_lower_case(d: Demo) -> Iterator[Edit]:
    for node, message, _ in _owed(d):
        line = message.span.line
        new = re.sub(r"\*\*\w+\*\*", lambda m: m[0].capitalize().lower(), d.lines[node.page][line - 1])
        yield d.edit(node.page, {line: [new]}, "missing-safety-message", line)


@shape("late-safety-message")
def a_message_below_its_step(d: Demo) -> Iterator[Edit]:
    for node, message, step in _owed(d):
        line, to = message.span.line, step.span.end_line
        text, after = d.lines[node.page][line - 1], d.lines[node.page][to - 1]
        if line < to:
            yield d.edit(node.page, {line: [], line + 1: [], to: [after, "", text, ""]}, "late-safety-message", -to)


@shape("weak-signal-word")
def a_weaker_word(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for moment in node.moments:
            if moment.message and moment.message.refs and moment.message.signal_word in WEAKER:
                line, word = moment.span.line, moment.message.signal_word
                new = replaced(d.lines[node.page][line - 1], f"**{word}", f"**{WEAKER[word]}")
                yield d.edit(node.page, {line: new}, "weak-signal-word", line)


@shape("unfinished-safety-message")
def a_message_cut_short(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        line = next(m.span.line for m in node.moments if m.numbered)
        for text in ("**CAUTION: hot lamp.** Let it cool.", "**NOTICE** It is new. Keep it so.", "**WARNING.**"):
            yield d.put_in(node.page, line, ["", f"> {text}", ""], "unfinished-safety-message", 2)


@shape("wrong-signal-word")
def a_hazard_with_another_word(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.HAZARD):
        line, harm = d.fact_line(node, "Signal word"), node.text("Consequence")
        if re.search(r"injure|kill|burn your|cut your", harm):
            yield d.edit(node.page, {line: ["- Signal word: NOTICE"]}, "wrong-signal-word", line)
        elif node.text("Signal word") == "NOTICE" and re.search(r"destroy|damage|break", harm):
            yield d.edit(node.page, {line: ["- Signal word: WARNING"]}, "wrong-signal-word", line)


@shape("idle-hazard")
def a_hazard_that_nothing_calls(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.HAZARD):
        new = ["", "## Hazard: Falling piano", "", "- Signal word: WARNING", "- Hazard: a", "- Consequence: It kills.",
               "- Avoidance: b", "- At words: under the piano", "", "[Lamp]"]  # fmt: skip
        yield d.put_in(node.page, node.end_line, new[:-2], "idle-hazard", 2)


@shape("undeclared-need")
def a_tool_gone_from_needs(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for tool in d.base.all(node.refs("Needs")):
            words = re.compile(rf"(?<![\w-]){re.escape(tool.name)}(?![\w-])", re.I)
            step = next((m for m in node.moments if m.message is None and words.search(m.text)), None)
            line = d.fact_line(node, "Needs")
            if step and line and step.span.line == step.span.end_line:
                kept = [n.name for n in d.base.all(node.refs("Needs")) if n is not tool]
                new = [f"- Needs: {'; '.join(f'[{k}]' for k in kept)}"] if kept else []
                yield d.edit(node.page, {line: new}, "undeclared-need", step.span.line)


@shape("undeclared-need")
def a_step_with_another_tool(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        own = {n.id for n in d.base.all(node.refs("Needs"))}
        last = [m for m in node.moments if m.numbered][-1].span.end_line
        for tool in (t for t in d.nodes(Kind.TOOL) if t.id not in own):
            text = re.sub(r"^(\d+\. )(.*)$", rf"\1Lay the {tool.name.lower()} ready. \2", d.lines[node.page][last - 1])
            yield d.edit(node.page, {last: [text]}, "undeclared-need", last)


# Circuits.


@shape("unknown-point")
def a_point_with_a_slip(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        for point in node.points:
            if point.span.line == point.span.end_line and re.fullmatch(r"\w+\.\w{3,}( \w+)?", point.text):
                name = point.text.partition(".")[2].partition(" ")[0]
                text = d.lines[node.page][point.span.line - 1]
                at = point.span.column - 1
                new = text[:at] + text[at:].replace(f".{name}", f".{name}zz", 1)
                yield d.edit(node.page, {point.span.line: [new]}, "unknown-point", point.span.line)


def _tables(d: Demo, first: str) -> Iterator[tuple[str, int, list[str]]]:
    """The page, line and cells of each row of the wiring tables that begin with this header."""
    for circuit in d.base.circuits.values():
        node = d.base.nodes[circuit.node]
        inside = False
        for line in range(node.span.line, node.end_line + 1):
            text = d.lines[node.page][line - 1]
            if inside and text.startswith("|") and not text.startswith("|---"):
                yield node.page, line, cells(text)
            inside = text.startswith(f"| {first} |") or (inside and text.startswith("|"))


def _cell(first: str, at: int, new: str, rule: str, name: str) -> None:
    def a_cell(d: Demo) -> Iterator[Edit]:
        for path, line, parts in _tables(d, first):
            if parts[at]:
                yield d.edit(path, {line: [row([*parts[:at], new, *parts[at + 1 :]])]}, rule, line)

    a_cell.__name__ = name
    shape(rule)(a_cell)


_cell("Part", 1, "gadget", "bad-value", "a_part_of_no_kind")
_cell("Part", 3, "12 Hz", "bad-value", "a_value_of_no_unit")
_cell("Wire", 1, "the plug", "bad-value", "an_end_that_is_no_point")
_cell("Wire", 1, "Q9.x", "unknown-point", "an_end_of_no_part")
_cell("Wire", 3, "XX", "bad-value", "a_colour_that_is_none")
_cell("Fault of", 1, "gone", "bad-value", "a_fault_that_says_none")
_cell("Fault of", 1, "Q9 open", "unknown-point", "a_fault_of_no_part")
_cell("Symptom of", 1, "it is dead", "bad-value", "a_symptom_that_shows_as_nothing")
_cell("Symptom of", 1, "sideways: M1 still", "unknown-point", "a_symptom_in_no_position")
_cell("Reading of", 3, "thermometer", "bad-value", "an_instrument_that_is_none")
_cell("Reading of", 1, "upside down", "unknown-point", "a_reading_in_no_position")
_cell("Reading of", 0, "[Test: Gone]", "unknown-name", "a_reading_of_no_test")
_cell("Cavity of", 0, "pinn", "unknown-point", "a_cavity_of_no_pin")


@shape("circuit-fault")
def a_part_that_no_wire_uses(d: Demo) -> Iterator[Edit]:
    for path, line, _ in _tables(d, "Part"):
        yield d.put_in(path, line, ["| X99 | resistor | a b | 5 ohm |"], "circuit-fault")


@shape("circuit-fault")
def a_wire_gone(d: Demo) -> Iterator[Edit]:
    for circuit in d.base.circuits.values():
        path = d.base.nodes[circuit.node].page
        ends = [(end.part, end.pin) for wire in circuit.wires.values() for end in (wire.start, wire.end)]
        stated = [text for row_ in (*circuit.faults, *circuit.readings) for text in cells(d.lines[path][row_.span.line - 1])]
        for name, wire in circuit.wires.items():
            idle = next((end for end in (wire.start, wire.end) if ends.count((end.part, end.pin)) == 1), None)
            named = any(re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text) for text in stated)
            part = circuit.parts[idle.part] if idle else None
            if part and part.span and wire.span and not named:
                yield d.edit(path, {wire.span.line: []}, "circuit-fault", part.span.line)


@shape("unfused-short")
def a_feed_that_touches_ground(d: Demo) -> Iterator[Edit]:
    for circuit in d.base.circuits.values():
        path = d.base.nodes[circuit.node].page
        feeds = [name for name, w in circuit.wires.items() if {"+"} & {w.start.pin, w.end.pin} and "B1" in (w.start.part, w.end.part)]
        for fault in circuit.faults if feeds else ():
            parts = cells(d.lines[path][fault.span.line - 1])
            yield d.edit(path, {fault.span.line: [row([parts[0], f"{feeds[0]} touches ground"])]}, "unfused-short", fault.span.line)


@shape("absolute-reading")
def a_voltage_of_one_battery(d: Demo) -> Iterator[Edit]:
    meters = {p[0].strip("[]") for _, _, p in _tables(d, "Reading of") if p[3] == "voltmeter"}
    for node in d.nodes(Kind.TEST):
        at = d.columns(node).index("Reading") if "Reading" in d.columns(node) else 0
        for line, parts in d.rows(node) if at and node.name in meters else ():
            if "supply" in parts[at]:
                yield d.edit(node.page, {line: [row([*parts[:at], "> 11 V", *parts[at + 1 :]])]}, "absolute-reading", line)


@shape("overlapping-readings")
def a_range_twice(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        at = d.columns(node).index("Reading") if "Reading" in d.columns(node) else 0
        rows = [(line, parts) for line, parts in d.rows(node) if at and parts[at]]
        for (_, one), (line, two) in zip(rows, rows[1:], strict=False):
            yield d.edit(node.page, {line: [row([*two[:at], one[at], *two[at + 1 :]])]}, "overlapping-readings", line)


@shape("overlapping-readings")
def a_range_that_reaches_into_the_next(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        at = d.columns(node).index("Reading") if "Reading" in d.columns(node) else 0
        rows = [(line, parts) for line, parts in d.rows(node) if at and parts[at]]
        for (_, one), (line, two) in zip(rows, rows[1:], strict=False):
            more = f"{two[at]}, {one[at].split(',')[0]}"
            yield d.edit(node.page, {line: [row([*two[:at], more, *two[at + 1 :]])]}, "overlapping-readings", line)


