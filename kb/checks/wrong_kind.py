"""A reference whose node is of a kind that this place can't take.

Bad:
    # Cause: Fuse blown
  ! - Repair: [Test lamp]

    # Tool: Test lamp

Good:
    # Cause: Fuse blown
    - Repair: [Replace the fuse]

    # Repair: Replace the fuse
    - Takes: 5 min
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
