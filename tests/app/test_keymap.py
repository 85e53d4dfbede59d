"""Keys that the settings give: they act, and F1, the line of keys, the palette, the guide and sentences name them."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.app.screens.keys import GuideScreen, KeysScreen
from gradecheck.app.screens.set_up import SetUpScreen
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.sheet import Sheet
from gradecheck.catalogue import _, name_keys
from gradecheck.cli import main
from gradecheck.system import settings
from gradecheck.system.settings import Settings
from tests.app.driving import Clock, check, point, press, readings, running, shown, words, write_job

KEYS = {"set-up": "f10", "undo": "ctrl+l", "left": "ctrl+z", "quit": "f11", "keys": "ctrl+o", "more": "f1"}


@pytest.fixture(autouse=True)
def keys_as_they_were() -> Iterator[None]:
    yield
    name_keys({})


async def test_a_chosen_key_acts_and_is_named_wherever_keys_are(job: Path, clock: Clock) -> None:
    app = GradeApp(job.parent, job, clock=clock, settings=Settings(keys=KEYS))
    async with running(app, (120, 40)) as pilot:
        assert "F10 Setup" in shown(app)
        assert "F4" not in app.screen.query_one(KeyLine).text
        await press(pilot, "51", "enter", "f4")  # nothing is on F4 any more
        assert len(readings(job)) == 1
        check(app)
        await press(pilot, "ctrl+z")
        assert words(app).endswith("On F9, Ctrl+Z prints them.")
        await press(pilot, "ctrl+l")
        assert words(app).startswith("Undone: the reading at P1 finish no longer counts.")
        offered = {command.title: command.help for command in app.get_system_commands(app.screen)}
        assert offered["Setup"].startswith("F10: ")
        assert offered["Quit"].startswith("F11")
        assert point(app) == "P1"
        await press(pilot, "ctrl+o")
        assert isinstance(app.screen, KeysScreen)
        says = " ".join(each.text for each in app.screen.query(Sheet))
        assert re.search(r"F10 +Set up or move", says)
        assert not re.search(r"\bF4\b +Set up", says)
        await press(pilot, "ctrl+o")
        assert isinstance(app.screen, GuideScreen)
        page = app.screen.query_one(Sheet).text
        assert re.search(r"F10 +set up or move the laser", page)
        assert not re.search(r"\bF4\b", page)
        await press(pilot, "ctrl+o")
        await press(pilot, "f10")
        assert isinstance(app.screen, SetUpScreen)
        await press(pilot, "f11")
    assert app.return_code == 0


def test_what_is_filled_into_a_sentence_keeps_its_name() -> None:
    name_keys({"F4": "F5", "F5": "F4", "Ctrl+Z": "Ctrl+L"})
    assert _("{point}: press F4, then (F5) or Ctrl+Z.", point="F4") == "F4: press F5, then (F4) or Ctrl+L."
    assert _("{F4}, F45, XF4, F4+1", F4="F4") == "F4, F45, XF4, F4+1"
    assert _("named like the keys F1 to F12") == "named like the keys F1 to F12"


def test_texts_read_at_the_start_name_the_chosen_keys(tmp_path: Path) -> None:
    settings.folder().mkdir()
    (settings.folder() / "settings.toml").write_text('[keys]\nset-up = "f10"\nrecheck = "f4"\n', encoding="utf-8")
    script = (
        "import sys; sys.stdin.isatty = sys.stderr.isatty = lambda: True\n"
        "import gradecheck.cli.screens as screens; screens._name_keys()\n"
        "from gradecheck.app import bindings, check_view; from gradecheck.session import session\n"
        "print(check_view.NO_SETUP, bindings.GROUPS[1].examples[0][1], session.BROUGHT_BACK_NOW, sep='|')"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    setup, example, back = ran.stdout.strip().split("|")
    assert setup == "No setup · press F10 to set up"
    assert example.startswith("F10, a mark, Enter")
    assert back == "The previous setup is back; recheck a mark first (F4)."


def test_commands_name_the_chosen_keys_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    settings.folder().mkdir()
    (settings.folder() / "settings.toml").write_text('[keys]\nlog = "f10"\n', encoding="utf-8")
    write_job(tmp_path / "court")
    assert main(["guide", "keys"]) == 0
    assert "| `F10` | the log |" in capsys.readouterr().out
