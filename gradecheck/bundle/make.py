"""Makes the files for laptops: the wheels with what installs them, and the program as a single file."""

from __future__ import annotations

import hashlib
import io
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from email.parser import HeaderParser
from importlib.resources import files
from itertools import chain
from pathlib import Path
from string import Template

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name, parse_wheel_filename

from gradecheck import __version__
from gradecheck.actions import Refusal
from gradecheck.bundle.machines import MACHINES, Machine
from gradecheck.catalogue import _
from gradecheck.places import clear_tree, make_folders, write


def make(source: Path, to: Path, machines: Sequence[str], pythons: Sequence[str]) -> Iterator[Path]:
    """Makes the files for each machine from the source of the program, and gives each as it is done.

    Raises Refusal where something can't be had.
    """
    if not (source / "pyproject.toml").is_file():
        raise Refusal(
            _("There is no pyproject.toml in {source}; name the folder of the program's source.", source=source)
        )
    make_folders(to)
    for name in machines:
        work = to / f".{name}-{os.getpid()}"
        try:
            yield from _made(source, to, work, name, pythons)
        finally:
            clear_tree(work)


def _made(source: Path, to: Path, work: Path, name: str, pythons: Sequence[str]) -> Iterator[Path]:
    machine, wheels = MACHINES[name], work / "wheels"
    make_folders(wheels)
    _pip("wheel", "--no-deps", f"--wheel-dir={wheels}", str(source))
    [own] = wheels.glob("gradecheck-*.whl")
    of_python = {python: fetch(own, work / python, machine, python) for python in pythons}
    _pip("download", "--no-deps", "--only-binary=:all:", f"--dest={work / 'pip'}", "pip")
    contents = dict(_texts(machine, own.name, list(of_python)))
    for python, found in of_python.items():
        contents[f"requirements-{python}.txt"] = requirements([own, *found]).encode()
    every = {each.name: each for each in (own, *(work / "pip").glob("*.whl"), *chain(*of_python.values()))}
    contents |= {f"wheels/{each}": path.read_bytes() for each, path in sorted(every.items())}
    jobs = source / "jobs"
    for file in sorted(path for path in jobs.glob("*/*") if path.name == "job.yaml" or path.suffix in _LISTS):
        contents[file.relative_to(source).as_posix()] = file.read_bytes()
    bundle = to / f"gradecheck-{__version__}-{name}.zip"
    write(bundle, zipped(contents))
    yield bundle
    for python, found in of_python.items():
        yield _single_file(to, work, name, python, [own, *found])


_LISTS = (".csv", ".geojson", ".txt")


def fetch(own: Path, to: Path, machine: Machine, python: str) -> list[Path]:
    """The wheels that this machine needs beside our own, fetched into that folder. Raises Refusal.

    pip asks about the machine it runs on, so what only that one needs, or does not, is looked up wheel by wheel.
    """
    markers = {
        **machine.markers,
        "python_version": python,
        "python_full_version": f"{python}.0",
        "implementation_name": "cpython",
        "platform_python_implementation": "CPython",
    }
    while True:
        kept, missing = needed(own, sorted(to.glob("*.whl")), markers)
        if not missing:
            return kept
        _pip("download", f"--find-links={to}", f"--dest={to}", *_taking(machine, python), *missing)


def needed(own: Path, fetched: Sequence[Path], markers: Mapping[str, str]) -> tuple[list[Path], list[str]]:
    """Of what was fetched, what our own wheel needs on a machine that answers so, and what is still to be fetched."""
    held = {parse_wheel_filename(each.name)[0]: each for each in fetched}
    kept, missing = set[Path](), set[str]()
    todo, seen = [(own, "")], {(own, "")}
    while todo:
        for need in needed_by(*todo.pop(), markers):
            wheel = held.get(canonicalize_name(need.name))
            if wheel is None:
                missing.add(f"{need.name}{need.specifier}")
                continue
            kept.add(wheel)
            more = {(wheel, extra) for extra in ("", *need.extras)} - seen
            seen |= more
            todo += more
    return sorted(kept), sorted(missing)


def needed_by(wheel: Path, extra: str, markers: Mapping[str, str]) -> list[Requirement]:
    """What a wheel, or that extra of it, needs on a machine that answers so."""
    with zipfile.ZipFile(wheel) as file:
        [name] = [each for each in file.namelist() if re.fullmatch(r"[^/]+\.dist-info/METADATA", each)]
        metadata = HeaderParser().parsestr(file.read(name).decode("utf-8", "replace"))
    every = [Requirement(each) for each in metadata.get_all("Requires-Dist", ())]
    return [each for each in every if each.marker is None or each.marker.evaluate({**markers, "extra": extra})]


def requirements(wheels: Iterable[Path]) -> str:
    """The lines by which pip takes these wheels and no others."""
    lines = []
    for wheel in sorted(wheels):
        name, version, _build, _tags = parse_wheel_filename(wheel.name)
        lines.append(f"{name}=={version} --hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}\n")
    return "".join(lines)


def machine_check(machine: Machine, pythons: Sequence[str]) -> str:
    """Lines of Python that end, with a sentence, where they run on another kind of machine or another Python."""
    numbers = tuple(tuple(map(int, each.split("."))) for each in pythons)
    says = _(
        "This file is for {machine} with Python {versions}; run it with that, or take the file made for yours.",
        machine=machine.called,
        versions=", ".join(pythons),
    )
    return template("fits.txt").substitute(
        system=repr(machine.system), machines=repr(machine.machines), pythons=repr(numbers), wrong_machine=ascii(says)
    )


def _texts(machine: Machine, own: str, pythons: Sequence[str]) -> Iterator[tuple[str, bytes]]:
    main = template("main.txt").substitute(fits=machine_check(machine, pythons), wheel=repr(own))
    yield "__main__.py", main.encode()
    if machine.system == "win32":
        yield "install.cmd", template("install.cmd").template.replace("\n", "\r\n").encode()
    else:
        yield "install.sh", template("install.sh").template.encode()


def template(name: str) -> Template:
    """The text of that name, with places to be filled in."""
    return Template((files("gradecheck") / "bundle" / "templates" / name).read_text(encoding="utf-8"))


def zipped(contents: Mapping[str, bytes]) -> bytes:
    """The files as a zip, the same bytes for the same files; wheels are packed already."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as file:
        for name, content in contents.items():
            info = zipfile.ZipInfo(name)
            info.external_attr = (0o100755 if name.endswith(".sh") else 0o100644) << 16
            info.compress_type = zipfile.ZIP_STORED if name.endswith(".whl") else zipfile.ZIP_DEFLATED
            file.writestr(info, content)
    return out.getvalue()


def _single_file(to: Path, work: Path, name: str, python: str, wheels: Sequence[Path]) -> Path:
    """The program as one file that Python runs; it unpacks itself beside the user's files at its first start."""
    machine, packages, check = MACHINES[name], work / f"site-{python}", work / f"fits_{python}.py"
    for wheel in wheels:  # pip would ask whether they fit the Python that runs here
        with zipfile.ZipFile(wheel) as file:
            file.extractall(packages, [each for each in file.namelist() if not _BESIDE.match(each)])
    write(check, machine_check(machine, [python]).encode())
    app = to / f"gradecheck-{__version__}-{name}-py{python.replace('.', '')}.pyz"
    start = (f"--site-packages={packages}", "--entry-point=gradecheck.__main__:main", f"--preamble={check}")
    _run("shiv", *start, "--reproducible", f"--output-file={app}")
    return app


_BESIDE = re.compile(r"[^/]+\.data/")
"""What a wheel puts elsewhere than among the packages, as scripts; the program starts none of them."""


def _taking(machine: Machine, python: str) -> list[str]:
    """Options by which pip takes wheels for that machine and Python, whatever it runs on."""
    platforms = [f"--platform={each}" for each in machine.wheels]
    return ["--only-binary=:all:", "--implementation=cp", f"--python-version={python}", *platforms]


def _pip(*arguments: str) -> None:
    _run("pip", "--disable-pip-version-check", "--quiet", *arguments)


def _run(module: str, *arguments: str) -> None:
    ran = subprocess.run(  # noqa: S603 - pip and shiv
        [sys.executable, "-m", module, *arguments],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        errors="replace",
    )
    if ran.returncode:
        errors = [line for line in ran.stderr.splitlines() if line.strip() and "WARNING" not in line]
        raise Refusal(
            _("{module} could not do it: {why}", module=module, why=errors[-1] if errors else ran.returncode)
        )
