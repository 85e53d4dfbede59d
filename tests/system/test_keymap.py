"""Other keys by the settings: each has one meaning still, and none that a reading is typed with is given away."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from textual.keys import Keys

from gradecheck.system.keymap import KEYS, understood
from gradecheck.system.settings import read_settings

CAN_BE_TYPED = [
    *("7", "-", "/", " ", ".", "'", '\\"', "+", "*", "?", "p", "f", "", "f4,7", "f4 7", "f0", "f25"),
    *("enter", "Return", "backspace", "delete", "escape", "tab", "shift+tab", "space", "minus", "slash"),
    *("left", "right", "home", "end", "up", "pageup", "alt+s", "super+s", "ctrl+shift+s", "ctrl+[", "ctrl+1"),
    *("ctrl+m", "ctrl+j", "ctrl+i", "ctrl+h", "ctrl+u", "Ctrl+U", "ctrl+c", "ctrl+p", "ctrl+v", "ctrl+q"),
]


def chosen(folder: Path, text: str) -> tuple[dict[str, str], list[str]]:
    """The keys of a settings file, and what is wrong with it, without the file's own name."""
    folder.mkdir(exist_ok=True)
    (folder / "settings.toml").write_text(text, encoding="utf-8")
    settings = read_settings(folder)
    name = f"{folder / 'settings.toml'}, "
    return dict(settings.keys), [fault.removeprefix(name) for fault in settings.faults]


def test_keys_are_given_by_their_meanings_however_they_are_written(tmp_path: Path) -> None:
    text = 'theme = "night"\n[keys]\nset-up = "F10"\nundo = "Ctrl+L"\nleft = " ctrl+z "\n"log" = "f11"\n'
    keys = {"set-up": "f10", "undo": "ctrl+l", "left": "ctrl+z", "log": "f11"}
    assert chosen(tmp_path, text) == (keys, [])
    settings = read_settings(tmp_path)
    assert settings.theme == "night"
    assert settings.came["keys.set-up"] == str(tmp_path / "settings.toml")


@pytest.mark.parametrize("key", CAN_BE_TYPED)
def test_a_key_that_is_typed_or_gets_about_is_never_given_to_anything_else(key: str, tmp_path: Path) -> None:
    keys, [fault] = chosen(tmp_path, f'[keys]\narea = "f10"\n  log = "{key}"\n')
    assert keys == {}
    assert fault.startswith("line 3, column 9: “")
    assert "can't be given to log" in fault


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('[keys]\nlog = "f2"\n', "line 2, column 7: F2 is that of area already; give log or area another key."),
        ('keys.log = "f2"\n', "line 1, column 12: F2 is that of area already; give log or area another key."),
        ('keys = {area="f11", log = "f11"}\n',
         "line 1, column 27: F11 is that of area already; give log or area another key."),
        ('theme = "sun"\n[keys]\ntheme = "f6"\n',
         "line 3, column 9: F6 is that of log already; give theme or log another key."),
        ('[keys]\narea = "f3"\nstage = "f2"\nlog = "f3"\n',
         "line 4, column 7: F3 is that of area already; give log or area another key."),
        ('[keys]\nback = "f10"\n', "line 2, column 1: back stays on Esc."),
        ('[keys]\nopen = "f10"\n', "line 2, column 1: open stays on Enter."),
        ('[keys]\nleave = "f10"\n', "line 2, column 1: leave stays on Ctrl+Q."),
        ('[keys]\nset_up = "f10"\n', "line 2, column 1: there is no action “set_up”. Did you mean “set-up”?"),
        ('[keys]\nlog = 6\n',
         "line 2, column 7: “6” can't be given to log: it is typed in readings, or has a use of its own; "
         'take F1 to F12, or Ctrl and another letter, as "ctrl+g".'),
        ('keys = "f10"\n', 'line 1, column 1: keys is a table, as [keys] with set-up = "f10" below it.'),
    ],
)  # fmt: skip
def test_a_key_that_has_a_meaning_is_refused_with_line_and_column(text: str, fault: str, tmp_path: Path) -> None:
    assert chosen(tmp_path, text) == ({}, [fault])


USABLE = [f"f{number}" for number in range(1, 13)] + [f"ctrl+{letter}" for letter in "abdefgklnorstwxyz"]
MEANINGS = [name for name, (key, _) in KEYS.items() if key in USABLE]


@given(st.dictionaries(st.sampled_from(MEANINGS), st.sampled_from(USABLE), max_size=6))
def test_each_key_has_one_meaning_and_each_meaning_one_key(
    tmp_path_factory: pytest.TempPathFactory, wanted: dict[str, str]
) -> None:
    text = "[keys]\n" + "".join(f'{meaning} = "{key}"\n' for meaning, key in wanted.items())
    folder = tmp_path_factory.getbasetemp() / "keys"
    keys, faults = chosen(folder, text)
    asked = [wanted.get(meaning, usual) for meaning, (usual, _) in KEYS.items()]
    clash = len(set(asked)) < len(asked)
    assert keys == ({} if clash else wanted)
    assert bool(faults) == clash


EDITS = {"enter", "return", "tab", "backspace", "delete", "escape", "left", "right", "up", "down", "home", "end"}
"""What a reading is entered with beside its own characters."""


@given(st.one_of(st.sampled_from([each.value for each in Keys]), st.characters(), st.text(max_size=12)))
def test_no_key_can_be_given_away_that_a_reading_is_entered_with(key: str) -> None:
    keys, faults = understood({"log": key}, lambda _meaning, _key: "here")
    assert bool(keys) != bool(faults)
    for given_away in keys.values():
        assert given_away not in EDITS
        assert len(given_away) > 1, "a character"
        # As a terminal sends it: Ctrl and a letter is the character of that place, ASCII 1 to 26.
        if given_away.startswith("ctrl+"):
            sent = chr(ord(given_away[-1]) - ord("a") + 1)
            assert sent not in "\b\t\n\r\x1b\x7f"
            assert given_away not in ("ctrl+u", "ctrl+v"), "it empties the box, or pastes"
        else:
            assert given_away[0] == "f"
            assert given_away[1:].isdecimal()
