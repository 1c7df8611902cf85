"""The demonstration base is also clean for who keeps one of its vehicles only."""

from __future__ import annotations

import pytest

from kb.build import check_base
from kb.diagnostic import Severity
from tests.conftest import ROOT


@pytest.mark.parametrize("vehicle", ["Oskarn Delve", "Velm Skua", "Hestrel Quay"])
def test_nothing_is_to_mend_for_one_vehicle(vehicle: str) -> None:
    checked = check_base(ROOT / "content", vehicle)
    found = [d.problem for d in checked.diagnostics if d.severity is not Severity.NOTE]
    assert found == []
