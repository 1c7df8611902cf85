"""From bytes to lines: encodings, newlines, the places of what can't be read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.source import Span, read_source


@pytest.mark.parametrize(
    ("data", "lines"),
    [
        (b"", ("",)),
        (b"a", ("a",)),
        (b"a\nb", ("a", "b")),
        (b"a\nb\n", ("a", "b", "")),
        (b"a\r\nb\rc", ("a", "b", "c")),
        (b"a\r\r\nb", ("a", "", "b")),
        (b"\xef\xbb\xbfa", ("a",)),
        ("a\x0bb\x0cc\x1cd\x85e\u2028f".encode(), ("a\x0bb\x0cc\x1cd\x85e\u2028f",)),  # none ends a line
        ("\ufeffa\ufeffb".encode(), ("a\ufeffb",)),  # only the first is a byte-order mark
    ],
)
def test_lines(data, lines):
    source = read_source("p.md", data)
    assert source.lines == lines
    assert source.text == "\n".join(lines)
    assert source.bad_bytes == ()


@pytest.mark.parametrize(
    ("data", "place"),
    [
        (b"\xff", (1, 1)),
        (b"ab\xffcd\xff", (1, 3)),
        (b"ab\r\nc\xe9", (2, 2)),
        ("äö\nü".encode() + b"\xc3", (2, 2)),
        (b"\xef\xbb\xbfa\xff", (1, 2)),
        (b"a\rb\xff", (2, 2)),
        (b"\xe2\x82", (1, 1)),  # a sign cut off at the file's end
        (b"\xed\xa0\x80", (1, 1)),  # a surrogate
        (b"a\0b", (1, 2)),
        (b"a\n\n\0", (3, 1)),
    ],
)
def test_what_is_no_text_is_named_at_its_place(data, place):
    (span,) = read_source("p.md", data).bad_bytes
    assert span == Span("p.md", *place, place[0], place[1] + 1)


def test_text_around_bad_bytes_is_kept():
    assert read_source("p.md", b"before\xffafter\nnext").lines == ("before\ufffdafter", "next")


def test_a_nul_and_bad_bytes_are_both_named():
    assert [s.start for s in read_source("p.md", b"\0\n\xff").bad_bytes] == [(2, 1), (1, 1)]


@pytest.mark.parametrize(
    ("line", "columns"), [(1, (3, 6)), (2, (1, 1)), (3, (1, 1)), (4, (2, 5)), (9, (1, 1))]
)
def test_span_of_a_line_leaves_out_white_space_around_it(line, columns):
    source = read_source("p.md", b"  a b  \n\n   \n\tc d")
    span = source.line_span(line)
    assert (span.line, span.end_line) == (line, line)
    assert (span.column, span.end_column) == (columns if line != 1 else (3, 6))


def test_span_of_lines():
    source = read_source("p.md", b" a\nb\n  cc ")
    assert source.lines_span(1, 3) == Span("p.md", 1, 2, 3, 5)
    assert source.span(2, 1, 1).to(source.span(3, 3, 2)) == Span("p.md", 2, 1, 3, 5)


@given(st.binary())
def test_any_bytes_are_lines(data):
    source = read_source("p.md", data)
    assert "\n".join(source.lines) == source.text
    assert not any("\r" in line or "\n" in line for line in source.lines)
    readable = b"\0" not in data and "\ufffd" not in data.decode(errors="replace")
    assert readable <= (source.bad_bytes == ())
    for span in source.bad_bytes:
        assert source.lines[span.line - 1][span.column - 1] in "\0\ufffd"


@given(st.text())
def test_text_comes_back_whole(text):
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    assert read_source("p.md", text.encode("utf-8", "replace")).text == plain.encode("utf-8", "replace").decode()
