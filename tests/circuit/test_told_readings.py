"""What `readings` prints: ranges in text, JSON and CSV. Values invented."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest

from kb import readings
from kb.readings import Surveyed
from kb.reference import Kind
from tests.bases import base

PAGE = """
# Circuit: Horn

| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12 V, 10 mohm |
| F1 | fuse | in out | 7.5 A |
| R1 | resistor | a b | 10 ohm |
| R2 | resistor | a b | 20 ohm |

| Wire | From | To | mm2 | Length |
|---|---|---|---|---|
| W1 | B1.+ | F1.in | 2.5 | 1 m |
| W2 | F1.out | R1.a | 2.5 | 1 m |
| W3 | R1.b | R2.a | 2.5 | 1 m |
| W4 | R2.b | B1.- | 2.5 | 1 m |

| Position |
|---|
| on |

| Fault of | What is wrong |
|---|---|
| [Cut] | W3 open |
| [Chafed] | R1.b touches B1.-; R1 0.82 ohm |

| Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
|---|---|---|---|---|---|
| [Volts] | on | | voltmeter | R2.a | R2.b |
| [Lamp] | on | | test lamp | R2.a | R2.b |
| [Feed] | on | | test lamp | R1.a | R2.b |
| [Ohms] | on | | ohmmeter | R2.a | R2.b |
| [Amps] | on | | clamp | W1 | |

# Cause: Cut

# Cause: Chafed

# Test: Volts

- Takes: 1 min

1. Measure.

| Finding | Reading |
|---|---|
| Enough | > 62 % of supply |
| Little | 20 to 62 % of supply |

# Test: Lamp

- Takes: 1 min

1. Look.

| Finding | Reading |
|---|---|
| It glows | dim |

# Test: Feed

# Test: Ohms

# Test: Amps
"""


@pytest.fixture(scope="module")
def surveyed() -> list[Surveyed]:
    read = base(PAGE)
    return [readings.survey(read, node) for node in read.of_kind(Kind.CIRCUIT)]


def lines(surveyed: list[Surveyed], test: str) -> list[str]:
    return [line.strip() for line in readings.as_text(surveyed).splitlines() if line.strip().startswith(f"{test}:")]


def test_text_tells_each_range_and_the_findings_that_it_meets(surveyed):
    """8 V of 12 V over 20 of 30 ohm; from 57 to 75 % with 10 and 20 ohm 20 % apart."""
    told = lines(surveyed, "Volts")[0]
    assert told == (
        "Volts: 7.99 V (67% of supply; range found 6.43 to 10.3 V, 57% to 75% of supply) -> Enough; in the range also: Little"
    )


def test_text_tells_one_figure_once(surveyed):
    assert lines(surveyed, "Volts")[1] == "Volts: 0 V (0% of supply; range found 0 V, 0% of supply)"


def test_text_tells_verdicts_by_their_words(surveyed):
    lamp, feed = lines(surveyed, "Lamp")[0], lines(surveyed, "Feed")[0]
    assert lamp == "Lamp: `dim` -> It glows"
    assert feed == "Feed: `bright`"


def test_text_names_a_fuse_that_the_tolerances_blow(surveyed):
    text = readings.as_text(surveyed)
    chafed = text[text.index("[Chafed]") :]
    assert "within the tolerances F1 can blow" in chafed
    assert "within the tolerances" not in text[: text.index("[Chafed]")]


def test_text_says_what_varies(surveyed):
    assert "battery 94 to 115% of its stated volts, parts 80 to 120%" in readings.as_text(surveyed)


def test_json_has_the_ends_of_each_reading(surveyed):
    (circuit,) = json.loads(readings.as_json(surveyed))["circuits"]
    whole = circuit["rows"][0]["readings"]
    assert list(whole["Volts"]) == ["value", "unit", "verdict", "defined", "finding", "low", "high", "verdicts"]
    assert whole["Volts"]["low"] == pytest.approx(6.44, abs=0.01)
    assert whole["Volts"]["high"] == pytest.approx(10.34, abs=0.01)
    assert (whole["Lamp"]["low"], whole["Lamp"]["high"], whole["Lamp"]["verdicts"]) == (None, None, ["dim"])
    assert (whole["Ohms"]["low"], whole["Ohms"]["high"], whole["Ohms"]["verdicts"]) == (None, None, ["undefined"])
    assert round(whole["Amps"]["high"], 4) == whole["Amps"]["high"]


def test_csv_has_them_in_its_last_columns(surveyed):
    rows = list(csv.DictReader(io.StringIO(readings.as_csv(surveyed))))
    assert list(rows[0])[-2:] == ["low", "high"]
    volts = next(row for row in rows if row["what"] == "Volts")
    assert re.fullmatch(r"\d+\.\d{4}", volts["low"])
    assert float(volts["low"]) < float(volts["value"]) < float(volts["high"])
    assert {(row["low"], row["high"]) for row in rows if row["kind"] != "reading"} == {("", "")}
    assert all(None not in row for row in rows)


CHATTERING = """
# Circuit: Bell

| Part | Kind | Pins | Values |
|---|---|---|---|
| B1 | battery | + - | 12 V, 10 mohm |
| F1 | fuse | in out | 20 A |
| K1 | relay | 85 86 30 87 | coil 100 ohm, pulls at 8 V, drops at 6 V |
| H1 | heater | a b | 2 ohm |
| G1 | ground | p | 5 mohm |
| G2 | ground | p | 5 mohm |

| Wire | From | To | mm2 | Length |
|---|---|---|---|---|
| W1 | B1.+ | F1.in | 2.5 | 1 m |
| W2 | F1.out | K1.85 | 2.5 | 1 m |
| W3 | F1.out | K1.30 | 2.5 | 1 m |
| W4 | K1.87 | H1.a | 2.5 | 1 m |
| W5 | H1.b | G1.p | 2.5 | 1 m |
| W6 | K1.86 | H1.b | 2.5 | 0.1 m |
| W7 | B1.- | G2.p | 16 | 1 m |

| Position |
|---|
| on |

| Fault of | What is wrong |
|---|---|
| [Ground poor] | G1 0.5 ohm |

| Reading of | Position | Unplugged | Instrument | Red lead | Black lead |
|---|---|---|---|---|---|
| [Drop] | on | | voltmeter | G1.p | B1.- |
| [Fuse out] | on | | voltmeter | F1.out | B1.- |

# Cause: Ground poor

# Test: Fuse out

- Takes: 1 min

1. Measure.

| Finding | Reading |
|---|---|
| Live | > 90 % of supply |
| Dead | < 90 % of supply |

# Test: Drop

- Takes: 1 min

1. Measure.

| Finding | Reading |
|---|---|
| Little | < 0.5 V |
| Much | > 0.5 V |
"""


def test_sizes_at_which_a_relay_chatters_are_left_out():
    """With more than 2 ohm in the shared ground the relay drops out as soon as it pulls: no settled state there."""
    read = base(CHATTERING)
    told = readings.as_text([readings.survey(read, node) for node in read.of_kind(Kind.CIRCUIT)])
    (sizes,) = (line for line in told.splitlines() if line.strip().startswith("G1 0.5 ohm: "))
    assert sizes.strip() == "G1 0.5 ohm: Drop 0.1 ohm"
