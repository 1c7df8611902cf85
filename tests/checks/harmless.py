"""Edits of the demonstration base that change nothing that matters, so that a check stays silent.

A shape takes the base and yields edits without a rule.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from functools import partial

from kb.model import Node
from kb.reference import PROCEDURES, Kind
from tests.checks.trial import Demo, Edit, cells, label, row

Shape = Callable[[Demo], Iterator[Edit]]
HARMLESS: list[Shape] = []
PROSE = (Kind.CAUSE, Kind.TERM, Kind.TOOL, Kind.VEHICLE, Kind.HAZARD, Kind.SYMPTOM)
LINK = re.compile(r"\[([^\[\]()]+)\](?![(\[])")


def harmless(make: Shape) -> Shape:
    HARMLESS.append(make)
    return make


def whole(d: Demo, path: str, change: Callable[[list[str]], str]) -> Edit:
    """An edit of all lines of a file."""
    return Edit(lambda: {path: change(d.lines[path]).encode()}, path=path)


def pages(d: Demo) -> list[str]:
    return [p for p in d.lines if p.endswith(".md")]


# Whole files.


@harmless
def other_line_ends(d: Demo) -> Iterator[Edit]:
    for path in d.lines:
        for end in ("\r\n", "\r"):
            yield whole(d, path, end.join)


@harmless
def a_mark_at_the_start(d: Demo) -> Iterator[Edit]:
    for path in d.lines:
        yield whole(d, path, lambda lines: "\ufeff" + "\n".join(lines))


@harmless
def spaces_at_line_ends(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        for space in (" ", "   ", "\t"):
            yield whole(d, path, (space + "\n").join)


@harmless
def empty_lines_at_the_end(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        for end in ("", "\n", "\n\n\n  \n"):
            yield whole(d, path, lambda lines, end=end: "\n".join(lines).rstrip("\n") + end)


@harmless
def more_empty_lines(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        yield whole(d, path, lambda lines: "\n".join(lines).replace("\n\n", "\n\n\n"))


@harmless
def other_bullets(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        for sign in "*+":
            yield whole(d, path, lambda lines, sign=sign: "\n".join(re.sub(r"^- ", f"{sign} ", t) for t in lines))


@harmless
def closed_headings(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        yield whole(d, path, lambda lines: "\n".join(t + " ##" if t.startswith("#") else t for t in lines))


@harmless
def underlined_headings(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        yield whole(d, path, lambda lines: "\n".join(re.sub(r"^# (.*)$", r"\1\n===", t) for t in lines))


@harmless
def tables_without_outer_bars(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        if "| Finding" in "\n".join(d.lines[path]):
            yield whole(d, path, lambda lines: "\n".join(re.sub(r"^\| (.*\S) \|$", r"\1 |", t) for t in lines))


@harmless
def aligned_columns(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        yield whole(d, path, lambda lines: "\n".join(re.sub(r"\|---", "|:--:", t) if t.startswith("|---") else t for t in lines))


# Prose.


@harmless
def a_paragraph_in_two_lines(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROSE, *PROCEDURES, Kind.LESSON):
        for block in node.blocks:
            line = block.span.line
            text = d.lines[node.page][line - 1]
            cut = next((m.start() for m in re.finditer(r" (?=[a-z])", text) if m.start() > 20 and _outside(text, m.start())), 0)
            if block.type == "paragraph" and line == block.span.end_line and cut:
                yield d.edit(node.page, {line: [text[:cut], text[cut + 1 :]]})


def _outside(text: str, at: int) -> bool:
    """True outside of code and of brackets."""
    return text[:at].count("`") % 2 == 0 and text[:at].count("[") == text[:at].count("]")


ADDED = {
    "a list with colons": ["- Left: the near side", "- Right: the far side", "- Colour of it: grey"],
    "a numbered list": ["1. First: this.", "2. Then: that."],
    "code": ["```", "[no name] | - Takes: 5 min", "# Test: none", "```"],
    "indented code": ["    [no name]", "", "Words."],
    "a table of another kind": ["| Part | Price |", "|---|---|", "| bolt | 5 |"],
    "a table of positions": ["| Position | Meaning |", "|---|---|", "| out | away from you |"],
    "a quote": ["> As a colleague says: it depends.", ">", "> And so it does."],
    "escaped signs": ["It says \\[PUSH\\], \\<OUT> and 2 \\* 3; `[x]`, `<y>`."],
    "a plural heading": ["#### Causes: which ones", "", "Words."],
    "a prose heading": ["#### Why: because", "", "Words."],
    "an address": ["See [this](https://example.invalid/a?b#c) or <https://example.invalid>."],
    "a link": ["See [the front page]({up}index.md), or [here](#{anchor})."],
    "a picture": ["![a drawing of it]({up}index.md \"title\")"],
    "a rule": ["***", "", "Words."],
    "bold, italic and marks": ["This is **so**, _so_, `M6` and so: a; b | c — d; 5 < 6 > 4 & so on."],
    "a list in a list": ["- one: a", "  - two: b", "    - three: c", "- four"],
    "a message-like line": ["> Caution is no signal word in small letters."],
    "a sentence with a key in it": ["The word Takes: is no key here, nor is Causes: one."],
    "a time": ["At 12:30 it was dark: quite."],
    "a break": ["One line\\", "and another  ", "and one more."],
}


@harmless
def prose_below_a_node(d: Demo) -> Iterator[Edit]:
    """A sentence comes first: a list would go on a fact list above it. A node around others has no own end."""
    for node in d.nodes(*PROSE):
        for new in ADDED.values() if not d.base.children(node) else ():
            fill = {"up": "../" * node.page.count("/"), "anchor": node.anchor}
            text = [t.format(**fill) if "{" in t else t for t in new]
            yield d.put_in(node.page, node.end_line, ["", "What else is known.", "", *text])


# Names.


@harmless
def names_in_capitals(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        yield whole(d, path, lambda lines: LINK.sub(lambda m: f"[{m[1].upper()}]", "\n".join(lines)))


@harmless
def names_with_more_space(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        yield whole(d, path, lambda lines: LINK.sub(lambda m: f"[ {m[1].replace(' ', '  ')} ]", "\n".join(lines)))


@harmless
def names_with_other_words(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.SYMPTOM, Kind.CAUSE):
        for key in ("Causes", "Repair", "Order", "Only on"):
            if line := d.fact_line(node, key):
                text = d.lines[node.page][line - 1]
                yield d.edit(node.page, {line: [text.replace(f"[{label(text)}]", f"[that one][{label(text)}]", 1)]})


@harmless
def names_made_exact(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.SYMPTOM, Kind.CAUSE, Kind.TEST, Kind.REPAIR):
        for key in ("Causes", "Repair", "Access", "Verify"):
            if (line := d.fact_line(node, key)) and (found := d.base.target(node.refs(key)[0])):
                text = d.lines[node.page][line - 1]
                for exact in (f"{found.kind}: {found.name}", f"{found.page.removesuffix('.md')}/{found.name}"):
                    if ":" not in label(text):
                        yield d.edit(node.page, {line: [text.replace(f"[{label(text)}]", f"[{exact}]", 1)]})


@harmless
def renamed_with_the_old_name_kept(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.CAUSE, Kind.TEST, Kind.REPAIR, Kind.SYMPTOM):
        yield Edit(partial(_renamed, d, node), path=node.page)


def _renamed(d: Demo, node: Node) -> Mapping[str, bytes]:
    """The node under another name, with each reference to it; the history and links lead by the old one."""
    files = {}
    for path, lines in d.lines.items():
        new = [re.sub(rf"(?i)\[((?:[^\[\]]*/)?(?:{node.kind}: )?){re.escape(node.name)}\]", rf"[\g<1>{node.name} anew]", t) for t in lines]
        if path == node.page:
            new[node.span.line - 1] += " anew"
            first = min(f.span.line for f in node.facts.values())
            new.insert(first - 1, f"- Formerly: {node.name}")
        if new != lines and path.endswith(".md"):
            files[path] = "\n".join(new).encode()
    return files


# Facts.


@harmless
def facts_in_another_order(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST, Kind.REPAIR, Kind.SYMPTOM, Kind.HAZARD, Kind.ACCESS):
        lines = [d.fact_line(node, key) for key in node.facts]
        if len(lines) > 1 and all(lines):
            texts = [d.lines[node.page][line - 1] for line in lines]
            yield d.edit(node.page, {line: [text] for line, text in zip(lines, reversed(texts), strict=True)})


@harmless
def keys_in_another_case(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES, Kind.SYMPTOM, Kind.CAUSE, Kind.HAZARD):
        changes = {}
        for key in node.facts:
            if line := d.fact_line(node, key):
                changes[line] = [d.lines[node.page][line - 1].replace(key, key.upper(), 1)]
        yield d.edit(node.page, changes)


@harmless
def values_in_a_nested_list(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.SYMPTOM, Kind.TEST, Kind.REPAIR, Kind.CAUSE):
        for key in ("Causes", "Access", "Needs", "Repair", "Said as", "Order"):
            if line := d.fact_line(node, key):
                _, _, text = d.lines[node.page][line - 1].partition(": ")
                yield d.edit(node.page, {line: [f"- {key}:", *(f"  - {v.strip()}" for v in text.split(";"))]})


@harmless
def values_over_several_lines(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.SYMPTOM, Kind.CAUSE, Kind.LESSON):
        for key in ("Causes", "Repair", "Covers"):
            if line := d.fact_line(node, key):
                yield d.edit(node.page, {line: d.lines[node.page][line - 1].replace("; ", ";\n  ").split("\n")})


@harmless
def other_dashes(d: Demo) -> Iterator[Edit]:
    for path in pages(d):
        if "] — " in "\n".join(d.lines[path]):
            for dash in "-–":
                yield whole(d, path, lambda lines, dash=dash: "\n".join(lines).replace("] — ", f"] {dash} "))


@harmless
def times_in_other_units(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        line = d.fact_line(node, "Takes")
        match = re.fullmatch(r"- Takes: (\d+) min", d.lines[node.page][line - 1]) if line else None
        if match:
            yield d.edit(node.page, {line: [f"- Takes: {int(match[1]) * 60} s"]})


@harmless
def an_empty_fact(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST, Kind.REPAIR):
        if "Tried on" not in node.facts:
            yield d.put_in(node.page, d.fact_line(node, "Takes"), ["- Tried on:"])


@harmless
def a_vehicle_it_was_tried_on(d: Demo) -> Iterator[Edit]:
    car = d.nodes(Kind.VEHICLE)[0].name
    for node in d.nodes(Kind.TEST, Kind.REPAIR):
        if "Tried on" not in node.facts:
            yield d.put_in(node.page, d.fact_line(node, "Takes"), [f"- Tried on: [{car}] — May 2026"])


# Findings and messages.


@harmless
def columns_in_another_order(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        head = node.findings[0].span.line - 2
        lines = (head, *(line for line, _ in d.rows(node)))
        changes = {}
        for line in lines:
            first, *others = cells(d.lines[node.page][line - 1])
            changes[line] = [row([first, *reversed(others)])]
        yield d.edit(node.page, changes)


@harmless
def rows_in_another_order(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(Kind.TEST):
        rows = list(d.rows(node))
        yield d.edit(node.page, {line: [row(parts)] for (line, _), (_, parts) in zip(rows, reversed(rows), strict=True)})


@harmless
def messages_that_change_places(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for one, two in zip(node.moments, node.moments[1:], strict=False):
            if one.message and two.message and one.span.line == one.span.end_line and two.span.line == two.span.end_line:
                first, second = d.lines[node.page][one.span.line - 1], d.lines[node.page][two.span.line - 1]
                yield d.edit(node.page, {one.span.line: [second], two.span.line: [first]})


@harmless
def a_stronger_word(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for moment in node.moments:
            if moment.message and moment.message.refs:
                text = d.lines[node.page][moment.span.line - 1]
                new = re.sub(r"\*\*[A-Z]+\*\*", "**DANGER:**", text)
                yield d.edit(node.page, {moment.span.line: [new]})


@harmless
def a_message_more(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        line = next(m.span.line for m in node.moments)
        yield d.edit(node.page, {line: ["> **CAUTION: a hot lamp.** It burns you.", "> Let it cool.", "", d.lines[node.page][line - 1]]})


@harmless
def two_messages_in_one(d: Demo) -> Iterator[Edit]:
    for node in d.nodes(*PROCEDURES):
        for one, two in zip(node.moments, node.moments[1:], strict=False):
            if one.message and two.message and one.message.signal_word == two.message.signal_word and two.message.refs:
                text = d.lines[node.page][one.span.line - 1]
                yield d.edit(node.page, {one.span.line: [f"{text} and [{two.message.refs[0].label}]"], two.span.line: []})


# History.


@harmless
def the_history_written_otherwise(d: Demo) -> Iterator[Edit]:
    yield whole(d, "invented-jobs.csv", lambda lines: "\n".join([lines[0], *reversed([t for t in lines[1:] if t])]) + "\n")
    yield whole(d, "invented-jobs.csv", lambda lines: "\n".join([lines[0].upper(), *(t.lower() for t in lines[1:])]))
    yield whole(d, "invented-jobs.csv", lambda lines: "\n".join([lines[0] + ",shift", *(t + ",early" for t in lines[1:] if t)]))
    yield whole(d, "invented-jobs.csv", lambda lines: "\n".join(",".join(f'"{f}"' for f in t.split(",")) if t and '"' not in t else t for t in lines))
    yield whole(d, "invented-jobs.csv", lambda lines: "\n".join(lines[:40]))
