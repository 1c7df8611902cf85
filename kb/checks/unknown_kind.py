"""A heading `Word: ...` whose word is a kind of node but for one letter.

It is read as the kind that is meant, so that one slip gives one problem.

Bad:
  ! # Tset: Lamp at the plug

Good:
    # Test: Lamp at the plug
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
