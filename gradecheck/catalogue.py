"""What people read goes through here: each sentence is marked where it is written, with its fields by name.

`python -m tests.sentences` prints them all, module by module. Stored words, names and JSON keys are not marked.
"""

from __future__ import annotations


def _(sentence: str, /, **fields: object) -> str:
    """The sentence as it is read, its fields filled in. Without fields, braces stand for themselves."""
    return sentence.format(**fields) if fields else sentence


def plural(number: int, one: str, many: str, /, **fields: object) -> str:
    """One of two sentences, by the number they speak of; both may name it as {n}."""
    return _(one if number == 1 else many, n=number, **fields)


def count(number: int, thing: str, things: str = "", /) -> str:
    """``1 point``, ``2 points``: the short form of `plural`; `things` is given where an s does not make it."""
    return plural(number, "{n} " + thing, "{n} " + (things or thing + "s"))
