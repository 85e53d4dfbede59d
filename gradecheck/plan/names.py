"""What may stand as a name or a text in a plan, wherever it comes from; said in one sentence where it may not."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from gradecheck.plan.look_alikes import drawn_letter, folded, letter_in_words, odd_letter, odd_mark

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
        return "A name is empty; give it one that can be painted on a stake."
    if name != name.strip():
        return f"“{name}” begins or ends with a space; write it without."
    if len(name) > LONGEST_NAME:
        return f"“{name[:LONGEST_NAME]}…” is longer than {LONGEST_NAME} characters; shorten it."
    if filler := next((c for c in name if c in FILLERS), None):
        return f"“{name}” has a character in it that looks like nothing (U+{ord(filler):04X}); write it without."
    if odd := odd_letter(name):
        return f"“{name}” has a {letter_in_words(odd)} among letters of another alphabet; type it in one alphabet."
    if drawn := drawn_letter(name):
        plain = unicodedata.normalize("NFKC", drawn)
        return f"“{name}” has a “{drawn}” (U+{ord(drawn):04X}) that looks like “{plain}”; type the plain letter."
    if mark := odd_mark(name):
        return f"“{name}” has a mark on a letter that can't be made out (U+{ord(mark):04X}); write it without."
    return None


def point_name_fault(name: str) -> str | None:
    """Why this can't be the name of a point or mark, which is typed where a reading can be; None where it can."""
    if fault := name_fault(name):
        return fault
    if not name[0].isalpha():
        return f"“{name}” could be taken for a reading; begin a point or mark with a letter."
    return None


def as_known(typed: str, known: Iterable[str]) -> str | None:
    """The name that is meant as it is spelt among those known: just so, or in other capitals or spaces."""
    name, own = one_form(typed.strip()), folded(typed)
    found = None
    for each in known:
        if each == name:
            return each
        if found is None and folded(each) == own:
            found = each
    return found


def hidden_in(text: str) -> int | None:
    """Where the first character stands that can't be seen or could command a terminal; a tab is one too."""
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
