"""SARIF reports before the published schema of SARIF 2.1.0, from npm `@microsoft/jest-sarif`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from kb import checks
from kb.build import Checked
from kb.graph import build_graph
from kb.report import as_sarif
from tests.bases import base

pytestmark = pytest.mark.gate

WRONG = """# Test: Ä 100 % *bold* `code`

- Takes: soon
- Needs: [No such]

| Finding | Clears |
|---|---|
| x | [y] | z |

# Tset: B

<b>

> **WARNING** [Gone]
"""


@pytest.fixture(scope="module")
def schema(tools: Path) -> Any:
    """The schema, with a validator of its own draft."""
    path = next(tools.glob("node_modules/@microsoft/jest-sarif/lib/schemas/sarif-2.1.0*.json"), None)
    if path is None:
        pytest.skip("the schema of SARIF (npm @microsoft/jest-sarif) is absent")
    data = json.loads(path.read_text(encoding="utf-8-sig"))
    kind = jsonschema.validators.validator_for(data)
    kind.check_schema(data)
    return kind(data)


def wrong_with(schema: Any, report: str) -> list[str]:
    """What the schema has to say."""
    return [f"{e.json_path}: {e.message}" for e in schema.iter_errors(json.loads(report))]


def test_a_report_with_problems(schema):
    read = base(WRONG)
    found = checks.run(read, build_graph(read))
    report = as_sarif(read, found)
    assert wrong_with(schema, report) == []
    results = json.loads(report)["runs"][0]["results"]
    assert len(results) == len(found) > 5
    assert {r["level"] for r in results} <= {"error", "warning", "note"}


def test_an_empty_report(schema):
    assert wrong_with(schema, as_sarif(base(), ())) == []


def test_the_report_of_the_demonstration_base(schema, checked: Checked):
    assert wrong_with(schema, as_sarif(checked.base, checked.diagnostics)) == []


def test_the_schema_sees_what_is_wrong(schema):
    report = json.loads(as_sarif(base(WRONG), checks.run(base(WRONG), build_graph(base(WRONG)))))
    report["runs"][0]["results"][0]["level"] = "fatal"
    assert wrong_with(schema, json.dumps(report)) != []
    del report["runs"][0]["tool"]
    assert wrong_with(schema, json.dumps(report)) != []
