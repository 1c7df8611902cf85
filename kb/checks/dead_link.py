"""A link or image path that leads nowhere, in file or anchor.

A path is relative to the page; it leads to a file of the base, to an anchor in one, or to an `https:`
address, which is never fetched.

Bad:
    # Tool: Test lamp

    Look at
  ! [the picture](lamp.png).

Good:
    # Tool: Test lamp

    Look at [the tool](page.md#tool-test-lamp).
"""

from __future__ import annotations

import posixpath
from collections.abc import Iterator
from urllib.parse import unquote, urlsplit

from kb.checks._asked import Asked
from kb.diagnostic import Problem, Severity

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each link and image whose destination the base doesn't have."""
    for page in asked.base.pages.values():
        for link in page.links:
            wrong = _wrong(asked, page.path, link.href)
            if wrong:
                yield Problem(
                    "dead-link",
                    link.span,
                    wrong,
                    "write a path from this page to a file of the base, or an `https:` address",
                )


def _wrong(asked: Asked, page: str, href: str) -> str:
    try:
        parts = urlsplit(href)
    except ValueError:
        return f"`{href}` is no address"
    if parts.scheme == "https" and parts.netloc:
        return ""
    if parts.scheme or parts.netloc or parts.path.startswith("/"):
        return f"`{href}` is neither a path in the base nor an `https:` address"
    return _wrong_path(asked, page, unquote(parts.path), unquote(parts.fragment))


def _wrong_path(asked: Asked, page: str, path: str, anchor: str) -> str:
    target = posixpath.normpath(posixpath.join(posixpath.dirname(page), path)) if path else page
    if not path and not anchor:
        return "the link has no address"
    if target not in asked.base.files or path.endswith("/"):
        return f"the base has no file `{path}`"
    return "" if not anchor or anchor in _anchors(asked, target) else f"`{target}` has no anchor `{anchor}`"


def _anchors(asked: Asked, target: str) -> frozenset[str]:
    page = asked.base.pages.get(target)
    if page is None:
        return frozenset()
    return page.anchors | {old for node in page.nodes for old in node.old_anchors}
