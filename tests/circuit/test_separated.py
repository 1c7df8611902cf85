"""A horn's own faults followed to where its tests end; circuit and pages invented, each end worked out by hand."""

from __future__ import annotations

from kb.circuit.claims import Held, hold
from kb.circuit.separated import Separation, separation
from kb.graph import build_graph
from kb.read.base import read_files

PAGE = """# Function: Horn

## Symptom: Horn silent

- Causes: [Fuse blown]; [Feed wire open]; [Ground wire open]

## Cause: Fuse blown

- Repair: [New fuse]

## Cause: Feed wire open

- Repair: [Mend the feed]

## Cause: Ground wire open

- Repair: [Mend the ground]

## Test: Look at the fuse

- Takes: 1 min

| Finding | Clears | Proves |
|---|---|---|
| Whole | [Fuse blown] | |
| Burnt | | [Fuse blown] |

## Test: Lamp at the plug

- Takes: 3 min

| Finding | Reading | Clears |
|---|---|---|
| Bright | bright | [Fuse blown]; [Feed wire open]; [Ground wire open] |
| Dark | dark, dim | |

## Repair: New fuse

- Takes: 3 min

## Repair: Mend the feed

- Takes: 9 min

## Repair: Mend the ground

- Takes: 9 min

## Circuit: Horn wiring

| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12.6 V, 20 mohm |
| F1 | fuse | in out | 10 A |
| J2 | connector | feed ground | 5 mohm, sides body horn |
| H1 | heater | a b | 6 ohm |

| Wire | From | To | mm2 | Length |
|---|---|---|---|---|
| W1 | B1.+ | F1.in | 2.5 | 1 m |
| W2 | F1.out | J2.feed body | 1 | 2 m |
| W3 | J2.feed horn | H1.a | 1 | 0.3 m |
| W4 | H1.b | J2.ground horn | 1 | 0.3 m |
| W5 | J2.ground body | B1.- | 1 | 2 m |

| Position |
|---|
| on |

| Fault of | What is wrong |
|---|---|
| [Fuse blown] | F1 blown |
| [Feed wire open] | W2 open |
| [Ground wire open] | W5 open |

| Symptom of | Shows as |
|---|---|
| [Horn silent] | on: H1 cold |

| Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
|---|---|---|---|---|---|
| [Lamp at the plug] | on | J2 | test lamp | J2.feed body | J2.ground body |
"""
FEED = """
## Test: Lamp from the feed to the battery

- Takes: 3 min

| Finding | Reading | Clears |
|---|---|---|
| Bright | bright | [Fuse blown]; [Feed wire open] |
| Dark | dark, dim | [Ground wire open] |
"""
FEED_ROW = "| [Lamp from the feed to the battery] | on | J2 | test lamp | J2.feed body | B1.- |\n"


def separated(page: str) -> Separation:
    """The page's one circuit, its own faults followed."""
    base = read_files({"index.md": b"# Horns\n\n- Statement: Maker first.\n", "horn.md": page.encode()})
    (circuit,) = base.circuits.values()
    held = hold(circuit)
    assert isinstance(held, Held)
    return separation(build_graph(base), held)


def ends(found: Separation) -> dict[tuple[str, ...], set[str]]:
    """The faults that don't end at one repair, by the causes left."""
    return {tuple(c.split("#")[1] for c in group.left): set(group.faults) for group in found.together}


def test_what_no_test_parts_ends_together():
    """A dark lamp leaves feed and ground; looking at the fuse parts only that from them."""
    left = ends(separated(PAGE))
    assert left[("cause-feed-wire-open", "cause-ground-wire-open")] >= {"W2 open", "W5 open", "W1 open"}
    assert "F1 blown" not in set().union(*left.values())


def test_another_reading_parts_them():
    """To the battery's own minus the lamp is bright where only the ground is lost."""
    before, after = (
        separated(PAGE),
        separated(PAGE.replace("## Repair: New fuse", FEED + "\n## Repair: New fuse", 1) + FEED_ROW),
    )
    gone = {"W2 open", "W5 open", "W1 open"}
    assert gone <= set().union(*ends(before).values()) and gone.isdisjoint(set().union(*ends(after).values()))
    assert before.shown == after.shown and before.one < after.one


def test_a_fault_that_no_cause_looks_like_is_left_with_none():
    """An open horn, and a pin of the plug itself, leave the lamp at the unplugged plug bright, which clears every cause of the page."""
    left = ends(separated(PAGE))
    assert {"H1 open", "W3 open", "J2.feed open"} <= left[()]


def test_alternatives_and_shared_repairs_count_as_one():
    """Both wires mended by one job: then nothing has to part them."""
    page = PAGE.replace("- Repair: [Mend the feed]", "- Repair: [Mend the ground]; [Mend the feed]")
    assert {"W2 open", "W5 open"}.isdisjoint(set().union(*ends(separated(page)).values()))


def test_counts_add_up_and_what_shows_nothing_is_not_counted():
    found = separated(PAGE)
    together = sum(len(group.faults) for group in found.together)
    assert found.faults > found.shown == found.one + together > 0


def test_a_symptom_without_a_row_is_followed_nowhere():
    found = separated(PAGE.replace("| [Horn silent] | on: H1 cold |\n", ""))
    assert (found.shown, found.one, found.together) == (0, 0, ())
