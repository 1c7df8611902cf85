"""Allowances: comments by which a writer lets a rule pass at one place, with a reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from kb.diagnostic import Problem
from kb.model import Allowance, Base
from kb.quantity import nearest

if TYPE_CHECKING:
    from kb.checks import Rule


class Allowances:
    """The allowances of a base; remembers which of them let something pass."""

    def __init__(self, base: Base, rules: Mapping[str, Rule]) -> None:
        self.rules, self.limited = rules, base.vehicle is not None
        self.all = [a for page in base.pages.values() for a in page.allowances]
        self.used: set[Allowance] = set()
        self.by_place: dict[tuple[str, str], list[Allowance]] = {}
        for allowance in self.all:
            rule = rules.get(allowance.rule)
            if rule and rule.allowable and allowance.reason:
                self.by_place.setdefault((allowance.span.path, allowance.rule), []).append(allowance)

    def lets_pass(self, problem: Problem) -> bool:
        """True where an allowance covers the problem; that allowance has then had an effect."""
        found = [
            a
            for a in self.by_place.get((problem.span.path, problem.rule), ())
            if a.first <= problem.span.line <= a.last
        ]
        self.used.update(found)
        return bool(found)

    def unused(self) -> Iterator[Problem]:
        """Allowances that let nothing pass; of one vehicle only those that never can, as others may need the rest."""
        for allowance in self.all:
            if allowance not in self.used and not (self.limited and self._could(allowance)):
                message, help = self._why(allowance)
                yield Problem("unused-allowance", allowance.span, message, help)

    def _could(self, allowance: Allowance) -> bool:
        return allowance in self.by_place.get((allowance.span.path, allowance.rule), ())

    def _why(self, allowance: Allowance) -> tuple[str, str]:
        rule = self.rules.get(allowance.rule)
        if rule is None:
            near = nearest(allowance.rule, self.rules)
            return (
                f"no rule is called `{allowance.rule}`",
                f"did you mean `{near}`?" if near else "`why` lists all",
            )
        if not rule.allowable:
            return f"`{rule.name}` can't be allowed", "mend what it reports"
        if not allowance.reason:
            return "an allowance without a reason", f"write `<!-- allow {rule.name}: the reason -->`"
        return f"this lets nothing pass: `{rule.name}` isn't broken below it", "remove the allowance"
