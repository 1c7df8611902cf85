"""Each name in the site's scripts is defined and used: a moved function that somebody still calls is a dead key."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

from kb.assets import templates_dir

CONFIG = Path(__file__).parent / "names.config.js"


@pytest.fixture(scope="module")
def faults(tools: Path, tmp_path_factory: pytest.TempPathFactory):
    """What ESLint (MIT, its own rules) says of scripts by their names."""
    program = tools.resolve() / "node_modules/eslint/bin/eslint.js"
    node = shutil.which("node")
    if node is None or not program.exists():
        pytest.skip("Node or ESLint is absent")

    def ask(scripts: dict[str, str]) -> list[tuple[str, str, str]]:
        folder = tmp_path_factory.mktemp("scripts")
        for name, script in scripts.items():
            (folder / name).write_text(script, "utf-8")
        shutil.copy(CONFIG, folder / "eslint.config.js")
        asked = [node, str(program), "--no-warn-ignored", "--format", "json", *scripts]
        environment = {**os.environ, "BACKPROBE_TOOLS": str(tools.resolve() / "node_modules")}
        told = subprocess.run(asked, cwd=folder, env=environment, capture_output=True, text=True, check=False)
        assert told.returncode in (0, 1), told.stderr
        return [
            (Path(script["filePath"]).name, fault["ruleId"], fault["message"])
            for script in json.loads(told.stdout)
            for fault in script["messages"]
        ]

    return ask


def test_every_name_is_defined_and_used(faults):
    scripts = {path.name: path.read_text("utf-8") for path in sorted(templates_dir().rglob("*.js"))}
    assert len(scripts) > 10
    assert faults(scripts) == []


def test_a_name_that_nobody_defines_or_uses_is_told(faults):
    walk = (templates_dir() / "static/walk.js").read_text("utf-8")
    broken = walk.replace("const { rows, stand, off, ", "const { rows, stand, ", 1).replace(
        '"use strict";', '"use strict";\n  const idle = 1;', 1
    )
    assert broken != walk
    assert [(rule, message.split()[0]) for _, rule, message in faults({"walk.js": broken})] == [
        ("no-unused-vars", "'idle'"),
        ("no-undef", "'off'"),
    ]
