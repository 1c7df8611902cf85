"""A step that names a tool which the node's `Needs` doesn't list.

A tool is named by its name or by one of its `Said as`, as whole words and not within a longer tool's
name. Where a step says never to use a tool, allow it above the list:
`<!-- allow undeclared-need: the step forbids it -->`.

Bad:
    # Tool: Test lamp

    # Test: Feed
    - Takes: 2 min

  ! 1. Hold the test lamp to the feed.

Good:
    # Tool: Test lamp

    # Test: Feed
    - Takes: 2 min
    - Needs: [Test lamp]

    1. Hold the test lamp to the feed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from kb.checks._asked import Asked
from kb.checks._places import place_of
from kb.diagnostic import Problem, Severity
from kb.model import Node
from kb.phrases import phrase_pattern
from kb.reference import PROCEDURES, Kind

SEVERITY = Severity.ERROR


def check(asked: Asked) -> Iterator[Problem]:
    """Each tool once a node, at the first step that names it."""
    tools = _tools(asked)
    if not tools:
        return
    names = re.compile("|".join(rf"(?<!\w){_spaced(n)}(?!\w)" for n in sorted(tools, key=lambda n: (-len(n), n))), re.I)
    for node in asked.base.of_kind(*PROCEDURES):
        if not asked.unread_fact(node, "Needs"):
            yield from _undeclared(asked, node, names, tools)


def _tools(asked: Asked) -> Mapping[str, frozenset[str]]:
    """The ids of the tools that go by each name."""
    found: dict[str, frozenset[str]] = {}
    for tool in asked.base.of_kind(Kind.TOOL):
        for name in (tool.name, *tool.words("Said as")):
            key = " ".join(name.casefold().split())
            if key:
                found[key] = found.get(key, frozenset()) | {tool.id}
    return found


def _spaced(name: str) -> str:
    return r"\s+".join(map(re.escape, name.split()))


def _undeclared(
    asked: Asked, node: Node, names: re.Pattern[str], tools: Mapping[str, frozenset[str]]
) -> Iterator[Problem]:
    declared = {tool.id for tool in asked.base.all(node.refs("Needs"))}
    for moment in node.moments:
        for match in names.finditer(moment.text) if moment.message is None else ():
            meant = tools[" ".join(match[0].casefold().split())]
            if not meant & declared:
                before = phrase_pattern(match[0]).findall(moment.text[: match.start()])
                where = place_of(asked.base, moment.span, match[0], len(before))
                if not asked.allowed("undeclared-need", where):
                    declared |= meant  # an allowed place says nothing of the steps after it
                tool = asked.base.nodes[min(meant)]
                yield Problem(
                    "undeclared-need",
                    where,
                    f"this step takes the tool `{tool.name}`, which `Needs` doesn't list",
                    f"add `[{tool.name}]` to `Needs`, or allow it where the step forbids the tool",
                )
