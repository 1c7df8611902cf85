"""Scripts as they are shipped do what those in `templates/static/` do, in fewer bytes."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from kb.assets import templates_dir
from kb.site.scripts import JOINED, shipped_scripts

TOKENS = Path(__file__).parent.parent / "static" / "tokens.js"


@pytest.fixture(scope="module")
def sources() -> dict[str, str]:
    """The scripts by name."""
    return {path.name: path.read_text("utf-8") for path in sorted((templates_dir() / "static").glob("*.js"))}


@pytest.fixture(scope="module")
def sent() -> dict[str, str]:
    """What is sent of them, by name."""
    return {name: data.decode() for name, data in shipped_scripts((templates_dir() / "static").glob("*.js"))}


def unlike(pairs: list[list[str]], tools: Path) -> list:
    """Names of pairs that differ, each with the tokens where they begin to."""
    node = shutil.which("node")
    if node is None:
        pytest.skip("node is absent")
    asked = {"pairs": pairs, "acorn": str((tools / "node_modules" / "acorn").resolve())}
    told = subprocess.run([node, str(TOKENS)], input=json.dumps(asked), capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    return json.loads(told.stdout)


def whole(sources: dict[str, str], name: str) -> str:
    """What a shipped script is made from."""
    return "\n".join(sources[part] for part in JOINED.get(name, (name,)))


def test_each_script_is_sent_token_by_token(sources, sent, tools):
    """Acorn reads both: only comments and spaces between tokens may go, which templates in templates would break."""
    assert unlike([[name, whole(sources, name), text] for name, text in sent.items()], tools) == []


def test_a_changed_script_is_told(sources, sent, tools):
    # a space within a template is part of what people read
    changed = sent["walk.js"].replace("} min`", "}min`", 1)
    assert changed != sent["walk.js"]
    ((name, before, after),) = unlike([["walk.js", whole(sources, "walk.js"), changed]], tools)
    assert name == "walk.js" and before != after


def test_scripts_that_rank_are_one_file_without_comments(sources, sent):
    assert not {"words.js", "rank.js", "shards.js", "stand.js"} & set(sent)
    assert len(sent["find.js"]) < 0.7 * sum(len(sources[part]) for part in JOINED["find.js"])
    assert not any("/**" in text or "\n  " in text for text in sent.values())
