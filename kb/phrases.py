"""Phrases of the base looked for in running text, as whole words, regardless of case."""

from __future__ import annotations

import re
from functools import lru_cache


@lru_cache(maxsize=4096)
def phrase_pattern(phrase: str) -> re.Pattern[str]:
    """A pattern for a phrase: any white space between words; a word that ends in `*` takes any ending."""
    words = [re.escape(word.rstrip("*")) + (r"\w*" if word.endswith("*") else "") for word in phrase.split()]
    return re.compile(r"(?<!\w)" + r"\s+".join(words) + r"(?!\w)", re.IGNORECASE)
