"""A page that is not UTF-8 text, or that can't be read at all.

Bytes that are no UTF-8, and NUL, are shown as a replacement sign; the rest of the page is still read.
In the example below the sign stands for a NUL byte.

Bad:
  ! # Tool: Test\\0lamp

Good:
    # Tool: Test lamp
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False
