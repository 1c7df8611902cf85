"""The browser's scripts without a page: their own tests, run by Node."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

SCRIPTS = sorted(Path(__file__).parent.glob("*.test.js"))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.name)
def test_script(script: Path) -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is absent")
    told = subprocess.run([node, "--test", str(script)], capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stdout + told.stderr
