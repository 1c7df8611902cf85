"""The parser as configured holds CommonMark 0.31.2 and GFM 4.10: examples of the published sources.

The parser reads HTML as HTML and the site shows it as text, so HTML is compared in escaped form.
"""

from __future__ import annotations

import re
from html import escape
from pathlib import Path

import pytest

from kb.read.markdown import parse_blocks, parse_inline, parser

_EXAMPLE = re.compile(r"^`{32} example\n(.*?)^\.\n(.*?)^`{32}$", re.MULTILINE | re.DOTALL)
_FIXTURE = re.compile(r"^\.\n(.*?)^\.\n(.*?)^\.$", re.MULTILINE | re.DOTALL)


@pytest.fixture(scope="module")
def spec(tools: Path) -> list[tuple[str, str]]:
    """Source and HTML of each example of the CommonMark spec, from npm `commonmark-spec`."""
    path = tools / "node_modules/commonmark-spec/spec.txt"
    if not path.exists():
        pytest.skip("npm commonmark-spec is not installed")
    text = path.read_text(encoding="utf-8").replace("\u2192", "\t")
    assert "version: '0.31.2'" in text
    return _EXAMPLE.findall(text)


@pytest.fixture(scope="module")
def tables(tools: Path) -> list[tuple[str, str]]:
    """Source and HTML of the table fixtures in the source package of markdown-it-py."""
    path = next(tools.glob("sdist/markdown_it_py-*/tests/test_port/fixtures/tables.md"), None)
    if path is None:
        pytest.skip("the source package of markdown-it-py is not there")
    return _FIXTURE.findall(path.read_text(encoding="utf-8"))


def rendered(source: str, html_as_text: bool = False) -> str:
    """What the configured parser makes of a source, with page-defined references as in CommonMark."""
    md, env = parser(), {"references": {}}
    tokens = md.parse(source, env)
    for token in [*tokens, *(c for t in tokens for c in t.children or ())] if html_as_text else ():
        if token.type in ("html_block", "html_inline"):
            token.type, token.content = "html_inline", escape(token.content, quote=False)
    return md.renderer.render(tokens, md.options, env)


def same(html: str) -> str:
    """HTML for comparing: the spec writes void elements and cell alignment in another way."""
    html = re.sub(r' style="text-align:(\w+)"', r' align="\1"', html)
    return re.sub(r"\s*/>", ">", html).replace("<blockquote></", "<blockquote>\n</").strip()


def test_all_examples_of_commonmark(spec):
    assert len(spec) == 652  # CommonMark 0.31.2
    wrong = [(i, source, html) for i, (source, html) in enumerate(spec, 1) if same(rendered(source)) != same(html)]
    assert wrong == []


def test_the_two_stages_give_what_the_whole_parser_gives(spec, tables):
    """Pages are read in two stages, blocks and then running text: no rule is left out on the way."""
    for source, _ in [*spec, *tables]:
        if "[" not in source:
            whole = parser().parse(source, {"references": {}})
            blocks, definitions = parse_blocks(source)
            assert [(t.type, t.tag, t.content, t.map) for t in blocks] == [(t.type, t.tag, t.content, t.map) for t in whole]
            assert definitions == []
            for block, inline in zip(blocks, (t for t in whole), strict=True):
                if block.type == "inline":
                    assert told(parse_inline(block.content)[0]) == told(inline.children)


def told(tokens: list) -> list[tuple[str, str]]:
    """Types and contents, with neighbouring text joined."""
    found: list[tuple[str, str]] = []
    for token in tokens:
        kind = "text" if token.type == "text_special" else token.type
        if kind == "text" and found and found[-1][0] == "text":
            found[-1] = ("text", found[-1][1] + token.content)
        elif kind != "text" or token.content:
            found.append((kind, token.content))
    return found


def test_examples_with_html_show_it_as_text(spec):
    """In escaped form, no element stands in the output that the parser didn't write itself."""
    own = set("p h1 h2 h3 h4 h5 h6 em strong a img code pre ul ol li blockquote hr br table thead tbody tr th td".split())
    count = 0
    for source, _ in spec:
        shown = rendered(source, html_as_text=True)
        assert {tag.lower() for tag in re.findall(r"</?([A-Za-z][\w-]*)", shown)} <= own
        count += shown != rendered(source)
    assert count == 72  # as many examples of the spec hold HTML


def test_all_examples_of_tables(tables):
    assert len(tables) > 25
    wrong = [(source, html) for source, html in tables if same(rendered(source)) != same(html)]
    assert wrong == []


# GFM spec, version 0.29-gfm, section 4.10: examples 198 to 205, from memory.
@pytest.mark.parametrize(
    ("source", "html"),
    [
        (
            "| foo | bar |\n| --- | --- |\n| baz | bim |\n",
            "<table><thead><tr><th>foo</th><th>bar</th></tr></thead>"
            "<tbody><tr><td>baz</td><td>bim</td></tr></tbody></table>",
        ),
        (
            "| abc | defghi |\n:-: | -----------:\nbar | baz\n",
            '<table><thead><tr><th align="center">abc</th><th align="right">defghi</th></tr></thead>'
            '<tbody><tr><td align="center">bar</td><td align="right">baz</td></tr></tbody></table>',
        ),
        (
            "| f\\|oo  |\n| ------ |\n| b `\\|` az |\n| b **\\|** im |\n",
            "<table><thead><tr><th>f|oo</th></tr></thead>"
            "<tbody><tr><td>b <code>|</code> az</td></tr><tr><td>b <strong>|</strong> im</td></tr></tbody></table>",
        ),
        (
            "| abc | def |\n| --- | --- |\n| bar | baz |\n> bar\n",
            "<table><thead><tr><th>abc</th><th>def</th></tr></thead>"
            "<tbody><tr><td>bar</td><td>baz</td></tr></tbody></table><blockquote><p>bar</p></blockquote>",
        ),
        (
            "| abc | def |\n| --- | --- |\n| bar | baz |\nbar\n\nbar\n",
            "<table><thead><tr><th>abc</th><th>def</th></tr></thead>"
            "<tbody><tr><td>bar</td><td>baz</td></tr><tr><td>bar</td><td></td></tr></tbody></table><p>bar</p>",
        ),
        ("| abc | def |\n| --- |\n| bar |\n", "<p>| abc | def || --- || bar |</p>"),
        (
            "| abc | def |\n| --- | --- |\n| bar |\n| bar | baz | boo |\n",
            "<table><thead><tr><th>abc</th><th>def</th></tr></thead>"
            "<tbody><tr><td>bar</td><td></td></tr><tr><td>bar</td><td>baz</td></tr></tbody></table>",
        ),
        ("| abc | def |\n| --- | --- |\n", "<table><thead><tr><th>abc</th><th>def</th></tr></thead></table>"),
    ],
)
def test_tables_of_the_github_spec(source, html):
    assert same(rendered(source)).replace("\n", "") == html
