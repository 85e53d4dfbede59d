"""What may stand as a name or a text in a plan, wherever it comes from, and which names are one or look alike."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from functools import cache
from typing import Generic, TypeVar

from gradecheck.catalogue import _

LONGEST_NAME = 24
"""Characters that a stake has room for."""
LONGEST_TEXT = 120
"""Characters of a note or title, and of a cell in a list."""

INVISIBLE = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
"""Kinds of characters, as Unicode names them, that can't be seen or could command a terminal."""

FILLERS = frozenset("\u115f\u1160\u2800\u3164\uffa0\u034f\u17b4\u17b5\u180b\u180c\u180d\u180f").union(
    map(chr, (*range(0xFE00, 0xFE10), *range(0xE0100, 0xE01F0)))
)
"""Letters and signs drawn as nothing: fillers of Hangul syllables, the empty Braille pattern, joiners and selectors
of other drawings (Unicode, Default_Ignorable_Code_Point)."""


def name_fault(name: str) -> str | None:
    """Why this can't be a name, or None where it can."""
    if not name.strip():
        return _("A name is empty; give it one that can be painted on a stake.")
    if name != name.strip():
        return _("“{name}” begins or ends with a space; write it without.", name=name)
    if len(name) > LONGEST_NAME:
        return _(
            "“{name}…” is longer than {most} characters; shorten it.",
            name=name[:LONGEST_NAME],
            most=LONGEST_NAME,
        )
    if filler := next((c for c in name if c in FILLERS), None):
        return _(
            "“{name}” has a character in it that looks like nothing (U+{code:04X}); write it without.",
            name=name,
            code=ord(filler),
        )
    if odd := odd_letter(name):
        return _(
            "“{name}” has a {letter_in_words} among letters of another alphabet; type it in one alphabet.",
            name=name,
            letter_in_words=letter_in_words(odd),
        )
    if drawn := drawn_letter(name):
        plain = unicodedata.normalize("NFKC", drawn)
        return _(
            "“{name}” has a “{drawn}” (U+{code:04X}) that looks like “{plain}”; type the plain letter.",
            name=name,
            drawn=drawn,
            code=ord(drawn),
            plain=plain,
        )
    if mark := odd_mark(name):
        return _(
            "“{name}” has a mark on a letter that can't be made out (U+{code:04X}); write it without.",
            name=name,
            code=ord(mark),
        )
    return None


def point_name_fault(name: str) -> str | None:
    """Why this can't be the name of a point or mark, which is typed where a reading can be; None where it can."""
    if fault := name_fault(name):
        return fault
    if not name[0].isalpha():
        return _("“{name}” could be taken for a reading; begin a point or mark with a letter.", name=name)
    return None


def as_known(typed: str, known: Iterable[str]) -> str | None:
    """The known name that was typed: spelt the same, or with other capitals or spaces; None if there is none."""
    name, own = one_form(typed.strip()), folded(typed)
    found = None
    for each in known:
        if each == name:
            return each
        if found is None and folded(each) == own:
            found = each
    return found


def hidden_in(text: str) -> int | None:
    """The place of the first character that can't be seen or could command a terminal (a tab too); None without."""
    if text.isprintable():
        return None
    return next((place for place, c in enumerate(text) if unicodedata.category(c) in INVISIBLE), None)


def visible(text: str) -> str:
    """The text with every control and invisible character in it replaced by a visible one.

    A byte of a folder's name that is no UTF-8 stands there as ``\\xe9``: two names with other bytes look different.
    """
    if text.isprintable():
        return text
    # Of spaces only those that stand on one line are seen; the others end it.
    return "".join(c if c.isprintable() or unicodedata.category(c) == "Zs" else _shown(c) for c in text)


def _shown(c: str) -> str:
    # How Python hands on bytes that are no UTF-8 (PEP 383).
    return f"\\x{ord(c) - 0xDC00:02x}" if "\udc80" <= c <= "\udcff" else "\N{REPLACEMENT CHARACTER}"


def one_form(text: str) -> str:
    """The text with each letter and its accent in one piece, so that what looks alike is alike."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


T = TypeVar("T")

# Whoever types a name that looks like another types what is seen, and is told that there is no such point: letters of
# another alphabet where Latin ones seem to stand, 1 and l, O and 0. What looks alike, and when the letters of a word
# belong together, is as Unicode Technical Standard 39, Unicode Security Mechanisms, has it
# (https://www.unicode.org/reports/tr39/).

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
    """The first accent that can't be seen as one: put twice, too many, a dot over an i; None without."""
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


class NamesInUse(Generic[T]):
    """Names in use, each with a value; a name that looks like one of them finds it."""

    def __init__(self) -> None:
        self._by_look: dict[tuple[str, str], list[tuple[str, T]]] = {}
        self._by_name: dict[str, tuple[str, T]] = {}
        self._not_looked_at: list[tuple[str, T]] = []
        self._is_ascii = True

    def add(self, name: str, about: T) -> None:
        """Adds the name; of two equal names the first is kept."""
        taken = (name, about)
        if self._by_name.setdefault(folded(name), taken) is taken:
            self._not_looked_at.append(taken)
            self._is_ascii &= name.isascii()

    def same(self, name: str) -> tuple[str, T] | None:
        """The name that equals this one but for capitals and spaces, with its value."""
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
    """What the name looks like as it is, in capitals and in small letters; names that share one look alike."""
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
    """What each letter of other alphabets is taken for, by its code point."""
    from importlib.resources import files  # few names need it

    table: dict[int, str] = {}
    for line in (files("gradecheck") / "plan" / "look_alikes.txt").read_text(encoding="ascii").splitlines():
        if line and not line.startswith("#"):
            taken_for, letters = (part.split() for part in line.split(";"))
            table |= dict.fromkeys(
                (int(letter, 16) for letter in letters), "".join(chr(int(c, 16)) for c in taken_for)
            )
    return table


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
