"""Bases to search, and a way to ask the browser's scripts in Node."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import pytest

from kb.graph import build_graph
from kb.isolation.ways import Hunts
from kb.model import Base
from kb.read.base import read_base, read_files
from kb.search.cards import cards
from kb.search.fresh import build_index
from kb.search.index import Index
from kb.search.shards import shard_files
from tests.search.made import files_without_plans

HERE = Path(__file__).parent
CONTENT = HERE.parent.parent / "content"

# An invented base about an invented pump: nothing here is advice.
PUMP = {
    "index.md": """# Pump house

- Statement: Follow the maker's instructions first.
""",
    "functions/pumping.md": """# Function: Pumping

- Said as: moving water

## Symptom: Pump won't start

- Said as: dead pump; nothing happens
- Causes: [Fuse F7 blown] — common; [Motor open]

The customer hears nothing at all, not even a hum.

## Symptom: Pump runs but no water comes

- Causes: [Strainer blocked]; [Valve stuck]

## Cause: Fuse F7 blown

- Repair: [New fuse]

## Cause: Motor open

## Cause: Strainer blocked

## Cause: Valve stuck

- Said as: nothing

## Test: Lamp at the float plug

- Takes: 5 min
- Needs: [Back-probe pins]
- Tried on: [Ostrel Weir]

1. Back probe `J2.float` and terminal 87a with the lamp.
2. Look at 31b: 12.6 V is there, or 12 volts at least.

| Finding | Clears |
|---|---|
| The lamp is bright | [Fuse F7 blown] |
| The lamp is dark | [Motor open] |

## Repair: New fuse

- Takes: 3 min
- Parts: fuse 8K0-941-599, 7.5 A

Slip the old one out. It has slipped out before.
""",
    "shared.md": """# Shared things

Words about the house that stand under no kind.

## Tool: Back-probe pins

Slide them along the wire.

## Term: Float switch

- Said as: level sensor; bobber

It closes when the water is high.

## Term: Repeater

- Said as: blinker; turn signal; indicator

## Hazard: Water near current

- Signal word: DANGER
- Hazard: wet hands
- Consequence: a shock can kill
- Avoidance: switch it off
- With tool: [Back-probe pins]

## Access: Lid off

- Takes: 4 min

Lift the lid. The headlamp helps. A head wears a lamp. The turn signal on the lid flashes.
""",
    "vehicles/ostrel.md": """# Vehicle: Ostrel Weir

- Years: 2011 to 2016

The float switch of this one is inside; its keyless box sits outside.

## Symptom: Lid lamp dim

- Only on: [Ostrel Weir]
- Said as: bobber light is weak
""",
}

def base_of(pages: Mapping[str, str]) -> Base:
    """A base given as texts of pages."""
    return read_files({name: text.encode() for name, text in pages.items()})


Ask = Callable[..., dict[str, Any]]


def index_of(base: Base) -> Index:
    """The index of a base."""
    return build_index(base, build_graph(base))


def files_of(base: Base) -> dict[str, bytes]:
    """The files that its site has for search."""
    graph = build_graph(base)
    index = build_index(base, graph)
    return shard_files(index, cards(base, Hunts(base, graph), index.documents))


@pytest.fixture(scope="session")
def build() -> Callable[[Mapping[str, str]], Index]:
    """Index a base given as texts of pages."""
    return lambda pages: index_of(base_of(pages))


@pytest.fixture(scope="session")
def pump(build: Callable[[Mapping[str, str]], Index]) -> Index:
    """The small base above."""
    return build(PUMP)


@pytest.fixture(scope="session")
def pump_files() -> dict[str, bytes]:
    """The files of its site, cards with plans."""
    return files_of(base_of(PUMP))


@pytest.fixture(scope="session")
def pump_pages() -> Mapping[str, str]:
    """The pages of the small base, to be changed."""
    return dict(PUMP)


@pytest.fixture(scope="session")
def whole() -> Index:
    """The index of the base that ships."""
    if not (CONTENT / "index.md").exists():
        pytest.skip("no base in content/")
    return index_of(read_base(CONTENT))


@pytest.fixture(scope="session")
def ask() -> Ask:
    """Ask the browser's scripts: queries are (words, kind, most, whether they are being typed)."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is absent, so the browser's ranking can't be run")

    def run(
        index: Index | Mapping[str, bytes],
        queries: Iterable[tuple[str, str | None, int] | tuple[str, str | None, int, bool]] = (),
        texts: Iterable[str] = (),
        words: Iterable[str] = (),
    ) -> dict[str, Any]:
        files = files_without_plans(index) if isinstance(index, Index) else index
        asked = {
            "files": {name: data.decode() for name, data in files.items()},
            "queries": [dict(zip(("query", "kind", "most", "typing"), one, strict=False)) for one in queries],
            "texts": list(texts),
            "words": list(words),
        }
        answer = subprocess.run(
            [node, str(HERE / "browser.js")],
            input=json.dumps(asked),
            capture_output=True,
            text=True,
            check=True,
            encoding="utf-8",
        )
        return json.loads(answer.stdout)

    return run
