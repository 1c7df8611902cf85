"""A circuit's pictures as one script: the healthy ones in full, every other as what differs from them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Any

from kb.site.drawing.drawn import Drawn
from kb.site.drawing.plan import WORDS
from kb.site.drawing.shown import Picture, Shown, level

Vector = tuple[int | None, ...]


def data_file(drawn: Drawn) -> tuple[str, bytes] | None:
    """Path and bytes of a circuit's script; None for one without pictures."""
    if drawn.shown is None:
        return None
    body = json.dumps(content(drawn, drawn.shown), separators=(",", ":"), ensure_ascii=True)
    slug = json.dumps(drawn.slug, ensure_ascii=True)
    return f"wiring/{drawn.slug}.js", f"Backprobe.wired({slug},{body});\n".encode()


def content(drawn: Drawn, shown: Shown) -> Mapping[str, Any]:
    """All pictures, each list of changes once; `which` tells the one of each fault and position."""
    parts = [name for name, part in shown.circuit.parts.items() if part.kind in WORDS]
    words = _words(shown)
    numbers = {word: i for i, word in enumerate(words)}
    vectors = [[_vector(shown, parts, numbers, picture) for picture in row] for row in shown.pictures]
    changes: dict[Vector, int] = {}
    which = [
        [changes.setdefault(tuple(_changes(vectors[0][p], seen)), len(changes)) for p, seen in enumerate(row)] or None
        for row in vectors
    ]
    return {
        "wires": list(shown.circuit.wires),
        "contacts": [" ".join(key) for key in shown.keys],
        "parts": parts,
        "kinds": [kind_of(shown, name) for name in parts],
        "loads": list(shown.survey.loads),
        "words": words,
        "levels": [level(word) for word in words],
        "positions": list(shown.positions),
        "faults": [{"wrong": list(fault.wrong), "state": fault.state} for fault in drawn.faults],
        "healthy": vectors[0],
        "changes": list(changes),
        "which": which,
    }


def kind_of(shown: Shown, name: str) -> str:
    """`load` for what works, else the part's kind."""
    return "load" if name in shown.survey.loads else shown.circuit.parts[name].kind


def _words(shown: Shown) -> list[str]:
    return sorted({word for row in shown.pictures for picture in row for word in picture.states.values()})


def _vector(shown: Shown, parts: list[str], numbers: Mapping[str, int], picture: Picture) -> Vector:
    volts = [end for wire in shown.circuit.wires for end in picture.volts[wire]]
    return (
        *picture.amps.values(),
        *volts,
        *(picture.contacts[key] for key in shown.keys),
        *(numbers[picture.states[name]] for name in parts),
        *(picture.load_amps[name] for name in shown.survey.loads),
    )


def _changes(healthy: Vector, seen: Vector) -> Iterator[int | None]:
    """Place and value of each number that differs, one after the other."""
    for place, (was, now) in enumerate(zip(healthy, seen, strict=True)):
        if was != now:
            yield place
            yield now
