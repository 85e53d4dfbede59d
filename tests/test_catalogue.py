"""The catalogue looks sentences up whole; its files hold what is marked, and Spanish loses nothing of it."""

from __future__ import annotations

import gettext
import io

import pytest

from gradecheck import catalogue
from gradecheck.catalogue import _, count, placed, plural
from tests.languages import SPANISH, Translated, compiled, read, written
from tests.sentences import Entry, entries

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
    monkeypatch.setattr(catalogue._told, "_sentences", found)
    monkeypatch.setattr(catalogue._told, "_language", "es")


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
    with catalogue.speaking("es"):
        assert catalogue.language() == "es"
        with catalogue.speaking("en"):
            assert catalogue.language() == "en"
        assert catalogue.language() == "es"
    assert catalogue.language() == "en"


def test_a_language_whose_file_is_gone_is_english(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(catalogue, "LOCALE", "/nowhere")
    with catalogue.speaking("es"):
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


def test_a_call_of_the_catalogue_is_found_as_it_is_looked_up() -> None:
    every = entries()
    assert Entry("{n} point", "{n} points") in every
    assert all(each.one for each in every)
