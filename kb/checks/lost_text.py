"""Text that a Markdown parser would drop, cut or merge without a word.

Nesting too deep, a table's row or cell limit, more cells than the header, a code block that is never
closed, a line that joins a quote without its own `>`. A technician must not miss a line because of a sign.

Bad:
    # Test: Lamp at the plug
    > **WARNING: hot glass.** The glass burns skin.
  ! Let it cool first.

Good:
    # Test: Lamp at the plug
    > **WARNING: hot glass.** The glass burns skin.
    > Let it cool first.
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
ALLOWABLE = False
