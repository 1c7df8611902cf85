"""The shards are the same bytes when Whoosh 2.7.4 of 2016 makes them: the pinned distribution can be left for it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT, RUN_ALL

OLD = "2.7.4"
SCRIPT = """
import hashlib, sys
from pathlib import Path
import whoosh
from kb.graph import build_graph
from kb.isolation.ways import Hunts
from kb.read.base import read_base
from kb.search.cards import cards
from kb.search.fresh import build_index
from kb.search.shards import shard_files

base = read_base(Path(sys.argv[1]))
graph = build_graph(base)
index = build_index(base, graph)
files = shard_files(index, cards(base, Hunts(base, graph), index.documents))
print(whoosh.versionstring())
for name in sorted(files):
    print(name, hashlib.sha256(files[name]).hexdigest())
"""


def made_by(folder: Path, *before: Path) -> tuple[str, list[str]]:
    """The version of Whoosh that was met, and each shard's name and digest. `before` leads the search for modules."""
    path = os.pathsep.join(str(p) for p in (*before, ROOT))
    run = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", SCRIPT, str(folder)],
        env={**os.environ, "PYTHONPATH": path, "PYTHONHASHSEED": "7"},
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    version, *rows = run.stdout.splitlines()
    return version, rows


def test_the_shards_are_the_same_bytes(tools: Path):
    """The demonstration base in the long run, else the starting base."""
    old = tools / f"whoosh-{OLD}"
    if not old.is_dir():
        pytest.skip(f"Whoosh {OLD} is not installed; `.ci/run` installs it")
    folder = ROOT / ("content" if RUN_ALL else "templates/start")
    version, theirs = made_by(folder, old)
    now, ours = made_by(folder)
    assert version == OLD != now
    assert len(ours) > 10 and theirs == ours
