"""The pump's site, built once, its pages taken apart, and a browser to look at them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

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


@pytest.fixture(scope="module")
def root(site: Files, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The site in a folder."""
    folder = tmp_path_factory.mktemp("pump")
    for name, data in site.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


@pytest.fixture
def tab(browser: Any) -> Iterator[Any]:
    """A page whose console has to stay empty."""
    context = browser.new_context(viewport={"width": 820, "height": 1180})
    page = context.new_page()
    told: list[str] = []
    page.on("console", lambda message: told.append(message.text))
    page.on("pageerror", lambda error: told.append(str(error)))
    yield page
    context.close()
    assert told == []
