"""The catalogue looks sentences up whole; its files hold what is marked, and Spanish loses nothing of it."""

from __future__ import annotations

import gettext
import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from string import Formatter

import pytest

from gradecheck import catalogue
from gradecheck.app.widgets.letters import large
from gradecheck.catalogue import _, count, in_english, placed, plural, stage_word, stored, translated
from gradecheck.cli.verbs import VERBS
from gradecheck.measure.verdict_words import Word
from tests.languages import SPANISH, TEMPLATE, Translated, compiled, read, speaking, written
from tests.sentences import Entry, entries

ROOT = Path(__file__).parents[1]
FILE = read(SPANISH.read_text(encoding="utf-8"))
"""The Spanish as it is."""

MADE_UP = {
    Entry("{point} is out."): Translated(("{point} está fuera.",)),
    Entry("{n} reading", "{n} readings"): Translated(("{n} lectura", "{n} lecturas")),
    Entry("{n} of {all} is out.", "{n} of {all} are out."): Translated(
        ("Falla {n} de {all}.", "Fallan {n} de {all}.")
    ),
    Entry("read"): Translated(("leer",)),
    Entry("read", place="column"): Translated(("medido",)),
    Entry('One "line"\n\tand \\ more '): Translated(("Un «renglón»\n\ty \\ más ",)),
    Entry("not yet"): Translated(("",)),
    Entry("doubtful"): Translated(("dudoso",), fuzzy=True),
}


@pytest.fixture
def made_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sentences that are looked up in a file of our own making, read by the standard library."""
    found = gettext.GNUTranslations(io.BytesIO(compiled(MADE_UP, "es")))
    monkeypatch.setattr(catalogue._translations, "_sentences", found)
    monkeypatch.setattr(catalogue._translations, "_language", "es")


@pytest.mark.usefixtures("made_up")
def test_sentences_are_looked_up_whole() -> None:
    assert _("{point} is out.", point="P1") == "P1 está fuera."
    assert [plural(n, "{n} of {all} is out.", "{n} of {all} are out.", all=9) for n in (1, 2)] == [
        "Falla 1 de 9.",
        "Fallan 2 de 9.",
    ]
    assert (_("read"), placed("column", "read"), placed("banner", "read")) == ("leer", "medido", "read")
    assert _('One "line"\n\tand \\ more ') == "Un «renglón»\n\ty \\ más "
    assert (_("not yet"), _("doubtful"), _("not in it, {name}", name="{x}"), _("")) == (
        "not yet",
        "doubtful",
        "not in it, {x}",
        "",
    )


@pytest.mark.usefixtures("made_up")
@pytest.mark.parametrize(
    ("number", "wanted"),
    [(0, "0 lecturas"), (1, "1 lectura"), (2, "2 lecturas"), (1_000_000, "1000000 lecturas")],
)
def test_a_number_has_one_of_two_forms(number: int, wanted: str) -> None:
    assert count(number, "reading") == plural(number, "{n} reading", "{n} readings") == wanted


def test_in_english_a_sentence_stands_for_itself() -> None:
    assert catalogue.language() == "en"
    assert (_("{point} is out.", point="P1"), _("{braces}"), placed("column", "read")) == (
        "P1 is out.",
        "{braces}",
        "read",
    )
    assert [count(n, "reading") for n in (0, 1, 2)] == ["0 readings", "1 reading", "2 readings"]


def test_another_language_is_spoken_within_and_no_longer() -> None:
    with speaking("es"):
        assert catalogue.language() == "es"
        with speaking("en"):
            assert catalogue.language() == "en"
        assert catalogue.language() == "es"
    assert catalogue.language() == "en"


def test_a_language_whose_file_is_gone_is_english(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(catalogue, "LOCALE", "/nowhere")
    with speaking("es"):
        assert (catalogue.language(), count(2, "point")) == ("en", "2 points")


# -- the files


def test_a_file_is_read_as_it_was_written() -> None:
    where = {each: ["app/app.py", "cli/run.py"] for each in MADE_UP}
    assert read(written(MADE_UP, where, "es")) == MADE_UP


def test_a_file_that_an_editor_wrapped_is_read() -> None:
    text = """# by hand
msgid ""
msgstr "Language: es\\n"

#. a remark
#, fuzzy
#| msgid "Save"
msgid ""
"Saved "
"now."
msgstr "Guardado."
#~ msgid "gone"
#~ msgstr "ido"
"""
    assert read(text) == {Entry("Saved now."): Translated(("Guardado.",), fuzzy=True)}


def test_what_gettext_reads_is_what_people_edited() -> None:
    assert SPANISH.with_suffix(".mo").read_bytes() == compiled(FILE, "es")


def test_the_form_of_a_plural_is_chosen_by_two() -> None:
    with SPANISH.with_suffix(".mo").open("rb") as file:
        found = gettext.GNUTranslations(file)
    assert found.info()["plural-forms"] == "nplurals=2; plural=(n != 1);"  # babel's own for Spanish has three


def test_every_sentence_has_its_spanish() -> None:
    # `python -m tests.sentences --po` makes a place for each new one, here or in an editor of translations.
    every = entries()
    assert [each for each in every if each not in FILE or not FILE[each].done] == []
    assert [each for each in FILE if each not in every] == []
    assert TEMPLATE.read_text(encoding="utf-8") == written(
        {each: Translated(("", "") if each.many else ("",)) for each in every}, every, ""
    )


def test_a_call_of_the_catalogue_is_found_as_it_is_looked_up() -> None:
    every = entries()
    assert Entry("{n} point", "{n} points") in every
    assert all(each.one for each in every)


def _fields(text: str) -> set[str]:
    return {field for _text, field, _spec, _how in Formatter().parse(text) if field is not None}


def _blanks(text: str) -> tuple[int, int]:
    return len(text) - len(text.lstrip()), len(text) - len(text.rstrip())


def _with_their_english() -> Iterator[tuple[str, str, bool]]:
    """Each Spanish text with the English it stands for, and whether that is one of a plural."""
    for entry, text in FILE.items():
        yield from zip((entry.one, entry.many), text.texts, (bool(entry.many),) * len(text.texts), strict=False)


_BRACES = re.compile(r"[{][^}]*[^\w}][^}]*[}]|[{][}]")
"""Braces that stand for themselves, or a field with more than its name."""
_PERCENT = re.compile(r"%\(\w+\)[sr]|%[sr]\b")
"""Fields of argparse's own sentences."""
_KEYS = re.compile(rf"\b(?:F\d+|Enter|Ctrl\+\w|gradecheck (?:{'|'.join(VERBS)})\b)|--[a-z-]+|\w+\.(?:yaml|toml|csv)")


def test_spanish_loses_no_field_no_blank_and_no_key() -> None:
    lost = []
    for english, spanish, several in _with_their_english():
        if not _BRACES.search(english):
            wanted, given = _fields(english), _fields(spanish)
            if given - {"n"} != wanted - {"n"} if several else given != wanted:
                lost.append((english, spanish))
        if sorted(_PERCENT.findall(english)) != sorted(_PERCENT.findall(spanish)):
            lost.append((english, spanish))
        if _blanks(english) != _blanks(spanish) and spanish:
            lost.append((english, spanish))
        said = set(_KEYS.findall(english)) - ({"Enter"} if english.startswith("Enter the ") else set())
        if spanish and not said <= set(_KEYS.findall(spanish)):
            lost.append((english, spanish))
    assert lost == []


FORBIDDEN = re.compile(
    r"\b(grados?|tú|tus?|haz|pon|oprime|revise tu|clics?|cliquee|pulse|hacer clic)\b", re.IGNORECASE
)
"""An angle's degree is no grade, nobody is called tú, and nothing is clicked."""


def test_spanish_says_usted_and_never_grado() -> None:
    assert [spanish for _english, spanish, _several in _with_their_english() if FORBIDDEN.search(spanish)] == []


@pytest.mark.parametrize("word", ["CUT", "FILL", "ON GRADE"])
def test_the_large_words_have_room_and_a_letter_for_each_of_theirs(word: str) -> None:
    with speaking("es"):
        (line, *_rest) = large(_(word), 63, 5)
    assert 0 < len(line) <= 63


def test_what_is_stored_is_english_and_is_shown_in_the_readers_language() -> None:
    with speaking("es"):
        said = stored("no. {seq} corrected: {reason}", seq=5, reason="clod under the rod")
        assert said == "no. 5 corrected: clod under the rod"
        assert translated(said, "no. {seq} corrected: {reason}") == "núm. 5 corregida: clod under the rod"
        assert translated("rain at noon", "no. {seq} corrected: {reason}") == "rain at noon"
        assert (Word.CUT.value, Word.CUT.shown) == ("CUT", "CORTE")
        assert in_english(lambda: _("in doubt"))() == "in doubt"
        assert (_("in doubt"), stage_word("subgrade"), stage_word("rolled clay")) == (
            "en duda",
            "subrasante",
            "rolled clay",
        )
        # Looked for among all sentences: some hold braces that stand for themselves, and are none of them.
        assert translated("no. 5 corrected: clod") == "núm. 5 corregida: clod"
        assert translated("the pump, {…} and {}") == "the pump, {…} and {}"
    assert translated("no. 5 corrected: clod", "no. {seq} corrected: {reason}") == "no. 5 corrected: clod"


@pytest.mark.thorough
def test_the_same_day_is_the_same_log_in_both_languages(tmp_path: Path) -> None:
    logs = []
    for language in ("en", "es"):
        made = tmp_path / language
        job = str(ROOT / "jobs" / "quince-street")
        command = [sys.executable, "-m", "gradecheck", "rehearse", job, "-o", str(made)]
        ran = subprocess.run(
            [*command, "--day", "2031-05-13", "--readings", "40", "--seed", "7"],
            env={**os.environ, "GRADECHECK_LANGUAGE": language}, capture_output=True, text=True, check=True, cwd=ROOT,
        )  # fmt: skip
        assert ("Ensayo" if language == "es" else "Rehearsal") in ran.stdout
        logs.append((made / "journal.db").read_bytes())
    assert logs[0] == logs[1]
