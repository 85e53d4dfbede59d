"""Which windows are open on a job: here by locks, and as Windows has it, where what is open can't be removed."""

from __future__ import annotations

from pathlib import Path

import pytest

from gradecheck.places import Folder
from gradecheck.system import running
from gradecheck.system.running import Window


@pytest.fixture(params=["locks", "windows"])
def system(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The system as it is, or Windows imitated: no locks, and no open file is removed."""
    monkeypatch.setenv("GRADECHECK_SETTINGS", str(tmp_path / "settings"))
    if request.param == "windows":
        held: dict[str, object] = {}
        create, remove = Folder.create, Folder.remove

        def opened(folder: Folder, name: str, mode: int = 0o666) -> object:
            held[name] = create(folder, name, mode)
            return held[name]

        def removed(folder: Folder, name: str) -> None:
            if name in held and not held[name].closed:  # type: ignore[attr-defined]
                raise PermissionError(13, "The process cannot access the file", name)
            remove(folder, name)

        monkeypatch.setattr(running, "fcntl", None)
        monkeypatch.setattr(Folder, "create", opened)
        monkeypatch.setattr(Folder, "remove", removed)
    return str(request.param)


def _open_files(tmp_path: Path) -> list[str]:
    return sorted(path.name for path in (tmp_path / "settings" / "open").iterdir())


@pytest.mark.usefixtures("system")
def test_a_window_that_was_closed_leaves_nothing(tmp_path: Path) -> None:
    window = Window(tmp_path / "court")
    assert len(_open_files(tmp_path)) == 1
    window.close()
    window.close()
    assert _open_files(tmp_path) == []
    again = Window(tmp_path / "court")
    assert not again.last_was_killed
    again.close()


@pytest.mark.usefixtures("system")
def test_one_that_was_killed_is_told_once_and_an_open_one_never(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.getpid", lambda: 1001)
    killed = Window(tmp_path / "court")
    monkeypatch.setattr("os.getpid", lambda: 1002)
    second = Window(tmp_path / "court")
    assert not second.last_was_killed, "the first is open still"
    assert killed._file is not None
    killed._file.close()  # as the system does it, whatever happens
    monkeypatch.setattr("os.getpid", lambda: 1003)
    third, other = Window(tmp_path / "court"), Window(tmp_path / "yard")
    assert third.last_was_killed
    assert not other.last_was_killed
    monkeypatch.setattr("os.getpid", lambda: 1004)
    fourth = Window(tmp_path / "court")
    assert not fourth.last_was_killed
    for window in (second, third, other, fourth):
        window.close()
    assert _open_files(tmp_path) == []
