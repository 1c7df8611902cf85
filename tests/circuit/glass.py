"""A reversing circuit to test with: two mirrors, two motors each, a shared common wire, a selector. Values invented."""

from __future__ import annotations

from tests.circuit.tables import Case

PARTS = """
    B1 | battery | + - | 12.6 V, 20 mohm
    F7 | fuse | in out | 7.5 A
    S1 | switch | feed ground V H C | 30 mohm
    S2 | switch | V H C tilt swing common fartilt farswing farcommon | 30 mohm
    J2 | connector | tilt swing common | 5 mohm, sides body mirror
    M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down
    M2 | motor | a b | 12 ohm, runs at 0.18 A, a positive means left/right
    M5 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down
    M6 | motor | a b | 12 ohm, runs at 0.18 A, a positive means left/right
    G1 | ground | p | 5 mohm
    G2 | ground | p | 5 mohm
"""
WIRES = """
    W1 | B1.+ | F7.in | 2.5 | 1 m
    W2 | F7.out | S1.feed | 0.75 | 1 m
    W3 | S1.ground | G1.p | 0.75 | 0.5 m
    W4 | S2.tilt | J2.tilt body | 0.5 | 3.5 m | hinge
    W5 | S2.swing | J2.swing body | 0.5 | 3.5 m | hinge
    W6 | S2.common | J2.common body | 0.5 | 3.5 m | hinge
    W7 | J2.tilt mirror | M1.a | 0.5 | 0.3 m
    W8 | J2.swing mirror | M2.a | 0.5 | 0.3 m
    W9 | J2.common mirror | M1.b | 0.5 | 0.3 m
    W10 | M1.b | M2.b | 0.5 | 0.1 m
    W11 | S2.fartilt | M5.a | 0.5 | 4 m
    W12 | S2.farswing | M6.a | 0.5 | 4 m
    W13 | S2.farcommon | M5.b | 0.5 | 4 m
    W14 | M5.b | M6.b | 0.5 | 0.1 m
    W15 | B1.- | G2.p | 16 | 0.3 m
    W16 | S1.V | S2.V
    W17 | S1.H | S2.H
    W18 | S1.C | S2.C
"""
NEAR, FAR = "V-tilt, H-swing, C-common", "V-fartilt, H-farswing, C-farcommon"
POSITIONS = f"""
    Position | S1 joins | S2 joins
    rest | | {NEAR}
    up | feed-V, ground-C | {NEAR}
    down | feed-C, ground-V | {NEAR}
    left | feed-H, ground-C | {NEAR}
    right | feed-C, ground-H | {NEAR}
    far up | feed-V, ground-C | {FAR}
    far down | feed-C, ground-V | {FAR}
    far left | feed-H, ground-C | {FAR}
"""
OWN_WAYS = ("up", "down", "left", "right")


def glass(*readings: str, share: float = 1.0) -> Case:
    """The circuit with instruments."""
    return Case(PARTS, WIRES, POSITIONS, readings, share)


PAIR_PARTS = """
    B1 | battery | + - | 12.6 V, 20 mohm
    F7 | fuse | in out | 7.5 A
    S1 | switch | feed ground x y | 30 mohm
    J2 | connector | x y | 5 mohm, sides body mirror
    M1 | motor | a b | 12 ohm, runs at 0.18 A, a positive means up/down
    G1 | ground | p | 5 mohm
    G2 | ground | p | 5 mohm
"""
PAIR_WIRES = """
    W1 | B1.+ | F7.in | 2.5 | 1 m
    W2 | F7.out | S1.feed | 0.75 | 1 m
    W3 | S1.ground | G1.p | 0.75 | 0.5 m
    W4 | S1.x | J2.x body | 0.5 | 3.5 m
    W5 | S1.y | J2.y body | 0.5 | 3.5 m
    W6 | J2.x mirror | M1.a | 0.5 | 0.3 m
    W7 | J2.y mirror | M1.b | 0.5 | 0.3 m
    W8 | B1.- | G2.p | 16 | 0.3 m
"""
PAIR_POSITIONS = """
    Position | S1 joins
    rest | ground-x, ground-y
    up | feed-x, ground-y
    down | feed-y, ground-x
"""


def pair(*readings: str, changed: tuple[tuple[str, str], ...] = ()) -> Case:
    """One motor on its own pair of wires, both at ground at rest."""
    parts, wires = PAIR_PARTS, PAIR_WIRES
    for old, new in changed:
        assert old in parts + wires
        parts, wires = parts.replace(old, new), wires.replace(old, new)
    return Case(parts, wires, PAIR_POSITIONS, readings)
