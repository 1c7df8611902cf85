"""Small numbers and sorted words as few bytes: varints (7 bits a byte, low bits first), words front-coded."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator


def varint(value: int) -> bytes:
    """A number from 0 on."""
    data = bytearray()
    while value > 127:
        data.append(value & 127 | 128)
        value >>= 7
    return bytes([*data, value])


# No quote, backslash, control or delete character: bytes below 91 stay one byte in UTF-8, as most packed numbers do.
_LETTERS = "".join(chr(n + 35 + (n > 56) + 34 * (n > 90)) for n in range(256))


def letters(data: bytes) -> str:
    """A character for each byte, none of which needs an escape in a string: packs better than base64."""
    return data.decode("latin-1").translate(_LETTERS)


def word_after(before: str, word: str) -> bytes:
    """How many bytes a word shares with the one before it, how many follow, and these."""
    old, new = before.encode(), word.encode()
    shared = next((n for n in range(min(len(old), len(new))) if old[n] != new[n]), min(len(old), len(new)))
    rest = new[shared:]
    return varint(shared) + varint(len(rest)) + rest


def in_order(words: Iterable[str]) -> list[str]:
    """Words in the order in which JavaScript compares strings."""
    return sorted(words, key=lambda word: word.encode("utf-16-be"))


def shards(words: Iterable[str], of: Callable[[str], bytes], size: int) -> Iterator[tuple[list[str], bytes]]:
    """Words with what belongs to each, in parts of at least `size` bytes, except the last."""
    waiting = deque(words)
    while waiting:
        held, data = list[str](), bytearray()
        while waiting and len(data) < size:
            word = waiting.popleft()
            data += word_after(held[-1] if held else "", word) + of(word)
            held.append(word)
        yield held, bytes(data)
