"""The pump's site, built once, and its pages taken apart."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import pytest

from tests.site.pump import PUMP, Doc, Files, built


@pytest.fixture(scope="session")
def site() -> Files:
    """All files of the pump's site."""
    return built(PUMP)


@pytest.fixture(scope="session")
def docs(site: Files) -> Mapping[str, Doc]:
    """All its pages, parsed strictly."""
    return {path: Doc(site, path) for path in site if path.endswith(".html")}


@pytest.fixture(scope="session")
def page(docs: Mapping[str, Doc]) -> Callable[[str], Doc]:
    """A page by its site path."""
    return docs.__getitem__
