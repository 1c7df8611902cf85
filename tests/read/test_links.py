"""Ordinary links and images, and what else a page's running text holds."""

from __future__ import annotations

import pytest

from kb.read.inlines import walk
from tests.bases import base, told, under


def links(text: str):
    """Place, destination, image or not, and words of each link."""
    read = base(text)
    return [(under(read, t.span), t.href, t.image, t.words) for t in read.pages["page.md"].links]


@pytest.mark.parametrize(
    ("text", "link"),
    [
        ("See [the page](other.md).", ("[the page](other.md)", "other.md", False, "the page")),
        ("[a *b*](o.md#x 'title')", ("[a *b*](o.md#x 'title')", "o.md#x", False, "a b")),
        ("[a](<with space.md>)", ("[a](<with space.md>)", "with%20space.md", False, "a")),
        ("![a plug](plug.png)", ("![a plug](plug.png)", "plug.png", True, "a plug")),
        ("![](plug.png)", ("![](plug.png)", "plug.png", True, "")),
        ("<https://example.org/x>", ("<https://example.org/x>", "https://example.org/x", False, "https://example.org/x")),
        ("[](x.md)", ("[](x.md)", "x.md", False, "")),
        ("[x]()", ("[x]()", "", False, "x")),
        ("- in a [list](x.md)", ("[list](x.md)", "x.md", False, "list")),
        ("| in a [cell](x.md) |\n|---|", ("[cell](x.md)", "x.md", False, "cell")),
        ("# In a [heading](x.md)", ("[heading](x.md)", "x.md", False, "heading")),
        ("[over\ntwo](x.md)", ("[over\ntwo](x.md)", "x.md", False, "over two")),
        ("[j](javascript:alert(1))", ("[j](javascript:alert(1))", "javascript:alert(1)", False, "j")),
    ],
)
def test_each_link_with_its_place(text, link):
    assert links(text + "\n") == [link]


def test_a_picture_in_a_link_gives_both():
    assert [found[1:3] for found in links("[![p](p.png)](x.md)\n")] == [("x.md", False), ("p.png", True)]


def test_links_in_messages_and_steps_are_found():
    text = "# Test: T\n\n> **WARNING: x.** See [a](a.md). Wait.\n\n1. [b](b.md)\n   - ![c](c.png)\n"
    assert [found[1] for found in links(text)] == ["a.md", "b.md", "c.png"]


def test_the_title_of_a_link_and_a_picture_is_kept():
    read = base('[a](x.md "one") ![b](y.png "two")\n')
    found = [i for b in read.pages["page.md"].nodes[0].blocks for i in walk(b.inlines)]
    assert [(i.href, i.title) for i in found if i.href] == [("x.md", "one"), ("y.png", "two")]


@pytest.mark.parametrize(
    ("text", "types"),
    [
        ("plain", ["text"]),
        ("**bold**", ["strong", "text"]),
        ("*em* and `code`", ["emph", "text", "code"]),
        ("line  \nbreak", ["text", "break", "text"]),
        ("`J2.a`", ["point"]),
        ("a <b>", ["text", "html"]),
        ("&amp; \\*", ["text"]),
    ],
)
def test_kinds_of_running_text(text, types):
    read = base(text + "\n")
    (block,) = read.pages["page.md"].nodes[0].blocks
    found = [i.type for i in walk(block.inlines)]
    assert [t for i, t in enumerate(found) if t != "text" or found[i - 1 : i] != ["text"]] == types


@pytest.mark.parametrize("text", ["&copy;", "&#35;", "a&nbsp;b", "&unknown;", "\\&amp;"])
def test_entities_are_no_problem(text):
    assert told(base(text + "\n")) == []
