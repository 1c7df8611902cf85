"""Waiting for a page to come to a state, where its content security policy keeps the browser from polling strings."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page

PATIENCE = 20.0


def until(tab: Page, expression: str, arg: Any = None) -> None:
    """Ask the page again and again until an expression, or a function of `arg`, is true."""
    end = time.monotonic() + PATIENCE
    while not tab.evaluate(expression, arg):
        assert time.monotonic() < end, f"this never came true: {expression}"
        tab.wait_for_timeout(20)
