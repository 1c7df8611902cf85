"""The part kinds of circuits: their pins, their values and how a `Values` cell states them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from kb.netlist import Quantity
from kb.quantity import quantity


@dataclass(frozen=True, slots=True)
class PartKind:
    """`pins` in order (empty: any names, at least `least`); `values` map (words, unit) to a field.

    `defaults` are in base units; a field of `needed` must be stated.
    """

    pins: tuple[str, ...] = ()
    least: int = 1
    values: Mapping[tuple[str, str], str] = field(default_factory=dict)
    defaults: Mapping[str, Quantity] = field(default_factory=dict)
    needed: tuple[str, ...] = ()


def _ohm(value: float) -> Quantity:
    return Quantity(value, "ohm")


_CONTACT = {("contact", "ohm"): "contact", ("", "ohm"): "contact"}
_SWITCH = PartKind(least=2, values=_CONTACT, defaults={"contact": _ohm(0.03)})
_RESISTOR = PartKind(("a", "b"), 2, {("", "ohm"): "ohms"}, needed=("ohms",))
_JOINT = {("", "ohm"): "ohms"}

PART_KINDS: Mapping[str, PartKind] = {
    "battery": PartKind(
        ("+", "-"), 2, {("", "V"): "volts", ("", "ohm"): "inside", ("inside", "ohm"): "inside"},
        {"inside": _ohm(0.02)}, ("volts",)),
    "fuse": PartKind(("in", "out"), 2, {("", "A"): "amps"}, needed=("amps",)),
    "ground": PartKind(("p",), 1, _JOINT, {"ohms": _ohm(0.005)}),
    "splice": PartKind(least=2, values=_JOINT, defaults={"ohms": _ohm(0.005)}),
    "connector": PartKind(least=1, values=_JOINT, defaults={"ohms": _ohm(0.005)}),
    "switch": _SWITCH,
    "limit switch": _SWITCH,
    "relay": PartKind(
        ("85", "86", "30", "87", "87a"), 4,
        {("", "ohm"): "coil", ("coil", "ohm"): "coil", ("pulls at", "V"): "pulls", ("drops at", "V"): "drops",
         ("contact", "ohm"): "contact"},
        {"contact": _ohm(0.03)}, ("coil", "pulls", "drops")),
    "motor": PartKind(
        ("a", "b"), 2, {("", "ohm"): "ohms", ("winding", "ohm"): "ohms", ("runs at", "A"): "runs"},
        needed=("ohms", "runs")),
    "heater": _RESISTOR,
    "resistor": _RESISTOR,
    "lamp": PartKind(("a", "b"), 2, {("", "V"): "volts", ("", "W"): "watts"}, needed=("volts", "watts")),
    "led": PartKind(
        ("+", "-"), 2, {("", "V"): "volts", ("series", "ohm"): "series", ("", "ohm"): "series"},
        needed=("volts", "series")),
    "diode": PartKind(("+", "-"), 2, {("", "V"): "volts"}, {"volts": Quantity(0.7, "V")}),
    "potentiometer": PartKind(
        ("top", "wiper", "bottom"), 3, {("", "ohm"): "ohms", ("at", "%"): "at"}, needed=("ohms", "at")),
    "cell": PartKind(("+", "-"), 2, {("", "V"): "volts", ("", "ohm"): "ohms"}, needed=("volts", "ohms")),
    "output": PartKind(
        ("out",), 1,
        {("", "ohm"): "ohms", ("limit", "A"): "limit", ("rest", "V"): "rest", ("behind", "ohm"): "rest ohms"},
        needed=("ohms", "limit")),
    "input": PartKind(("in",), 1, {("", "ohm"): "ohms"}, needed=("ohms",)),
}  # fmt: skip

_TURNS = re.compile(r"(\S+) positive means (\S+?)\s*/\s*(\S+)")
_STATED = re.compile(r"(?:([a-z][a-z ]*?)\s+)?([+-]?\d+(?:\.\d+)?\s*\S+)")


@dataclass(slots=True)
class Values:
    """What a `Values` cell states so far."""

    quantities: dict[str, Quantity] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    sides: tuple[str, str] | None = None
    turns: tuple[str, str] | None = None


def read_value(kind: str, pins: tuple[str, ...], text: str, values: Values) -> str | None:
    """Read one value of a part into `values`; the reason where it can't be read."""
    special = _special(kind, pins, text, values)
    if special is not None:
        return special or None
    return _quantity(PART_KINDS[kind], text, values)


def _special(kind: str, pins: tuple[str, ...], text: str, values: Values) -> str | None:
    """Values that aren't a plain quantity: an empty string when read, None when the text is none."""
    words = text.split()
    if kind == "connector" and words[:1] == ["sides"]:
        values.sides = (words[1], words[2]) if len(words) == 3 and words[1] != words[2] else None
        return "" if values.sides else "`sides` takes two different names"
    if kind == "motor" and (turns := _TURNS.fullmatch(text)):
        values.turns = (turns[2], turns[3])
        return "" if turns[1] == pins[0] else f"the direction is told for pin `{pins[0]}`"
    if kind == "output" and text in ("rest ground", "rest floating"):
        values.words["rest"] = words[1]
        return ""
    if kind == "output" and (match := re.fullmatch(r"rest (\S+ ?\S+) behind (\S+ ?\S+)", text)):
        return _quantity(PART_KINDS[kind], f"rest {match[1]}", values) or _quantity(
            PART_KINDS[kind], f"behind {match[2]}", values) or ""  # fmt: skip
    if kind == "input" and (match := re.fullmatch(r"(.+) to (ground|feed)", text)):
        values.words["to"] = match[2]
        return _quantity(PART_KINDS[kind], match[1], values) or ""
    return None


def _quantity(kind: PartKind, text: str, values: Values) -> str | None:
    match = _STATED.fullmatch(text)
    read = quantity(match[2]) if match else None
    if match is None or read is None:
        return f"`{text}` is no value with a unit"
    value, unit = read
    name = kind.values.get(((match[1] or "").strip(), unit))
    if name is None:
        return f"`{text}` is no value of this part"
    if value <= 0 and unit != "%" or value < 0:
        return f"`{text}` has to be more than zero"
    if name in values.quantities:
        return f"`{text}` states the same value again"
    values.quantities[name] = Quantity(value, unit)
    return None
