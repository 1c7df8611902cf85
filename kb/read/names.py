"""What each name in brackets means: on its page first, then in its folder, then in the whole base."""

from __future__ import annotations

import difflib
import posixpath
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping

from kb.diagnostic import Problem
from kb.model import Node, Page, Value
from kb.read.inlines import fold
from kb.reference import HEADING_KINDS, Kind, Ref

_NEAR = 0.75
_SURE = 0.86
_HEADING = re.compile(r"[ \t>]*#{1,6}[ \t]+([^\W\d_]+):\s*(.*?)[ \t#]*$")
_KIND_WORDS = {kind.value.casefold(): kind for kind in HEADING_KINDS}


def folded(name: str) -> str:
    """A name for comparing: case and white space don't matter."""
    return fold(name).casefold()


class Index:
    """All nodes by name, and by the names they formerly had; `lost` are names that lost text held."""

    def __init__(self, nodes: Iterable[Node], lost: frozenset[str] = frozenset()) -> None:
        self.lost = lost
        self.by_name: dict[str, list[Node]] = defaultdict(list)
        self.by_former: dict[str, list[Node]] = defaultdict(list)
        for node in nodes:
            if node.kind in HEADING_KINDS and node.name:
                self.by_name[folded(node.name)].append(node)
                for value in node.values("Formerly"):
                    self.by_former[folded(value.text)].append(node)

    def find(self, kind: str, name: str) -> str | None:
        """The id of the first node of a kind with this name, or formerly with it; None without."""
        return next(iter(self.all(kind, name)), None)

    def all(self, kind: str, name: str) -> tuple[str, ...]:
        """The ids of all nodes of a kind with this name, then of those that formerly had it."""
        nodes = (*self.by_name.get(folded(name), ()), *self.by_former.get(folded(name), ()))
        return tuple(dict.fromkeys(n.id for n in nodes if n.kind.value == kind))


def lost_names(page: Page) -> frozenset[str]:
    """Names of nodes whose headings stand in text that a page lost, such as an unclosed block of code."""
    lines = [p.span.line for p in page.problems if p.rule == "lost-text"]
    if not lines:
        return frozenset()
    read = {node.span.line for node in page.nodes}
    swallowed = (
        m
        for n, line in enumerate(page.source.lines, 1)
        if n > min(lines) and n not in read and (m := _HEADING.match(line))
    )
    return frozenset(folded(m[2]) for m in swallowed if m[1].casefold() in _KIND_WORDS)


class Resolver:
    """Finds the node that each reference of a page means; `problems` are references that fail."""

    def __init__(self, index: Index) -> None:
        self.index = index
        self.problems: list[Problem] = []
        self.targets: dict[Ref, str] = {}
        self.guesses: dict[tuple[str, frozenset[Kind]], Node | None] = {}

    def resolve(self, page: Page) -> None:
        """Resolve all references of a page."""
        defined = {folded(p.span.path + label) for p, label in _defined(page)}
        for ref in page.refs:
            if ref in self.targets:
                continue
            found = self._candidates(ref, page.path)
            if len(found) == 1:
                self.targets[ref] = found[0].id
            elif found:
                self._ambiguous(ref, found)
            elif folded(page.path + ref.label) not in defined:
                self._missing(ref, page.path)

    def _candidates(self, ref: Ref, page: str) -> list[Node]:
        return self._looked_up(ref, page, self.index.by_name)

    def _looked_up(self, ref: Ref, page: str, names: Mapping[str, list[Node]]) -> list[Node]:
        for label, kinds, where in _readings(ref):
            nodes = [n for n in names.get(folded(label), ()) if not kinds or n.kind in kinds]
            near = _staged([n for n in nodes if not where or _under(n.page, where)], page)
            if near:
                return near
        return []

    def _ambiguous(self, ref: Ref, found: list[Node]) -> None:
        where = ", ".join(f"`{n.page}` ({n.kind.value.lower()})" for n in found[:4])
        self.problems.append(
            Problem("ambiguous-name", ref.span, f"`{ref.label}` names {len(found)} nodes: {where}", _exact(found))
        )

    def _missing(self, ref: Ref, page: str) -> None:
        other = self._candidates(Ref(ref.span, ref.label, ref.shown), page)
        if other:
            kinds = " or ".join(sorted(k.value.lower() for k in ref.kinds))
            self.problems.append(
                Problem(
                    "wrong-kind",
                    ref.span,
                    f"`{ref.label}` is a {other[0].kind.value.lower()}; here stands a {kinds}",
                    "name a node of the kind that this place takes",
                )
            )
            return
        self._unknown(ref, page)

    def _unknown(self, ref: Ref, page: str) -> None:
        if any(folded(label) in self.index.lost for label, _, _ in _readings(ref)):
            return  # told where its heading is lost
        former = self._looked_up(ref, page, self.index.by_former)
        meant = former[0] if former else self._near(ref)
        kind = min(ref.kinds, key=str).value if len(ref.kinds) == 1 else "Kind"
        add = f"add a heading `## {kind}: {ref.label}`, or write a literal bracket as `\\[`"
        help = f"did you mean `[{meant.name}]`?" if meant else add
        if former:
            help = f"it is now called `[{former[0].name}]`"
        self.problems.append(Problem("unknown-name", ref.span, f"no node is called `{ref.label}`", help))
        if former or meant and _ratio(meant.name, ref.label) >= _SURE:
            self.targets[ref] = meant.id if meant else ""

    def _near(self, ref: Ref) -> Node | None:
        key = (folded(ref.label), ref.kinds)
        if key not in self.guesses:
            names = [name for name, nodes in self.index.by_name.items()
                     if not ref.kinds or any(n.kind in ref.kinds for n in nodes)]  # fmt: skip
            close = difflib.get_close_matches(key[0], names, 1, _NEAR)
            nodes = self.index.by_name[close[0]] if close else []
            self.guesses[key] = next((n for n in nodes if not ref.kinds or n.kind in ref.kinds), None)
        return self.guesses[key]


def _ratio(a: str, b: str) -> float:
    return difflib.SequenceMatcher(None, folded(a), folded(b)).ratio()


def _defined(page: Page) -> Iterable[tuple[Problem, str]]:
    """Labels that the page wrongly defines: told at the definition, not at each use."""
    for problem in page.problems:
        line = page.source.lines[problem.span.line - 1] if problem.rule == "bad-value" else ""
        text = line[problem.span.column - 1 :]
        if problem.message.startswith("a link definition") and "]" in text:
            yield problem, text[1 : text.index("]")]


def _readings(ref: Ref) -> Iterable[tuple[str, frozenset[Kind], str]]:
    """The ways to read a label: as a name, then kind and name, then page and name (and kind)."""
    yield ref.label, ref.kinds, ""
    kind, name = _kind_before(ref.label)
    if kind and (not ref.kinds or kind in ref.kinds):
        yield name, frozenset((kind,)), ""
    for cut in (i for i, c in enumerate(name) if c == "/"):
        where, rest = name[:cut], name[cut + 1 :]
        inner, last = _kind_before(rest)
        kinds = frozenset((k,)) if (k := kind or inner) else ref.kinds
        if not ref.kinds or kinds <= ref.kinds:
            yield rest, kinds, where
            yield last, kinds, where


def _kind_before(label: str) -> tuple[Kind | None, str]:
    word, colon, name = label.partition(":")
    kind = _KIND_WORDS.get(word.strip().casefold()) if colon else None
    return (kind, name.strip()) if kind else (None, label)


def _under(page: str, where: str) -> bool:
    """True where a page's path without `.md` ends with `where`, at a folder's border."""
    path = "/" + page.removesuffix(".md").casefold()
    return path.endswith("/" + where.strip().strip("/").casefold())


def _staged(nodes: list[Node], page: str) -> list[Node]:
    folder = posixpath.dirname(page)
    for stage in (
        [n for n in nodes if n.page == page],
        [n for n in nodes if posixpath.dirname(n.page) == folder],
        nodes,
    ):
        if stage:
            return stage
    return []


def _exact(found: list[Node]) -> str:
    kinds = {n.kind for n in found}
    if len(kinds) == len(found):
        return f"write the kind before it: `[{found[0].kind.value}: {found[0].name}]`"
    if len({n.page for n in found}) < len(found):
        return "give nodes of one kind on one page different names"
    return f"write the page before it: `[{found[0].page.removesuffix('.md')}/{found[0].name}]`"


def twice_named(page: Page) -> Iterable[Problem]:
    """Two nodes of one kind with one name on a page."""
    seen: dict[tuple[Kind, str], Node] = {}
    for node in page.nodes:
        key = (node.kind, folded(node.name))
        if node.kind in HEADING_KINDS and node.name and key in seen:
            yield Problem(
                "ambiguous-name",
                node.name_span,
                f"this page has a {node.kind.value.lower()} `{node.name}` already",
                f"give it another name; the first stands in line {seen[key].span.line}",
            )
        seen.setdefault(key, node)


def cleared_and_proved(page: Page, targets: Mapping[Ref, str]) -> Iterable[Problem]:
    """A cause in both columns of a findings row."""
    for row in (row for node in page.nodes for row in node.findings):
        cleared = {targets.get(ref) for ref in row.clears} - {None}
        for ref in row.proves:
            if targets.get(ref) in cleared:
                yield Problem(
                    "bad-value",
                    ref.span,
                    f"`{ref.shown}` is both cleared and proved by this finding",
                    "keep it in one of the columns",
                )


def doubled(values: tuple[Value, ...], targets: Mapping[Ref, str]) -> Iterable[Value]:
    """Values of a fact whose reference names what an earlier one names."""
    seen: set[str] = set()
    for value in values:
        found = next((targets[ref] for ref in value.refs if ref in targets), None)
        if found in seen:
            yield value
        seen |= {found} if found else set()
