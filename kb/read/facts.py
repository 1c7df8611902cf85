"""Which facts each kind has, what their values look like, and how a fact list is read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import Enum, auto

from kb.diagnostic import Problem
from kb.model import Block, Cell, Fact, SignalWord, Value
from kb.quantity import minutes, nearest, number
from kb.read.blocks import Blocks
from kb.read.inlines import plain, taking
from kb.reference import Kind, Ref
from kb.source import Span

KEY = re.compile(r"((?:[^\W\d_]+ ){0,2}[^\W\d_]+):(?=\s|$)")
DASH = re.compile(r"\s[-–—]\s")
WEIGHTS: Mapping[str, int] = {"common": 6, "occasional": 3, "rare": 1}


class Shape(Enum):
    """What a fact's value looks like."""

    TEXT = auto()  # one text, never split
    TEXTS = auto()  # texts between semicolons
    CHOICES = auto()  # one text a bullet, the key may come again
    REFS = auto()  # references between semicolons
    REMARKED = auto()  # references, each with a remark after a dash
    WEIGHTED = auto()  # references, each with a frequency after a dash
    FREQUENCY = auto()
    DURATION = auto()
    DURATIONS = auto()  # a duration, and others on named vehicles
    NUMBER = auto()
    FLAG = auto()
    SIGNAL = auto()
    ANSWER = auto()  # a quantity, and how far off it may be
    LANGUAGE = auto()
    ADDRESS = auto()


@dataclass(frozen=True, slots=True)
class Spec:
    """What a kind's fact takes: the shape, the kinds its references may name, whether it must be there."""

    shape: Shape
    kinds: frozenset[Kind] = frozenset()
    required: bool = False


def _refs(*kinds: Kind, shape: Shape = Shape.REFS, required: bool = False) -> Spec:
    return Spec(shape, frozenset(kinds), required)


_TEXT, _TEXTS, _FLAG = Spec(Shape.TEXT), Spec(Shape.TEXTS), Spec(Shape.FLAG)
_NEEDED = Spec(Shape.TEXT, required=True)
_COMMON = {"Formerly": _TEXTS, "Only on": _refs(Kind.VEHICLE)}
_TAKES = _refs(Kind.VEHICLE, shape=Shape.DURATIONS, required=True)
_TRIED = _refs(Kind.VEHICLE, shape=Shape.REMARKED)

_OWN: dict[Kind, dict[str, Spec]] = {
    Kind.BASE: {
        "Statement": _NEEDED,
        "Language": Spec(Shape.LANGUAGE),
        "Edition": _TEXT,
        "History": _TEXT,
        "Hour costs": Spec(Shape.NUMBER),
        "Address": Spec(Shape.ADDRESS),
    },
    Kind.PAGE: {},
    Kind.FUNCTION: {"Said as": _TEXTS, "Works only when": _TEXT},
    Kind.SYMPTOM: {
        "Said as": _TEXTS,
        "Causes": _refs(Kind.CAUSE, shape=Shape.WEIGHTED),
        "Order": _refs(Kind.TEST),
        "Comes and goes": _FLAG,
    },
    Kind.CAUSE: {"Repair": _refs(Kind.REPAIR), "How often": Spec(Shape.FREQUENCY)},
    Kind.TEST: {
        "Takes": _TAKES,
        "Access": _refs(Kind.ACCESS),
        "Needs": _refs(Kind.TOOL),
        "After": _refs(Kind.TEST),
        "Tried on": _TRIED,
    },
    Kind.REPAIR: {
        "Takes": _TAKES,
        "Access": _refs(Kind.ACCESS),
        "Needs": _refs(Kind.TOOL),
        "Parts": _TEXTS,
        "Costs": Spec(Shape.NUMBER),
        "Try": _FLAG,
        "Verify": _refs(Kind.TEST),
        "Tried on": _TRIED,
    },
    Kind.ACCESS: {
        "Takes": _TAKES,
        "Undo": Spec(Shape.DURATION),
        "Access": _refs(Kind.ACCESS),
        "Needs": _refs(Kind.TOOL),
    },
    Kind.TOOL: {"Said as": _TEXTS},
    Kind.HAZARD: {
        "Signal word": Spec(Shape.SIGNAL, required=True),
        "Hazard": _NEEDED,
        "Consequence": _NEEDED,
        "Avoidance": _NEEDED,
        "With access": _refs(Kind.ACCESS),
        "With tool": _refs(Kind.TOOL),
        "In function": _refs(Kind.FUNCTION),
        "At words": _TEXTS,
    },
    Kind.TERM: {"Said as": _TEXTS},
    Kind.VEHICLE: {"Years": _TEXT, "Circuits": _refs(Kind.CIRCUIT)},
    Kind.CIRCUIT: {},
    Kind.LESSON: {
        "For": _TEXT,
        "Takes": Spec(Shape.DURATION),
        "After": _refs(Kind.LESSON),
        "Objectives": _TEXTS,
        "Covers": _refs(),
    },
    Kind.QUESTION: {
        "Right": Spec(Shape.CHOICES),
        "Wrong": Spec(Shape.CHOICES),
        "Answer": Spec(Shape.ANSWER),
        "Because": _TEXT,
    },
    Kind.EXERCISE: {
        "Circuit": _refs(Kind.CIRCUIT, required=True),
        "Symptom": _refs(Kind.SYMPTOM, required=True),
        "Hidden": _refs(Kind.CAUSE, required=True),
        "Budget": Spec(Shape.DURATION, required=True),
    },
}
FACTS: Mapping[Kind, Mapping[str, Spec]] = {
    kind: own if kind in (Kind.BASE, Kind.PAGE) else own | _COMMON for kind, own in _OWN.items()
}
_KEYS = {kind: {key.casefold(): key for key in specs} for kind, specs in FACTS.items()}
ALL_KEYS = frozenset(key for keys in _KEYS.values() for key in keys)


def key_of(content: str) -> str | None:
    """The key that a text begins with, as written, or None."""
    match = KEY.match(content)
    return match[1] if match else None


def has_key(content: str, kind: Kind) -> bool:
    """True where a text begins with a key of this kind."""
    key = key_of(content)
    return bool(key) and str(key).casefold() in _KEYS[kind]


def meant_key(key: str, kind: Kind) -> str | None:
    """The key of `kind` that is written here, or that is one slip away."""
    known = _KEYS[kind]
    exact = known.get(key.casefold())
    near = None if exact else nearest(key.casefold(), known)
    return known[near] if near else exact


def item_content(item: Block, blocks: Blocks) -> tuple[str, Span | None]:
    """The text of an item's first paragraph, and its span."""
    first = item.children[0] if item.children else None
    if first is None or first.type != "paragraph":
        return "", None
    return blocks.contents[first.span][0], first.span


def is_fact_list(block: Block, kind: Kind, blocks: Blocks) -> bool:
    """True for a bullet list with at least one key that the kind knows or nearly knows."""
    if block.type != "bullets":
        return False
    keys = (key_of(item_content(item, blocks)[0]) for item in block.children)
    return any(key and meant_key(key, kind) for key in keys)


class FactReader:
    """Reads one fact list. `problems` are what was met."""

    def __init__(self, kind: Kind, blocks: Blocks) -> None:
        self.kind, self.blocks = kind, blocks
        self.problems: list[Problem] = []
        self.facts: dict[str, Fact] = {}
        self.unknown: list[Ref] = []

    def read(self, block: Block) -> None:
        """Read every bullet of a fact list."""
        for item in block.children:
            self._bullet(item)

    def _problem(self, rule: str, span: Span, message: str, help: str = "") -> None:
        self.problems.append(Problem(rule, span, message, help))

    def _bullet(self, item: Block) -> None:
        content, span = item_content(item, self.blocks)
        key = key_of(content)
        if span is None or key is None:
            self._problem("bad-value", span or item.span, "a bullet without a key in a list of facts",
                          "write `Key: value`, or move the text below the facts")  # fmt: skip
            return
        places = self.blocks.contents[span][1]
        key_span = places.span(0, len(key))
        meant = meant_key(key, self.kind)
        if meant is None or meant.casefold() != key.casefold():
            self._unknown(key, key_span, meant)
        cells = [cell for spot, start in self._texts(item, span, len(key) + 1) for cell in self._cells(spot, start, meant)]
        if meant is None:
            self.unknown.extend(ref for cell in cells for ref in cell.refs)
        elif cells:
            self._run_on(item)
            self._add(Fact(meant, item.span, key_span, tuple(self._values(meant, cells))))

    def _run_on(self, item: Block) -> None:
        """A line that begins with a key, but without a bullet of its own, has run into the bullet above it."""
        for block in item.children:
            content, places = self.blocks.contents.get(block.span, ("", None))
            start = content.find("\n") + 1
            while start and places:
                if has_key(content[start:], self.kind):
                    span = places.span(start, start + len(str(key_of(content[start:]))))
                    self._problem("stray-fact", span, f"`{key_of(content[start:])}` runs on in the fact above it",
                                  "begin the line with `- `")  # fmt: skip
                start = content.find("\n", start) + 1

    def _unknown(self, key: str, span: Span, meant: str | None) -> None:
        offer = f"did you mean `{meant}`?" if meant else "its facts: " + ", ".join(FACTS[self.kind])
        self._problem("unknown-fact", span, f"`{key}` is no fact of a {self.kind.value}", offer)

    def _texts(self, item: Block, span: Span, start: int) -> Iterator[tuple[Span, int]]:
        """The running texts of a bullet: its own line, further paragraphs, a nested list's items."""
        yield span, start
        for child in item.children[1:]:
            if child.type == "paragraph":
                yield child.span, 0
            elif child.type in ("bullets", "steps"):
                for inner in child.children:
                    yield from self._nested(inner)
            else:
                self._problem("bad-value", child.span, "a fact holds text or a nested list only",
                              "move this below the facts")  # fmt: skip

    def _nested(self, item: Block) -> Iterator[tuple[Span, int]]:
        _, span = item_content(item, self.blocks)
        if span:
            yield span, 0
        for child in item.children[1:] if span else item.children:
            self._problem("bad-value", child.span, "a value of a fact is one line of text",
                          "write one value a bullet")  # fmt: skip

    def _cells(self, span: Span, start: int, key: str | None) -> tuple[Cell, ...]:
        spec = FACTS[self.kind].get(key or "")
        whole = spec is not None and spec.shape in (Shape.TEXT, Shape.CHOICES, Shape.ANSWER)
        return self.blocks.split(span, "" if whole else ";", start)

    def _add(self, fact: Fact) -> None:
        before = self.facts.get(fact.key)
        if before and FACTS[self.kind][fact.key].shape is not Shape.CHOICES:
            self._problem("bad-value", fact.key_span, f"`{fact.key}` stands here twice",
                          "write all values behind one key, with `;` between them")  # fmt: skip
            return
        values = (before.values if before else ()) + fact.values
        self.facts[fact.key] = replace(before or fact, values=values)

    def _values(self, key: str, cells: list[Cell]) -> Iterator[Value]:
        spec = FACTS[self.kind][key]
        if spec.shape is Shape.TEXT:
            cells = [_joined(cells)]
        elif spec.shape in _SINGLE and len(cells) > 1:
            self._problem("bad-value", cells[1].span, f"`{key}` takes one value", "remove the others")
            cells = cells[:1]
        for index, cell in enumerate(cells):
            value = Value(cell.span, cell.text, _taken(cell.refs, spec), taking(cell.inlines, spec.kinds))
            read = _READERS.get(spec.shape)
            wrong = None
            if read:
                value, wrong = read(value, index)
            if wrong:
                self._problem("bad-value", value.span, f"`{key}`: {wrong[0]}", wrong[1])
            yield value


_SINGLE = (Shape.ANSWER, Shape.DURATION, Shape.NUMBER, Shape.FLAG, Shape.SIGNAL, Shape.FREQUENCY, Shape.LANGUAGE, Shape.ADDRESS)
Read = tuple[Value, tuple[str, str] | None]
_HOW_LONG = "write a duration such as `5 min`, `1 h 30 min` or `90 s`"


def _taken(refs: tuple[Ref, ...], spec: Spec) -> tuple[Ref, ...]:
    return tuple(replace(ref, kinds=spec.kinds) for ref in refs)


def _joined(cells: list[Cell]) -> Cell:
    if len(cells) == 1:
        return cells[0]
    inlines = tuple(inline for cell in cells for inline in (*cell.inlines, replace(cell.inlines[0], type="text", text="\n", children=(), ref=None, href="")) )
    refs = tuple(ref for cell in cells for ref in cell.refs)
    return Cell(cells[0].span.to(cells[-1].span), plain(inlines), inlines[:-1], refs)


def _reference(value: Value, index: int = 0) -> Read:
    """Exactly one reference and no other words."""
    rest = "".join(i.text for i in value.inlines if i.type != "ref").strip().strip(".")
    if len(value.refs) == 1 and not rest and len([i for i in value.inlines if i.type == "ref"]) == 1:
        return value, None
    if not value.refs:
        return value, (f"`{value.text}` is no reference", "write the node's name in brackets: `[Name]`")
    return value, (f"`{value.text}` is more than one name", "put `;` between references and nothing else")


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
    return replace(value, number=weight), None if weight else (f"`{value.text}` says no frequency", _HOW_OFTEN)


def _duration(value: Value, index: int) -> Read:
    time = minutes(value.text)
    return replace(value, number=time), None if time is not None else (f"`{value.text}` is no duration", _HOW_LONG)


def _durations(value: Value, index: int) -> Read:
    """`20 min` first, then `35 min on [Vehicle]`."""
    text = "".join(i.text for i in value.inlines if i.type != "ref").strip()
    on = re.fullmatch(r"(.*\S)\s+on", text)
    if value.refs and on and len(value.refs) == 1 and index:
        time = minutes(on[1])
        return replace(value, number=time), None if time is not None else (f"`{on[1]}` is no duration", _HOW_LONG)
    if value.refs or index:
        return value, (f"`{value.text}` is no duration on a vehicle",
                       "write the usual time first, then `35 min on [Vehicle]`")  # fmt: skip
    return _duration(value, 0)


def _number(value: Value, index: int) -> Read:
    found = number(value.text)
    return replace(value, number=found), None if found is not None else (
        f"`{value.text}` is no plain number", "write digits, with a decimal point where one is needed")  # fmt: skip


def _flag(value: Value, index: int) -> Read:
    known = value.text.casefold() in ("yes", "no")
    return value, None if known else (f"`{value.text}` is neither yes nor no", "write `yes`, or remove the fact")


def _signal(value: Value, index: int) -> Read:
    known = value.text.upper() in list(SignalWord)
    return replace(value, text=value.text.upper() if known else value.text), None if known else (
        f"`{value.text}` is no signal word", "write DANGER, WARNING, CAUTION or NOTICE")  # fmt: skip


_ANSWER = re.compile(r"[+-]?\d+(?:\.\d+)?(\s*[^\s\d±]\S*)?(?:\s*±\s*\d+(?:\.\d+)?(\s*[^\s\d±]\S*)?)?")


def _answer(value: Value, index: int) -> Read:
    match = _ANSWER.fullmatch(value.text)
    units = {unit.strip() for unit in match.groups() if unit} if match else set()
    return value, None if match and len(units) < 2 else (
        f"`{value.text}` is no quantity", "write a number, its unit, and how far off it may be: `12.1 V ± 0.3 V`")  # fmt: skip


def _language(value: Value, index: int) -> Read:
    known = re.fullmatch(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{2,8})*", value.text)
    return value, None if known else (f"`{value.text}` is no language tag", "write a BCP 47 tag such as `en` or `de-AT`")


def _address(value: Value, index: int) -> Read:
    text = value.inlines[0].href if value.inlines and value.inlines[0].href else value.text
    known = re.fullmatch(r"https?://[^\s/]+(/\S*)?", text)
    return replace(value, text=text), None if known else (f"`{text}` is no web address", "write it whole, with `https://`")


_READERS: Mapping[Shape, Callable[[Value, int], Read]] = {
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
