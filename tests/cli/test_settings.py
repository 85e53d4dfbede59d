"""`settings` and `paths`: twenty laptops are one file and one line, and each value says where it came from."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.system import settings
from gradecheck.system.settings import read_settings
from tests.cli.asides import answered

FIRM = (
    """\
# For all laptops of the firm.
theme = "night"
"share every" = 5
"copy to" = "/mnt/office/jobs"

[keys]
log = "f10"

[laptops]
"""
    + "".join(f'GRADE-{number:02} = "crew {number}"\n' for number in range(1, 20))
    + """\
GRADE-20 = {laptop = "spare", initials = "RK", theme = "sun"}
"""
)


def test_twenty_laptops_are_set_up_by_one_file_and_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    firm = tmp_path / "gradecheck.toml"
    firm.write_text(FIRM, encoding="utf-8")
    found = []
    for number in range(1, 21):
        monkeypatch.setenv("GRADECHECK_SETTINGS", str(tmp_path / f"laptop {number}"))
        monkeypatch.setattr("platform.node", lambda number=number: f"grade-{number:02}.firm.example")
        if number == 3:  # what somebody chose there is kept
            settings.folder().mkdir()
            (settings.folder() / "settings.toml").write_text('theme = "plain"\n', encoding="utf-8")
        assert main(["settings", "--from", str(firm)]) == 0
        found.append(read_settings())
    assert [each.laptop for each in found] == [*(f"crew {number}" for number in range(1, 20)), "spare"]
    assert {each.copy_to for each in found} == {"/mnt/office/jobs"}
    assert {each.share_every for each in found} == {5}
    assert [dict(each.keys) for each in found] == [{"log": "f10"}] * 20
    assert [each.theme for each in found] == ["night", "night", "plain", *["night"] * 16, "sun"]
    assert [each.initials for each in found] == [*[""] * 19, "RK"]
    assert not any(each.faults for each in found)


def test_what_is_kept_is_told_and_a_wrong_file_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("platform.node", lambda: "GRADE-04")
    firm, own = tmp_path / "gradecheck.toml", settings.folder() / "settings.toml"
    own.parent.mkdir()
    own.write_text('theme = "plain"  # for my eyes\n', encoding="utf-8")
    firm.write_text(FIRM + "GRADE-21 = 7\n", encoding="utf-8")
    assert main(["settings", "--from", str(firm)]) == 2
    wrong = 'line 30, column 12: GRADE-21 is a name, as "north crew", or settings in braces.'
    assert capsys.readouterr().err == f"{firm}, {wrong}\nNothing was written.\n"
    assert own.read_text(encoding="utf-8") == 'theme = "plain"  # for my eyes\n'
    firm.write_text(FIRM, encoding="utf-8")
    assert main(["settings", "--from", str(firm)]) == 0
    text = capsys.readouterr().out
    assert f"Kept the way you wrote it here, though {firm} differs: theme.\n" in text
    assert own.read_text(encoding="utf-8").startswith('theme = "plain"  # for my eyes\n')
    assert read_settings().laptop == "crew 4"
    assert main(["settings", "--from", str(firm), "--as", "grade-20"]) == 0
    assert read_settings().initials == "RK"
    assert read_settings().laptop == "crew 4"
    for wrong, says in (
        (["--as", "GRADE-20"], "belongs to --from"),
        (["--from", "nowhere"], "nowhere can't be read: "),
    ):
        assert main(["settings", *wrong]) == 2
        assert says in capsys.readouterr().err


def test_each_value_says_where_it_came_from(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = settings.folder() / "settings.toml"
    path.parent.mkdir()
    path.write_text('theme = "night"\nbell = true\n"share every" = 7\n[keys]\nlog = "f10"\n', encoding="utf-8")
    monkeypatch.setenv("GRADECHECK_BELL", "False")
    monkeypatch.setenv("GRADECHECK_LAPTOP", "north crew")
    monkeypatch.setenv("GRADECHECK_BY", "RK")
    monkeypatch.setenv("GRADECHECK_SHARE_EVERY", "often")
    assert main(["settings"]) == 1
    wrong = "GRADECHECK_SHARE_EVERY: share every is a whole number of minutes, 1 to 1440."
    assert capsys.readouterr().out.splitlines() == [
        f"theme            night                    {path}",
        "language         en                       GRADECHECK_LANGUAGE",
        "initials         RK                       GRADECHECK_BY",
        "after a reading  stay until on grade      the program's own",
        "bell             false                    GRADECHECK_BELL",
        "mouse            false                    the program's own",
        "laptop           north crew               GRADECHECK_LAPTOP",
        "copy to          -                        the program's own",
        f"share every      7                        {path}",
        f"keys.log         F10                      {path}",
        wrong,
    ]
    assert main(["settings", "--json"]) == 1
    answer = answered(capsys.readouterr().out)
    assert answer["settings"]["bell"] == {"value": False, "from": "GRADECHECK_BELL"}
    assert answer["settings"]["after a reading"] == {"value": "stay until on grade", "from": None}
    assert (answer["keys"], answer["wrong"]) == ({"log": "f10"}, [wrong])


def test_write_adds_every_key_and_refuses_what_it_cannot_read(capsys: pytest.CaptureFixture[str]) -> None:
    path = settings.folder() / "settings.toml"
    assert main(["settings", "--write"]) == 0
    assert capsys.readouterr().out.startswith(f"{path} has every key now; what was there has not changed.\n")
    assert '# "share every" = 10\n' in path.read_text(encoding="utf-8")
    path.write_text("theme = night\n", encoding="utf-8")
    assert main(["settings", "--write"]) == 2
    assert capsys.readouterr().err == f"{path}, line 1, column 9: invalid value. Nothing was written.\n"
    assert path.read_text(encoding="utf-8") == "theme = night\n"


def test_paths_names_where_everything_lies(
    own_folders: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "court").mkdir()
    (tmp_path / "court" / "job.yaml").write_text("job: court\n", encoding="utf-8")
    assert main(["paths", str(tmp_path)]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"settings       {own_folders / 'settings' / 'settings.toml'}  (not written yet)",
        f"cache          {own_folders / 'cache'}",
        f"crash reports  {own_folders / 'settings' / 'crashes'}  (0 reports)",
        f"jobs           {tmp_path}  (1 job)",
    ]
    assert main(["paths", str(tmp_path), "--json"]) == 0
    assert answered(capsys.readouterr().out)["found"] == [str(tmp_path / "court")]


@pytest.mark.parametrize("asked", ["rules", "guide typing", "paths", "completions bash", "rules --json"])
def test_every_command_says_what_is_wrong_in_the_settings_and_answers_all_the_same(
    asked: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("GRADECHECK_SETTINGS", str(tmp_path))
    text = 'theme = "pink"\nbell = 3\nintials = "RK"\nmouse = 4\nlanguage = "xx"\n'
    (tmp_path / "settings.toml").write_text(text, encoding="utf-8")
    assert main(asked.split()) == 0
    told = capsys.readouterr()
    assert told.out
    lines = told.err.splitlines()[:4]
    assert [f"line {n}," in lines[n - 1] for n in (1, 2, 3)] == [True, True, True]
    assert lines[3] == "And 2 more; “gradecheck settings” shows them."
    assert not any("pink" in line for line in told.out.splitlines())
