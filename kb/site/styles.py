"""The style sheets of the site as they are shipped: what every page may need on screen and on paper in one file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

# In this order, each for what it is made: a page asks for few files.
JOINED = {"site.css": (("search.css", ""), ("site.css", ""), ("print.css", "print"))}


def shipped_styles(paths: Iterable[Path]) -> Iterator[tuple[str, bytes]]:
    """Names and bytes of style sheets made from those at `paths`, in the order of their names."""
    texts = {path.name: path.read_text("utf-8") for path in paths}
    for name, parts in JOINED.items():
        texts[name] = "".join(_media(texts.pop(part), media) for part, media in parts)
    yield from sorted((name, text.encode()) for name, text in texts.items())


def _media(text: str, media: str) -> str:
    """A sheet for one kind of medium stands in a block of it, where CSS also lets the paper's size be said."""
    return f"@media {media}{{\n{text}}}\n" if media else text
