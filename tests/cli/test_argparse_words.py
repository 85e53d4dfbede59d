"""What argparse says itself is Spanish too, and `--language` goes before all that names another."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from gradecheck.cli import argparse_words
from gradecheck.cli.run import main
from tests.languages import speaking

WRONG = [
    (("read",), "gradecheck read: error: falta: JOB"),
    (("read", "x", "P1=3", "--bogus"), "gradecheck: error: no se reconoce: --bogus"),
    (("report", "x", "--paper", "a9"), "argumento --paper: 'a9' no se puede escoger (escoja entre 'letter', 'a4')"),
    (("read", "x", "P1=3", "--by"), "argumento --by: le falta su valor"),
    (("read", "x", "P1=3", "--json=3"), "argumento --json: no lleva valor: '3'"),
]
ENGLISH = (
    "usage:",
    "argument ",
    "expected",
    "invalid",
    "required",
    "unrecognized",
    "ignored",
    "options:",
    "show this",
)


@pytest.mark.parametrize(("given", "says"), WRONG, ids=lambda each: " ".join(each) if type(each) is tuple else "")
def test_wrong_arguments_are_refused_in_spanish(
    given: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with speaking("es"), pytest.raises(SystemExit):
        main(given)
    told = capsys.readouterr().err
    assert told.startswith("uso: gradecheck ")
    assert says in told
    assert [word for word in ENGLISH if word in told] == []


def test_the_words_are_those_of_argparse() -> None:
    source = Path(str(argparse_words.argparse.__file__)).read_text(encoding="utf-8")
    newer = {each for each in argparse_words.WORDS if "maybe you meant" in each}
    of_old = [each for each in argparse_words.WORDS if each not in newer]
    assert [each for each in of_old if each.replace("\n", "\\n") not in source] == []


@pytest.mark.parametrize(
    ("given", "machine", "begins"),
    [
        (["--language", "es", "read"], "en", "uso: "),
        (["read", "--language=ES"], "en", "uso: "),
        (["--language", "en", "read"], "es", "usage: "),
        (["read"], "es", "uso: "),
        (["--language", "fr", "read"], "en", "--language is en or es, not “fr”."),
        (["read", "--language"], "es", "--language es en (inglés) o es (español), no “”."),
    ],
    ids=lambda each: " ".join(each) if type(each) is list else str(each)[:9],
)
def test_the_option_goes_before_what_the_machine_speaks(given: list[str], machine: str, begins: str) -> None:
    environ = {**os.environ, "GRADECHECK_LANGUAGE": machine}
    ran = subprocess.run(
        [sys.executable, "-m", "gradecheck", *given], env=environ, capture_output=True, text=True, check=False
    )
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.startswith(begins)
