"""No text is lost without a problem at its line, whatever the bytes, the nesting or the size."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from urllib.parse import unquote

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.model import Block, Cell, Inline, Page
from kb.read.inlines import walk
from kb.read.page import read_page
from kb.source import read_source
from tests.bases import base, base_of, told, under

# What the parser would drop, cut or merge.


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("[Name]: word\n", 1, "[Name]: word"),
        ("Words.\n\n[Name]: /url 'title'\n[b]: <c>\n", 3, "[Name]: /url 'title'"),
        ("- [Name]: word\n", 1, "- [Name]: word"),
        ("[a\nb]: c\n", 1, "[a\nb]: c"),
    ],
)
def test_a_link_definition(text, line, words):
    assert told(base(text), "bad-value")[0] == ("bad-value", line, words)


def test_a_line_like_a_definition_in_a_paragraph_is_text():
    assert told(base("Words\n\\[Name]: word\n")) == []


def test_a_comment_above_a_paragraph_keeps_the_paragraph():
    read = base("<!-- allow x: y -->\nThe paragraph.\n")
    assert [b.type for b in read.pages["page.md"].nodes[0].blocks] == ["html", "paragraph"]


def test_a_comment_that_never_ends_holds_the_rest_and_is_told():
    read = base("Words.\n\n<!-- open\n\n# Test: T\n")
    assert told(read) == [("lost-text", 3, "<!-- open")]


@pytest.mark.parametrize("fence", ["```", "~~~~", "```text"])
def test_a_code_block_that_never_ends_is_told(fence):
    read = base(f"Words.\n\n{fence}\ncode\n\n# Test: T\n")
    assert told(read) == [("lost-text", 3, fence)]


@pytest.mark.parametrize("text", ["```\na\n```\n", "~~~\na\n~~~~~\n", "> ```\n> a\n> ```\n", "- ```\n  a\n  ```\n", "```\n```\n", "    a\n"])
def test_code_blocks_that_end(text):
    assert told(base(text)) == []


@pytest.mark.parametrize(("text", "line"), [("> ```\n> a\n\nb\n", 1), ("- ```\n  a\n\nb\n", 1), ("```\na\n``\n", 1), ("~~~\na\n```\n", 1), ("````\n```\n", 1)])
def test_code_blocks_that_do_not_end(text, line):
    assert [(rule, at) for rule, at, _ in told(base(text))] == [("lost-text", line)]



def test_quotes_nested_too_deep():
    quotes = "> " * 200 + "the words"
    read = base(f"Before.\n\n{quotes}\n\nAfter.\n")
    assert told(read) == [("lost-text", 3, quotes)]
    paragraphs = [b for b in read.pages["page.md"].nodes[0].blocks if b.type == "paragraph"]
    assert [under(read, b.span) for b in paragraphs] == ["Before.", "After."]


def test_lists_nested_too_deep():
    """The parser drops all that follows, and so all that follows is told."""
    lists = "- " * 200 + "the words"
    assert told(base(f"Before.\n\n{lists}\n\nAfter.\n")) == [("lost-text", 3, f"{lists}\n\nAfter.")]


def test_moderate_nesting_is_read():
    read = base("> " * 8 + "the words\n")
    assert told(read) == []


def test_ten_thousand_nested_quotes():
    read = base("> " * 10_000 + "x\n\n# Test: T\n")
    assert [(rule, line) for rule, line, _ in told(read)] == [("lost-text", 1)]
    assert [n.name for n in read.pages["page.md"].nodes] == ["", "T"]


@pytest.mark.parametrize("depth", range(1, 40, 3))
def test_lists_in_lists_are_read_or_told(depth):
    lines = [f"{'  ' * level}- w{level}x" for level in range(depth)]
    nothing_lost("\n".join(lines) + "\n")


def test_a_table_row_with_too_many_cells():
    assert told(base("| a |\n|---|\n| b | c | d |\n")) == [("lost-text", 3, "c | d")]


def test_the_limit_of_missing_cells_in_a_table():
    """The parser ends a table after 65,536 missing cells; what follows would be one long paragraph."""
    columns, rows = 300, 300
    read = base("|" + " a |" * columns + "\n|" + "---|" * columns + "\n" + "| b |\n" * rows)
    (found,) = told(read, "lost-text")
    assert found[2] == "| b |"
    assert 3 <= found[1] <= rows + 2


def test_a_hundred_thousand_rows():
    read = base("# Test: T\n\n| Finding | Clears |\n|---|---|\n" + "| x | |\n" * 100_000)
    assert len(read.nodes["page.md#test-t"].findings) == 100_000
    assert told(read) == []


def test_a_line_of_ten_megabytes():
    read = base("a " * 5_000_000 + "\n\n# Test: T\n")
    assert [n.name for n in read.pages["page.md"].nodes] == ["", "T"]
    assert len(read.pages["page.md"].nodes[0].blocks[0].inlines[0].text) > 9_999_990


@pytest.mark.parametrize("piece", ["[", "]", "*", "_", "`", "![", "[a](", "<", "&", "\\", "**a ", "[a][", "~", "|", "> ", "- ", "1. ", "#", "\t"])
def test_any_sign_repeated(piece):
    started = time.perf_counter()
    read_page(read_source("p.md", (piece * 5_000).encode()))
    read_page(read_source("p.md", (piece * 1_000 + "\n").encode() * 5))
    assert time.perf_counter() - started < 20


# Bytes.


@pytest.mark.parametrize(
    ("data", "line"), [(b"# Test: T\n\nBad \xff byte.\n", 3), (b"a\0b", 1), (b"\xff\xfe#\0 \0", 1), (b"# T\xc3\n", 1)]
)
def test_bytes_that_are_no_text_are_told_and_the_rest_is_read(data, line):
    read = base_of({"index.md": "# B\n", "page.md": data})
    assert {(rule, at) for rule, at, _ in told(read, "unreadable-page")} == {("unreadable-page", line)}


def test_a_bad_page_spoils_no_other():
    read = base_of({"index.md": "# B\n", "a.md": b"\xff\0" * 50, "b.md": "# Test: T\n"})
    assert "b.md#test-t" in read.nodes


def test_an_empty_page_and_an_empty_front_page():
    read = base_of({"index.md": "", "a.md": "", "b.md": "\n\n", "c.md": "\ufeff"})
    assert read.title == ""
    assert [len(p.nodes) for p in read.pages.values()] == [1, 1, 1, 1]


# The property: each word of the text is in the page, or a problem that tells of lost text is at its line.

WORD = re.compile(r"[a-z]+[0-9]*x\b")
LOSING = frozenset(("lost-text", "bad-value", "unknown-fact", "misplaced-table"))


def words_of(page: Page) -> str:
    """All that a page keeps, as one text."""
    return "\n".join(unquote(piece) for node in page.nodes for piece in _node(node)).casefold()


def _node(node) -> Iterator[str]:
    yield from (node.kind, node.name)
    for fact in node.facts.values():
        yield fact.key
        for value in fact.values:
            yield value.remark
            yield from _inlines(value.inlines)
    for block in node.blocks:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    yield from (block.text, block.anchor)
    yield from _inlines(block.inlines)
    if block.message:
        yield from (block.message.signal_word, block.message.title)
        yield from _inlines(block.message.body)
        yield from (ref.label for ref in block.message.refs)
    for row in (block.table.header, *block.table.rows) if block.table else ():
        for cell in row.cells:
            yield from _cell(cell)
    for child in block.children:
        yield from _block(child)


def _cell(cell: Cell) -> Iterator[str]:
    yield from _inlines(cell.inlines)


def _inlines(inlines: tuple[Inline, ...]) -> Iterator[str]:
    """Neighbouring texts stand side by side, as they are printed."""
    yield "".join(i.text for i in walk(inlines))
    for inline in walk(inlines):
        yield from (inline.href, inline.title, inline.ref.label if inline.ref else "")


def nothing_lost(text: str) -> None:
    """Each of the words `...x` of a text is kept, or its line has a problem that says so."""
    source = read_source("page.md", text.encode("utf-8", "replace"))
    page = read_page(source)
    kept = words_of(page)
    told_lines = {line for p in page.problems if p.rule in LOSING for line in covered(source.lines, p)}
    for number, line in enumerate(source.lines, 1):
        for word in WORD.findall(line):
            assert word in kept or number in told_lines, (word, number, [p.message for p in page.problems])


def covered(lines: tuple[str, ...], problem) -> Iterator[int]:
    """The lines of a problem; one about a bullet of facts covers what is indented below it."""
    first, last = problem.span.line, problem.span.end_line
    yield from range(first, last + 1)
    if problem.rule == "unknown-fact" or "twice" in problem.message:
        while last < len(lines) and (not lines[last].strip() or lines[last][0] in " \t"):
            last += 1
            yield last


SIGNS = "#*_`~[]()<>!|\\&;:-+=.\"'/{}@ \t\n"


@given(st.lists(st.one_of(st.text(SIGNS, max_size=4), st.just("\n"), st.just("\n\n"), st.integers(0, 99).map("w{}x".format)), max_size=60).map("".join))
def test_words_between_any_signs_are_kept(text):
    nothing_lost(text)


LINES = [
    "# Test: {}", "## Cause: {}", "# {}", "{}\n===", "Hazard: {}\n---", "- {}", "* {}", "1. {}", "> {}", "> **WARNING: {}.** {}", "> **CAUTION** [{}] {}",
    "- Takes: 5 min", "- Takes: {}", "- Needs: [{}]; {}", "- Said as: {}; {}", "  - {}", "    {}", "\t{}", "```\n{}\n```", "~~~ {}\n{}", "```",
    "| {} | {} |", "|---|---|", "| Finding | Clears |", "| Finding | {} |", "| Part | Kind | {} |", "| {} |", "| {} | {} | {} |", "[{}]: {}", "[{}]",
    "[{}][{}]", "![{}]({})", "[{}]({} '{}')", "<b>{}</b>", "<!-- {} -->", "<!-- allow {}: {} -->", "<{}>", "{}", "", "", "**{}", "`{}", "{}  ", "{}\\",
    "> - {}", "- > {}", "1. > - {}", "Signal word: {}", "Because: {}", "&{};", "***", "- [ ] {}", "\\| {} |", "Tset: {}", "# Tset: {}", "# Circuit: {}",
    "| Wire | From | {} |", "- Right: {}", "- Causes: [{}] — {}", "# Question: {}", "# Symptom: {}", ":::{}", "{}|{}\n-|-", "<div {}>", "</div>", "<script>{}",
]  # fmt: skip


@given(st.lists(st.tuples(st.sampled_from(["", "", "", "> ", "- ", "  ", "   ", "    ", "\t", ">", "1. "]), st.sampled_from(LINES)), max_size=25))
def test_words_in_any_arrangement_of_blocks_are_kept(lines):
    """Each word of a page stands there once, so none can hide behind another."""
    count = iter(range(10_000))
    text = "\n".join(before + re.sub(r"\{\}", lambda _: f"w{next(count)}x", line) for before, line in lines)
    nothing_lost(text)


@given(st.text())
def test_any_text_is_a_page(text):
    base_of({"index.md": text.encode("utf-8", "replace"), "p.md": text.encode("utf-8", "replace")})


@given(st.binary())
def test_any_bytes_are_a_page(data):
    base_of({"index.md": data, "p.md": data})


@given(st.lists(st.sampled_from([line.format(*"abc") for line in LINES]), max_size=30))
def test_any_arrangement_is_a_base(lines):
    """All problems have a place inside the file."""
    read = base("\n".join(lines) + "\n")
    for problem in read.problems:
        span, text = problem.span, read.pages[problem.span.path].source.lines
        assert 1 <= span.line <= span.end_line <= len(text)
        assert 1 <= span.column <= len(text[span.line - 1]) + 1
        assert 1 <= span.end_column <= len(text[span.end_line - 1]) + 1
        assert span.start <= (span.end_line, span.end_column)
        assert problem.message
        assert problem.message[0] == problem.message[0].lower() or problem.message.startswith("HTML ")


@pytest.mark.parametrize("dashes", ["|---|", "|---|---|---|", "|:-:|"])
def test_a_header_over_dashes_of_another_number_of_columns(dashes):
    read = base(f"| Finding | Clears |\n{dashes}\n| x | y |\n")
    assert [(rule, line) for rule, line, _ in told(read, "lost-text")] == [("lost-text", 1)]


@pytest.mark.parametrize("text", ["a | b\nc | d\n", "| a | b |\n|---|---|\n| c | d |\n", "a - b\n- | c\n", "a | b\n\n---\n", "`|` x\n-|-\n"])
def test_lines_with_bars_that_lose_nothing(text):
    nothing_lost(text)
    assert told(base(text), "lost-text") == [] or "`|`" in text


def test_a_loss_over_empty_lines_is_one_problem():
    lists = "- " * 200
    assert told(base(f"{lists}a\n\n\n{lists}b\n"), "lost-text") == [("lost-text", 1, f"{lists}a\n\n\n{lists}b")]
