"""What goes into the files for laptops: for each machine what it needs and nothing else, and who may run it."""

from __future__ import annotations

import io
import platform
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest
from packaging.requirements import Requirement

import gradecheck
from gradecheck.actions import Refusal
from gradecheck.bundle.machines import MACHINES
from gradecheck.bundle.make import machine_check, make, needed, requirements, template, zipped

ROOT = Path(gradecheck.__file__).parents[1]
HERE = f"{sys.version_info[0]}.{sys.version_info[1]}"
HERE_TOO = {"linux": "linux", "darwin": "mac", "win32": "windows"}
OWN = ("textual>=8", "setter; platform_machine != 'ARM64'", "tzdata; sys_platform == 'win32'", "plots; extra == 'x'")


def wheel(folder: Path, name: str, *needs: str) -> Path:
    """A wheel of that name with nothing in it but what it needs."""
    path = folder / f"{name}-1.0-py3-none-any.whl"
    lines = ["Metadata-Version: 2.1", f"Name: {name}", "Version: 1.0", *(f"Requires-Dist: {need}" for need in needs)]
    with zipfile.ZipFile(path, "w") as file:
        file.writestr(f"{name}-1.0.dist-info/METADATA", "\n".join(lines) + "\n\nRequires-Dist: told-in-its-text\n")
    return path


@pytest.fixture
def fetched(tmp_path: Path) -> list[Path]:
    """Wheels as they may lie there: some of them only other machines need."""
    return [
        wheel(tmp_path, "textual", "Rich.Text>=1", "markdown[links]", "colors; os_name == 'nt'"),
        wheel(tmp_path, "rich_text"),
        wheel(tmp_path, "markdown", "links_it; extra == 'links'", "textual", "other; extra == 'other'"),
        wheel(tmp_path, "links_it", "old; python_version < '3.12'"),
        wheel(tmp_path, "setter"),
        wheel(tmp_path, "colors"),
        wheel(tmp_path, "nobodys"),
    ]


@pytest.mark.parametrize(
    ("machine", "python", "kept", "missing"),
    [
        ("linux", "3.12", "textual rich_text markdown links_it setter", ""),
        ("linux", "3.11", "textual rich_text markdown links_it setter", "old"),
        ("mac", "3.13", "textual rich_text markdown links_it setter", ""),
        ("windows", "3.12", "textual rich_text markdown links_it setter colors", "tzdata"),
        ("windows-arm", "3.12", "textual rich_text markdown links_it colors", "tzdata"),
    ],
)
def test_a_machine_gets_what_it_needs_whatever_machine_fetched_it(
    tmp_path: Path, fetched: list[Path], machine: str, python: str, kept: str, missing: str
) -> None:
    markers = {**MACHINES[machine].markers, "python_version": python}
    found, still = needed(wheel(tmp_path, "gradecheck", *OWN), fetched, markers)
    assert {each.name.partition("-")[0] for each in found} == set(kept.split())
    assert still == missing.split()


@pytest.mark.parametrize("machine", MACHINES)
def test_only_windows_on_arm_goes_without_what_sets_a_pdf(machine: str) -> None:
    told = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    [setter] = [need for each in told if (need := Requirement(each)).name == "typst"]
    assert setter.marker is not None
    assert setter.marker.evaluate(dict(MACHINES[machine].markers)) == (machine != "windows-arm")


def test_each_wheel_is_named_with_its_hash(tmp_path: Path) -> None:
    (tmp_path / "Some_Thing-2.0-py3-none-any.whl").write_bytes(b"abc")
    # SHA-256 of "abc": FIPS 180-2, appendix B.1.
    known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert requirements(tmp_path.glob("*.whl")) == f"some-thing==2.0 --hash=sha256:{known}\n"


def ended(machine: str, pythons: Sequence[str]) -> str:
    """The sentence with which a file for that machine ends on this one, empty where it goes on."""
    ran = subprocess.run(
        [sys.executable, "-c", machine_check(MACHINES[machine], pythons)], capture_output=True, text=True
    )
    assert ran.stdout == ""
    assert ran.returncode == bool(ran.stderr)
    return ran.stderr.strip()


def test_a_file_made_for_another_machine_or_python_says_so() -> None:
    other = "linux" if sys.platform == "win32" else "windows"
    assert ended(other, [HERE]).startswith("This file is for ")
    mine = HERE_TOO[sys.platform]
    assert ended(mine, ["3.99", "3.100"]).endswith(
        "with Python 3.99, 3.100; run it with that, or take the file made for yours."
    )
    if platform.machine().lower() in MACHINES[mine].machines:
        assert ended(mine, ["3.99", HERE]) == ""


def test_the_zip_is_the_same_for_the_same_files_and_its_script_may_be_run() -> None:
    contents = {"__main__.py": b"pass\n", "install.sh": b"#!/bin/sh\n", "wheels/a.whl": b"PK"}
    assert zipped(contents) == zipped(contents)
    with zipfile.ZipFile(io.BytesIO(zipped(contents))) as file:
        assert {each: file.read(each) for each in file.namelist()} == contents
        modes = {each.filename: each.external_attr >> 16 & 0o777 for each in file.infolist()}
    assert modes == {"__main__.py": 0o644, "install.sh": 0o755, "wheels/a.whl": 0o644}


def test_the_scripts_are_what_their_shells_read() -> None:
    for name in ("install.sh", "install.cmd", "main.txt", "fits.txt"):
        assert template(name).template.isascii(), name
    if sys.platform != "win32":
        script = template("install.sh").template
        assert subprocess.run(["sh", "-n"], input=script, text=True, capture_output=True).stderr == ""
    main = template("main.txt").substitute(fits=machine_check(MACHINES["windows"], [HERE]), wheel="'gradecheck.whl'")
    compile(main, "__main__.py", "exec")


def test_without_the_source_of_the_program_nothing_is_made(tmp_path: Path) -> None:
    with pytest.raises(Refusal, match=r"There is no pyproject\.toml in "):
        list(make(tmp_path, tmp_path / "dist", ["linux"], [HERE]))
    assert list(tmp_path.iterdir()) == []
