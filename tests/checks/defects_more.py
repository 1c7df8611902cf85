"""More defects: in facts, findings, ways through the base, safety messages and circuits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial

from kb.model import Node
from kb.reference import PROCEDURES, Kind
from tests.checks.defects import KINDS, shape
from tests.checks.trial import Demo, Edit, replaced, row, swapped

# Facts.


def _facts(d: Demo, *kinds: Kind) -> Iterator[tuple[Node, str, int, str]]:
    """Each fact on one line: its node, key, line and text."""
    for node in d.nodes(*kinds):
        for key in node.facts:
            if line := d.fact_line(node, key):
                yield node, key, line, d.lines[node.page][line - 1]


@shape("unknown-fact")
def a_key_with_a_slip(d: Demo) -> Iterator[Edit]:
    for node, key, line, text in _facts(d, *KINDS):
        yield d.edit(node.page, {line: replaced(text, key, swapped(key))}, "unknown-fact", line)


@shape("unknown-fact")
def a_key_of_no_kind(d: Demo) -> Iterator[Edit]:
    for node, _, line, _ in _facts(d, *KINDS):
        yield d.put_in(node.page, line, ["- Shelf number: 12"], "unknown-fact")


@shape("unknown-fact")
def a_column_too_many(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        head = node.findings[0].span.line - 2
        changes = {head: [d.lines[node.page][head - 1] + " Price |"], head + 1: [d.lines[node.page][head] + "---|"]}
        changes |= {line: [row([*parts, "5"])] for line, parts in d.rows(node)}
        yield d.edit(node.page, changes, "unknown-fact", head)


@shape("stray-fact")
def a_fact_that_became_a_paragraph(d: Demo) -> Iterator[Edit]:
    for node, _, line, text in _facts(d, Kind.TEST, Kind.REPAIR, Kind.SYMPTOM, Kind.CAUSE, Kind.HAZARD):
        last = max(d.fact_line(node, key) for key in node.facts)
        if line == last and len(node.facts) > 1:
            yield d.edit(node.page, {line: ["", text.removeprefix("- ")]}, "stray-fact", -(line + 1))


@shape("stray-fact")
def a_fact_below_a_heading(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.VEHICLE):
        new = ["", "#" * (node.level + 1) + " Notes", "", "- Left: a", "- Takes: 5 min"]
        yield d.put_in(node.page, node.end_line, new, "stray-fact", 5)


@shape("stray-fact")
def a_step_that_begins_with_a_key(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST, Kind.REPAIR):
        step = next(m for m in node.moments if m.numbered)
        text = d.lines[node.page][step.span.line - 1]
        new = re.sub(r"^(\d+\. )", r"\1Needs: ", text)
        yield d.edit(node.page, {step.span.line: [new]}, "stray-fact", step.span.line)


@shape("missing-fact")
def a_required_fact_gone(d: Demo) -> Iterator[Edit]:
    needed = {"Takes": (Kind.TEST, Kind.REPAIR, Kind.ACCESS), "Hazard": (Kind.HAZARD,), "Avoidance": (Kind.HAZARD,),
              "Consequence": (Kind.HAZARD,), "Signal word": (Kind.HAZARD,)}  # fmt: skip
    for node, key, line, _ in _facts(d, *KINDS):
        if node.kind in needed.get(key, ()):
            yield d.edit(node.page, {line: []}, "missing-fact", node.span.line)


@shape("missing-fact")
def a_required_fact_left_empty(d: Demo) -> Iterator[Edit]:
    for node, key, line, _ in _facts(d, *PROCEDURES):
        if key == "Takes":
            yield d.edit(node.page, {line: ["- Takes:"]}, "missing-fact", node.span.line)


@shape("missing-fact")
def a_statement_gone(d: Demo) -> Iterator[Edit]:
    yield d.edit("index.md", {d.fact_line(d.base.root, "Statement"): []}, "missing-fact", d.base.root.span.line)


@shape("bad-value")
def a_time_in_words(d: Demo) -> Iterator[Edit]:
    for node, key, line, _ in _facts(d, *PROCEDURES):
        if key in ("Takes", "Undo"):
            yield d.edit(node.page, {line: [f"- {key}: about ten minutes"]}, "bad-value", line)


@shape("bad-value")
def a_fact_twice(d: Demo) -> Iterator[Edit]:
    for node, _, line, text in _facts(d, *KINDS):
        yield d.put_in(node.page, line, [text], "bad-value")


@shape("bad-value")
def names_with_a_comma(d: Demo) -> Iterator[Edit]:
    for node, key, line, text in _facts(d, Kind.SYMPTOM, Kind.CAUSE, Kind.TEST, Kind.REPAIR):
        if key in ("Causes", "Access", "Needs", "Repair") and "; [" in text:
            yield d.edit(node.page, {line: replaced(text, "; [", ", [")}, "bad-value", line)


@shape("bad-value")
def a_row_too_short(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        for line, parts in d.rows(node):
            yield d.edit(node.page, {line: [row(parts[:-1])]}, "bad-value", line)


@shape("bad-value")
def a_reading_in_words(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        at = d.columns(node).index("Reading") if "Reading" in d.columns(node) else 0
        for line, parts in d.rows(node) if at else ():
            for words in ("rather bright", "> 11", "5 ohms"):
                yield d.edit(node.page, {line: [row([*parts[:at], words, *parts[at + 1 :]])]}, "bad-value", line)


@shape("bad-value")
def a_definition(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.REPAIR):
        yield d.put_in(node.page, node.end_line, ["", f"[{node.name}]: this"], "bad-value", 2)


# Findings and ways.


def _cleared(d: Demo, node: Node) -> tuple[int, list[str]]:
    columns = d.columns(node)
    return (columns.index("Clears") if "Clears" in columns else 0), columns


@shape("misplaced-table")
def findings_below_another_kind(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.REPAIR, Kind.SYMPTOM, Kind.TOOL, Kind.TERM):
        new = ["", "| Finding | Next |", "|---|---|", "| It moves | done |"]
        yield d.put_in(node.page, node.end_line, new, "misplaced-table", 2)


@shape("misplaced-table")
def a_second_findings_table(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        new = ["", "| Finding | Next |", "|---|---|", "| It moves | done |"]
        yield d.put_in(node.page, node.end_line, new, "misplaced-table", 2)


@shape("misplaced-table")
def wiring_below_a_test(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST, Kind.CAUSE):
        new = ["", "| Wire | From | To |", "|---|---|---|", "| W1 | A.b | C.d |"]
        yield d.put_in(node.page, node.end_line, new, "misplaced-table", 2)


@shape("test-without-findings")
def a_table_gone(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        first, last = node.findings[0].span.line - 2, node.findings[-1].span.line
        yield d.edit(node.page, {n: [] for n in range(first, last + 1)}, "test-without-findings", node.span.line)


@shape("silent-test")
def cells_emptied(d: Demo) -> Iterator[Edit]:
    proofs = {ref.id for r in d.nodes(Kind.REPAIR) for ref in d.base.all(r.refs("Verify"))}
    for node in d.nodes(Kind.TEST):
        columns = d.columns(node)
        empty = [i for i, c in enumerate(columns) if c in ("Clears", "Proves")]
        rows = {line: [row([("" if i in empty else p) for i, p in enumerate(parts)])] for line, parts in d.rows(node)}
        if node.id not in proofs:
            yield d.edit(node.page, rows, "silent-test", node.span.line)


@shape("finding-without-next")
def a_row_that_clears_all(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        at, columns = _cleared(d, node)
        for symptom in d.graph.symptoms_of(node.id) if at else ():
            names = "; ".join(f"[Cause: {c.cause.name}]" for c in d.graph.causes(symptom.id))
            line, parts = next(iter(d.rows(node)))
            new = [names if c == "Clears" else "" if c in ("Proves", "Next") else p for c, p in zip(columns, parts, strict=True)]
            yield d.edit(node.page, {line: [row(new)]}, "finding-without-next", line)


@shape("impossible-cause")
def a_cause_cleared_by_every_row(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        at, columns = _cleared(d, node)
        names = {n.name for n in d.base.all(tuple(r for f in node.findings for r in f.clears))}
        proved = {n.name for n in d.base.all(tuple(r for f in node.findings for r in f.proves))}
        for name in sorted(names - proved) if at else ():
            rows = {}
            for line, parts in d.rows(node):
                if f"[{name}]" not in parts[at]:
                    more = f"{parts[at]}; [{name}]".removeprefix("; ")
                    rows[line] = [row([*parts[:at], more, *parts[at + 1 :]])]
            yield d.edit(node.page, rows, "impossible-cause", node.span.line)


@shape("endless-loop")
def a_finding_that_leads_back(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        if "Next" in d.columns(node):
            at = d.columns(node).index("Next")
            line, parts = next(iter(d.rows(node)))
            yield d.edit(node.page, {line: [row([*parts[:at], f"[Test: {node.name}]", *parts[at + 1 :]])]}, "endless-loop", line)


def _requires_itself(rule: str, kind: Kind, key: str) -> None:
    def needs_itself(d: Demo) -> Iterator[Edit]:
        for node in d.nodes(kind):
            line = d.fact_line(node, "Takes")
            if line and key not in node.facts:
                yield d.put_in(node.page, line, [f"- {key}: [{kind}: {node.name}]"], rule)

    needs_itself.__name__ = f"{kind.lower()}_needs_itself"
    shape(rule)(needs_itself)


_requires_itself("access-loop", Kind.ACCESS, "Access")
_requires_itself("test-loop", Kind.TEST, "After")
_requires_itself("lesson-loop", Kind.LESSON, "After")


@shape("test-loop")
def two_tests_need_one_another(d: Demo) -> Iterator[Edit]:
    for a, b in zip(d.nodes(Kind.TEST), d.nodes(Kind.TEST)[1:], strict=False):
        if a.page == b.page and "After" not in {*a.facts, *b.facts}:
            one, two = d.fact_line(a, "Takes"), d.fact_line(b, "Takes")
            new = {one: [d.lines[a.page][one - 1], f"- After: [{b.name}]"], two: [d.lines[a.page][two - 1], f"- After: [{a.name}]"]}
            yield d.edit(a.page, new, "test-loop", -(one + 1))


def _gone(rule: str, kind: Kind, key: str) -> None:
    def a_fact_gone(d: Demo) -> Iterator[Edit]:
        for node in d.nodes(kind):
            if line := d.fact_line(node, key):
                yield d.edit(node.page, {line: []}, rule, node.span.line)

    a_fact_gone.__name__ = f"no_{key.lower().replace(' ', '_')}"
    shape(rule)(a_fact_gone)


_gone("symptom-without-cause", Kind.SYMPTOM, "Causes")
_gone("cause-without-repair", Kind.CAUSE, "Repair")
_gone("repair-without-proof", Kind.REPAIR, "Verify")
_gone("no-customer-words", Kind.SYMPTOM, "Said as")

REPAIRS = ("## Repair: {0} mended", "", "- Takes: 5 min", "- Verify: [{1}]", "", "1. Mend it.", "")


def _two_causes(d: Demo) -> Iterator[tuple[Node, list[str]]]:
    """A page's last line of a function's page, and two new causes with a repair each."""
    test = d.nodes(Kind.TEST)[0].name
    for function in d.nodes(Kind.FUNCTION):
        new = [""]
        for name in ("Wasp nest", "Beehive"):
            new += [f"## Cause: {name}", "", f"- Repair: [{name} mended]", "", *(t.format(name, test) for t in REPAIRS)]
        yield function, new


@shape("cause-without-test")
def a_symptom_that_no_test_speaks_about(d: Demo) -> Iterator[Edit]:
    for function, causes in _two_causes(d):
        new = ["", "## Symptom: It buzzes", "", "- Said as: it buzzes", "- Causes: [Wasp nest]; [Beehive]", *causes]
        yield d.put_in(function.page, len(d.lines[function.page]) - 1, new, "cause-without-test", 7)


@shape("inseparable-causes")
def two_causes_that_no_test_knows(d: Demo) -> Iterator[Edit]:
    for function, causes in _two_causes(d):
        for symptom in d.nodes(Kind.SYMPTOM):
            line = d.fact_line(symptom, "Causes")
            if symptom.page == function.page and line:
                text, last = d.lines[function.page][line - 1], len(d.lines[function.page])
                changes = {line: [f"{text}; [Wasp nest]; [Beehive]"], last: causes}
                yield d.edit(function.page, changes, "inseparable-causes", line)


@shape("unreached")
def a_node_that_nothing_names(d: Demo) -> Iterator[Edit]:
    for function, causes in _two_causes(d):
        yield d.put_in(function.page, len(d.lines[function.page]) - 1, causes, "unreached", 2)


@shape("unreached")
def a_page_that_nothing_names(d: Demo) -> Iterator[Edit]:
    for path in ("notes.md", "functions/notes.md", "lessons/notes.md", "shared/more/notes.md"):
        yield Edit(partial(dict, {path: b"Some words.\n\n# Notes\n"}), "unreached", path, 1)


@shape("unreached")
def an_access_that_nothing_names(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.ACCESS, Kind.TERM, Kind.TOOL):
        new = ["", "## Access: Roof off", "", "- Takes: 5 min", "", "1. Lift it."]
        yield d.put_in(node.page, len(d.lines[node.page]) - 1, new, "unreached", 2)


@shape("no-steps")
def steps_without_numbers(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        changes = {}
        for moment in node.moments:
            if moment.numbered:
                text = d.lines[node.page][moment.span.line - 1]
                changes[moment.span.line] = [re.sub(r"^\s*\d+\. ", "", text), ""]
        yield d.edit(node.page, changes, "no-steps", node.span.line)


@shape("untaught")
def a_test_that_no_lesson_names(d: Demo) -> Iterator[Edit]:
    for function in d.nodes(Kind.FUNCTION):
        cause = d.nodes(Kind.CAUSE)[0].name
        new = ["", "## Test: Smell of it", "", "- Takes: 1 min", "", "1. Smell.", "", "| Finding | Clears |", "|---|---|",
               f"| It smells | [Cause: {cause}] |", "| It does not | |"]  # fmt: skip
        yield d.put_in(function.page, len(d.lines[function.page]) - 1, new, "untaught", 2)


@shape("untaught")
def a_hazard_gone_from_its_lesson(d: Demo) -> Iterator[Edit]:
    for hazard in d.nodes(Kind.HAZARD):
        lessons = d.graph.lessons_of(hazard.id)
        if not lessons:
            continue
        files = {n.page: "\n".join(d.lines[n.page]).replace(f"[{hazard.name}]", "that").replace("; that;", ";") for n in lessons}
        changed = {path: text.encode() for path, text in files.items()}
        yield Edit(partial(dict, changed), "untaught", hazard.page, hazard.span.line)


# Allowances.


@shape("unused-allowance")
def an_allowance_for_nothing(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*KINDS):
        for text in ("no-customer-words: nobody says so", "no-steps", "no-stepps: odd", "stray-fact: I want it"):
            yield d.put_in(node.page, node.span.line - 1, [f"<!-- allow {text} -->"], "unused-allowance") if node.span.line > 1 else (
                d.edit(node.page, {1: [f"<!-- allow {text} -->", d.lines[node.page][0]]}, "unused-allowance", -1))  # fmt: skip


