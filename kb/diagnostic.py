"""What is wrong with a page, where, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from kb.source import Span


class Severity(StrEnum):
    """How much harm a problem does: an error keeps the base from being published."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Problem:
    """A rule that a page breaks. `message` says what is wrong in lower case, `help` what to do."""

    rule: str
    span: Span
    message: str
    help: str = ""


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """A problem with the severity that its rule gives it."""

    severity: Severity
    problem: Problem


def report_order(problem: Problem) -> tuple[str, int, int, str, str]:
    """Sort key of reports: file, line, column, rule, message."""
    span = problem.span
    return (span.path, span.line, span.column, problem.rule, problem.message)
