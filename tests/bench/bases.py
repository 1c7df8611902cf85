"""Made-up bases of any size from a fixed seed, and texts of shapes that are hard to read."""

from __future__ import annotations

import random
from collections.abc import Iterator

WORDS = (
    "lamp wire plug pump relay motor lever valve hinge panel ground feed switch brush gear shaft fuse dim dark loose "
    "worn open stuck cold front rear left right upper lower inner outer first second main spare"
).split()


def made_base(pages: int, seed: int = 1) -> dict[str, bytes]:
    """A base of `pages` pages: each a function with symptoms, causes, tests, repairs; names resolve."""
    chance = random.Random(seed)
    files = {"index.md": "# Made-up base\n\n- Statement: Invented. Follow the maker's instructions.\n"}
    files["shared.md"] = _shared()
    for number in range(pages - 2):
        files[f"part{number % 37:02}/page{number:05}.md"] = _page(number, pages - 2, chance)
    return {path: text.encode() for path, text in files.items()}


def _shared() -> str:
    parts = [f"# Tool: Tool {i}\n\n- Said as: gadget {i}\n\nA tool.\n" for i in range(8)]
    parts += [f"# Access: Access {i}\n\n- Takes: 5 min\n- Undo: 2 min\n\n1. Open it.\n" for i in range(8)]
    parts += [
        f"# Hazard: Hazard {i}\n\n- Signal word: CAUTION\n- Hazard: An edge.\n- Consequence: It cuts.\n"
        f"- Avoidance: Wear gloves.\n- With tool: [Tool {i}]\n- At words: sharp {WORDS[i]}\n"
        for i in range(8)
    ]
    return "\n".join(parts)


def _page(number: int, count: int, chance: random.Random) -> str:
    causes = [f"{_name(chance, 3)} {number}.{i}" for i in range(8)]
    repairs = [f"Mend {_name(chance, 2)} {number}.{i}" for i in range(4)]
    tests = [f"Look at {_name(chance, 2)} {number}.{i}" for i in range(4)]
    parts = [f"# Function: Job {number}\n\n- Said as: {_name(chance, 2)}; {_name(chance, 2)}\n\n{_prose(chance)}\n"]
    if number:
        parts.append(f"It hangs on [Job {chance.randrange(number)}] and on [the first][Job 0].\n")
    for i in range(2):
        named = "; ".join(f"[{c}] — {chance.choice(('common', 'occasional', 'rare', '7'))}" for c in causes[4 * i : 4 * i + 4])
        parts.append(f"## Symptom: {_name(chance, 3)} gone {number}.{i}\n\n- Said as: {_name(chance, 4)}\n- Causes: {named}\n")
    parts += [f"## Cause: {c}\n\n- Repair: [{chance.choice(repairs)}]\n\n{_prose(chance)}\n" for c in causes]
    parts += [_test(t, causes, repairs, chance) for t in tests]
    parts += [f"## Repair: {r}\n\n- Takes: 9 min\n- Verify: [{chance.choice(tests)}]\n\n1. {_prose(chance)}\n2. Put it back.\n" for r in repairs]
    return "\n".join(parts)


def _test(name: str, causes: list[str], repairs: list[str], chance: random.Random) -> str:
    tool = chance.randrange(8)
    rows = [
        f"| It is {word} | {'; '.join(f'[{c}]' for c in chance.sample(causes, 2))} | [{chance.choice(repairs)}] |"
        for word in ("bright", "dark")
    ]
    return (
        f"## Test: {name}\n\n- Takes: {chance.randrange(1, 20)} min\n- Access: [Access {chance.randrange(8)}]\n- Needs: [Tool {tool}]\n\n"
        f"> **CAUTION** [Hazard {tool}]\n\n1. {_prose(chance)}\n2. See `J1.{chance.choice(WORDS)}`.\n\n"
        "| Finding | Clears | Next |\n|---|---|---|\n" + "\n".join(rows) + "\n"
    )


def _name(chance: random.Random, words: int) -> str:
    return " ".join(chance.choice(WORDS) for _ in range(words))


def _prose(chance: random.Random) -> str:
    return f"The {_name(chance, 6)} is {_name(chance, 5)}. Hold the {_name(chance, 4)} by its {_name(chance, 3)}."


def shapes() -> Iterator[tuple[str, str]]:
    """Name and one unit of text of each shape; a text of length n is the unit repeated."""
    yield "prose", "The lamp is dark and the wire is open. Look at the plug. "
    yield "paragraphs", "The lamp is dark and the wire is open.\n\n"
    yield "references", "See [the lamp][Name] and [Name]. "
    yield "unclosed brackets", "["
    yield "closing brackets", "]"
    yield "nested links", "[a]("
    yield "label after label", "[a]["
    yield "pictures opened", "![a"
    yield "stars", "*a **b "
    yield "underscores", "_a __"
    yield "backticks of all lengths", "` `` ``` ```` "
    yield "escapes", "\\[\\*\\` "
    yield "entities", "&amp;&#35;&x"
    yield "HTML opened", "<a <b "
    yield "comments opened", "<!-- a "
    yield "headings", "# Test: Lamp\n\n"
    yield "plain headings", "## Words\n\n"
    yield "facts", "- Said as: a; b; c\n"
    yield "nested lists", "- a\n  - b\n    - c\n"
    yield "long list of steps", "1. Hold the lamp.\n"
    yield "quotes", "> a\n\n"
    yield "messages", "> **CAUTION: edge.** It cuts. Wear gloves.\n\n"
    yield "quote marks in a line", "> "
    yield "table rows", "| a | [Name] |\n"
    yield "bars", "a|"
    yield "dashes", "- - - a\n"
    yield "definitions", "[a]: b\n"
    yield "code", "    code\n\n"
    yield "fences", "```\ncode\n```\n"
    yield "allowances", "<!-- allow no-steps: x -->\n\nWords.\n\n"
