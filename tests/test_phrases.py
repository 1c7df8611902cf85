"""Phrases in running text: whole words, any case, any white space, endings left open by a star."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.phrases import phrase_pattern


@pytest.mark.parametrize(
    ("phrase", "text", "found"),
    [
        ("door trim", "Take the door trim off.", "door trim"),
        ("door trim", "DOOR\n  Trim", "DOOR\n  Trim"),
        ("door trim", "indoor trim", None),
        ("door trim", "door trims", None),
        ("door trim*", "door trims", "door trims"),
        ("back-prob* the", "Back-probing the pin", "Back-probing the"),
        ("cut*", "uncut", None),
        ("cut*", "Cut.", "Cut"),
        ("12 V", "at 12 V.", "12 V"),
        ("12 V", "at 112 V.", None),
        ("a.b", "axb", None),
        ("(live)", "the (live) side", "(live)"),
        ("Ölfleck", "ölfleck", "ölfleck"),
    ],
)
def test_where_a_phrase_is_found(phrase, text, found):
    match = phrase_pattern(phrase).search(text)
    assert (match[0] if match else None) == found


@given(st.text(min_size=1).filter(str.strip), st.text())
def test_any_phrase_is_a_pattern(phrase, text):
    phrase_pattern(phrase).search(text)
