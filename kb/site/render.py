"""How pages become HTML: the Jinja environment and its few filters."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from kb.assets import templates_dir
from kb.site.drawing.shapes import number


@cache
def environment() -> Environment:
    """Autoescaped, strict templates from the templates folder."""
    env = Environment(
        loader=FileSystemLoader(templates_dir()),
        undefined=StrictUndefined,
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    env.filters |= {"duration": duration, "plural": plural, "percent": percent, "minutes": minutes, "px": number}
    return env


def render(template: str, data: Mapping[str, Any]) -> bytes:
    """A page as UTF-8."""
    return environment().get_template(template).render(data).encode()


def duration(minutes: float | None) -> str:
    """Minutes in words: `45 s`, `8 min`, `1 h 30 min`; nothing for None."""
    if minutes is None:
        return ""
    if 0 < minutes < 1:
        return f"{round(minutes * 60)} s"
    hours, rest = divmod(minutes, 60)
    parts = [f"{int(hours)} h"] if hours else []
    return " ".join([*parts, f"{rest:.4g} min"] if rest or not parts else parts)


def minutes(seconds: Fraction | float) -> str:
    """Expected seconds as whole minutes, at least one: `31 min`, `1 h 5 min`; `0 min` for none."""
    return duration(max(1, round(seconds / 60)) if seconds else 0)


def plural(count: int, word: str) -> str:
    """`1 cause`, `2 causes`, `no causes`."""
    return f"{count or 'no'} {word if count == 1 else word + 's'}"


def percent(share: float) -> str:
    """A share as a whole number of per cent."""
    return f"{round(100 * share)} %"
