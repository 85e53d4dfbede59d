"""`settings.toml` gets every key and a firm's values; what a person wrote there stays, to the letter and in order."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.system.settings import KEYS, read_settings
from gradecheck.system.settings_file import of_firm, write_settings

LINES = st.sampled_from(
    ['theme = "night"', '"initials" = "RK"', '"after a reading" = "stay"', "bell = true", "mouse = maybe", "# bell",
     'laptop = "south"', '"copy to" = "~/Office"', '"share every" = 7', "", "# theme is for the sun", "colour = 3",
     "[keys]", 'set-up = "f10"', 'text = """', '"""', "[other]", "[[rows]]", "x = [", "]", '# theme = "sun"',
     'keys.log = "f11"', 'keys = {log = "f11"}', "#[keys]", "\ttheme='sun'"]
)  # fmt: skip
FIRM = {"theme": "sun", "bell": True, "share every": 5, "copy to": "/mnt/office", "keys": {"log": "f11"}}


def test_a_new_file_has_every_key_with_a_remark_and_changes_nothing(tmp_path: Path) -> None:
    before = read_settings(tmp_path)
    write_settings(tmp_path)
    text = (tmp_path / "settings.toml").read_text(encoding="utf-8")
    assert read_settings(tmp_path) == before
    lines = text.splitlines()
    for key in KEYS:
        at = next(at for at, line in enumerate(lines) if line.startswith((f"# {key} = ", f'# "{key}" = ')))
        assert lines[at - 1].startswith("# "), key
        assert lines[at - 1].endswith("."), key
    live = "".join(f"{line.removeprefix('# ')}\n" for line in lines if " = " in line)
    (tmp_path / "settings.toml").write_text(live.replace('keys = "f1"', '[keys]\nkeys = "f1"'), encoding="utf-8")
    settings = read_settings(tmp_path)
    assert settings.faults == ()
    assert set(KEYS) <= set(settings.came)


@given(st.lists(LINES, max_size=8), st.booleans(), st.sampled_from(["\n", "\r\n"]))
def test_what_stands_there_is_as_it_was_or_nothing_is_written(
    tmp_path_factory: pytest.TempPathFactory, lines: list[str], firm: bool, newline: str
) -> None:
    folder = tmp_path_factory.getbasetemp() / "liked"
    folder.mkdir(exist_ok=True)
    path, values = folder / "settings.toml", FIRM if firm else {}
    before = newline.join(lines).encode()
    path.write_bytes(before)
    try:
        had = tomllib.loads(before.decode())
    except ValueError:
        had = None
    wrong = ""
    try:
        write_settings(folder, values)
    except ValueError as told:
        wrong = str(told)
    if wrong:
        assert path.read_bytes() == before
        assert wrong.startswith("line ")
        return
    assert had is not None
    after = path.read_bytes()
    has = tomllib.loads(after.decode())
    for key, value in had.items():
        assert key == "keys" or has[key] == value
    assert had.get("keys", {}).items() <= has["keys"].items()
    assert all(has[key] == value for key, value in values.items() if key not in (*had, "keys"))
    rest = iter(after.decode().splitlines())
    examples = [line for line in lines if line == '# theme = "sun"' and firm]
    assert all(line in rest for line in before.decode().splitlines() if line not in examples), "in its order"
    write_settings(folder, values)
    assert path.read_bytes() == after, "a second time there is nothing to add"


@pytest.mark.parametrize("text", ["theme = night\n", "theme = \n", "\xff", "a = " + "[" * 3000])
def test_a_file_that_is_no_toml_is_left_alone(text: str, tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes(text.encode("latin-1"))
    with pytest.raises(ValueError, match=r"^line 1, column \d+: "):
        write_settings(tmp_path)
    assert path.read_bytes() == text.encode("latin-1")


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ('theem = "sun"\n', ["line 1, column 1: there is no setting “theem”. Did you mean “theme”?"]),
        ("bell = 1\n[laptops]\nA = 3\nB = {mouse = 2}\n",
         ["line 1, column 8: bell is true or false.",
          'line 3, column 5: A is a name, as "north crew", or settings in braces.',
          "line 4, column 14: mouse is true or false."]),
        ('[laptops]\nA = "TP/1"\n', ["line 2, column 5: A: laptop is a name of one to 20 letters, as north crew."]),
        ('[laptops]\nA = "north"\nB = {laptop = "North"}\n',
         ["line 3, column 5: B is called North, as A is; each laptop needs a name of its own."]),
        ('[laptops]\nB = "north"\nC = "south"\n',
         ["There is no row for “A” under [laptops]; there are B, C. Add one, or say --as ROW."]),
        ('laptops = "north"\n', ["line 1, column 1: laptops is a table with a row for each machine."]),
        ('[laptops.A]\nlaptop = "north"\nbell = "no"\n', ["line 3, column 8: bell is true or false."]),
        ('[keys]\nlog = "7"\n[laptops]\nA = "north"\n',
         ["line 2, column 7: “7” can't be given to log: it is typed in readings, or has a use of its own; "
          'take F1 to F12, or Ctrl and another letter, as "ctrl+g".']),
    ],
)  # fmt: skip
def test_every_fault_of_a_firms_file_is_told_with_its_place(text: str, faults: list[str]) -> None:
    with pytest.raises(ValueError, match=r"[.?]$") as told:
        of_firm(text.encode(), "A")
    assert str(told.value).splitlines() == faults


def test_a_row_goes_before_what_stands_for_all_whatever_its_capitals() -> None:
    text = 'theme = "sun"\nbell = true\n[laptops]\nGRADE-07 = {laptop = "north crew", theme = "night"}\n'
    assert of_firm(text.encode(), "grade-07") == {"theme": "night", "bell": True, "laptop": "north crew"}
    assert of_firm(b"bell = true\n", "grade-07") == {"bell": True}
