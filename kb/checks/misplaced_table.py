"""A findings or wiring table where none belongs.

A Test has one findings table; wiring tables stand below a Circuit.

Bad:
    # Cause: Fuse blown

  ! | Finding | Clears |
    |---|---|
    | The strip is whole | [Fuse blown] |

Good:
    # Cause: Fuse blown

    # Test: Look at the fuse
    - Takes: 3 min

    | Finding | Clears |
    |---|---|
    | The strip is whole | [Fuse blown] |
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
