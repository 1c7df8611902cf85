"""The job history: a CSV file (RFC 4180) whose rows name vehicles, symptoms and causes."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from kb.diagnostic import Problem
from kb.model import Job
from kb.source import Source, Span

NEEDED = ("date", "vehicle", "symptom", "cause", "minutes")
KNOWN = (*NEEDED, "repair", "tests", "returned")
_QUOTE = "see RFC 4180: put a field with a quote, comma or line end in quotes, and write each quote in it twice"
_YES = frozenset(("yes", "true", "1", "y"))
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True)
class Record:
    """A record of the file: the line it begins on, its fields, and where each begins."""

    line: int
    fields: tuple[str, ...]
    spans: tuple[Span, ...]


def read_records(source: Source) -> tuple[list[Record], list[Problem]]:
    """Split a CSV file into records. A file that breaks RFC 4180 gives a problem at its line."""
    problems: list[Problem] = []
    records: list[Record] = []
    rows = csv.reader(io.StringIO(source.text, newline=""), strict=True)
    line = 1
    try:
        for fields in rows:
            spans = tuple(_spans(source, line, len(fields)))
            stray = next((span for span in spans if _stray_quote(source, span)), None)
            if stray:
                problems.append(
                    Problem("bad-value", stray, "a quote inside a field that doesn't begin with one", _QUOTE)
                )
            elif fields:
                records.append(Record(line, tuple(fields), spans))
            line = rows.line_num + 1
    except csv.Error as error:
        problems.append(
            Problem(
                "bad-value",
                source.line_span(min(line, len(source.lines))),
                f"this line is no CSV: {error}",
                _QUOTE,
            )
        )
    return records, problems


def _stray_quote(source: Source, span: Span) -> bool:
    """RFC 4180, 2.5: where a field isn't enclosed in quotes, no quote stands inside it."""
    text = source.lines[span.line - 1][span.column - 1 :]
    field = text[: span.end_column - span.column] if span.line == span.end_line else text
    return '"' in field and not field.startswith('"')


def _spans(source: Source, line: int, count: int) -> Iterator[Span]:
    """Where each of a record's fields stands; a field in quotes may run over lines."""
    column, quoted, start = 0, False, (line, 0)
    made = 0
    while made < count:
        text = source.lines[line - 1]
        at_end = column >= len(text)
        if quoted and at_end and line < len(source.lines):
            line, column = line + 1, 0
        elif at_end or (text[column] == "," and not quoted):
            yield Span(source.path, start[0], start[1] + 1, line, column + 1)
            made, column = made + 1, column + 1
            start = (line, column)
        else:
            quoted ^= text[column] == '"'
            column += 1


Find = Callable[[str, str], tuple[str, ...]]


class HistoryReader:
    """Turns records into jobs. `find(kind word, name)` gives the ids of all nodes of that name.

    `causes(symptom)` gives a symptom's causes, None among them where one couldn't be read. `lost` are names
    (in lower case) that text which couldn't be read held: they are not missed here.
    """

    def __init__(
        self,
        source: Source,
        find: Find,
        causes: Callable[[str], frozenset[str | None]],
        lost: frozenset[str] = frozenset(),
    ) -> None:
        self.source, self.find, self.causes, self.lost = source, find, causes, lost
        self.problems: list[Problem] = []

    def read(self) -> tuple[Job, ...]:
        """The rows that can be counted; each other row has a problem."""
        records, problems = read_records(self.source)
        self.problems.extend(problems)
        if not records:
            self._problem("bad-value", self.source.line_span(1), "a history without a header row", _HEADER)
            return ()
        names = [name.strip().casefold() for name in records[0].fields]
        missing = [name for name in NEEDED if name not in names]
        if missing:
            self._problem("bad-value", self.source.line_span(1), f"the header has no {', '.join(missing)}", _HEADER)
            return ()
        twice = next((i for i, name in enumerate(names) if name in KNOWN and name in names[:i]), None)
        if twice is not None:
            self._problem(
                "bad-value",
                records[0].spans[twice],
                f"the column `{names[twice]}` stands here twice",
                _HEADER,
            )
            return ()
        return tuple(job for record in records[1:] if (job := self._job(record, names)))

    def _problem(self, rule: str, span: Span, message: str, help: str = "") -> None:
        self.problems.append(Problem(rule, span, message, help))

    def _job(self, record: Record, names: list[str]) -> Job | None:
        if len(record.fields) != len(names):
            self._problem(
                "bad-value",
                self.source.line_span(record.line),
                f"the row has {len(record.fields)} fields and the header {len(names)}",
                "put quotes around a field with a comma in it",
            )
            return None
        row = dict(zip(names, (f.strip() for f in record.fields), strict=True))
        spans = dict(zip(names, record.spans, strict=True))
        symptom = self._symptom(row, spans)
        cause = self._cause(row, spans, symptom) if symptom else None
        minutes = self._minutes(row, spans)
        self._date(row["date"], spans["date"])
        vehicle = self._vehicle(row, spans)
        if symptom is None or cause is None or minutes is None:
            return None
        return Job(
            record.line,
            row["date"],
            vehicle,
            symptom,
            cause,
            minutes,
            self._repair(row, spans),
            tuple(self._tests(row, spans)),
            row.get("returned", "").casefold() in _YES,
            {k: v for k, v in row.items() if k not in KNOWN},
        )

    def _symptom(self, row: dict[str, str], spans: dict[str, Span]) -> str | None:
        found = self.find("Symptom", row["symptom"])
        if not found and not self._lost(row["symptom"]):
            self._problem(
                "unmet-history",
                spans["symptom"],
                f"the base has no symptom `{row['symptom']}`",
                "the row counts nowhere; correct the name, or give the symptom that name under `Formerly`",
            )
        causes = set(self.find("Cause", row["cause"]))
        return next((s for s in found if causes & self.causes(s)), found[0] if found else None)

    def _cause(self, row: dict[str, str], spans: dict[str, Span], symptom: str) -> str | None:
        known = self.causes(symptom)
        found = next((c for c in self.find("Cause", row["cause"]) if c in known), None)
        if found is None and None not in known and not self._lost(row["cause"]):
            self._problem(
                "unmet-history",
                spans["cause"],
                f"`{row['cause']}` is no cause of `{row['symptom']}`",
                "the row counts nowhere; correct it, or add the cause to the symptom's `Causes`",
            )
        return found

    def _minutes(self, row: dict[str, str], spans: dict[str, Span]) -> float | None:
        if _NUMBER.fullmatch(row["minutes"]):
            return float(row["minutes"])
        self._problem(
            "bad-value",
            spans["minutes"],
            f"`{row['minutes']}` is no number of minutes",
            "the row counts nowhere; write plain digits",
        )
        return None

    def _date(self, text: str, span: Span) -> None:
        """A date that is written as ISO 8601 has to be one; the row counts all the same."""
        if _DAY.fullmatch(text):
            try:
                date.fromisoformat(text)
            except ValueError:
                self._problem("bad-value", span, f"there is no day `{text}`", "write year, month and day: `2026-03-31`")

    def _vehicle(self, row: dict[str, str], spans: dict[str, Span]) -> str | None:
        found = self._first("Vehicle", row["vehicle"])
        if found is None:
            self._problem(
                "unmet-history",
                spans["vehicle"],
                f"the base has no vehicle `{row['vehicle']}`",
                "the row counts for all vehicles only; correct the name",
            )
        return found

    def _repair(self, row: dict[str, str], spans: dict[str, Span]) -> str | None:
        return self._optional("Repair", row.get("repair", ""), spans.get("repair"))

    def _tests(self, row: dict[str, str], spans: dict[str, Span]) -> Iterator[str]:
        for name in row.get("tests", "").split(";"):
            found = self._optional("Test", name.strip(), spans.get("tests"))
            if found:
                yield found

    def _lost(self, name: str) -> bool:
        return " ".join(name.casefold().split()) in self.lost

    def _first(self, kind: str, name: str) -> str | None:
        return next(iter(self.find(kind, name)), None)

    def _optional(self, kind: str, name: str, span: Span | None) -> str | None:
        found = self._first(kind, name) if name else None
        if name and span and found is None and not self._lost(name):
            self._problem("unmet-history", span, f"the base has no {kind.lower()} `{name}`", "correct the name")
        return found


_HEADER = "begin the file with `date,vehicle,symptom,cause,minutes`"
