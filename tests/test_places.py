"""Files that are their owner's alone, written behind their end, or without a name: the corners of the one room."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from gradecheck import places

pytestmark = pytest.mark.skipif(os.name == "nt", reason="rights and links are others there")


def rights(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_a_private_file_is_new_and_its_owners_alone(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        places.write_private(tmp_path / "passwords", b"secret\n")
    finally:
        os.umask(before)
    assert (tmp_path / "passwords").read_bytes() == b"secret\n"
    assert rights(tmp_path / "passwords") == 0o600
    with pytest.raises(FileExistsError):
        places.write_private(tmp_path / "passwords", b"other\n")
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FileExistsError):
        places.write_private(tmp_path / "link", b"other\n")
    assert (tmp_path / "passwords").read_bytes() == b"secret\n"
    assert not (tmp_path / "elsewhere").exists()


def test_what_is_appended_stands_behind_the_rest_and_no_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "settings").write_bytes(b"a = 1\n")
    places.append(tmp_path / "settings", b"b = 2\n")
    assert (tmp_path / "settings").read_bytes() == b"a = 1\nb = 2\n"
    (tmp_path / "link").symlink_to(tmp_path / "settings")
    for name in ("link", "none"):
        with pytest.raises(OSError):  # noqa: PT011 - each system has its own number for a link
            places.append(tmp_path / name, b"c = 3\n")
    assert (tmp_path / "settings").read_bytes() == b"a = 1\nb = 2\n"
    assert not (tmp_path / "none").exists()


def test_rights_are_set_in_the_held_folder_whatever_its_path_is(tmp_path: Path) -> None:
    for name in ("held", "other"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "file").write_bytes(b"")
        (tmp_path / name / "file").chmod(0o600)
    with places.Folder(tmp_path / "held") as folder:
        (tmp_path / "held").rename(tmp_path / "moved")
        (tmp_path / "other").rename(tmp_path / "held")
        folder.allow("file", 0o644)
        with pytest.raises(OSError, match="not the plain name"):
            folder.allow("../held/file", 0o666)
    assert [rights(tmp_path / name / "file") for name in ("moved", "held")] == [0o644, 0o600]


def test_a_file_without_a_name_is_written_and_read_and_has_no_place() -> None:
    with places.nameless() as file:
        file.write(b"said")
        file.seek(0)
        assert file.read() == b"said"
        assert os.fstat(file.fileno()).st_nlink == 0
