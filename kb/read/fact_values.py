"""What a fact's value says: durations, references with remarks, frequencies, flags, addresses."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace

from kb.model import Cell, Inline, SignalWord, Value
from kb.quantity import minutes, number
from kb.read.fact_specs import Shape, Spec
from kb.read.inlines import plain
from kb.reference import Ref

DASH = re.compile(r"\s[-–—]\s")
WEIGHTS: Mapping[str, int] = {"common": 6, "occasional": 3, "rare": 1}
Read = tuple[Value, tuple[str, str] | None]
_HOW_LONG = "write a duration such as `5 min`, `1 h 30 min` or `90 s`"


def taken(refs: tuple[Ref, ...], spec: Spec) -> tuple[Ref, ...]:
    """References in a place that takes the kinds of `spec`."""
    return tuple(replace(ref, kinds=spec.kinds) for ref in refs)


def joined(cells: list[Cell]) -> Cell:
    """Several lines of one text as one stretch."""
    if len(cells) == 1:
        return cells[0]
    line_end = Inline("text", cells[0].span, "\n")
    inlines = tuple(inline for cell in cells for inline in (*cell.inlines, line_end))
    refs = tuple(ref for cell in cells for ref in cell.refs)
    return Cell(cells[0].span.to(cells[-1].span), plain(inlines), inlines[:-1], refs)


def _reference(value: Value, index: int = 0) -> Read:
    """Exactly one reference and no other words."""
    rest = "".join(i.text for i in value.inlines if i.type != "ref").strip().strip(".")
    if len(value.refs) == 1 and not rest and len([i for i in value.inlines if i.type == "ref"]) == 1:
        return value, None
    if not value.refs:
        return value, (f"`{value.text}` is no reference", "write the node's name in brackets: `[Name]`")
    return value, (
        f"`{value.text}` is more than one name",
        "write `;` between names and a remark after a dash: `[A] — common; [B]`",
    )


def _split_remark(value: Value) -> Value:
    """Cut what follows the first dash with a space on each side, outside of references."""
    inlines, after = [], False
    remark = ""
    for inline in value.inlines:
        cut = None if after or inline.type != "text" else DASH.search(f"{inline.text} ")
        if cut:
            after = True
            remark += inline.text[cut.end() :]
            inlines.append(replace(inline, text=inline.text[: cut.start()]))
        elif after:
            remark += plain((inline,))
        else:
            inlines.append(inline)
    return replace(value, inlines=tuple(inlines), text=plain(inlines), remark=" ".join(remark.split()))


def _remarked(value: Value, index: int) -> Read:
    return _reference(_split_remark(value))


def _weight(word: str) -> int | None:
    if re.fullmatch(r"[1-9]\d{0,8}", word, re.ASCII):
        return int(word)
    return WEIGHTS.get(word.casefold())


_HOW_OFTEN = "write `common`, `occasional`, `rare` or a count such as `12`"


def _weighted(value: Value, index: int) -> Read:
    value, wrong = _reference(_split_remark(value))
    if wrong or not value.remark:
        return value, wrong
    weight = _weight(value.remark)
    wrong = None if weight else (f"`{value.remark}` says no frequency", _HOW_OFTEN)
    return replace(value, number=weight), wrong


def _frequency(value: Value, index: int) -> Read:
    value = _split_remark(value)
    weight = _weight(value.text)
    return replace(value, number=weight), None if weight else (
        f"`{value.text}` says no frequency",
        _HOW_OFTEN,
    )


def _duration(value: Value, index: int) -> Read:
    time = minutes(value.text)
    return replace(value, number=time), None if time is not None else (
        f"`{value.text}` is no duration",
        _HOW_LONG,
    )


def _durations(value: Value, index: int) -> Read:
    """`20 min` first, then `35 min on [Vehicle]`."""
    text = "".join(i.text for i in value.inlines if i.type != "ref").strip()
    on = re.fullmatch(r"(.*\S)\s+on", text)
    if value.refs and on and len(value.refs) == 1 and index:
        time = minutes(on[1])
        return replace(value, number=time), None if time is not None else (
            f"`{on[1]}` is no duration",
            _HOW_LONG,
        )
    if value.refs or index:
        return value, (
            f"`{value.text}` is no duration on a vehicle",
            "write the usual time first, then `35 min on [Vehicle]`",
        )
    return _duration(value, 0)


def _number(value: Value, index: int) -> Read:
    found = number(value.text)
    return replace(value, number=found), None if found is not None else (
        f"`{value.text}` is no plain number",
        "write digits, with a decimal point where one is needed",
    )


def _flag(value: Value, index: int) -> Read:
    known = value.text.casefold() in ("yes", "no")
    return value, None if known else (
        f"`{value.text}` is neither yes nor no",
        "write `yes`, or remove the fact",
    )


def _signal(value: Value, index: int) -> Read:
    known = value.text.upper() in list(SignalWord)
    return replace(value, text=value.text.upper() if known else value.text), None if known else (
        f"`{value.text}` is no signal word",
        "write DANGER, WARNING, CAUTION or NOTICE",
    )


_ANSWER = re.compile(r"[+-]?\d+(?:\.\d+)?(\s*[^\s\d±]\S*)?(?:\s*±\s*\d+(?:\.\d+)?(\s*[^\s\d±]\S*)?)?")


def _answer(value: Value, index: int) -> Read:
    match = _ANSWER.fullmatch(value.text)
    units = {unit.strip() for unit in match.groups() if unit} if match else set()
    return value, None if match and len(units) < 2 else (
        f"`{value.text}` is no quantity",
        "write a number, its unit, and how far off it may be: `12.1 V ± 0.3 V`",
    )


def _language(value: Value, index: int) -> Read:
    known = re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", value.text)
    return value, None if known else (
        f"`{value.text}` is no language tag",
        "write a BCP 47 tag such as `en` or `de-AT`",
    )


def _address(value: Value, index: int) -> Read:
    text = value.inlines[0].href if value.inlines and value.inlines[0].href else value.text
    known = re.fullmatch(r"https?://[^\s/]+(/\S*)?", text)
    return replace(value, text=text), None if known else (
        f"`{text}` is no web address",
        "write it whole, with `https://`",
    )


READERS: Mapping[Shape, Callable[[Value, int], Read]] = {
    Shape.REFS: _reference,
    Shape.REMARKED: _remarked,
    Shape.WEIGHTED: _weighted,
    Shape.FREQUENCY: _frequency,
    Shape.DURATION: _duration,
    Shape.DURATIONS: _durations,
    Shape.NUMBER: _number,
    Shape.FLAG: _flag,
    Shape.SIGNAL: _signal,
    Shape.ANSWER: _answer,
    Shape.LANGUAGE: _language,
    Shape.ADDRESS: _address,
}
