"""A value that can't be read: a duration, quantity, count, reading, fault, part kind, key or row.

Bad:
    # Test: Lamp at the plug
  ! - Takes: five min

Good:
    # Test: Lamp at the plug
    - Takes: 5 min
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
