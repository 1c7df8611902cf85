"""What search knows of a language: stop words, words that negate, endings."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache

from whoosh.lang import NoStemmer, NoStopWords, stemmer_for_language, stopwords_for_language

# Stop lists hold words that tell one fault from another: "won't fold", "goes off", "no power". English "on" does too,
# but nine times in ten it says where: "dead on one side".
_MEANT: Mapping[str, str] = {
    "en": "no nor not off up down out over under only both once",
    "da": "ikke ned op ud uden af",
    "de": "nicht nichts kein keine keinem keinen keiner keines ohne auf aus ab an nur",
    "es": "no ni sin nada sobre",
    "fi": "ei en et",
    "fr": "ne pas ni sans sur",
    "hu": "nem ne fel le ki be csak",
    "it": "non né senza su giù",
    "nl": "niet niets geen zonder op uit af aan",
    "no": "ikke ned opp ut uten av på",
    "pt": "não nem sem",
    "ru": "не нет ни без",
    "sv": "inte ej utan upp ner ut av på",
    "tr": "değil yok",
}
# "won't", "wont" and "does not" are one complaint.
_NEGATED = (
    "aint arent cannot cant couldnt didnt doesnt dont hadnt hasnt havent isnt neednt shouldnt wasnt werent wont wouldnt"
)
_ASCII_WORD = re.compile(r"[a-z]+")


@dataclass(frozen=True, slots=True)
class Language:
    """`code` is the primary subtag; `same` maps a word to the word it counts as.

    `joins`: an apostrophe vanishes (`won't`), else it parts words (`l'aile`).
    """

    code: str
    stops: frozenset[str]
    same: Mapping[str, str]
    joins: bool
    stems: bool

    @property
    def english(self) -> bool:
        """True for the language whose endings `words.js` can take off by itself."""
        return self.code == "en"

    def stem(self, word: str) -> str:
        """`word` without its ending, by the Snowball rules; as it is where there are none."""
        if not self.stems or (self.english and not _ASCII_WORD.fullmatch(word)):
            return word
        return _stem(self.code, word)


def language_of(tag: str) -> Language:
    """The language of a BCP 47 tag; one unknown here has no stop words and no endings."""
    code = tag.strip().lower().replace("_", "-").split("-")[0]
    code = {"nb": "no", "nn": "no"}.get(code, code)
    try:
        stops = frozenset(stopwords_for_language(code)) - set(_MEANT.get(code, "").split())
    except NoStopWords:
        stops = frozenset()
    same = dict.fromkeys(_NEGATED.split(), "not") if code == "en" else {}
    return Language(code, stops, same, joins=code == "en", stems=_stemmer(code) is not None)


@cache
def _stemmer(code: str) -> Callable[[str], str] | None:
    try:
        return stemmer_for_language(code)
    except NoStemmer:
        return None


@lru_cache(maxsize=100_000)
def _stem(code: str, word: str) -> str:
    stemmer = _stemmer(code)
    return stemmer(word) if stemmer else word


def singular(word: str) -> str:
    """An English word without the mark of the plural, not meant to be read: `switch`, `fus`.

    Equal words are compared by it, since a stem takes `repeat` and `repeater` for one word.
    """
    if word.endswith("ss"):
        return word
    return re.sub("y$", "i", re.sub("(es|s|e)$", "", word))
