"""Every file is written through one room: the walk that finds a writer which goes around it."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from tests.tables import each_of
from tests.test_layers import SOURCES, parsed

ROOM = "places"
SQLITE = {"journal.file", "journal.recovery.private_copies", "journal.recovery.copying"}
"""The modules that open a journal: SQLite does so by path, and these look at what has the name before, or make it."""

WRITES = {
    *(
        "write_text",
        "write_bytes",
        "touch",
        "symlink_to",
        "hardlink_to",
        "link_to",
        "unlink",
        "rmdir",
        "mkdir",
        "chmod",
    ),
    *("makedirs", "removedirs", "renames", "symlink", "mkfifo", "mknod", "truncate", "ftruncate", "removexattr"),
    *("copyfile", "copyfileobj", "copytree", "copy2", "rmtree", "make_archive", "unpack_archive", "chown", "utime"),
    *("mkdtemp", "mkstemp", "TemporaryDirectory", "TemporaryFile", "NamedTemporaryFile", "SpooledTemporaryFile"),
}
"""Calls that write, whatever they are called on."""
OF_MODULES = {"os": {"open", "replace", "rename", "link", "remove", "write", "fdopen", "truncate"},
              "shutil": {"copy", "move"}, "io": {"open", "open_code", "FileIO"}}  # fmt: skip
"""Calls that write where they are a module's own."""


def around(module: str, text: str) -> list[str]:
    """The calls in a module of that name that write files, or open databases, without going through the room."""
    return [f"{module}:{line} {what}" for line, what in sorted(_writers(module, parsed(text)))]


def _writers(module: str, tree: ast.AST) -> Iterator[tuple[int, str]]:
    for each in ast.walk(tree):
        if isinstance(each, ast.ImportFrom) and each.module in (*OF_MODULES, "tempfile", "sqlite3"):
            names = {alias.name for alias in each.names}
            taken = names & (WRITES | OF_MODULES.get(each.module, set()) | {"connect"})
            yield from ((each.lineno, f"{each.module}.{name}") for name in taken)
        if not isinstance(each, ast.Call):
            continue
        called = each.func
        if isinstance(called, ast.Name):
            if called.id == "open" and _mode(each, 1) not in _READING:
                yield each.lineno, "open"
        elif isinstance(called, ast.Attribute):
            of = called.value.id if isinstance(called.value, ast.Name) else ""
            if called.attr in WRITES or called.attr in OF_MODULES.get(of, set()):
                if not (of == "os" and called.attr in ("open", "fdopen") and _only_reads(each)):
                    yield each.lineno, f"{of}.{called.attr}"
            elif (of, called.attr) == ("sqlite3", "connect"):
                if module not in SQLITE and not _in_memory(each):
                    yield each.lineno, "sqlite3.connect"
            elif called.attr == "open" and of not in ("os", "codecs") and _mode(each, 0) not in _READING:
                yield each.lineno, f"{of}.open"


_READING = ("r", "rb", "rt")


def _mode(call: ast.Call, place: int) -> object:
    """The mode a file is opened with; what can't be told is taken for writing."""
    given = next((each.value for each in call.keywords if each.arg == "mode"), None)
    if given is None and len(call.args) > place:
        given = call.args[place]
    if given is None:
        return "r"
    return given.value if isinstance(given, ast.Constant) else None


def _only_reads(call: ast.Call) -> bool:
    """Whether the flags, or the mode, that are given are those of reading."""
    if isinstance(call.func, ast.Attribute) and call.func.attr == "fdopen":
        return _mode(call, 1) in _READING
    told = ast.dump(call.args[1]) if len(call.args) > 1 else ""
    return "O_RDONLY" in told and not any(flag in told for flag in ("O_CREAT", "O_RDWR", "O_APPEND", "O_TRUNC"))


def _in_memory(call: ast.Call) -> bool:
    return bool(call.args) and isinstance(call.args[0], ast.Constant) and call.args[0].value == ":memory:"


@each_of("module", [name for name in SOURCES if name not in ("", ROOM)])
def test_no_module_writes_a_file_but_through_the_one_room(module: str) -> None:
    allowed = _ALLOWED.get(module, "")
    assert [each for each in around(module, SOURCES[module]) if not allowed or not each.endswith(allowed)] == []


_ALLOWED = {"system.streams": "os.open", "system.trail": "path.open"}
"""The null device, once whoever read our output has gone; the file that whoever runs the program names by `--log`."""


@pytest.mark.parametrize(
    "text",
    [
        "Path('x').write_text('y')",
        "Path('x').open('w')",
        "path.open(mode)",
        "open(path, 'ab')",
        "open(path, mode='w')",
        "os.replace(one, other)",
        "os.open(path, os.O_WRONLY | os.O_CREAT)",
        "os.open(path, flags)",
        "shutil.copyfile(one, other)",
        "shutil.move(one, other)",
        "from shutil import rmtree",
        "from os import rename as r",
        "import tempfile\ntempfile.mkdtemp()",
        "path.unlink(missing_ok=True)",
        "path.mkdir()",
        "sqlite3.connect(path)",
        "from sqlite3 import connect",
    ],
)
def test_a_writer_that_goes_around_it_is_found(text: str) -> None:
    assert len(around("files.made_up", text)) == 1


@pytest.mark.parametrize(
    "text",
    [
        "path.open('rb')",
        "path.open()",
        "open(path)",
        "os.open(path, os.O_RDONLY | os.O_NONBLOCK)",
        "os.fdopen(handle, 'rb')",
        "sqlite3.connect(':memory:')",
        "text.replace('a', 'b')",
        "self.write(draft)",
    ],
)
def test_who_only_reads_is_left_alone(text: str) -> None:
    assert around("files.made_up", text) == []


def test_the_room_itself_would_be_found_and_is_the_only_one_of_its_kind() -> None:
    assert len(around(ROOM, SOURCES[ROOM])) > 8
    assert all(module in SOURCES for module in (*SQLITE, *_ALLOWED))
