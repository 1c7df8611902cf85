"""An image without words for those who can't see it.

Bad:
    === index.md
    # Base

    - Statement: The maker's instructions come first.
    === plug.svg
    <svg/>
    === page.md
    # Tool: Back-probe

    What it looks like:
  ! ![](plug.svg)

Good:
    === index.md
    # Base

    - Statement: The maker's instructions come first.
    === plug.svg
    <svg/>
    === page.md
    # Tool: Back-probe

    What it looks like:
    ![The pin slides in beside the wire, from the back of the plug](plug.svg)
"""

from __future__ import annotations

from collections.abc import Iterator

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.WARNING


def check(asked: Asked) -> Iterator[Problem]:
    """Each image whose alternative words are empty."""
    for page in asked.base.pages.values():
        for link in page.links:
            if link.image and not link.words:
                yield Problem(
                    "silent-image",
                    link.span,
                    "an image without words",
                    "say in the brackets what it shows: `![what it shows](file)`",
                )
