"""A fact where facts are not read.

Facts stand in the bullet list directly below a heading with a kind. A later bullet, step or paragraph
that begins with a key of the node would be printed as plain words and have no effect.

Bad:
    # Test: Lamp at the plug
    - Takes: 5 min

    Look at the plug.

  ! - Needs: [Test lamp]

    # Tool: Test lamp

Good:
    # Test: Lamp at the plug
    - Takes: 5 min
    - Needs: [Test lamp]

    Look at the plug.

    # Tool: Test lamp
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False
