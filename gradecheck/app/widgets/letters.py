"""Large letters of our own, 3 pixels by 5, drawn with half blocks in several sizes; read from a machine's seat."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

HEIGHT = 5
"""Pixels of every letter."""

_FACE = {
    "A": "### #.# ### #.# #.#",
    "Á": "..# ... .#. ### #.#",
    "B": "##. #.# ##. #.# ##.",
    "C": "### #.. #.. #.. ###",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "É": "..# ... ### ##. ###",
    "F": "### #.. ##. #.. #..",
    "G": "#### #... #.## #..# ####",
    "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #",
    "Í": ".# .. #. #. #.",
    "J": "..# ..# ..# #.# ###",
    "K": "#.# #.# ##. #.# #.#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "Ñ": "#### .... ##.# #.## #..#",
    "O": "### #.# #.# #.# ###",
    "Ó": "..# ... ### #.# ###",
    "P": "### #.# ### #.. #..",
    "Q": "### #.# #.# ### ..#",
    "R": "##. #.# ##. #.# #.#",
    "S": "### #.. ### ..# ###",
    "T": "### .#. .#. .#. .#.",
    "U": "#.# #.# #.# #.# ###",
    "Ú": "..# ... #.# #.# ###",
    "Ü": "#.# ... #.# #.# ###",
    "V": "#.# #.# #.# #.# .#.",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#",
    "Y": "#.# #.# .#. .#. .#.",
    "Z": "### ..# .#. #.. ###",
    "0": "### #.# #.# #.# ###",
    "1": ".# ## .# .# .#",
    "2": "### ..# ### #.. ###",
    "3": "### ..# .## ..# ###",
    "4": "#.# #.# ### ..# ..#",
    "5": "### #.. ### ..# ###",
    "6": "### #.. ### #.# ###",
    "7": "### ..# ..# .#. .#.",
    "8": "### #.# ### #.# ###",
    "9": "### #.# ### ..# ###",
    "/": "..# ..# .#. #.. #..",
    "'": "# # . . .",
    '"': "#.# #.# ... ... ...",
    "+": "... .#. ### .#. ...",
    "-": "... ... ### ... ...",
    "−": "... ... ### ... ...",
    "=": "... ### ... ### ...",
    "±": ".#. ### .#. ... ###",
    ".": ". . . . #",
    ",": ". . . # #",
    ":": ". # . # .",
    "·": ". . # . .",
    "?": "### ..# .## ... .#.",
    "¿": ".#. ... ##. #.. ###",
    "!": "# # # . #",
    "¡": "# . # # #",
    "(": ".# #. #. #. .#",
    ")": "#. .# .# .# #.",
    "_": "... ... ... ... ###",
    "#": "#.# ### #.# ### #.#",
    "%": "#.# ..# .#. #.. #.#",
    "&": "##. #.# .#. #.# .##",
}
"""The pixels of each letter, row by row."""

SIZES = ((8, 10), (6, 8), (5, 6), (4, 5), (3, 4), (2, 3), (2, 2), (1, 2))
"""How many cells wide and half rows high a pixel is, the largest first."""

_APART = re.compile(r"(?<=[0-9]) (?=[0-9])")
"""The space between a whole number and its fraction: from afar 1 1/4 must not look like 11/4."""
_FROM_FRACTION = 4
"""Cells it takes at least; 3 where a pixel is one cell."""


@lru_cache(maxsize=256)
def large(text: str, width: int, rows: int, *, ascii_only: bool = False) -> tuple[str, ...]:
    """The text in the largest letters that have room in so many cells and rows, as lines of one length.

    Empty where none have, or where the face has no letter for something in the text.
    """
    pixels = _pixels(text)
    if pixels is None:
        return ()
    for wide, high in SIZES:
        if (HEIGHT * high + 1) // 2 > rows or (ascii_only and high % 2):
            continue
        for gap, space in ((wide, 2 * wide), (max(wide - 1, 1), 2 * wide), (max(wide - 1, 1), wide)):
            lines = _drawn(text, pixels, wide, gap, space)
            if len(lines[0]) <= width:
                return _in_half_rows(lines, high, "##" if ascii_only else "▀▄")
    return ()


def _pixels(text: str) -> list[list[str]] | None:
    """The rows of each letter; an accent that the face does not have is left off."""
    found = []
    for letter in unicodedata.normalize("NFC", text).upper():
        plain = unicodedata.normalize("NFD", letter)[0]
        rows = _FACE.get(letter) or _FACE.get(plain)
        if rows is None and not letter.isspace():
            return None
        found.append(rows.split() if rows else [])
    return found if any(found) else None


def _drawn(text: str, pixels: list[list[str]], wide: int, gap: int, space: int) -> list[str]:
    """One line of ``#`` and blanks for each row of pixels."""
    apart = {match.start() for match in _APART.finditer(text)}
    least = _FROM_FRACTION if wide > 1 else _FROM_FRACTION - 1
    lines = [""] * HEIGHT
    for at, letter in enumerate(pixels):
        before = gap if at and letter and pixels[at - 1] else 0
        blank = 0 if letter else max(gap + space + gap, least if at in apart else 0)
        for row in range(HEIGHT):
            drawn = "".join(("#" if pixel == "#" else " ") * wide for pixel in letter[row]) if letter else ""
            lines[row] += " " * (before + blank) + drawn
    return lines


def _in_half_rows(lines: list[str], high: int, halves: str) -> tuple[str, ...]:
    """The lines of pixels, each so many half rows high, two half rows to a line of the terminal."""
    full = "#" if halves == "##" else "█"
    tall = [line for line in lines for _ in range(high)]
    if len(tall) % 2:
        tall.append(" " * len(tall[0]))
    block = {("#", "#"): full, ("#", " "): halves[0], (" ", "#"): halves[1], (" ", " "): " "}
    pairs = zip(tall[::2], tall[1::2], strict=True)
    return tuple("".join(block[cell] for cell in zip(upper, lower, strict=True)) for upper, lower in pairs)
