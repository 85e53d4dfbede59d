"""The id of a laptop stays as long as its file is as it was written, and no longer."""

from __future__ import annotations

import uuid
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.system import settings
from gradecheck.system.settings import Settings, read_settings


def test_the_id_stays_from_run_to_run() -> None:
    first = settings.laptop_id()
    assert str(uuid.UUID(first)) == first
    assert settings.laptop_id() == first


def test_an_id_from_before_it_had_a_hash_is_kept_and_gets_one() -> None:
    known = "3f0c1a52-8c1b-4d53-9d0e-2b6a7c9e1f04"
    path = settings.folder() / settings.LAPTOP
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"{known}\n", encoding="ascii")
    assert settings.laptop_id() == known
    assert path.read_bytes() != f"{known}\n".encode()
    assert settings.laptop_id() == known


@given(st.data())
def test_one_that_was_changed_is_given_up_for_a_new_one(data: st.DataObject) -> None:
    first = settings.laptop_id()
    path = settings.folder() / settings.LAPTOP
    kept = bytearray(path.read_bytes())
    kept[data.draw(st.integers(0, len(kept) - 1))] ^= 1 << data.draw(st.integers(0, 7))
    path.write_bytes(kept)
    fresh = settings.laptop_id()
    assert sum(one == other for one, other in zip(fresh, first, strict=True)) < 30
    assert settings.laptop_id() == fresh


def test_entries_are_signed_with_the_id_the_settings_give_for_the_name() -> None:
    assert settings.this_laptop() == settings.laptop_id()
    (settings.folder() / "settings.toml").write_text('laptop = "north crew"\n', encoding="utf-8")
    assert settings.this_laptop() == f"north crew/{settings.laptop_id()}"


# -- what the person at this laptop likes


def chosen(folder: Path, text: str) -> tuple[Settings, list[str]]:
    """The settings in a file with that text, and what is wrong with it, without the file's own name."""
    folder.mkdir(exist_ok=True)
    (folder / "settings.toml").write_text(text, encoding="utf-8")
    settings = read_settings(folder, {})
    name = f"{folder / 'settings.toml'}, "
    return settings, [fault.removeprefix(name) for fault in settings.faults]


def test_without_a_file_the_settings_are_those_of_the_program(tmp_path: Path) -> None:
    settings = read_settings(tmp_path / "nowhere", {})
    assert settings == Settings()
    assert (settings.theme, settings.initials, settings.after_a_reading) == ("", "", "stay until on grade")
    assert (settings.bell, settings.mouse, settings.faults) == (False, False, ())


def test_every_key_is_taken(tmp_path: Path) -> None:
    text = 'theme = "night"\ninitials = "RK"\n"after a reading" = "go on"\nbell = true\nmouse = true\n'
    text += 'laptop = "north crew"\nlanguage = "es"\n'
    taken = Settings("night", "RK", "go on", bell=True, mouse=True, laptop="north crew", language="es")
    assert chosen(tmp_path, text) == (taken, [])


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ('theme = "dusk"\nmouse = true\n', ["line 1, column 9: theme is sun, night or plain."]),
        ('bell = "yes"\n', ["line 1, column 8: bell is true or false."]),
        ('mouse = true\n  "after a reading"  = "wait"\n',
         ["line 2, column 24: after a reading is stay, go on or stay until on grade."]),
        ('initials = "much too long a name"\n', ["line 1, column 12: initials are one to 8 letters."]),
        ('initials = "R\\u001bK"\n', ["line 1, column 12: initials are one to 8 letters."]),
        ('mouse = true\ntheem = "sun"\n', ["line 2, column 1: there is no setting “theem”. Did you mean “theme”?"]),
        ('laptop = "a name that is too long"\n',
         ["line 1, column 10: laptop is a name of one to 20 letters, as north crew."]),
        ('laptop = "TP/1"\n', ["line 1, column 10: laptop is a name of one to 20 letters, as north crew."]),
        ('laptop = " north"\n', ["line 1, column 10: laptop is a name of one to 20 letters, as north crew."]),
        ('laptop = "a=3"\n', ["line 1, column 10: laptop is a name of one to 20 letters, as north crew."]),
        ('"copy to" = "office/jobs"\n',
         ["line 1, column 13: copy to is the whole path of a folder, as /mnt/office/jobs or ~/Office, "
          "or postgresql://NAME@HOST/DATABASE."]),
        ('"copy to" = ""\n',
         ["line 1, column 13: copy to is the whole path of a folder, as /mnt/office/jobs or ~/Office, "
          "or postgresql://NAME@HOST/DATABASE."]),
        ('"share every" = 0\n', ["line 1, column 17: share every is a whole number of minutes, 1 to 1440."]),
        ('"share every" = "5"\n', ["line 1, column 17: share every is a whole number of minutes, 1 to 1440."]),
        ('copy to = "/mnt"\n', 
         ["line 1, column 6: expected '=' after a key in a key/value pair; “copy to” is in quotes."]),
        ('[theme]\nsun = true\n', ["line 1, column 2: theme is sun, night or plain."]),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_line_and_column_and_the_rest_is_taken(
    text: str, faults: list[str], tmp_path: Path
) -> None:
    settings, told = chosen(tmp_path, text)
    assert told == faults
    assert settings.mouse == ("mouse = true" in text)
    assert (settings.theme, settings.initials, settings.after_a_reading) == ("", "", "stay until on grade")


def test_a_file_that_is_no_toml_is_told_with_its_line(tmp_path: Path) -> None:
    settings, faults = chosen(tmp_path, 'theme = "night"\nafter a reading = "stay"\n')
    assert len(faults) == 1
    assert faults[0].startswith("line 2, column 7: ")
    assert "“after a reading” is in quotes" in faults[0]
    assert (settings.theme, settings.after_a_reading) == ("", "stay until on grade")
    (tmp_path / "settings.toml").write_bytes(b"theme = \xff\n")
    assert read_settings(tmp_path).faults == (
        f"{tmp_path / 'settings.toml'}, line 1, column 9: this is not UTF-8 text.",
    )


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").mkdir()
    [fault] = read_settings(tmp_path).faults
    assert fault.startswith(f"{tmp_path / 'settings.toml'} can't be read: ")


def test_the_folder_to_share_by_may_lie_in_the_home_of_whoever_works_here(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    settings, told = chosen(tmp_path, '"copy to" = "~/Office"\n"share every" = 3\n')
    assert (settings.meets_at, settings.share_every, told) == (tmp_path / "Office", 3, [])
    assert (Settings().meets_at, Settings().share_every) == (None, 10)


def test_an_offices_address_may_stand_where_a_folder_does(tmp_path: Path) -> None:
    (tmp_path / "settings.toml").write_text('"copy to" = "postgresql://north@db.example/office"\n')
    settings = read_settings(tmp_path)
    assert (settings.meets_at, settings.faults) == ("postgresql://north@db.example/office", ())
