"""An allowance without effect or reason.

It lets nothing pass, names no rule, gives no reason, or names a rule that can't be allowed: those about
safety messages, lost text and stray facts.

Bad:
  ! <!-- allow no-customer-words: nobody says it yet -->
    # Symptom: Tilt dead
    - Said as: it only goes left and right

Good:
    <!-- allow no-customer-words: nobody says it yet -->
    # Symptom: Tilt dead
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.WARNING
ALLOWABLE = False
