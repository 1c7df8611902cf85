"""An invented base about an invented pump's control box, and built pages taken apart. Nothing here is advice."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterator, Mapping
from urllib.parse import unquote
from xml.etree.ElementTree import Element

import html5lib

from kb import checks
from kb.graph import build_graph
from kb.model import Base
from kb.read.base import read_files
from kb.site.context import Site
from kb.site.drawing.data import data_file
from kb.site.sheets import sheets
from kb.site.write import page_bytes, site_files, static_files

INDEX = """# Low Field Pumps

- Statement: The maker's instructions come first. Work on mains is for people licensed for it.
- Edition: third
- History: jobs.csv

Invented pumps. See the [picture](pictures/box.svg).

![The box with its lid off](pictures/lid.png)
"""

PUMPING = """# Function: Pumping

- Said as: moving water
- Works only when: The float is up. The tank is not empty.

Water goes round.

## Symptom: Pump does not start

- Said as: the pump is dead; nothing hums
- Formerly: Dead pump
- Causes: [Fuse blown] — common; [Motor open] — rare; [Float wire open] — occasional
- Order: [Lamp at the float plug]; [Listen at the pump]

Ask when it last ran.

## Symptom: Pump runs dry

- Causes: [Strainer blocked]

## Cause: Fuse blown

- Repair: [New fuse]

## Cause: Motor open

- Repair: [New pump]; [New motor]

## Cause: Float wire open

- Repair: [Mend the wire]

## Cause: Strainer blocked

- Repair: [Clean the strainer]

## Test: Volts at the box

- Takes: 4 min

1. Measure at the box.

| Finding | Reading | Clears |
|---|---|---|
| Full volts | 11 to 13 V | [Fuse blown] |
| None | < 1 V | |

## Test: Listen at the pump

- Takes: 2 min; 5 min on [Ostrel Weir]
- Access: [Lid off]

> **CAUTION** [Sharp lid]

> **NOTICE: loud pump.** The pump is loud. Stand back from it. Wear ear muffs.

1. Switch on.

> **DANGER** [Water near current]

2. Listen at `J2.float`.
3. Switch off.

| Finding | Reading | Clears | Proves | Next |
|---|---|---|---|---|
| It hums | moves | [Fuse blown]; [Motor open] | | [Lamp at the float plug] |
| It is silent | still | | | done |
| The strip is burnt | | | [Fuse blown] | [New fuse] |

## Test: Lamp at the float plug

- Takes: 5 min
- Access: [Lid off]; [Power on]
- Needs: [Test lamp]

> **CAUTION** [Sharp lid]

1. Put the lamp on `J2.float`.

| Finding | Reading | Clears | Next |
|---|---|---|---|
| The lamp is bright | bright | [Fuse blown]; [Float wire open] | [Volts at the box] |
| The lamp is dark | dark | [Motor open] | [New fuse] |

## Repair: New fuse

- Takes: 3 min
- Verify: [Listen at the pump]

1. Put the new fuse in.

## Repair: New pump

- Takes: 1 h 30 min

1. Change the pump.

## Repair: New motor

- Takes: 50 min
- Access: [Lid off]

> **CAUTION** [Sharp lid]

1. Change the motor.

## Repair: Mend the wire

- Takes: 20 min

1. Mend it.

## Repair: Clean the strainer

- Takes: 10 min

1. Clean it.
"""

SHARED = """# What the pages share

## Access: Lid off

- Takes: 2 min
- Undo: 3 min

> **CAUTION** [Sharp lid]

1. Undo four screws.

### Put back

1. Do the screws up.

## Access: Power on

- Takes: 1 min

> **DANGER** [Water near current]

> **NOTICE: bright box.** The box lights up. Look away from it. Shade your eyes.

1. Switch the box on.

## Tool: Test lamp

- Said as: bulb tester

## Term: Float switch

- Said as: level sensor; bobber

It closes when the [Test lamp] would light.

## Hazard: Water near current

- Signal word: DANGER
- Hazard: Wet hands carry current.
- Consequence: A shock can kill you.
- Avoidance: Dry your hands, then switch off.
- At words: switch the box on

## Hazard: Sharp lid

- Signal word: CAUTION
- Hazard: The lid has a sharp rim.
- Consequence: It can cut your hands.
- Avoidance: Wear gloves.
- With access: [Lid off]
"""

VEHICLE = """# Vehicle: Ostrel Weir

- Years: 2011 to 2016
- Circuits: [Weir pumping]

## Circuit: Weir pumping

| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12.6 V |
| F7 | fuse | in out | 10 A |
| J2 | connector | float back | 5 mohm, sides box pump |
| M1 | motor | a b | 3 ohm, runs at 2 A, a positive means on/off |
| G1 | ground | p | |

| Wire | From | To | Colour | mm2 | Length |
|---|---|---|---|---|---|
| W1 | B1.+ | F7.in | RD | 2.5 | 1 m |
| W2 | F7.out | J2.float box | VTWH | 1.5 | 2 m |
| W3 | J2.float pump | M1.a | VT/WH | 1.5 | 1 m |
| W4 | M1.b | J2.back pump | GNYE | 1.5 | 1 m |
| W5 | J2.back box | G1.p | BN | 1.5 | 1 m |
| W6 | B1.- | G1.p | BK | 16 | 1 m |

| Position | Must happen |
|---|---|
| on | M1 on |

| Fault of | What is wrong |
|---|---|
| [Fuse blown] | F7 blown |
| [Motor open] | M1 open |
| [Float wire open] | W2 open |

| Symptom of | Shows as |
|---|---|
| [Pump does not start] | on: M1 still |

| Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
|---|---|---|---|---|---|
| [Lamp at the float plug] | on | | test lamp | J2.float pump | J2.back pump |
| [Listen at the pump] | on | | eye | M1 | |

| Cavity of | J2 |
|---|---|
| float | 4 |
| back | 11 |

# Vehicle: Hask Fen

Nothing is drawn for it yet.
"""

LESSONS = """# Lessons

## Lesson: Second steps

- For: apprentices
- Takes: 20 min
- After: [First steps]
- Covers: [Pump does not start]

### Question: What does a dark lamp say?

- Right: that no current flows
- Wrong: that the fuse is blown
- Wrong: that the pump is whole
- Because: A lamp needs current.

### Question: What does a full battery read?

- Answer: 12.6 V ± 0.2 V

### Exercise: Find it

- Circuit: [Weir pumping]
- Symptom: [Pump does not start]
- Hidden: [Motor open]; [Fuse blown]
- Budget: 30 min

## Lesson: First steps

- Takes: 10 min

Read [Pumping] first.
"""

JOBS = """date,vehicle,symptom,cause,minutes
2024-01-02,Ostrel Weir,Pump does not start,Fuse blown,20
2024-01-03,Ostrel Weir,Pump does not start,Fuse blown,25
2024-01-04,Hask Fen,Pump runs dry,Strainer blocked,30
"""

PUMP: Mapping[str, str | bytes] = {
    "index.md": INDEX,
    "functions/pumping.md": PUMPING,
    "shared.md": SHARED,
    "vehicles/weir.md": VEHICLE,
    "lessons/all.md": LESSONS,
    "jobs.csv": JOBS,
    "pictures/box.svg": b"<svg/>",
    "pictures/lid.png": b"lid",
    "pictures/unused.png": b"unused",
}
SYMPTOM = "functions/pumping.symptom-pump-does-not-start.html"

Files = Mapping[str, bytes]


def built(
    files: Mapping[str, str | bytes],
    found: Callable[[Base], tuple[object, ...]] | None = None,
    vehicle: str | None = None,
) -> Files:
    """The site of these files; `found` gives the diagnostics instead of the rules."""
    named = {name: data if isinstance(data, bytes) else data.encode() for name, data in files.items()}
    base = read_files(named, vehicle)
    graph = build_graph(base)
    diagnostics = found(base) if found else checks.run(base, graph)

    def read(path: str) -> bytes:
        return named[path]

    return dict(site_files(base, graph, diagnostics, read))  # type: ignore[arg-type]


def with_page(**pages: str) -> dict[str, str | bytes]:
    """The pump's files with more pages: `more="..."` is more.md."""
    return {**PUMP, **{f"{name}.md": text for name, text in pages.items()}}


class Doc:
    """A page of the site, parsed by a parser that forgives nothing."""

    def __init__(self, files: Files, path: str) -> None:
        self.path = path
        self.source = files[path].decode()
        parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
        self.root: Element = parser.parse(self.source)
        self.order = {element: i for i, element in enumerate(self.root.iter())}

    def all(self, tag: str = "*", cls: str = "", within: Element | None = None) -> list[Element]:
        """Elements of a tag and class, in document order; HTML and SVG alike by local name."""
        start = self.root if within is None else within
        return [e for e in start.iter() if is_a(e, tag, cls)]

    def one(self, tag: str = "*", cls: str = "", within: Element | None = None) -> Element:
        """The only one."""
        (found,) = self.all(tag, cls, within)
        return found

    def by_id(self, name: str) -> Element:
        """The element with an id."""
        (found,) = [e for e in self.root.iter() if e.get("id") == name]
        return found

    def ids(self) -> list[str]:
        """All ids."""
        return [e.get("id", "") for e in self.root.iter() if e.get("id") is not None]

    def around(self, inner: Element, tag: str, cls: str = "") -> Element:
        """The nearest element around another."""
        found = [e for e in self.root.iter() if is_a(e, tag, cls) and any(x is inner for x in e.iter())]
        return found[-1]

    def before(self, first: Element, second: Element) -> bool:
        """True where one stands before another in the page."""
        return self.order[first] < self.order[second]

    def links(self) -> Iterator[tuple[Element, str]]:
        """Elements that lead or load, and where to."""
        for element in self.root.iter():
            for name in ("href", "src", "action"):
                if element.get(name) is not None:
                    yield element, element.get(name, "")


def is_a(element: Element, tag: str, cls: str = "") -> bool:
    """True for an element of a tag (any namespace) and class."""
    if not isinstance(element.tag, str):
        return False
    local = element.tag.rpartition("}")[2]
    return (tag in ("*", local)) and (not cls or cls in (element.get("class") or "").split())


def text(element: Element) -> str:
    """The words of an element, white space folded."""
    return " ".join("".join(element.itertext()).split())


def resolve(page: str, link: str) -> tuple[str, str]:
    """The site path and anchor that a relative link on a page leads to."""
    path, _, anchor = link.partition("#")
    path = unquote(path.partition("?")[0])
    target = posixpath.normpath(posixpath.join(posixpath.dirname(page), path)) if path else page
    return target, unquote(anchor)


def written_pages(site: Site) -> Iterator[tuple[str, bytes]]:
    """The pages as written of an opened site, with the static files and its drawn circuits: no plan is asked for."""
    yield from ((s.path, page_bytes(s)) for s in sheets(site) if s.template == "page.html.j2")
    yield from static_files()
    for name in site.base.circuits:
        if (drawn := site.drawn(site.base.nodes[name])) and (file := data_file(drawn)):
            yield file
