"""A key or a column that this kind of node doesn't have.

A key that is one slip away is read as the one that is meant.

Bad:
    # Test: Lamp at the plug
    - Takes: 5 min
  ! - Price: 5

Good:
    # Test: Lamp at the plug
    - Takes: 5 min
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.WARNING
