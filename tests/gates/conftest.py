"""The demonstration base built whole, once."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.build import Checked, check_base, site_of
from kb.files import write_folder
from tests.conftest import ROOT


@pytest.fixture(scope="session")
def checked() -> Checked:
    """The demonstration base, read and checked."""
    return check_base(ROOT / "content")


@pytest.fixture(scope="session")
def demo(checked: Checked, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its site in a folder."""
    out = tmp_path_factory.mktemp("demo") / "site"
    write_folder(out, site_of(checked))
    return out


@pytest.fixture(scope="session")
def pages(demo: Path) -> tuple[str, ...]:
    """The paths of all its pages."""
    return tuple(sorted(p.relative_to(demo).as_posix() for p in demo.rglob("*.html")))
