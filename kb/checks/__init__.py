"""The catalogue of rules, one file each, and the run that applies them to a base.

A rule's file holds its manual page as docstring, `SEVERITY`, and `check(asked)` where the rule looks at
the joined base. Rules found while a page is read have no `check`. A new rule is a new file here.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import ModuleType

from kb.checks._allow import Allowances
from kb.checks._asked import Asked
from kb.checks._manual import Manual, read_manual
from kb.diagnostic import Diagnostic, Problem, Severity, report_order
from kb.graph import Graph
from kb.model import Base

Check = Callable[[Asked], Iterable[Problem]]


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule by its name; `manual` is its docstring taken apart, `check` None where reading finds it."""

    name: str
    severity: Severity
    manual: Manual
    check: Check | None
    allowable: bool

    @property
    def summary(self) -> str:
        """What the rule catches, in one line."""
        return self.manual.summary

    @property
    def bad(self) -> str:
        """The example that breaks the rule."""
        return self.manual.bad

    @property
    def good(self) -> str:
        """The example that keeps it."""
        return self.manual.good


def _rule(name: str, module: ModuleType) -> Rule:
    return Rule(
        name.replace("_", "-"),
        module.SEVERITY,
        read_manual(module.__doc__ or ""),
        getattr(module, "check", None),
        getattr(module, "ALLOWABLE", True),
    )


def _load() -> Iterator[Rule]:
    for found in sorted(pkgutil.iter_modules(__path__), key=lambda m: m.name):
        if not found.name.startswith("_"):
            yield _rule(found.name, importlib.import_module(f"{__name__}.{found.name}"))


CATALOGUE: Mapping[str, Rule] = {rule.name: rule for rule in _load()}


def run(base: Base, graph: Graph) -> tuple[Diagnostic, ...]:
    """All problems of a base with their severity, sorted by file, line, column and rule."""
    return judge(Asked(base, graph))


def judge(asked: Asked) -> tuple[Diagnostic, ...]:
    """As `run`; what the rules had to solve for it can be asked of `asked` afterwards."""
    base, problems = asked.base, [*asked.base.problems]
    for rule in CATALOGUE.values():
        if rule.check:
            problems.extend(rule.check(asked))
    allowances = Allowances(base, CATALOGUE)
    left = [p for p in dict.fromkeys(problems) if not allowances.lets_pass(p)]
    left.extend(p for p in allowances.unused() if not allowances.lets_pass(p))
    return tuple(Diagnostic(CATALOGUE[p.rule].severity, p) for p in sorted(left, key=report_order))
