"""The demonstration base built whole, once."""

from __future__ import annotations

import fcntl
import os
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
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its site in a folder, written by whichever process needs it first."""
    shared = tmp_path_factory.getbasetemp()
    out = (shared.parent if "PYTEST_XDIST_WORKER" in os.environ else shared) / "demo-site"
    with (out.parent / "demo-site.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not out.exists():
            write_folder(out, site_of(check_base(ROOT / "content")))
    return out


@pytest.fixture(scope="session")
def pages(demo: Path) -> tuple[str, ...]:
    """The paths of all its pages."""
    return tuple(sorted(p.relative_to(demo).as_posix() for p in demo.rglob("*.html")))
