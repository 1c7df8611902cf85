"""HTML in a page: it is shown as text.

Bad:
    # Term: Feed

  ! The <b>hot</b> wire.

Good:
    # Term: Feed

    The **hot** wire.
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.WARNING
