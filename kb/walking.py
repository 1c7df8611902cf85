"""A walk as a person at a terminal reads it: the step with its messages, why it, what is left, the end."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from datetime import date
from textwrap import wrap

from kb.isolation.named import FIXED, findings_of
from kb.isolation.plan import Step
from kb.model import Base, Block, Inline, Node
from kb.plans import percent, time_words
from kb.report import Paint, plain
from kb.site.safety import Panel, after_messages, ahead, panels
from kb.site.wiring import Spot, Where, Wiring
from kb.walk import UNREAD, Effect, Walk, better

WIDTH = 78
HISTORY = "date,vehicle,symptom,cause,minutes,repair,tests,returned"
KEYS = "number: what you found   u: couldn't read it   b: take back   w: why this   t: another test   q: stop"
PROVOKE = (
    "While it is away no finding clears anything. Try to bring it back with the lamp or meter left connected: "
    "move the wiring and the plugs, open and shut what they run through, warm it, cool it, wet it."
)


def step_lines(walk: Walk, wiring: Wiring, paint: Paint = plain) -> Iterator[str]:
    """The step at hand, as it is to be done: messages before the steps that call for them."""
    step = walk.step
    assert step is not None
    node = walk.node(step.kind, step.number)
    yield ""
    yield paint(f"Do this next: {node.name}", "place") + f" ({time_words(step.seconds)})"
    yield _time_line(walk)
    if step.kind == "repair":
        yield from _verdict(walk, step)
    yield from _procedure(walk, wiring, node, paint)
    if step.kind == "repair":
        proofs = walk.graph.base.all(node.refs("Verify"))
        yield f"Prove it: {'; '.join(p.name for p in proofs) or 'try the function as the customer does'}."


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
            f"Found: {names}." if sure else f"Left over: {names}. No finding has spoken for it yet; the proof decides."
        )
    elif not at.left & ~walk.matrix.repairs[step.number].mends:
        yield f"Left: {names}. This repair mends each of them."
    elif walk.matrix.repairs[step.number].try_it:
        yield f"Left: {names}. This repair is cheap and may be tried first."
    else:
        yield f"Left: {names}. No test here tells them apart; begin with this repair."


def _procedure(walk: Walk, wiring: Wiring, node: Node, paint: Paint) -> Iterator[str]:
    """Its own leading messages, what comes first, where the leads go, and the rest as written."""
    base = walk.graph.base
    opens = {access.id for access in walk.opens(_step_of(walk))}
    head, rest = after_messages(node.blocks)
    yield from _blocks(base, head, paint)
    for access, found in ahead(base, node, walk.graph.access(node.id)):
        new = access.id in opens
        yield f"First: {access.name}" + ("" if new else " (already so)")
        yield from (line for panel in found for line in panel_lines(panel, paint))
        yield from _blocks(base, after_messages(access.blocks)[1], paint) if new else ()
    needs = base.all(node.refs("Needs"))
    if needs:
        yield f"With: {', '.join(tool.name for tool in needs)}"
    for where in wiring.wheres(node):
        yield from _where(where)
    yield from _blocks(base, rest, paint)


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


def _where(where: Where) -> Iterator[str]:
    on = ", ".join(v.name for v in where.vehicles)
    place = f"position {where.row.position}, " if where.row.position else ""
    told = f"{place}{where.row.instrument}"
    leads = [f"{colour} lead on {_spot(spot)}" for colour, spot in (("red", where.red), ("black", where.black)) if spot]
    if not leads and where.row.red is not None:
        told += f" on {where.kind + ' ' if where.kind else ''}{where.row.red}"
        told += f" ({where.paint.code} {where.paint.words})" if where.paint else ""
    yield f"Where{' on ' + on if on else ''}: {'; '.join([told, *leads])}"


def _spot(spot: Spot) -> str:
    paints = " and ".join(f"{p.code} {p.words}" for p in spot.paints)
    more = ", ".join(part for part in (f"cavity {spot.cavity}" if spot.cavity else "", paints) if part)
    return f"{spot.terminal} ({more})" if more else str(spot.terminal)


def finding_lines(walk: Walk) -> Iterator[str]:
    """The findings of the step at hand with their numbers, and what each would do."""
    yield "What did you find?" if _step_of(walk).kind == "test" else "Did the repair mend it?"
    for number, effect in enumerate(walk.effects(_step_of(walk)), 1):
        yield from _wrapped(f"  {number}  ", f"{effect.words} ({_does(walk, effect)})")


def _does(walk: Walk, effect: Effect) -> str:
    cleared, left = effect.cleared, effect.left
    if not left:
        return "done" if effect.words == FIXED else "leaves nothing"
    names = f": {', '.join(c.name for c in walk.causes(left))}" if left.bit_count() <= 3 and cleared else ""
    return f"clears {cleared.bit_count() or 'nothing'}, leaves {left.bit_count()}{names}"


def why_lines(walk: Walk) -> Iterator[str]:
    """Why this step: the chance of each finding, and what the next best acts would come to."""
    step = _step_of(walk)
    for effect in walk.effects(step):
        yield f"  {percent(effect.share):>5}  {effect.words}: {_does(walk, effect)}"
    yield f"With it about {time_words(walk.plan.seconds)} until fixed, if one fault at a time is assumed."
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


def history_row(walk: Walk, day: date, vehicle: str) -> str:
    """The job as a line of a history file (RFC 4180), without a line's end."""
    mended = walk.causes(walk.mended)
    tests = [walk.node("test", p.number).name for p in walk.past if p.kind == "test" and p.row != UNREAD]
    repairs = [walk.node("repair", p.number).name for p in walk.past if p.kind == "repair" and p.row == 0]
    cells = [
        day.isoformat(), vehicle, walk.symptom.name, mended[0].name if len(mended) == 1 else "",
        str(max(1, round(walk.spent / 60))), "; ".join(repairs), "; ".join(tests), "",
    ]  # fmt: skip
    out = io.StringIO(newline="")
    csv.writer(out).writerow(cells)
    return out.getvalue().removesuffix("\r\n")
