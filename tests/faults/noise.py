"""Texts that nobody in his right mind would type or send: mutated, put together from words, and plain noise."""

from __future__ import annotations

import random
from collections.abc import Sequence

WORDS = (
    *("0", "1", "-1", "3/16", "1/0", "0/0", "9999999", "1e30000000", "10**10**10", ".", ",", "1,250", "-0.001"),
    *("in", "ft", "m", "mm", "MM", "yd", "deg", "arcsec", "%", "percent", "per", "'", '"', "in/ft", "mm/m", "$/yd^3"),
    *("ton/yd^3", "1:48", "1:0", "0:1", "-", "\N{MINUS SIGN}", "½", "⅜", "½½", "٣", "３", "²", "^3", "/", ":", ";"),
    *("true", "null", "~", "nan", "NaN", "inf", "-.inf", "Infinity", "0x1F", "1_000", "2024-01-01", "no", "<<"),
    *("from", "fall", "rise", "over", "at", "down", "riser", "W1", "DOOR", "walk", "finish", "job", "KERB"),
    *(" ", "  ", "\t", "\n", "\r\n", "\0", "\x1b[2J", "\x1b]52;c;AAAA\x07", "\u200b", "\u202e", "\ufeff", "\u2028"),
    *("\ud800", "\U0001f9f1", "[/]", "[@click=app.quit]A[/]", "../x", "=1+1", "@", "\\", "'''", '"""', "&a", "*a"),
    *("!!python/name:os.system", "---", "...", "|", ">", "- ", ": ", "? ", "{", "}", "[", "]", "[[[[", "#", "e5"),
)  # fmt: skip
"""Pieces of figures, units, YAML, CSV and JSON, and what has brought such readers down elsewhere."""


def phrase(draw: random.Random, words: Sequence[str] = WORDS, most: int = 7) -> str:
    """Some words one after the other, with a space between them or without."""
    return draw.choice(("", " ")).join(draw.choices(words, k=draw.randint(0, most)))


def characters(draw: random.Random, most: int = 40) -> str:
    """Characters from all over, halves of a pair among them as a terminal may hand them on."""
    highest = draw.choice((0x7F, 0x2FF, 0xFFFF, 0x10FFFF))
    return "".join(chr(draw.randint(0, highest)) for _ in range(draw.randint(0, most)))


def typed(draw: random.Random, sound: Sequence[str]) -> str:
    """What might come from a keyboard, a pipe or a paste: a sound text spoiled, words, noise, or far too much."""
    way = draw.random()
    if way < 0.45:
        return spoiled(draw, draw.choice(sound), times=draw.randint(0, 3))
    if way < 0.85:
        return phrase(draw)
    if way < 0.99:
        return characters(draw)
    return (phrase(draw) or "9") * draw.choice((40, 3_000))


def spoiled(draw: random.Random, text: str, times: int = 1) -> str:
    """The text with so many changes: a piece cut out, put in, put elsewhere, repeated, or another character."""
    for _ in range(times):
        first = draw.randint(0, len(text))
        last = min(len(text), first + draw.choice((0, 1, 1, 2, 8, 40)))
        piece = text[first:last]
        match draw.randrange(6):
            case 0:
                text = text[:first] + text[last:]
            case 1:
                text = text[:first] + draw.choice(WORDS) + text[last:]
            case 2:
                text = text[:first] + piece * 40 + text[last:]
            case 3:
                other = draw.randint(0, len(text))
                text = text[:other] + piece + text[other:]
            case 4:
                text = text[:first] + characters(draw, 3) + text[last:]
            case _:
                lines = text.split("\n")
                lines.insert(draw.randint(0, len(lines)), draw.choice(lines))
                del lines[draw.randrange(len(lines))]
                text = "\n".join(lines)
    return text


def spoiled_bytes(draw: random.Random, content: bytes, times: int = 1) -> bytes:
    """The content with so many changes to bytes: others, cut out, put in, cut short, repeated."""
    for _ in range(times):
        first = draw.randint(0, len(content))
        last = min(len(content), first + draw.choice((1, 1, 4, 100, 4096)))
        match draw.randrange(5):
            case 0:
                content = content[:first] + content[last:]
            case 1:
                content = content[:first] + draw.randbytes(last - first) + content[last:]
            case 2:
                content = content[:first] + content[first:last] * 2 + content[last:]
            case 3:
                content = content[:first]
            case _:
                content = content[:first] + b"\xff" * (last - first) + content[last:]
    return content
