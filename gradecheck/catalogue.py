"""What people read goes through here: each sentence is marked where it is written, with its fields by name.

`python -m tests.sentences` prints them all, module by module. Stored words, names and JSON keys are not marked.
The language is chosen when the first sentence is looked up, so texts that stand in classes and tables come out in it
too; in English nothing is loaded.
"""

from __future__ import annotations

import os
from _thread import get_ident  # as `threading` has it, which takes long to load

TYPE_CHECKING = False  # importing that of `typing` takes a third of what the help takes
if TYPE_CHECKING:
    import re
    from collections.abc import Callable, Mapping
    from gettext import GNUTranslations
    from typing import Any, TypeVar

    F = TypeVar("F", bound=Callable[..., Any])

LOCALE = os.path.join(os.path.dirname(__file__), "locale")
"""The folder with the template of all sentences, and each language's own in a folder below."""

_names_a_key: re.Pattern[str] | None = None
_named: Mapping[str, str] = {}


def _(sentence: str, /, **fields: object) -> str:
    """The sentence as it is read, its fields filled in. Without fields, braces stand for themselves."""
    found = _translations.sentences()
    if found is not None and sentence:
        sentence = found.gettext(sentence)
        if "stage" in fields:
            fields["stage"] = stage_word(str(fields["stage"]))
    if _names_a_key is not None:
        sentence = with_keys(sentence)
    return sentence.format(**fields) if fields else sentence


def name_keys(names: Mapping[str, str]) -> None:
    """From here on sentences name those keys otherwise, as ``{"F4": "F10"}``; what is filled into them is let be."""
    global _names_a_key, _named
    _named, _names_a_key = names, None
    if names:
        import re

        every = "|".join(map(re.escape, names))
        _names_a_key = re.compile(rf"(?<![\w+])(?<!F1 to )(?:{every})(?![\w+]|\}}| to F12)")


def with_keys(text: str) -> str:
    """The text with each key named as it is now."""
    return text if _names_a_key is None else _names_a_key.sub(lambda found: _named[found[0]], text)


def plural(number: int, one: str, many: str, /, **fields: object) -> str:
    """One of two sentences, by the number they speak of; both may name it as {n}."""
    found = _translations.sentences()
    sentence = (one if number == 1 else many) if found is None else found.ngettext(one, many, 1 if number == 1 else 2)
    return with_keys(sentence).format(n=number, **fields)


def count(number: int, thing: str, things: str = "", /) -> str:
    """``1 point``, ``2 points``: the short form of `plural`; `things` is given where an s does not make it."""
    return plural(number, "{n} " + thing, "{n} " + (things or thing + "s"))


def placed(place: str, sentence: str, /, **fields: object) -> str:
    """The sentence as it is read in that place, where one English word needs two in another language."""
    found = _translations.sentences()
    if found is not None:
        sentence = found.pgettext(place, sentence)
    return sentence.format(**fields) if fields else sentence


def stage_word(stage: str) -> str:
    """The name of a stage as it is read: the usual ones have a word in each language, stored and typed they have not.

    A field called ``stage`` is filled in with it by itself.
    """
    return stage if _translations.sentences() is None else _stage_words().get(stage, stage)


def _stage_words() -> dict[str, str]:
    return {
        "finish": placed("stage", "finish"),
        "bedding": placed("stage", "bedding"),
        "mortar": placed("stage", "mortar"),
        "concrete": placed("stage", "concrete"),
        "base": placed("stage", "base"),
        "subbase": placed("stage", "subbase"),
        "subgrade": placed("stage", "subgrade"),
    }


def check_word(check: str) -> str:
    """The name of a check as it is read, or of what was held to a limit; stored and in JSON it stays English."""
    return check if _translations.sentences() is None else _check_words().get(check, check)


def _check_words() -> dict[str, str]:
    return {
        "falls": placed("check", "falls"),
        "fall": placed("check", "fall"),
        "running fall": placed("check", "running fall"),
        "cross fall": placed("check", "cross fall"),
        "plane": placed("check", "plane"),
        "ponding": placed("check", "ponding"),
        "flatness": placed("check", "flatness"),
        "steps": placed("check", "steps"),
        "treads": placed("check", "treads"),
        "ramp": placed("check", "ramp"),
        "level change": placed("check", "level change"),
        "gauged": placed("check", "gauged"),
        "places": placed("check", "places"),
        "layers": placed("check", "layers"),
        "accessible route": placed("check", "accessible route"),
        "codes": placed("check", "codes"),
        "squareness": placed("check", "squareness"),
        "over-dig": placed("check", "over-dig"),
        "undercut": placed("check", "undercut"),
        "lippage": placed("check", "lippage"),
        "above drain": placed("check", "above drain"),
        "risers in a flight": placed("check", "risers in a flight"),
        "riser": placed("check", "riser"),
        "neighbor risers": placed("check", "neighbor risers"),
        "largest less smallest riser": placed("check", "largest less smallest riser"),
        "tread": placed("check", "tread"),
        "tread fall": placed("check", "tread fall"),
        "deepest less narrowest tread": placed("check", "deepest less narrowest tread"),
        "landing": placed("check", "landing"),
        "landing fall": placed("check", "landing fall"),
        "total rise": placed("check", "total rise"),
        "drop": placed("check", "drop"),
        "rise of a ramp's run": placed("check", "rise of a ramp's run"),
    }


def stored(sentence: str, /, **fields: object) -> str:
    """The sentence as the log keeps it: in English whatever people read, which `translated` shows them."""
    return sentence.format(**fields) if fields else sentence


def in_english(function: F) -> F:
    """What the function makes is stored, or is for other programs, and so is in English."""
    from functools import wraps

    @wraps(function)
    def within(*given: object, **named: object) -> object:
        _translations.english.append(get_ident())
        try:
            return function(*given, **named)
        finally:
            _translations.english.remove(get_ident())

    return within  # type: ignore[return-value]  # called as the function is


def translated(text: str, *sentences: str) -> str:
    """A text that is stored as it is read: one of those sentences, or of all; what people typed is none of them."""
    found = _translations.sentences()
    if found is None or not text:
        return text
    if (whole := found.gettext(text)) != text:
        return whole
    patterns = map(_pattern, sentences) if sentences else _translations.patterns()
    fits = ((letters, sentence, fit) for letters, sentence, each in patterns if (fit := each.fullmatch(text)))
    _letters, sentence, fit = max(fits, key=lambda each: each[0], default=(0, "", None))
    if fit is None:
        return text
    fields = {
        name: check_word(translated(value)) if name in _FIELDS_WITH_SENTENCES else value
        for name, value in fit.groupdict().items()
    }
    return _(sentence, **fields)


_FIELDS_WITH_SENTENCES = ("a_foot", "check", "said", "slip", "squareness", "where", "why", "words")
"""Fields of stored sentences that hold others of the program's own."""
_LETTERS = 5
"""That a sentence has at least beside its fields, to be known again by them."""


def _pattern(sentence: str) -> tuple[int, str, re.Pattern[str]]:
    """How many letters a sentence has beside its fields, itself, and what fits it with its fields filled in."""
    import re
    from string import Formatter

    letters, pattern, seen = 0, "", set[str]()
    for text, field, _spec, _how in Formatter().parse(sentence):
        letters += sum(map(str.isalpha, text))
        pattern += re.escape(text)
        if field is not None and not field.isidentifier():  # braces that stand for themselves
            return 0, sentence, re.compile("")
        if field is not None:
            pattern += f"(?P={field})" if field in seen else f"(?P<{field}>.*)"
            seen.add(field)
    return letters, sentence, re.compile(pattern, re.DOTALL)


def not_reviewed() -> str:
    """What stands once on each paper and page of help that is not in English; empty in English."""
    return "" if language() == "en" else _("Not reviewed by a native speaker of the trade.")


def language() -> str:
    """The language of what people read, as ``en``."""
    return _translations.language()


class _Translations:
    """What sentences are looked up in, chosen when first asked."""

    def __init__(self) -> None:
        self._language = ""
        self._sentences: GNUTranslations | None = None
        self._patterns: list[tuple[int, str, re.Pattern[str]]] = []
        self.english: list[int] = []
        """The threads that make something in English just now."""

    def language(self) -> str:
        if not self._language:
            from gradecheck.language import chosen

            self.speak(chosen())
        return self._language

    def sentences(self) -> GNUTranslations | None:
        """The sentences of the language; None in English, where each stands for itself."""
        if not self._language:
            self.language()
        if self.english and get_ident() in self.english:
            return None
        return self._sentences

    def patterns(self) -> list[tuple[int, str, re.Pattern[str]]]:
        """What fits each sentence that has fields and enough beside them."""
        if not self._patterns and self._sentences is not None:
            every = (each for each in self._sentences._catalog if isinstance(each, str) and "{" in each)  # type: ignore[attr-defined]
            self._patterns = [each for each in map(_pattern, every) if each[0] >= _LETTERS]
        return self._patterns

    def speak(self, language: str) -> None:
        sentences = None
        if language != "en":
            import gettext

            try:
                sentences = gettext.translation("gradecheck", LOCALE, [language])
            except OSError:  # a file that is gone or can't be read is no reason to say nothing
                language = "en"
        self._sentences = sentences
        self._language = language  # last: what is asked from another thread finds both


_translations = _Translations()
