"""A walk as a person at a terminal reads it: the step with its messages, why it, what is left, the end."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from shlex import join
from textwrap import wrap

from kb.isolation.named import FIXED, findings_of
from kb.isolation.plan import Step
from kb.leads import Leads
from kb.model import Base, Block, Inline, Node
from kb.plans import cause_lines, percent, time_words
from kb.read.names import folded
from kb.reference import Kind
from kb.report import Paint, plain
from kb.site.safety import Panel, after_messages, ahead, messages, panels, word_of
from kb.walk import UNREAD, Effect, Walk, better

WIDTH = 78
HISTORY = "date,vehicle,symptom,cause,minutes,repair,tests,returned"
KEYS = "number: what you found   u: couldn't read it   b: take back   w: why this   t: another test   q: stop"
PROVOKE = (
    "While it is away no finding clears anything. Try to bring it back with the lamp or meter left connected: "
    "move the wiring and the plugs, open and shut what they run through, warm it, cool it, wet it."
)

GOES = (
    "It comes and goes: that it works now proves nothing yet. Try to bring it back as before, for as long as it "
    "took to show."
)


def start_lines(walk: Walk, paint: Paint = plain) -> Iterator[str]:
    """Before the first step: whose word comes first, what looks like this fault and is none, the causes."""
    base, function = walk.graph.base, walk.graph.function(walk.symptom.id)
    yield from _wrapped("", base.root.text("Statement"))
    yield ""
    yield paint(walk.symptom.name, "place")
    if function and (only := function.text("Works only when")):
        yield from _wrapped("", f"{function.name} works only when: {only}")
    yield "It can be (one fault at a time is assumed):"
    yield from cause_lines(walk.graph, walk.symptom, walk.matrix, walk.at)


def step_lines(walk: Walk, leads: Leads, paint: Paint = plain) -> Iterator[str]:
    """The step at hand, as it is to be done: messages before the steps that call for them."""
    step = walk.step
    assert step is not None
    node = walk.node(step.kind, step.number)
    yield ""
    yield paint(f"Do this next: {node.name}", "place") + f" ({time_words(step.seconds)})"
    yield _time_line(walk)
    if step.kind == "repair":
        yield from _verdict(walk, step)
    opens = [access.id for access in walk.opens(step)]
    yield from _procedure(walk, leads, node, paint, opens)
    if step.kind == "repair":
        before = {access.id for access in walk.graph.access(node.id)}
        yield from _proof(walk, leads, node, paint, [access for access in opens if access not in before])


def _proof(walk: Walk, leads: Leads, repair: Node, paint: Paint, opens: Sequence[str]) -> Iterator[str]:
    """How a repair is proved, as it is to be done."""
    proof = walk.graph.proof(repair.id, walk.symptom.id)
    yield ""
    yield paint(f"Prove it: {proof.name if proof else 'try the function as the customer does'}.", "place")
    yield from _procedure(walk, leads, proof, paint, opens) if proof else ()
    yield from _wrapped("", GOES) if walk.goes else ()


def _time_line(walk: Walk) -> str:
    left = walk.at.left.bit_count()
    told = f"{left} cause{'' if left == 1 else 's'} left; {time_words(walk.spent)} so far"
    return f"{told}; about {time_words(walk.plan.seconds)} to come until fixed."


def _verdict(walk: Walk, step: Step) -> Iterator[str]:
    at = walk.at
    names = ", ".join(c.name for c in walk.causes(at.left))
    if at.left.bit_count() == 1:
        sure = at.left & walk.found
        yield (
            f"Found: {names}." if sure else f"Left over: {names}. The findings cleared the others; the proof decides."
        )
    elif not at.left & ~walk.matrix.repairs[step.number].mends:
        yield f"Left: {names}. This repair mends each of them."
    elif walk.matrix.repairs[step.number].try_it:
        yield f"Left: {names}. This repair is cheap and may be tried first."
    else:
        yield f"Left: {names}. No test here tells them apart; begin with this repair."


def _procedure(walk: Walk, leads: Leads, node: Node, paint: Paint, opens: Sequence[str]) -> Iterator[str]:
    """Its own leading messages, what comes first, where the leads go, and the rest as written."""
    base = walk.graph.base
    head, rest = after_messages(node.blocks)
    yield from _blocks(base, head, paint)
    yield from _untold(walk, node, paint)
    for access, found in ahead(base, node, walk.graph.access(node.id)):
        new = access.id in opens
        yield f"First: {access.name}" + ("" if new else " (already so)")
        yield from (line for panel in found for line in panel_lines(panel, paint))
        yield from _untold(walk, access, paint)
        yield from _blocks(base, after_messages(access.blocks)[1], paint) if new else ()
    needs = base.all(node.refs("Needs"))
    if needs:
        yield f"With: {', '.join(tool.name for tool in needs)}"
    yield from leads.lines(node) if node.kind is Kind.TEST else ()
    yield from _blocks(base, rest, paint)


def _untold(walk: Walk, node: Node, paint: Paint) -> Iterator[str]:
    """Hazards that a procedure calls for and its page doesn't tell of: then they are told here, first."""
    base = walk.graph.base
    told = {panel.hazard.id for m in messages(node) for panel in panels(base, m) if panel.hazard}
    for call in walk.graph.hazards(node.id):
        if call.hazard.id not in told:
            yield from panel_lines(Panel(word_of(call.hazard), call.hazard), paint)


def _step_of(walk: Walk) -> Step:
    step = walk.step
    assert step is not None
    return step


def _blocks(base: Base, blocks: Sequence[Block], paint: Paint) -> Iterator[str]:
    """Blocks as lines: steps by their numbers, messages where they stand. Tables are for the page."""
    for block in blocks:
        if block.message:
            yield from (line for panel in panels(base, block.message) for line in panel_lines(panel, paint))
        elif block.type == "steps":
            yield from _items(base, block, paint)
        elif block.children:
            yield from _blocks(base, block.children, paint)
        elif block.type not in ("table", "html", "rule") and (words := _words(block.inlines) or block.text):
            yield from _wrapped("", words)


def _items(base: Base, steps: Block, paint: Paint) -> Iterator[str]:
    for number, item in enumerate(steps.children, steps.start):
        lines = list(_blocks(base, item.children, paint))
        head = f"{number}. "
        yield from (
            line if line.startswith("  ") else (head if not i else " " * len(head)) + line
            for i, line in enumerate(lines)
        )


def panel_lines(panel: Panel, paint: Paint) -> Iterator[str]:
    """A safety message: signal word and hazard, consequence, avoidance."""
    style = {"DANGER": "error", "WARNING": "error", "CAUTION": "warning"}.get(panel.word.value, "note")
    mark = paint(f"  {panel.word.value}", style)
    if panel.hazard:
        said = [panel.hazard.text(key) for key in ("Hazard", "Consequence", "Avoidance")]
        yield f"{mark}: {panel.hazard.name}"
        yield from (line for words in said for line in _wrapped("    ", words))
    else:
        yield f"{mark}: {panel.title}".rstrip(": ")
        yield from _wrapped("    ", _words(panel.body))


def _words(inlines: tuple[Inline, ...]) -> str:
    return "".join(i.text or _words(i.children) for i in inlines).strip()


def _wrapped(head: str, words: str) -> Iterator[str]:
    lines = wrap(words, WIDTH - len(head)) or [""]
    yield head + lines[0]
    yield from (" " * len(head) + line for line in lines[1:])


def finding_lines(walk: Walk) -> Iterator[str]:
    """The findings of the step at hand with their numbers, and what each would do."""
    yield "What did you find?" if _step_of(walk).kind == "test" else "Did the repair mend it?"
    for number, effect in enumerate(walk.effects(_step_of(walk)), 1):
        yield from _wrapped(f"  {number}  ", f"{effect.words} ({_does(walk, effect)})")


def _does(walk: Walk, effect: Effect) -> str:
    cleared, left = effect.cleared, effect.left
    if not left:
        return "done" if effect.words == FIXED else "none of the causes left gives it"
    names = f": {', '.join(c.name for c in walk.causes(left))}" if left.bit_count() <= 3 and cleared else ""
    return f"clears {cleared.bit_count() or 'nothing'}, leaves {left.bit_count()}{names}"


def why_lines(walk: Walk) -> Iterator[str]:
    """Why this step: the chance of each finding, and what the next best acts would come to."""
    step = _step_of(walk)
    for effect in walk.effects(step):
        yield f"  {percent(effect.share):>5}  {effect.words}: {_does(walk, effect)}"
    known = "" if walk.plan.proved else f", at most {time_words(walk.plan.gap)} above the least"
    yield f"With it about {time_words(walk.plan.seconds)} until fixed{known}, if one fault at a time is assumed."
    for seconds, kind, number in better(walk, step):
        yield f"  {time_words(seconds)} if you began with {walk.node(kind, number).name}"


def left_lines(walk: Walk) -> Iterator[str]:
    """What was done, with what it cleared."""
    for number, each in enumerate(walk.past, 1):
        node = walk.node(each.kind, each.number)
        words = "couldn't read it" if each.row == UNREAD else findings_of(node)[each.row]
        yield f"  {number}. {node.name}: {words}"


def end_lines(walk: Walk) -> Iterator[str]:
    """What there is to say where nothing is to be done any more."""
    at = walk.at
    if at.fixed:
        names = " or ".join(c.name for c in walk.causes(walk.mended))
        yield f"Fixed{': ' + names if names else ''}, after about {time_words(walk.spent)} by the times written here."
        yield "Put back what is off."
    elif not at.left:
        yield "Nothing written here is left. The cause is none of those listed, or a finding misled."
        yield "Take back the finding you trust least (b), or go by the maker's own procedure."
    else:
        names = ", ".join(c.name for c in walk.causes(at.left))
        yield f"Left: {names}. No test here tells them apart, and no repair is written for them."


def other_lines(walk: Walk) -> Iterator[str]:
    """The symptom's tests by number, with what was found in those that were done."""
    told = {each.number: each.row for each in walk.counted if each.kind == "test"}
    for number in range(len(walk.matrix.tests)):
        node, row = walk.node("test", number), told.get(number)
        words = "" if row is None else " (couldn't be read)" if row == UNREAD else f" (done: {findings_of(node)[row]})"
        yield f"  {number + 1}  {node.name}{words}"
    yield "t and a number: do that test next."


def resume_line(walk: Walk, command: Sequence[str]) -> str:
    """The command, for a shell, that goes on from what was found."""
    words = [*command]
    for each in walk.counted:
        if each.row != UNREAD:
            node = walk.node(each.kind, each.number)
            words += ["--found", f"{_exact(walk, node)} = {findings_of(node)[each.row]}"]
    return join(words)


def _exact(walk: Walk, node: Node) -> str:
    """A node's name, after its page where another of the symptom's acts has the same."""
    ids = [row.id for row in walk.matrix.tests] + [row.id for row in walk.matrix.repairs]
    same = [each for each in ids if folded(walk.graph.base.nodes[each].name) == folded(node.name)]
    return node.name if len(same) == 1 else f"{node.page.removesuffix('.md')}/{node.name}"


@dataclass(frozen=True, slots=True)
class Card:
    """What a person says of a finished job."""

    day: str
    vehicle: str
    cause: str
    minutes: str


def history_row(walk: Walk, card: Card) -> str:
    """The job as a line of a history file (RFC 4180), without a line's end."""
    tests = [walk.node("test", p.number).name for p in walk.counted if p.kind == "test" and p.row != UNREAD]
    repair = walk.node("repair", walk.helped.number).name if walk.helped else ""
    cells = [card.day, card.vehicle, walk.symptom.name, card.cause, card.minutes, repair, "; ".join(tests), "no"]
    out = io.StringIO(newline="")
    csv.writer(out).writerow(cells)
    return out.getvalue().removesuffix("\r\n")
