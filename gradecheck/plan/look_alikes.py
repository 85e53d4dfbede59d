"""Names that look alike and are not: letters of another alphabet where Latin ones seem to stand.

Whoever types such a name on site types what is seen, and is told that there is no such point. The letters are those
of Greek and Russian keyboards that Unicode Technical Standard 39 calls confusable, from memory, and the wide ones.
"""

from __future__ import annotations

import re
import unicodedata

_CYRILLIC = dict(zip("АВЕЅІЈКМНОРСТУҮХԚԜ", "ABESIJKMHOPCTYYXQW", strict=True))
_GREEK = dict(zip("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX", strict=True))
_WIDE = {chr(code): chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F)}
_SEEN_AS = str.maketrans({**_CYRILLIC, **_GREEK, **_WIDE})
_ODD = {*_CYRILLIC, *map(str.lower, _CYRILLIC), *_GREEK, *"αικνορυχ", *_WIDE}
"""What is taken for a Latin letter; a small beta or mu is not."""


def seen_as(name: str) -> str:
    """What the name is taken for, whatever its capitals and its alphabet: two names that share it look alike."""
    return name.upper() if name.isascii() else name.casefold().upper().translate(_SEEN_AS)


def odd_letter(name: str) -> str | None:
    """The first letter of another alphabet that looks like a Latin one in a word with Latin ones, None without."""
    if name.isascii():
        return None
    for word in re.finditer(r"\w+", name):
        odd = next((letter for letter in word[0] if letter in _ODD), None)
        if odd is not None and any(_alphabet(letter) == "Latin" for letter in word[0]):
            return odd
    return None


def letter_in_words(letter: str) -> str:
    """``Cyrillic “а” (U+0430)``."""
    return f"{_alphabet(letter)} “{letter}” (U+{ord(letter):04X})"


def _alphabet(letter: str) -> str:
    return unicodedata.name(letter, "").partition(" ")[0].capitalize()
