"""What a job's folder, and a list in it, may be called on every system; a folder's name made from the job's title."""

from __future__ import annotations

from gradecheck.catalogue import _
from gradecheck.places import is_plain
from gradecheck.plan.names import hidden_in, one_form

LONGEST_FOLDER = 60
"""Characters; below what any system takes, in a path of usual length."""

_NOT_IN_A_NAME = '/\\:*?"<>|'
# Windows keeps these for devices, whatever ending and case they have; its figures may stand raised as well.
_NUMBERED = tuple("0123456789¹²³")
_DEVICES = {
    *("con", "prn", "aux", "nul", "conin$", "conout$", "clock$"),
    *(f"{port}{number}" for port in ("com", "lpt") for number in _NUMBERED),
}


def folder_fault(name: str) -> str | None:
    """Why a job's folder can't be called that on every system, or None where it can."""
    shown = name[:LONGEST_FOLDER]
    if not name.strip():
        return _("Nothing was named; give the job's folder a name, for example alder-yard.")
    if hidden_in(name) is not None:
        return _("This name has a character in it that can't be seen; write it without.")
    if found := next((character for character in _NOT_IN_A_NAME if character in name), None):
        return _(
            "“{shown}” is not a plain folder name, it has a {found} in it; write it without.",
            shown=shown,
            found=found,
        )
    if name != name.strip() or name[-1] == ".":
        return _("“{shown}” begins or ends with a space, or ends with a dot; write it without.", shown=shown)
    if name[0] in ".-~":
        return _(
            "“{shown}” begins with {name}; begin a folder's name with a letter or a figure.",
            shown=shown,
            name=name[0],
        )
    if name.partition(".")[0].strip().casefold() in _DEVICES:
        return _("“{shown}” is a name that Windows keeps for itself; take another.", shown=shown)
    if len(name) > LONGEST_FOLDER or len(name.encode()) > 4 * LONGEST_FOLDER:
        return _(
            "“{shown}…” is longer than {most} characters; shorten it.",
            shown=shown,
            most=LONGEST_FOLDER,
        )
    return None


def list_fault(name: str) -> str | None:
    """Why no list beside the job file can be called that on every system, or None where one can."""
    shown = name[:LONGEST_FOLDER]
    if not is_plain(name):
        return _(
            "“{shown}” is not the plain name of a file next to the job file; put the file there and give its name.",
            shown=shown,
        )
    if hidden_in(name) is not None:
        return _("This file's name has a character in it that can't be seen; rename the file.")
    if name != name.strip() or name[-1] == ".":
        return _("“{shown}” begins or ends with a space, or ends with a dot; rename the file.", shown=shown)
    folded = name.casefold()
    if folded == _JOB_FILE or folded.startswith(_LOG):
        return _("“{shown}” is a name that the job's own files have; rename the list.", shown=shown)
    if folded.partition(".")[0].strip() in _DEVICES:
        return _("“{shown}” is a name that Windows keeps for itself; rename the file.", shown=shown)
    if len(name.encode("utf-8", "surrogatepass")) > _LONGEST_FILE:
        return _(
            "“{shown}…” is longer than the {most} bytes of a file's name; shorten it.",
            shown=shown,
            most=_LONGEST_FILE,
        )
    return None


_JOB_FILE, _LOG = "job.yaml", "journal."
_LONGEST_FILE = 255


def folder_for(title: str) -> str:
    """A folder's name for a job of that title, in small letters and figures with dashes between."""
    words = "".join(character if character.isalnum() else " " for character in one_form(title).lower()).split()
    name = "-".join(words)[:LONGEST_FOLDER].strip("-")
    return name if folder_fault(name) is None else "job"


def title_for(folder: str) -> str:
    """A title for the job in a folder of that name: ``alder-yard`` is the job “Alder yard”."""
    words = " ".join(folder.replace("-", " ").replace("_", " ").split())
    return words[:1].upper() + words[1:] or folder
