"""A reference that several nodes answer, or a name twice in one kind on one page.

Nodes on the same page come first, then those in the same folder, then the whole base. The kind or the
end of the page's path before the name makes a reference exact.

Bad:
    # Tool: Lamp

    # Term: Lamp

    See the
  ! [Lamp].

Good:
    # Tool: Lamp

    # Term: Lamp

    See the
    [Tool: Lamp].
"""

from __future__ import annotations

from kb.diagnostic import Severity

SEVERITY = Severity.ERROR
