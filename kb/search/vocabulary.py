"""What a base's own pages teach search: words made of two words, of one kin, and words that are equal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import pairwise

from kb.search.analysis import Analysis, compounds, words
from kb.search.language import Language

_HALF = 4  # letters of each half that make a split likely without a hyphen to prove it


def learn(language: Language, texts: Iterable[str], equals: Iterable[tuple[str, ...]]) -> Analysis:
    """The analysis of a base with these texts; each group of `equals` starts with its main word."""
    texts, groups = tuple(texts), tuple(equals)
    runs = [[w.text for w in words(text, language.joins)] for text in texts]
    used = {w for run in runs for w in run}
    analysis = Analysis(language, _stems(language, used), _kin(language, used))
    hyphened = {parts for text in texts for parts in compounds(text, language.joins)}
    found = [*sorted(hyphened), *sorted(_solid(language, runs)), *_phrases(language, groups)]
    analysis = replace(analysis, splits=dict(_splits(analysis, found)))
    return replace(analysis, equals=_equals(analysis, groups))


def _stems(language: Language, used: set[str]) -> Mapping[str, str]:
    if language.english:
        return {}
    stems = {word: language.stem(word) for word in sorted(used) if word.isalpha()}
    return {word: stem for word, stem in stems.items() if stem and stem != word}


def _kin(language: Language, used: set[str]) -> Mapping[str, str]:
    """What the stemmer leaves of a comparison, a doer or a manner, where the base has the plain word too."""
    if not language.english:
        return {}
    stems = {language.stem(word) for word in used if word.isalpha()}
    shorter = ((stem, stem[:-2]) for stem in sorted(stems) if stem.endswith(("er", "li")))
    return {stem: plain for stem, plain in shorter if len(plain) >= _HALF and plain in stems}


def _solid(language: Language, runs: list[list[str]]) -> Iterator[tuple[str, str]]:
    """Words that are two other words of the base: proved by the pair itself, or long enough."""
    used = {w for run in runs for w in run if w.isalpha() and w not in language.stops}
    pairs = {pair for run in runs for pair in pairwise(run)}
    for word in sorted(used):
        for cut in range(2, len(word) - 1):
            halves = word[:cut], word[cut:]
            long = min(map(len, halves)) >= _HALF
            if used.issuperset(halves) and (long or halves in pairs):
                yield halves


def _splits(analysis: Analysis, found: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, tuple[str, ...]]]:
    known = set[str]()
    for parts in found:
        stem = analysis.stem("".join(parts))
        if stem not in known and stem not in map(analysis.stem, parts):
            known.add(stem)
            yield stem, parts


def _equals(analysis: Analysis, groups: Iterable[tuple[str, ...]]) -> Mapping[tuple[str, ...], tuple[str, ...]]:
    """Each phrase and the terms that stand for its groups; a stop word alone has no equals."""
    found: dict[tuple[str, ...], dict[str, None]] = {}
    for group in groups:
        phrases = [analysis.atoms(analysis.words(words_)) for words_ in group]
        keys = dict.fromkeys(tuple(a.key for a in p) for p in phrases if any(a.terms for a in p))
        if len(keys) > 1:
            name = "_" + "_".join(next(iter(keys)))
            for key in keys:
                found.setdefault(key, {})[name] = None
    return {key: tuple(found[key]) for key in sorted(found)}


def _phrases(language: Language, groups: Iterable[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """`turnsignal` is `turn signal`, where that has equals."""
    for phrase in (p for group in groups for p in group):
        parts = tuple(w.text for w in words(phrase, language.joins))
        if len(parts) > 1 and "".join(parts).isalpha():
            yield parts
