"""What several tests of search make: files of an index whose cards are told nothing."""

from __future__ import annotations

from kb.search.cards import Card
from kb.search.index import Index
from kb.search.shards import shard_files


def files_without_plans(index: Index) -> dict[str, bytes]:
    """The files of an index without its base."""
    return shard_files(index, [Card((), (), None, None, "")] * len(index.documents))
