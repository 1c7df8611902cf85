"""Which vehicles a step is limited to: those that it names in front, `Only on [A]; [B]: take the fuse out.`"""

from __future__ import annotations

from collections.abc import Sequence

from kb.model import Base, Block, Inline, Node
from kb.reference import Kind

_FRONT = "only on"


def step_only(base: Base, item: Block) -> tuple[Node, ...]:
    """The vehicles that a step or item is for; none where it is for all, or where a name is no vehicle's."""
    inlines = item.children[0].inlines if item.children else item.inlines
    refs = _front(inlines)
    nodes = base.all(tuple(i.ref for i in refs if i.ref))
    sure = len(nodes) == len(refs) and all(node.kind is Kind.VEHICLE for node in nodes)
    return nodes if sure else ()


def _front(inlines: Sequence[Inline]) -> tuple[Inline, ...]:
    """The references between `Only on` and the colon, with `;` between them; none where it isn't written so."""
    if not inlines or inlines[0].type != "text" or inlines[0].text.strip().casefold() != _FRONT:
        return ()
    found: list[Inline] = []
    for name, after in zip(inlines[1::2], inlines[2::2], strict=False):
        if name.type != "ref" or after.type != "text":
            return ()
        found.append(name)
        if after.text.startswith(":"):
            return tuple(found)
        if after.text.strip() != ";":
            return ()
    return ()
