"""Brackets that name no node.

A reference by a name that a node formerly had is reported with the new name. A bracket that is meant
as such is written with a backslash before it.

Bad:
    # Cause: Fuse blown
  ! - Repair: [Replace the fues]

    # Repair: Replace the fuse
    - Takes: 5 min

Good:
    # Cause: Fuse blown
    - Repair: [Replace the fuse]

    # Repair: Replace the fuse
    - Takes: 5 min
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
