"""Defects to plant in the demonstration base: for each rule several shapes, each at many places.

A shape takes the base and yields edits, each with the rule and the line at which it has to be reported.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import partial

from kb.model import Node
from kb.reference import PROCEDURES, Kind
from tests.checks.trial import Demo, Edit, label, replaced, row, swapped

Shape = Callable[[Demo], Iterator[Edit]]
SHAPES: list[tuple[str, str, Shape]] = []


def shape(rule: str) -> Callable[[Shape], Shape]:
    """Note a shape of a rule's defect."""

    def noted(make: Shape) -> Shape:
        SHAPES.append((rule, make.__name__, make))
        return make

    return noted


def pages(demo: Demo) -> list[str]:
    return [p for p in demo.lines if p.endswith(".md") and p != "index.md"]


# Text.


def _with_a_byte(d: Demo, path: str, line: int) -> dict[str, bytes]:
    lines = [text.encode() for text in d.lines[path]]
    lines[line - 1] += b" \xff"
    return {path: b"\n".join(lines)}


@shape("unreadable-page")
def a_byte_that_is_no_text(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        for line in (1, len(d.lines[path]) // 2):
            yield Edit(partial(_with_a_byte, d, path, line), "unreadable-page", path, line)


@shape("unreadable-page")
def a_nul(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        line = next(n for n in range(len(d.lines[path]) // 2, len(d.lines[path])) if d.lines[path][n - 1].strip())
        yield d.edit(path, {line: [d.lines[path][line - 1] + "\0"]}, "unreadable-page", line)


@shape("lost-text")
def a_cell_too_many(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        for line, parts in d.rows(node):
            yield d.edit(node.page, {line: [row([*parts, "", "more"])]}, "lost-text", line)


@shape("lost-text")
def a_row_pushed_to_the_right(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        line, parts = list(d.rows(node))[-1]
        yield d.edit(node.page, {line: ["    " + row(parts)]}, "lost-text", line)


@shape("lost-text")
def dashes_that_dont_fit(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        for line, text in enumerate(d.lines[path], 1):
            if re.fullmatch(r"\|(---\|){2,}", text):
                yield d.edit(path, {line: [text[4:]]}, "lost-text", line - 1)


@shape("lost-text")
def a_line_that_joins_a_message(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for moment in node.moments:
            if moment.message:
                line = moment.span.end_line
                yield d.put_in(node.page, line, ["Read it first."], "lost-text")


@shape("lost-text")
def a_fence_that_never_ends(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL):
        yield d.put_in(node.page, node.end_line, ["", "```", "words"], "lost-text", 2)


@shape("raw-html")
def a_tag(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.SYMPTOM, Kind.LESSON):
        yield d.put_in(node.page, node.end_line, ["", "This is <u>so</u>."], "raw-html", 2)


@shape("raw-html")
def a_remark(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.REPAIR):
        yield d.put_in(node.page, node.end_line, ["", "<!-- look again -->"], "raw-html", 2)


@shape("dead-link")
def a_link_to_nowhere(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.VEHICLE, Kind.LESSON):
        for to in ("gone.md", "#gone", "http://example.invalid", "/index.md", "../../index.md"):
            yield d.put_in(node.page, node.end_line, ["", f"See [this]({to})."], "dead-link", 2)


@shape("dead-link")
def a_link_with_a_slip(d: Demo) -> Iterator[Edit]:
    for path in d.read:
        for line, text in enumerate(d.lines[path], 1):
            if match := re.search(r"\]\(([\w/-]+)\.md\)", text):
                yield d.edit(path, {line: replaced(text, match[1], match[1] + "s")}, "dead-link", line)


@shape("dead-link")
def a_history_that_is_gone(d: Demo) -> Iterator[Edit]:
    line = d.fact_line(d.base.root, "History")
    yield d.edit("index.md", {line: ["- History: jobs/invented-jobs.csv"]}, "dead-link", line)


@shape("silent-image")
def an_image_without_words(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.VEHICLE):
        up = "../" * node.page.count("/")
        yield d.put_in(node.page, node.end_line, ["", f"![]({up}index.md)"], "silent-image", 2)


# Headings and names.


def _headings(d: Demo, *kinds: Kind) -> Iterator[tuple[Node, str]]:
    for node in d.nodes(*kinds):
        yield node, d.lines[node.page][node.span.line - 1]


KINDS = (Kind.CAUSE, Kind.TEST, Kind.REPAIR, Kind.SYMPTOM, Kind.ACCESS, Kind.HAZARD, Kind.LESSON, Kind.VEHICLE)


@shape("unknown-kind")
def a_kind_with_letters_swapped(d: Demo) -> Iterator[Edit]:
    for node, text in _headings(d, *KINDS):
        new = replaced(text, f"{node.kind}:", f"{swapped(node.kind)}:")
        yield d.edit(node.page, {node.span.line: new}, "unknown-kind", node.span.line)


@shape("unknown-kind")
def a_kind_without_a_letter(d: Demo) -> Iterator[Edit]:
    for node, text in _headings(d, *KINDS):
        new = replaced(text, f"{node.kind}:", f"{node.kind[:-1]}:")
        yield d.edit(node.page, {node.span.line: new}, "unknown-kind", node.span.line)


@shape("unknown-kind")
def a_kind_with_a_letter_too_many(d: Demo) -> Iterator[Edit]:
    for node, text in _headings(d, *KINDS):
        new = replaced(text, f"{node.kind}:", f"{node.kind[0]}{node.kind}:")
        yield d.edit(node.page, {node.span.line: new}, "unknown-kind", node.span.line)


@shape("unknown-name")
def a_name_with_a_slip(d: Demo) -> Iterator[Edit]:
    for key, kind in (("Causes", Kind.SYMPTOM), ("Repair", Kind.CAUSE), ("Access", Kind.TEST), ("Verify", Kind.REPAIR),
                      ("With access", Kind.HAZARD), ("Covers", Kind.LESSON), ("Circuits", Kind.VEHICLE)):  # fmt: skip
        for node in d.nodes(kind):
            if line := d.fact_line(node, key):
                text = d.lines[node.page][line - 1]
                new = replaced(text, f"[{label(text)}]", f"[{swapped(label(text))}]")
                yield d.edit(node.page, {line: new}, "unknown-name", line)


@shape("unknown-name")
def a_name_that_is_none(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.LESSON):
        yield d.put_in(node.page, node.end_line, ["", "See [the moon]."], "unknown-name", 2)


@shape("unknown-name")
def a_name_with_a_slip_in_a_row(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        for line, parts in d.rows(node):
            if "[" in row(parts[1:]):
                new = replaced(row(parts), f"[{label(row(parts))}]", f"[{swapped(label(row(parts)))}]")
                yield d.edit(node.page, {line: new}, "unknown-name", line)


@shape("unknown-name")
def a_name_with_a_slip_in_a_message(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for moment in node.moments:
            if moment.message and moment.message.refs:
                text = d.lines[node.page][moment.span.line - 1]
                new = replaced(text, label(text), swapped(label(text)))
                yield d.edit(node.page, {moment.span.line: new}, "unknown-name", moment.span.line)


@shape("unknown-name")
def an_old_name(d: Demo) -> Iterator[Edit]:
    for node, text in _headings(d, Kind.TOOL, Kind.ACCESS):
        mine = next((line for line, t in enumerate(d.lines[node.page], 1) if f"[{node.name}]" in t), 0)
        if mine > node.span.line:
            new = [text + " anew", "", f"- Formerly: {node.name}"]
            after = d.lines[node.page][node.span.line : node.span.line + 1]
            if after == [""]:
                yield d.edit(node.page, {node.span.line: new, node.span.line + 1: []}, "unknown-name", mine)


@shape("ambiguous-name")
def a_node_twice_on_its_page(d: Demo) -> Iterator[Edit]:
    for node, text in _headings(d, Kind.CAUSE, Kind.REPAIR, Kind.TOOL, Kind.TERM, Kind.HAZARD):
        end = len(d.lines[node.page]) - 1
        body = d.lines[node.page][node.span.line : node.end_line]
        yield d.put_in(node.page, end, ["", text, *body], "ambiguous-name", 2)


def _both(files: Callable[[], Mapping[str, bytes]], more: Mapping[str, bytes]) -> dict[str, bytes]:
    return {**files(), **more}


@shape("ambiguous-name")
def a_name_of_two_pages(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TERM, Kind.LESSON):
        made = d.put_in(node.page, node.end_line, ["", "See [Gauge]."], "ambiguous-name", 2)
        two = {"one/x.md": b"# Tool: Gauge\n", "two/x.md": b"# Tool: Gauge\n"}
        yield Edit(partial(_both, made.files, two), made.rule, made.path, made.line)


WRONG = {"Causes": Kind.REPAIR, "Repair": Kind.CAUSE, "Access": Kind.TOOL, "Needs": Kind.ACCESS, "Verify": Kind.REPAIR,
         "After": Kind.CAUSE, "Order": Kind.CAUSE, "With access": Kind.TOOL, "In function": Kind.SYMPTOM,
         "Circuits": Kind.CAUSE, "Only on": Kind.TOOL}  # fmt: skip


@shape("wrong-kind")
def a_fact_that_names_another_kind(d: Demo) -> Iterator[Edit]:
    for key, kind in WRONG.items():
        other = d.nodes(kind)[0]
        for node in d.nodes(*KINDS):
            line = d.fact_line(node, key)
            if line and node.kind is not Kind.LESSON:
                new = replaced(d.lines[node.page][line - 1], f"[{label(d.lines[node.page][line - 1])}]", f"[{kind}: {other.name}]")
                yield d.edit(node.page, {line: new}, "wrong-kind", line)


@shape("wrong-kind")
def a_test_that_is_cleared(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        at = d.columns(node).index("Clears")
        for line, parts in d.rows(node):
            if parts[at]:
                new = [*parts[:at], f"{parts[at]}; [Test: {node.name}]", *parts[at + 1 :]]
                yield d.edit(node.page, {line: [row(new)]}, "wrong-kind", line)


@shape("wrong-kind")
def a_next_that_is_a_tool(d: Demo) -> Iterator[Edit]:
    tool = d.nodes(Kind.TOOL)[0].name
    for node in d.nodes(Kind.TEST):
        at = d.columns(node).index("Next") if "Next" in d.columns(node) else 0
        for line, parts in d.rows(node) if at else ():
            yield d.edit(node.page, {line: [row([*parts[:at], f"[Tool: {tool}]", *parts[at + 1 :]])]},
                         "wrong-kind", line)  # fmt: skip


# History.


def _jobs(d: Demo) -> Iterator[tuple[int, list[str]]]:
    for line, text in enumerate(d.lines["invented-jobs.csv"], 1):
        if line > 1 and text and '"' not in text:
            yield line, text.split(",")


def _history(rule: str, column: int, name: str) -> Shape:
    def make(d: Demo) -> Iterator[Edit]:
        for line, parts in _jobs(d):
            new = [*parts[:column], swapped(parts[column]) if parts[column] else "zz", *parts[column + 1 :]]
            yield d.edit("invented-jobs.csv", {line: [",".join(new)]}, rule, line)

    make.__name__ = name
    return make


for _column, _what in ((1, "a_vehicle_with_a_slip"), (2, "a_symptom_with_a_slip"), (3, "a_cause_with_a_slip"), (5, "a_repair_with_a_slip")):
    shape("unmet-history")(_history("unmet-history", _column, _what))


@shape("bad-value")
def a_job_without_a_field(d: Demo) -> Iterator[Edit]:
    for line, parts in _jobs(d):
        yield d.edit("invented-jobs.csv", {line: [",".join(parts[:-2])]}, "bad-value", line)


@shape("unmet-history")
def a_cause_of_another_symptom(d: Demo) -> Iterator[Edit]:
    for line, parts in _jobs(d):
        symptom = next(s for s in d.nodes(Kind.SYMPTOM) if s.name == parts[2])
        own = {c.cause.id for c in d.graph.causes(symptom.id)}
        other = next(c for c in d.nodes(Kind.CAUSE) if c.id not in own)
        yield d.edit("invented-jobs.csv", {line: [",".join([*parts[:3], other.name, *parts[4:]])]},
                     "unmet-history", line)  # fmt: skip
