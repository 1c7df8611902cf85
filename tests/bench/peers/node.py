"""Scripts of this folder that run in Node, and the npm packages they ask for."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
PACKAGES = {"minisearch": "7.2.0", "lunr": "2.3.9", "pagefind": "1.6.0"}


def run_node(script: str, asked: dict[str, Any], seconds: float = 900) -> Any:
    """What a script of this folder answers to JSON on its standard input; None where there is no Node.

    Raises RuntimeError with the script's last words where it fails.
    """
    node = shutil.which("node")
    if node is None:
        return None
    command = [node, "--max-old-space-size=8192", str(HERE / script)]
    try:
        ran = subprocess.run(command, input=json.dumps(asked).encode(), capture_output=True, timeout=seconds)
    except subprocess.TimeoutExpired as late:
        raise RuntimeError(f"no end within {seconds:.0f} s") from late
    if ran.returncode:
        lines = [line for line in ran.stderr.decode(errors="replace").splitlines() if "Error" in line]
        raise RuntimeError((lines or ["it failed"])[0].strip())
    return json.loads(ran.stdout)


def fetched(name: str, tools: Path) -> Path | None:
    """The folder of a package, which npm puts there if it is absent; None where it can't."""
    place, npm = tools / "node_modules" / name, shutil.which("npm")
    if not (place / "package.json").is_file() and npm:
        wanted = f"{name}@{PACKAGES[name]}"
        command = [npm, "install", "--prefix", str(tools), "--no-audit", "--no-fund", "--silent", wanted]
        subprocess.run(command, capture_output=True, timeout=300)
    return place if (place / "package.json").is_file() else None
