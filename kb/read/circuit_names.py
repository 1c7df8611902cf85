"""The parts, wires and positions of a circuit by name, and what of them a cell means."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from kb.diagnostic import Problem
from kb.model import Cell
from kb.netlist import Part, Position, Terminal, Wire
from kb.quantity import edits, nearest
from kb.read.blocks import Blocks

_LIGHT = ("bright", "dim", "dark")
_HEAT = ("hot", "warm", "cold")
GLASS = ("dimmed", "tinted", "clear")
OF_A_LAMP = dict(zip(_LIGHT, GLASS, strict=True))  # a lamp's words for a dimming cell, which earlier pages have
SHOWN: Mapping[str, tuple[str, ...]] = {  # what each kind of load shows; a motor its directions too
    "motor": ("moves", "slow", "still"), "lamp": _LIGHT, "led": _LIGHT, "heater": _HEAT, "resistor": _HEAT,
    "cell": GLASS, "fuse": ("whole", "blown"),
}  # fmt: skip
NAME = re.compile(r"[^\W\d_][\w-]*")
_POINT = re.compile(r"([\w-]+)\.(\S+)(?:\s+(\S+))?")
_POINT_HELP = "write a part, a dot and a pin: `J2.tilt`, with a connector's side: `J2.tilt mirror`"


class CircuitNames:
    """What is known of one circuit so far; `problems` are what was met."""

    def __init__(self, blocks: Blocks) -> None:
        self.blocks = blocks
        self.problems: list[Problem] = []
        self.parts: dict[str, Part] = {}
        self.wires: dict[str, Wire] = {}
        self.positions: dict[str, Position] = {}
        self.doubtful: set[str] = set()  # parts, wires and positions whose own row couldn't be read

    def problem(self, cell: Cell, message: str, help: str = "", rule: str = "bad-value") -> None:
        """Note what is wrong with a cell."""
        self.problems.append(Problem(rule, cell.span, message, help))

    def split(self, cell: Cell, sign: str) -> tuple[Cell, ...]:
        """The stretches of a cell between `sign`s."""
        return self.blocks.split(cell.span, sign) if cell.text else ()

    def unknown(self, cell: Cell, name: str, known: Mapping[str, object] | tuple[str, ...]) -> None:
        """Report a name that this circuit doesn't have, unless its own row couldn't be read."""
        if name in self.doubtful or any(edits(d, name, 1) == 1 for d in self.doubtful if not NAME.fullmatch(d)):
            return
        near = nearest(name, known)
        self.problem(
            self._narrow(cell, name),
            f"this circuit has no `{name}`",
            f"did you mean `{near}`?" if near else "name what the circuit's tables state",
            "unknown-point",
        )

    def _narrow(self, cell: Cell, name: str) -> Cell:
        """The cell with the span of this name alone."""
        content, places = self.blocks.contents.get(cell.span, ("", None))
        match = re.search(rf"(?<!\w){re.escape(name)}(?!\w)", content) if name else None
        return replace(cell, span=places.span(*match.span())) if match and places else cell

    def terminal(self, cell: Cell) -> Terminal | None:
        """The terminal that a cell names, with a problem where it names none."""
        match = _POINT.fullmatch(cell.text)
        if match is None:
            self.problem(cell, f"`{cell.text}` is no point", _POINT_HELP)
            return None
        part = self.parts.get(match[1])
        if match[1] in self.doubtful:
            return None
        if part is None:
            self.unknown(cell, match[1], self.parts)
        elif match[2] not in part.pins:
            self.unknown(cell, match[2], part.pins)
        elif match[3] and match[3] not in (part.sides or ()):
            self.unknown(cell, match[3], part.sides or ())
        else:
            return Terminal(part.name, match[2], match[3] or (part.sides[0] if part.sides else ""))
        return None

    def contact(self, part: Part, cell: Cell, text: str) -> tuple[str, str] | None:
        """The two pins of `pin-pin`; pins may themselves hold a hyphen."""
        cuts = [(text[:i], text[i + 1 :]) for i, c in enumerate(text) if c == "-"]
        known = next(((a, b) for a, b in cuts if a in part.pins and b in part.pins and a != b), None)
        if known is None and part.name in self.doubtful:
            return None
        if known is None and (len(cuts) != 1 or set(cuts[0]) <= set(part.pins)):
            self.problem(cell, f"`{text}` joins no two pins", "write `pin-pin`, with commas between")
        elif known is None:
            self.unknown(cell, next((p for p in cuts[0] if p not in part.pins), text), part.pins)
        return known

    def verdict(self, cell: Cell) -> tuple[str, str] | None:
        """A load and what it does: `M1 up`."""
        words = cell.text.split()
        part = self.parts.get(words[0]) if words else None
        if len(words) != 2:
            self.problem(cell, f"`{cell.text}` is no load and verdict", "write a load and what it does: `M1 up`")
        elif part is None:
            self.unknown(cell, words[0], self.parts)
        elif part.name in self.doubtful:
            return None
        elif part.kind == "cell" and words[1] in OF_A_LAMP:
            return (words[0], OF_A_LAMP[words[1]])
        elif words[1] not in (shown := (*SHOWN.get(part.kind, ()), *(part.turns or ()))):
            self.problem(
                cell,
                f"`{words[1]}` is nothing that the {part.kind} `{part.name}` shows",
                "it shows: " + ", ".join(shown) if shown else "name a load or a fuse",
            )
        else:
            return (words[0], words[1])
        return None

    def known_position(self, cell: Cell, name: str) -> None:
        """Report a position that this circuit doesn't have."""
        if name not in self.positions:
            self.unknown(cell, name, self.positions)
