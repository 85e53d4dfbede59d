"""On the laptop: installed from one file with no network at all, and tried; where it lies, and how it starts."""

from __future__ import annotations

import importlib.util
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

import gradecheck
from gradecheck.bundle import install

ROOT = Path(gradecheck.__file__).parents[1]


@pytest.mark.skipif(os.name == "nt", reason="rights are others there")
def test_what_starts_it_may_be_run_and_takes_the_place_of_what_started_another(tmp_path: Path) -> None:
    for version in ("2026.11.30", "2026.12.1"):
        program = install.program(tmp_path / "it's here" / version)
        program.parent.mkdir(parents=True)
        program.write_text(f'#!/bin/sh\necho {version} "$#" "$2"\n', encoding="utf-8")
        program.chmod(0o755)
        start = install.put_start(tmp_path / "it's here" / version, tmp_path / "bin")
        ran = subprocess.run([start, "read", "P4=51 3/8"], capture_output=True, text=True, check=True)
        assert ran.stdout == f"{version} 2 P4=51 3/8\n"
    assert [each.name for each in (tmp_path / "bin").iterdir()] == ["gradecheck"]
    assert start.stat().st_mode & stat.S_IXUSR


def test_on_windows_it_is_started_from_its_own_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(install, "WINDOWS", True)  # imitated: nothing is run
    start = install.put_start(tmp_path / "Ñandú" / "2026.11.30", tmp_path / "Ñandú" / "bin")
    assert start.name == "gradecheck.cmd"
    assert start.read_bytes() == b'@"%~dp0..\\2026.11.30\\Scripts\\gradecheck.exe" %*\r\n', "no name in any code page"


@pytest.mark.parametrize(
    ("system", "variables", "folder"),
    [
        ("linux", {}, ".local/share/gradecheck"),
        ("linux", {"XDG_DATA_HOME": "/opt/mine"}, "/opt/mine/gradecheck"),
        ("darwin", {}, "Library/Application Support/gradecheck/program"),
        ("win32", {"LOCALAPPDATA": "/users/rk/local"}, "/users/rk/local/gradecheck"),
        ("win32", {"LOCALAPPDATA": ""}, "AppData/Local/gradecheck"),
    ],
)
def test_it_lies_where_programs_of_one_user_lie(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, system: str, variables: Mapping[str, str], folder: str
) -> None:
    monkeypatch.setattr(sys, "platform", system)  # imitated
    monkeypatch.setattr(install, "WINDOWS", system == "win32")
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    assert install.usual_folder() == tmp_path / folder


def test_what_was_tried_in_the_demo_stays(tmp_path: Path) -> None:
    install.put_demo(ROOT / "jobs", tmp_path / "demo")
    mine = tmp_path / "demo" / "quince-street" / "job.yaml"
    mine.write_text("tried", encoding="utf-8")
    install.put_demo(ROOT / "jobs", tmp_path / "demo")
    assert mine.read_text(encoding="utf-8") == "tried"
    assert (tmp_path / "demo" / "tern-quay" / "job.yaml").read_bytes() == (
        ROOT / "jobs" / "tern-quay" / "job.yaml"
    ).read_bytes()


def cut_off() -> list[str]:
    """What runs a program without any network; skips the test where this machine may not take it away."""
    for command in (["unshare", "-n"], ["unshare", "-r", "-n"]):
        if (path := shutil.which("unshare")) and not subprocess.run(
            [*command, "true"], capture_output=True
        ).returncode:
            return [path, *command[1:]]
    pytest.skip("this machine may not run a program without network (unshare -n)")


@pytest.mark.thorough
@pytest.mark.skipif(sys.platform != "linux", reason="the network is taken away by a program of Linux")
@pytest.mark.skipif(importlib.util.find_spec("shiv") is None, reason="shiv makes the single file, and is not here")
def test_one_file_and_one_line_install_it_with_no_network_and_the_demo_runs(tmp_path: Path) -> None:
    from tests.pty.terminal import Terminal

    alone, home = cut_off(), tmp_path / "home"
    home.mkdir()
    no_network = [*alone, sys.executable, "-c", "import socket; socket.create_connection(('192.0.2.1', 80), 2)"]
    assert b"unreachable" in subprocess.run(no_network, capture_output=True).stderr, (
        "a documentation address, RFC 5737"
    )
    mine = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "PIP_", "XDG_"))}
    mine |= {"HOME": str(home)}

    def run(*command: str | Path, code: int = 0) -> str:
        ran = subprocess.run([*alone, *command], env=mine, cwd=home, capture_output=True, text=True)
        assert ran.returncode == code, ran.stderr
        return ran.stdout

    making = [sys.executable, "-m", "gradecheck.bundle", "--for", "linux", "-o", tmp_path / "made", ROOT]
    told = subprocess.run(making, capture_output=True, text=True)
    assert told.returncode == 0, told.stderr
    [bundle], [app] = (tmp_path / "made").glob("*.zip"), (tmp_path / "made").glob("*.pyz")
    assert {each.name for each in (tmp_path / "made").iterdir()} == {bundle.name, app.name}

    python = os.path.realpath(sys.executable)  # that of the machine, which knows none of our packages
    said = run(python, bundle)
    start, lies = home / ".local" / "bin" / "gradecheck", home / ".local" / "share" / "gradecheck"
    assert said.splitlines()[0] == f"gradecheck {gradecheck.__version__} is installed. Start it: {start}"
    assert run(python, bundle) == said, "once more does nothing"
    assert {each.name for each in lies.iterdir()} == {gradecheck.__version__, "demo"}
    run(sys.executable, "-m", "pip", "--python", lies / gradecheck.__version__ / "bin" / "python", "check")

    demo, lines = lies / "demo" / "quince-street", {}
    for name, program in (("installed", [str(start)]), ("single file", [python, str(app)])):
        assert "59 points in 8 areas" in run(*program, "examine", demo)
        lines[name] = run(*program, "targets", demo)
        run(*program, "plan", demo, "-o", home / "plan.pdf")
        assert (home / "plan.pdf").read_bytes().startswith(b"%PDF-")
        changes = {"HOME": str(home), "PYTHONPATH": None, "GRADECHECK_SETTINGS": str(home / "settings")}
        with Terminal([*alone, *program, str(lies / "demo")], changes=changes) as terminal:
            terminal.wait_for("Quince Street reading room")
    assert lines["installed"] == lines["single file"]
    assert lines["installed"].count("\n") > 59
