"""Waiting for a page to come to a state, where its content security policy keeps the browser from polling strings."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Page

PATIENCE = 20.0


def until(tab: Page, expression: str, arg: Any = None, moving: bool = False) -> None:
    """Ask the page again and again until an expression, or a function of `arg`, is true.

    `moving` says that the page may load anew meanwhile: then a question that meets no page is asked again.
    """
    end = time.monotonic() + PATIENCE
    while not _asked(tab, expression, arg, moving):
        assert time.monotonic() < end, f"this never came true: {expression}"
        tab.wait_for_timeout(20)


def _asked(tab: Page, expression: str, arg: Any, moving: bool) -> Any:
    from playwright.sync_api import Error  # absent where no browser is: then nothing here is called

    try:
        return tab.evaluate(expression, arg)
    except Error as error:
        if moving and "context was destroyed" in str(error):
            return False
        raise
