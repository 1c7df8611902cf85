"""What the wheel holds is enough: templates and the demonstration base are found where it is installed."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder as `pip install` would fill it from the wheel."""
    wheel = pytest.importorskip("hatchling.builders.wheel")
    folder = tmp_path_factory.mktemp("wheel")
    (built,) = wheel.WheelBuilder(str(ROOT)).build(directory=str(folder), versions=["standard"])
    with zipfile.ZipFile(built) as archive:
        archive.extractall(folder / "lib")
    return folder / "lib"


def run(installed: Path, here: Path, *words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-P", "-m", "kb.cli", *words],
        cwd=here,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_the_wheel_writes_the_demonstration_and_its_site(installed: Path, tmp_path: Path) -> None:
    assert run(installed, tmp_path, "start", "demo", "--demo").returncode == 0
    assert sorted(p.name for p in (tmp_path / "demo").iterdir()) == sorted(p.name for p in (ROOT / "content").iterdir())
    assert run(installed, tmp_path, "start", "small").returncode == 0
    site = run(installed, tmp_path, "site", "--base", "small")
    assert site.returncode == 0, site.stderr
    assert (tmp_path / "published" / "static" / "site.css").is_file()
    assert (tmp_path / "published" / "static" / "fonts").is_dir()


def test_the_wheel_holds_no_tests_and_the_licences_of_its_fonts(installed: Path) -> None:
    top = {p.name for p in installed.iterdir()}
    assert top == {"kb", next(name for name in top if name.endswith(".dist-info"))}
    fonts = [p.name for p in (installed / "kb" / "templates" / "static" / "fonts").iterdir()]
    assert [name for name in fonts if name.endswith(".woff2")]
    assert [name for name in fonts if "OFL" in name or "LICENSE" in name.upper() or name.endswith(".txt")]
