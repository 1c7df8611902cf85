"""The scripts of the site as they are shipped: without comments and indents, those that rank or walk joined."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from rjsmin import jsmin

# Whole files in this order; a page asks for few files, and what is packed together packs smaller.
JOINED = {"find.js": ("words.js", "rank.js", "shards.js"), "walk.js": ("stand.js", "walk.js")}


def shipped_scripts(paths: Iterable[Path]) -> Iterator[tuple[str, bytes]]:
    """Names and bytes of scripts made from those at `paths`, in the order of their names."""
    texts = {path.name: jsmin(path.read_text("utf-8")) for path in paths}
    for name, parts in JOINED.items():
        texts[name] = "\n".join(texts.pop(part) for part in parts)
    yield from sorted((name, (text + "\n").encode()) for name, text in texts.items())
