"""Problems for people and programs: text with the faulty place, JSON, SARIF 2.1.0, CI annotations."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any
from urllib.parse import quote

from kb import __version__
from kb.checks import CATALOGUE, Rule
from kb.diagnostic import Diagnostic, Problem, Severity
from kb.dump import dump
from kb.model import Base
from kb.reference import HEADING_KINDS
from kb.source import Source, Span

Paint = Callable[[str, str], str]
_WIDEST = 110
_SCHEMA = "https://json.schemastore.org/sarif-2.1.0.json"


def plain(text: str, style: str) -> str:
    """Text without colour."""
    return text


def counts(diagnostics: Iterable[Diagnostic]) -> dict[str, int]:
    """How many problems of each severity."""
    found = Counter(d.severity.value for d in diagnostics)
    return {severity.value: found[severity.value] for severity in Severity}


def as_text(base: Base, diagnostics: Sequence[Diagnostic], paint: Paint = plain) -> str:
    """Each problem with its source line, carets and help; at the end one line that says how it stands."""
    blocks = [_block(base, d, paint) for d in diagnostics]
    return "\n".join([*blocks, summary(base, diagnostics)])


def _block(base: Base, diagnostic: Diagnostic, paint: Paint) -> str:
    problem, span = diagnostic.problem, diagnostic.problem.span
    severity = paint(diagnostic.severity.value, diagnostic.severity.value)
    place = paint(f"{span.path}:{span.line}:{span.column}:", "place")
    lines = [f"{place} {severity}: {_calm(problem.message)} [{problem.rule}]"]
    lines.extend(_excerpt(source_of(base, span.path), span, paint))
    if problem.help:
        lines.append(f"      {paint('help:', 'help')} {_calm(problem.help)}")
    return "\n".join(lines) + "\n"


def source_of(base: Base, path: str) -> Source | None:
    """The text of a page, or of the job history."""
    page = base.pages.get(path)
    return page.source if page else base.sources.get(path)


def _excerpt(source: Source | None, span: Span, paint: Paint) -> list[str]:
    """The line, and carets under its faulty place; a long line is cut around the place."""
    if source is None or not 0 < span.line <= len(source.lines):
        return []
    text = source.lines[span.line - 1]
    start = min(span.column - 1, len(text))
    end = len(text) if span.end_line > span.line else min(max(span.end_column - 1, start), len(text))
    first = max(0, start - 40) if len(text) > _WIDEST else 0
    last = min(len(text), first + _WIDEST)
    before, marked = _calm(text[first:start]), _calm(text[start : min(end, last)])
    shown = before + marked + _calm(text[min(end, last) : last])
    lead = "..." if first else ""
    carets = " " * (_width(before) + len(lead)) + "^" * max(1, _width(marked))
    gutter = f"{span.line:>5} | "
    return [
        paint(gutter, "gutter") + lead + shown + ("..." if last < len(text) else ""),
        paint(" " * 5 + " | ", "gutter") + paint(carets, "caret"),
    ]


def _calm(text: str) -> str:
    """Text in which no control character can move a terminal's cursor or turn its colours."""
    return "".join(_sign(c) for c in text)


def _sign(char: str) -> str:
    if char == "\t":
        return " "
    return char if unicodedata.category(char) not in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp") else "\N{MIDDLE DOT}"


def _width(text: str) -> int:
    """Terminal columns: wide characters take two, combining marks none (Unicode TR 11)."""
    return sum(0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)


def summary(base: Base, diagnostics: Sequence[Diagnostic]) -> str:
    """One line that the owner of the shop understands."""
    nodes = sum(1 for node in base.nodes.values() if node.kind in HEADING_KINDS)
    found = counts(diagnostics)
    size = f"{_many(len(base.pages), 'page')}, {_many(nodes, 'node')}"
    told = ", ".join(_many(n, word) for word, n in found.items() if n)
    if found["error"]:
        return f"{size}: {told}. Nothing is published until the errors are mended."
    return f"{size}: {told}. It can be published." if told else f"{size}: nothing to mend."


def _many(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def as_json(base: Base, diagnostics: Sequence[Diagnostic]) -> str:
    """The problems as one JSON object."""
    problems = [{**_place(d.problem), "severity": d.severity.value, **_words(d.problem)} for d in diagnostics]
    return dump({"problems": problems, "counts": counts(diagnostics)})


def _place(problem: Problem) -> dict[str, Any]:
    span = problem.span
    return {
        "file": span.path,
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
    }


def _words(problem: Problem) -> dict[str, str]:
    return {"rule": problem.rule, "message": problem.message, "help": problem.help}


def as_sarif(base: Base, diagnostics: Sequence[Diagnostic]) -> str:
    """The problems as a SARIF 2.1.0 log (OASIS standard)."""
    used = sorted({d.problem.rule for d in diagnostics})
    driver = {
        "name": "backprobe",
        "version": __version__,
        "rules": [_sarif_rule(CATALOGUE[name]) for name in used],
    }
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "results": [_sarif_result(d, used.index(d.problem.rule)) for d in diagnostics],
    }
    return dump({"$schema": _SCHEMA, "version": "2.1.0", "runs": [run]})


def _sarif_rule(rule: Rule) -> dict[str, Any]:
    described: dict[str, Any] = {"id": rule.name, "shortDescription": {"text": rule.summary}}
    if rule.manual.text:
        described["fullDescription"] = {"text": rule.manual.text}
    return described | {"defaultConfiguration": {"level": rule.severity.value}}


def _sarif_result(diagnostic: Diagnostic, index: int) -> dict[str, Any]:
    problem, span = diagnostic.problem, diagnostic.problem.span
    help = f" ({problem.help})" if problem.help else ""
    region = {"startLine": span.line, "startColumn": span.column, "endLine": span.end_line,
              "endColumn": span.end_column}  # fmt: skip
    location = {"artifactLocation": {"uri": quote(span.path)}, "region": region}
    return {
        "ruleId": problem.rule,
        "ruleIndex": index,
        "level": diagnostic.severity.value,
        "message": {"text": problem.message + help},
        "locations": [{"physicalLocation": location}],
    }


def as_annotations(base: Base, diagnostics: Sequence[Diagnostic], folder: str = "") -> str:
    """One line a problem, in the form that continuous-integration runners turn into marks on a change."""
    return "\n".join(_annotation(d, folder) for d in diagnostics)


def _annotation(diagnostic: Diagnostic, folder: str) -> str:
    problem, span = diagnostic.problem, diagnostic.problem.span
    level = "notice" if diagnostic.severity is Severity.NOTE else diagnostic.severity.value
    path = f"{folder}/{span.path}" if folder else span.path
    places = (
        f"file={_property(path)},line={span.line},col={span.column},"
        f"endLine={span.end_line},endColumn={span.end_column},title={_property(problem.rule)}"
    )
    words = f"{problem.message}. {problem.help}" if problem.help else problem.message
    return f"::{level} {places}::{_escaped(words)}"


def _escaped(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _escaped(text).replace(":", "%3A").replace(",", "%2C")
