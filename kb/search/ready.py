"""The search index of a folder: the one kept while its pages are the same, else a new one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from kb.progress import Progress, quiet
from kb.read.folder import bytes_of, find_files, is_page
from kb.search.index import Index
from kb.search.kept import keep, kept_index

if TYPE_CHECKING:
    from kb.model import Page


def indexed(folder: Path, vehicle: str | None = None, progress: Progress = quiet) -> tuple[Index, bool]:
    """The search index of a base: the one kept (True) while its pages are the same, else a new one, which is kept."""
    files = find_files(folder)
    pages = {path: data for path, file in files.items() if is_page(path) and (data := bytes_of(file)) is not None}
    if (index := kept_index(folder, vehicle, pages)) is not None:
        return index, True
    # what reads and builds takes a third of the time that `find` may take
    from kb.graph import build_graph
    from kb.read.base import join_pages, page_of, tables_of
    from kb.search.fresh import build_index

    read: dict[str, Page] = {}
    for number, path in enumerate(sorted(filter(is_page, files)), 1):
        read[path] = page_of(path, pages.get(path))
        progress(number, len(pages), "reading pages")
    graph = build_graph(join_pages(read, frozenset(files), tables_of(files), vehicle))
    index = build_index(graph.base, graph)
    keep(folder, vehicle, pages, index)
    return index, False
