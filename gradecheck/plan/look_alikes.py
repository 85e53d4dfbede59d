"""Names that look alike and are not: letters of another alphabet where Latin ones seem to stand, 1 and l, O and 0.

Whoever types such a name on site types what is seen, and is told that there is no such point. What looks alike, and
when the letters of a word belong together, is as Unicode Technical Standard 39, Unicode Security Mechanisms, has it
(https://www.unicode.org/reports/tr39/).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Generic, TypeVar

T = TypeVar("T")

_ASCII = str.maketrans({"0": "O", "1": "l", "I": "l", "|": "l", "m": "rn"})
_EAST_ASIAN = ("Cjk", "Ideographic", "Hiragana", "Katakana", "Katakana-hiragana")
_TOGETHER = tuple(
    frozenset({"Latin", *_EAST_ASIAN[:2], *more}) for more in (_EAST_ASIAN[2:], ("Hangul",), ("Bopomofo",))
)
"""Alphabets that are written in one word (section 5.2, highly restrictive)."""
_NO_ALPHABET = {"Modifier", "Combining", "Superscript", "Subscript"}
_DOTTED = frozenset("ij")
MOST_MARKS = 4
"""Marks over or under one letter; more of them nobody reads (section 5.4)."""


def folded(name: str) -> str:
    """The name as it is compared: in any capitals, with one kind of space, each letter in one form (NFKC)."""
    if not name.isascii():
        name = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    return " ".join(name.casefold().split())


def odd_letter(name: str) -> str | None:
    """The first letter that is of another alphabet than the word it stands in, None without."""
    if name.isascii():
        return None
    for word in _words(unicodedata.normalize("NFKC", name)):
        alphabets = {_alphabet(c) for c in word if c.isalpha() and not _is_sign(c)} - _NO_ALPHABET
        if len(alphabets) > 1 and not any(alphabets <= together for together in _TOGETHER):
            first = next(c for c in word if _alphabet(c) in alphabets)
            own = "Latin" if "Latin" in alphabets else _alphabet(first)
            others = (c for c in word if c.isalpha() and _alphabet(c) not in (own, *_NO_ALPHABET))
            return next(c for c in others if not _is_sign(c))
    return None


def drawn_letter(name: str) -> str | None:
    """The first letter that is another one drawn wide, bold or in a script of its own, None without."""
    if name.isascii():
        return None
    drawn = ("<wide>", "<font>")
    return next((c for c in name if c.isalpha() and unicodedata.decomposition(c).startswith(drawn)), None)


def odd_mark(name: str) -> str | None:
    """The first mark that can't be told from none: one put twice, too many, a dot over an i; None without."""
    if name.isascii():
        return None
    row: list[str] = []
    for c in unicodedata.normalize("NFD", name):
        if unicodedata.category(c) != "Mn":
            row = [c]
            continue
        dotted = c == "\N{COMBINING DOT ABOVE}" and row[:1] and row[0] in _DOTTED and len(row) == 1
        if c in row[1:] or len(row) > MOST_MARKS or dotted:
            return c
        row.append(c)
    return None


def letter_in_words(letter: str) -> str:
    """``Cyrillic “а” (U+0430)``."""
    return f"{_alphabet(letter)} “{letter}” (U+{ord(letter):04X})"


class Seen(Generic[T]):
    """Names that are taken, each with what is known of it; found again by whatever looks like them."""

    def __init__(self) -> None:
        self._by_look: dict[tuple[str, str], list[tuple[str, T]]] = {}
        self._by_name: dict[str, tuple[str, T]] = {}
        self._not_looked_at: list[tuple[str, T]] = []
        self._is_ascii = True

    def add(self, name: str, about: T) -> None:
        """Takes the name; the first of two that are one stays."""
        taken = (name, about)
        if self._by_name.setdefault(folded(name), taken) is taken:
            self._not_looked_at.append(taken)
            self._is_ascii &= name.isascii()

    def same(self, name: str) -> tuple[str, T] | None:
        """The name that this one is, whatever its capitals and spaces."""
        return self._by_name.get(folded(name))

    def alike(self, name: str) -> tuple[str, T] | None:
        """The first name in other letters that looks like this one, where those are of another alphabet."""
        if self._is_ascii and name.isascii():
            return None
        written = _alphabets(name)
        return next((each for each in self._like(name) if _alphabets(each[0]) != written), None)

    def nearly(self, name: str) -> tuple[str, T] | None:
        """The first name that looks like this one in the same alphabet."""
        written = _alphabets(name)
        return next((each for each in self._like(name) if _alphabets(each[0]) == written), None)

    def _like(self, name: str) -> Iterator[tuple[str, T]]:
        for taken in self._not_looked_at:
            for look in looks(taken[0]):
                self._by_look.setdefault(look, []).append(taken)
        self._not_looked_at.clear()
        own = folded(name)
        for look in looks(name):
            yield from (each for each in self._by_look.get(look, ()) if folded(each[0]) != own)


def looks(name: str) -> set[tuple[str, str]]:
    """What the name is taken for as it stands, and painted in capitals or small: names that share one look alike."""
    name = " ".join(unicodedata.normalize("NFKC", name).split())
    return {("as it is", _skeleton(name)), ("large", _skeleton(name.upper())), ("small", _skeleton(name.lower()))}


def _skeleton(name: str) -> str:
    """As section 4 of the standard makes it."""
    if not name.isascii():
        whole = unicodedata.normalize("NFD", unicodedata.normalize("NFKC", name))
        name = unicodedata.normalize("NFD", whole.translate(_taken_for()))
    return name.translate(_ASCII)


@cache
def _taken_for() -> dict[int, str]:
    from gradecheck.plan.confusables import TAKEN_FOR  # few names need it

    return {ord(c): seen_as for seen_as, letters in TAKEN_FOR.items() for c in letters}


def _words(name: str) -> Iterator[str]:
    word = ""
    for c in name:
        if c.isalnum() or c == "_" or unicodedata.category(c)[0] == "M":
            word += c
        elif word:
            yield word
            word = ""
    if word:
        yield word


def _is_sign(letter: str) -> bool:
    """Whether it is a Greek letter that is taken for no Latin one, such as delta or omega: a sign of engineers."""
    return _alphabet(letter) == "Greek" and not _skeleton(letter).isascii()


def _alphabets(name: str) -> frozenset[str]:
    """The alphabets of its letters and figures; those of ASCII are Latin."""
    if name.isascii():
        return frozenset({"Latin"})
    return frozenset("Latin" if c.isascii() else _alphabet(c) for c in name if c.isalnum()) - _NO_ALPHABET


def _alphabet(letter: str) -> str:
    """The first word of what Unicode calls it: Python knows no scripts."""
    return unicodedata.name(letter, "").partition(" ")[0].capitalize()
