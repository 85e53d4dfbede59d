"""Which language people read: what the settings name, else what the machine does, else English."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from gradecheck import language
from gradecheck.system import settings

MACHINES = [
    ({}, "en"),
    ({"LANG": "es_MX.UTF-8"}, "es"),
    ({"LANG": "es"}, "es"),
    ({"LANG": "es-US"}, "es"),
    ({"LANG": "ES_us"}, "es"),
    ({"LANG": "est_EE.UTF-8"}, "en"),
    ({"LANG": "C.UTF-8"}, "en"),
    ({"LANG": "de_DE.UTF-8"}, "en"),
    ({"LANG": "es_MX.UTF-8", "LC_MESSAGES": "en_US.UTF-8"}, "en"),
    ({"LANG": "en_US.UTF-8", "LC_MESSAGES": "es_US.UTF-8"}, "es"),
    ({"LC_MESSAGES": "es_US.UTF-8", "LC_ALL": "C"}, "en"),
    ({"LC_ALL": "en_US.UTF-8", "LANGUAGE": "es"}, "es"),
    ({"LANGUAGE": "en:es"}, "en"),
    ({"LANGUAGE": "es:en"}, "es"),
    ({"LANGUAGE": "fr:es:en"}, "es"),
    ({"LANGUAGE": "fr", "LANG": "es_MX.UTF-8"}, "en"),
    ({"LANGUAGE": "", "LANG": "es_MX.UTF-8"}, "es"),
]


@pytest.mark.parametrize(("variables", "wanted"), MACHINES)
def test_the_first_language_of_the_machine_that_is_known_counts(variables: dict[str, str], wanted: str) -> None:
    assert language.of_machine(variables) == wanted


@pytest.mark.parametrize(
    ("number", "wanted"),
    # Of Microsoft's table of language identifiers: es-ES, es-MX, es-US, en-US, pt-BR.
    [(0x0C0A, "es"), (0x080A, "es"), (0x540A, "es"), (0x0409, "en"), (0x0416, "en")],
)
def test_windows_is_asked_where_no_variable_is_set(number: int, wanted: str) -> None:
    assert language._of_number(number) == wanted
    assert language.of_machine({}, lambda: language._of_number(number)) == wanted
    assert language.of_machine({"LANG": "en_US"}, lambda: "es") == "en"


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (["read", "JOB", "P1", "3", "--json"], True),
        (["--js", "log"], True),
        (["schema", "-o", "job.json"], True),
        (["log", "JOB", "--csv"], True),
        (["asbuilt", "JOB", "-o", "built.DXF"], True),
        (["review", "JOB", "--left", "--output=left.csv"], True),
        (["review", "JOB", "--left", "--out", "left.csv"], True),
        (["day", "JOB", "-oday.json"], True),
        (["day", "JOB", "-o", "day.pdf"], False),
        (["day", "JOB", "--output=day.pdf"], False),
        (["note", "JOB", "--", "--json"], False),
        (["import", "JOB", "points.csv"], False),
        (["log", "JOB"], False),
        (["--", "-"], False),
        (["log", "--join"], False),
    ],
)
def test_what_programs_read_is_english(arguments: list[str], wanted: bool) -> None:
    assert language.for_programs(arguments) == wanted


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """A machine that speaks Spanish, and settings that say nothing."""
    for name in (language.CHOICE, *language.VARIABLES):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "es_US.UTF-8")
    monkeypatch.setattr(sys, "argv", ["gradecheck"])
    return monkeypatch


def test_the_settings_go_before_the_machine_and_the_variable_before_both(machine: pytest.MonkeyPatch) -> None:
    file = settings.folder() / "settings.toml"
    file.parent.mkdir(exist_ok=True)
    assert language.chosen() == "es"
    file.write_text('theme = "sun"\nlanguage = "en"\n', encoding="utf-8")
    assert language.chosen() == settings.read_settings().language == "en"
    machine.setenv(language.CHOICE, "es")
    assert language.chosen() == "es"
    machine.setenv(language.CHOICE, "fr")
    assert language.chosen() == "en"


@pytest.mark.parametrize("text", ['language = "fr"', "language = 3", "language = ", "# language", "\xff"])
def test_settings_that_name_no_language_leave_it_to_the_machine(machine: pytest.MonkeyPatch, text: str) -> None:
    file = settings.folder() / "settings.toml"
    file.parent.mkdir(exist_ok=True)
    file.write_bytes(text.encode("latin-1"))
    assert language.chosen() == "es"


@pytest.mark.parametrize("config", ["", " ", "/somewhere/else"])
def test_the_settings_are_looked_for_where_they_are(machine: pytest.MonkeyPatch, config: str) -> None:
    machine.delenv("GRADECHECK_SETTINGS")
    machine.setenv("XDG_CONFIG_HOME", config)
    assert Path(language._folder()) == settings.folder()


def test_in_english_nothing_is_loaded_to_look_sentences_up() -> None:
    code = (
        "import sys; from gradecheck.catalogue import _, count; _('Saved.'), count(2, 'point');"
        "print([n for n in ('gettext', 'tomllib', 'platformdirs', 'typing') if n in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
