"""What lies where a file should, and where files are to go: read or written only if it is a plain one, or refused."""

from __future__ import annotations

import os
from collections.abc import Callable
from json import loads as json_of
from pathlib import Path

import pytest

from gradecheck.app.app import GradeApp
from gradecheck.cli import main
from tests.app.driving import Clock, press, readings, ready_job, running, shown, write_job
from tests.faults.sent_in import Office, Out, beside, refused
from tests.plan.sample import WALK, harmless
from tests.thorough import some

# -- read


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _folder(path: Path) -> None:
    path.mkdir()


def _loop(path: Path) -> None:
    path.symlink_to(path)


def _too_large(path: Path) -> None:
    path.write_bytes(b"#" * 1_000_001)


def _half_a_character(path: Path) -> None:
    path.write_bytes(b"\xff\xfe")


NO_FILES: tuple[tuple[Callable[[Path], None], str], ...] = (
    (_pipe, "This is not a plain file; put a text file in its place."),
    (_device, "This is not a plain file; put a text file in its place."),
    (_folder, "This is not a plain file; put a text file in its place."),
    (_loop, "This file can't be read ("),
    (_too_large, "more than 1,000,000; put long lists into files of their own."),
    (_half_a_character, "is not UTF-8; save the file as UTF-8 text."),
)


@pytest.mark.parametrize(("make", "says"), NO_FILES, ids=lambda value: getattr(value, "__name__", "").lstrip("_"))
def test_no_pipe_device_folder_loop_or_giant_is_read_as_a_job_file(
    office: Office, capsys: pytest.CaptureFixture[str], make: Callable[[Path], None], says: str
) -> None:
    make(office.job / "job.yaml")
    if make is not _loop:  # a link that leads to itself is nothing at all to whoever looks for a job
        assert main(["examine", str(office.job)]) == 1
        assert says in capsys.readouterr().out
    assert main(["targets", str(office.job)]) == 2
    printed = capsys.readouterr()
    assert len(printed.err.splitlines()) == 1
    assert says in printed.err or "There is no job.yaml in" in printed.err


@pytest.mark.parametrize("name", ["spots.csv", "spots.json"])
@pytest.mark.parametrize(("make", "says"), NO_FILES, ids=lambda value: getattr(value, "__name__", "").lstrip("_"))
def test_what_is_no_file_for_a_list_is_told_where_it_is_named(
    office: Office, name: str, make: Callable[[Path], None], says: str
) -> None:
    make(office.job / name)
    office.refused(beside(name).replace(f"'{name}'", f"§'{name}'"), says)


@pytest.mark.parametrize(
    "name",
    [
        *("../spots.csv", "/etc/hostname", "..", ".", "a/b.csv", "a\\b.csv", "C:spots.csv", "//host/spots.csv"),
        *("", "  ", "x" * 300, "CON", "spots.csv "),
    ],
    ids=repr,
)
def test_a_list_is_looked_for_beside_the_job_file_and_nowhere_else(office: Office, name: str) -> None:
    (office.job.parent / "spots.csv").write_text("name,elevation\nA,1\n", encoding="utf-8")
    text = beside(name).replace("points: '", "points: §'")
    office.refused(text)
    outline = f"{WALK}    outline: §'{name}'\n"
    office.refused(outline)


def test_a_name_with_nul_in_it_names_no_list(office: Office) -> None:
    lines = office.examined(f'{WALK}  spare:\n    points: "spots\\0.csv"\n')
    assert lines[0].startswith("job.yaml:21:13: An invisible character (U+0000)")


# -- written


NO_FOLDERS = (
    "../yard",
    "/etc/x",
    "a/b",
    "a\\b",
    "",
    "  ",
    "CON",
    "nul.txt",
    "a:b",
    "x" * 300,
    "a\0b",
    "..",
    ".x",
    "a ",
)


@pytest.mark.parametrize("name", NO_FOLDERS, ids=lambda name: repr(name[:20]))
def test_a_jobs_folder_has_a_plain_name_or_is_not_begun(here: Path, capsys: Out, name: str) -> None:
    before = sorted(here.parent.glob("*"))
    refused(capsys, "new", "--example", name)
    assert sorted(here.parent.glob("*")) == before


NO_PATHS = (
    "a\0b",
    "\udcff\udc41",
    "loop",
    "loop/x",
    "pipe",
    "pipe/x",
    "/dev/null",
    "/dev/null/x",
    "text/x",
    "x" * 300,
)
WRITERS: dict[str, tuple[str, ...]] = {
    "new --in": ("new", "yard", "--example", "--in", "{}"),
    "rehearse -o": ("rehearse", "court", "--readings", "5", "-o", "{}"),
    "rescue -o": ("rescue", "court", "-o", "{}"),
    "report -o pdf": ("report", "court", "-o", "{}.pdf"),
    "report -o txt": ("report", "court", "-o", "{}.txt"),
    "report -o csv": ("report", "court", "-o", "{}.csv"),
    "plan -o": ("plan", "court", "-o", "{}"),
    "plan --svg": ("plan", "court", "--svg", "{}"),
}


def _ending(writer: str) -> str:
    return WRITERS[writer][-1].removeprefix("{}")


# With an ending, /dev/null is another name, of no device.
TRIED = [(writer, path) for writer in WRITERS for path in NO_PATHS if path != "/dev/null" or not _ending(writer)]


# Every writer and every path is among the half that everyone tries.
SOME = [each if at % 2 == 0 else pytest.param(*each, marks=pytest.mark.thorough) for at, each in enumerate(TRIED)]


@pytest.mark.parametrize(("writer", "path"), SOME, ids=lambda value: ascii(value[:20]))
def test_what_is_written_goes_to_a_plain_new_place_or_nowhere(
    court: Path, here: Path, capsys: Out, writer: str, path: str
) -> None:
    assert main(["read", str(court), "P1=51"]) == 0
    capsys.readouterr()
    ending = _ending(writer)
    os.mkfifo(here / f"pipe{ending}")
    (here / f"loop{ending}").symlink_to(f"loop{ending}")
    (here / "text").write_text("kept", encoding="utf-8")
    before = sorted(here.rglob("*"))
    refused(capsys, *(each.format(path) for each in WRITERS[writer]))
    assert sorted(here.rglob("*")) == before
    assert (here / f"pipe{ending}").is_fifo()
    assert (here / f"loop{ending}").is_symlink()


def test_files_made_for_areas_are_named_by_us(here: Path, capsys: Out) -> None:
    areas = ("../../up", "/etc/x", "CON", "a:b", "=1+1", "<b>", "[/]")
    text = "job: a\nunits: in\nbenchmarks: {DOOR: 0}\ntolerances: {finish: 1/8}\nareas:\n"
    text += "".join(f"  '{area}': {{points: {{P{n}: -1}}}}\n" for n, area in enumerate(areas))
    folder = write_job(here / "yard", text)
    assert main(["setup", str(folder), "DOOR=50"]) == 0
    assert main(["read", str(folder), *(f"P{n}=51" for n in range(len(areas)))]) == 0
    assert main(["report", str(folder), "-o", str(here / "day.csv")]) == 0
    made = sorted(path.name for path in here.iterdir() if path.name != "yard")
    assert len(made) == len(areas)
    assert all(
        name.startswith("day-") and set(name) <= set("abcdefghijklmnopqrstuvwxyz0123456789-.") for name in made
    )
    assert harmless(capsys.readouterr().out.replace("\n", ""))


# -- folders whose names are no UTF-8

BYTES = (b"caf\xe9", b"\xff\xfe", b"yard \xc3", b"\x80'$x [b]")
"""Latin-1, no text at all, half a character, and one with what prompts and markup read."""
ANSWER = (
    ("examine",), ("rules",), ("targets",), ("setup", "DOOR=50"), ("read", "P1=51"), ("mark", "TP1=49"),
    ("recheck", "DOOR=50"), ("log",), ("verify",), ("review",), ("checks",), ("stone",), ("changes",), ("layout",),
    ("circuit",), ("datum",), ("plan",), ("day", "dry", "RK"), ("report",), ("strike", "4", "--why", "wrong"),
)  # fmt: skip
FILED = (
    ("plan", "-o", "sheet.txt"), ("plan", "--svg", "plan.svg"), ("report", "-o", "day.pdf"),
    ("report", "-o", "day.json"), ("report", "-o", "day.csv"), ("copy", "copied"), ("rescue", "-o", "rescued.db"),
    ("rehearse", "-o", "rehearsed"),
)  # fmt: skip


def _named_so(here: Path, name: bytes) -> Path:
    folder = here / os.fsdecode(name)
    try:
        folder.mkdir()
    except OSError:
        pytest.skip("no folder can be called that on this disk")
    return folder


def _shown(name: bytes) -> str:
    return "".join(f"\\x{byte:02x}" if byte > 0x7F else chr(byte) for byte in name)


@pytest.mark.parametrize("name", some(BYTES, BYTES[:1]), ids=repr)
def test_a_folder_name_that_is_no_utf8_is_shown_by_every_verb(here: Path, capsys: Out, name: bytes) -> None:
    job = write_job(_named_so(here, name) / os.fsdecode(name))
    for verb, *given in ANSWER:
        for json in ((), ("--json",)) if verb not in ("setup", "mark", "recheck", "strike", "read", "day") else ((),):
            assert main([verb, str(job), *given, *json]) in (0, 1), verb
            out, err = capsys.readouterr()
            (out + err).encode()
            assert "\N{REPLACEMENT CHARACTER}" not in out + err
            assert "udc" not in out
    for verb, *given, to in FILED:
        assert main([verb, str(job), *given, str(job / to)]) == 0, verb
        out, err = capsys.readouterr()
        assert _shown(name) in out, verb
        out.encode()
    for file in job.glob("*.*"):
        if file.suffix in (".txt", ".json", ".csv", ".svg"):
            assert "\N{REPLACEMENT CHARACTER}" not in file.read_text(encoding="utf-8-sig")
    for verb, *given, to in FILED[-3:]:
        main([verb, str(job), *given, str(job / f"{to}-2"), "--json"])
        out, _ = capsys.readouterr()
        for text in _strings(json_of(out)):
            text.encode()
            assert os.sep not in text or _shown(name) in text
    assert main(["examine", str(job / "nowhere")]) == 2
    assert _shown(name) in capsys.readouterr().err
    assert main(["new", "begun", "--example", "--in", str(job)]) == 0
    assert _shown(name).replace("'", "\\'") in capsys.readouterr().out


def _strings(value: object) -> list[str]:
    if isinstance(value, dict):
        return [text for each in value.values() for text in _strings(each)]
    if isinstance(value, list):
        return [text for each in value for text in _strings(each)]
    return [value] if isinstance(value, str) else []


@pytest.mark.parametrize("name", some(BYTES, BYTES[:1]), ids=repr)
async def test_a_job_in_a_folder_whose_name_is_no_utf8_opens_in_the_app(here: Path, name: bytes) -> None:
    home = _named_so(here, name)
    job = ready_job(home / os.fsdecode(name), Clock())
    app = GradeApp(home, clock=Clock())
    async with running(app, (120, 40)) as pilot:
        assert shown(app).count(_shown(name)) == 2
        for key in ("ctrl+x", "escape", "enter"):
            await press(pilot, key)
        await press(pilot, "51", "enter")
        assert readings(job) == [("P1", "finish", "51")]
        await press(pilot, "ctrl+b")
        assert _shown(name) in shown(app)
        await press(pilot, str(here / "copied"), "enter")
        await pilot.pause(0.3)
        assert readings(here / "copied") == [("P1", "finish", "51")]
        await press(pilot, "f9", "f9")
        await press(pilot, "escape", "escape")
    assert app._exception is None


def test_two_folders_that_differ_in_a_byte_that_is_no_utf8_look_different(here: Path, capsys: Out) -> None:
    told = set()
    for name in (b"yard\xe8", b"yard\xe9", b"yard\xc3"):
        write_job(_named_so(here, name) / "job")
        main(["examine", str(here / os.fsdecode(name) / "nowhere")])
        told.add(capsys.readouterr().err)
    assert len(told) == 3
