"""A hazard's signal word that doesn't fit its consequence.

NOTICE is for damage only; DANGER, WARNING and CAUTION are for injury (ANSI Z535.6). Judged by words: a
consequence speaks of injury with one of *injure, injury, hurt, harm you, kill, death, die, fatal, burn
(not burn out), scald, crush, trap, bruise, cut (not cut out, off), bleed, wound, blind, eye, skin,
finger, hand, lung, breathe, poison, suffocate, shock, fracture*; of damage with one of *damage, destroy,
ruin, break, broken, blow, burn out, crack, scratch, corrode, melt, lose, lost, spoil, fail, disable*. A
consequence with neither isn't judged; one with both speaks of injury.

Bad:
    # Hazard: Twelve volts on a dimming cell
  ! - Signal word: CAUTION
    - Hazard: The cell takes less than two volts.
    - Consequence: Battery voltage destroys the glass.
    - Avoidance: Never feed it from the battery.

Good:
    # Hazard: Twelve volts on a dimming cell
    - Signal word: NOTICE
    - Hazard: The cell takes less than two volts.
    - Consequence: Battery voltage destroys the glass.
    - Avoidance: Never feed it from the battery.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity
from kb.model import Node
from kb.reference import Kind

SEVERITY = Severity.WARNING
ALLOWABLE = False


INJURY = re.compile(
    r"\b(injur\w*|hurt\w*|harms? you|kill\w*|deaths?|die|dies|fatal\w*|burn(s|t|ed|ing)?(?! out)|scald\w*|crush\w*"
    r"|trap(s|ped|ping)?|bruis\w*|cut(s|ting)?(?! (out|off))|bleed\w*|wound\w*|blind\w*|eyes?|skin|fingers?|hands?"
    r"|lungs?|breath\w*|poison\w*|suffocat\w*|(electric )?shocks?|fractur\w*)\b",
    re.IGNORECASE,
)
DAMAGE = re.compile(
    r"\b(damag\w*|destroy\w*|ruin\w*|break(s|ing)?|broken?|blow(s|n)?|burn(s|t|ed)? out|crack\w*|scratch\w*"
    r"|corro\w*|melt\w*|los(e|es|t|ing)|spoil\w*|fail(s|ed|ing)?|disabl\w*)\b",
    re.IGNORECASE,
)


def check(asked: Asked) -> Iterator[Problem]:
    """Each hazard whose word and consequence disagree."""
    for hazard in asked.base.of_kind(Kind.HAZARD):
        word, consequence = hazard.text("Signal word"), hazard.text("Consequence")
        injury, damage = INJURY.search(consequence), DAMAGE.search(consequence)
        if word == "NOTICE" and injury:
            yield _problem(
                hazard,
                f"`NOTICE` is for damage, and `{injury[0]}` speaks of injury",
                "take CAUTION for a minor injury, WARNING or DANGER for a serious one",
            )
        elif word in ("DANGER", "WARNING", "CAUTION") and damage and not injury:
            yield _problem(
                hazard,
                f"`{word}` is for injury, and the consequence speaks of damage only",
                "take NOTICE, or say who gets hurt",
            )


def _problem(hazard: Node, message: str, help: str) -> Problem:
    return Problem("wrong-signal-word", hazard.values("Signal word")[0].span, message, help)
