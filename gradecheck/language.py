"""The language of what people read: as the settings say, else as the machine does; English where neither names one.

It is asked before anything else is loaded, so it looks at the settings file by itself and only where it must.
"""

from __future__ import annotations

import os
import sys

TYPE_CHECKING = False  # importing that of `typing` takes a third of what the help takes
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

ENGLISH, SPANISH = "en", "es"
LANGUAGES = (ENGLISH, SPANISH)
CHOICE = "GRADECHECK_LANGUAGE"
"""The variable that goes before the settings."""
OPTION = "--language"
"""Goes before all others, for one run."""
VARIABLES = ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG")
"""Those of the machine, in the order in which they count."""
FILE = "settings.toml"
"""The file that a person writes, in TOML."""
FILES_FOR_PROGRAMS = (".json", ".csv", ".xlsx", ".dxf", ".geojson", ".xml", ".landxml")
LARGEST = 65_536
"""Bytes; nobody writes more into a few settings."""


def chosen() -> str:
    """The language of this run. What other programs read is English in every language."""
    if for_programs(sys.argv[1:]):
        return ENGLISH
    if (asked := taken_out(sys.argv[1:])) in LANGUAGES:
        return asked or ENGLISH
    named = os.environ.get(CHOICE, "").strip().casefold()
    return (named if named in LANGUAGES else "") or _of_settings() or of_machine(os.environ, _of_windows)


def taken_out(arguments: list[str]) -> str | None:
    """What ``--language`` asks for, taken out of the arguments; None where it is not among them."""
    end = arguments.index("--") if "--" in arguments else len(arguments)
    at = next((at for at, each in enumerate(arguments[:end]) if each.partition("=")[0] == OPTION), None)
    if at is None:
        return None
    _option, equals, named = arguments.pop(at).partition("=")
    if not equals:
        named = arguments.pop(at) if at < len(arguments) else ""
    return named.strip().casefold()


def for_programs(arguments: Sequence[str]) -> bool:
    """Whether the answer is JSON or a table; argparse takes the beginning of an option for the whole."""
    asked = arguments[: arguments.index("--")] if "--" in arguments else arguments
    for before, each in zip(("", *asked), asked, strict=False):
        if any(each.startswith(name) or (name.startswith(each) and each > "--") for name in ("--json", "--csv")):
            return True
        if _written_to(before, each).casefold().endswith(FILES_FOR_PROGRAMS):
            return True
    return False


def _written_to(before: str, each: str) -> str:
    """The file that ``-o`` or ``--output`` names: behind a space, behind ``=``, or right behind the ``-o``."""
    name, equals, file = each.partition("=")
    if before == "-o" or _is_output(before):
        return each
    if equals and _is_output(name):
        return file
    return each[2:] if each.startswith("-o") else ""


def _is_output(name: str) -> bool:
    return name > "--" and "--output".startswith(name)


def of_machine(environ: Mapping[str, str], of_windows: object = None) -> str:
    """The first of the machine's languages that is known here: what follows English there is not asked."""
    given = next((value for name in VARIABLES if (value := environ.get(name, ""))), "")
    for each in given.split(":"):
        if (language := each.replace("-", "_").partition("_")[0].partition(".")[0].casefold()) in LANGUAGES:
            return language
    return of_windows() if callable(of_windows) and not given else ENGLISH


def _of_settings() -> str:
    """What the settings name; empty where they name none, or can't be read: the app tells what is wrong in them."""
    try:
        with open(os.path.join(_folder(), FILE), "rb") as file:
            content = file.read(LARGEST)
        if b"language" not in content:
            return ""
        import tomllib

        named = tomllib.loads(content.decode("utf-8-sig")).get("language")
    except (OSError, ValueError):
        return ""
    return named if named in LANGUAGES else ""


def _folder() -> str:
    """The folder of the settings, on Linux without loading what knows it for every system."""
    if named := os.environ.get("GRADECHECK_SETTINGS"):
        return named
    if sys.platform == "linux":
        config = os.environ.get("XDG_CONFIG_HOME", "")
        return os.path.join(config if config.strip() else os.path.expanduser("~/.config"), "gradecheck")
    from platformdirs import user_config_dir

    return user_config_dir("gradecheck", appauthor=False)


def _of_windows() -> str:
    """The language of the menus of Windows, which sets no variable."""
    if sys.platform != "win32":
        return ENGLISH
    import ctypes

    return _of_number(ctypes.windll.kernel32.GetUserDefaultUILanguage())


def _of_number(number: int) -> str:
    """The language of an identifier of Windows, whose lower ten bits name it whatever the country."""
    return SPANISH if number & 0x3FF == _WINDOWS_SPANISH else ENGLISH


_WINDOWS_SPANISH = 0x0A
"""LANG_SPANISH of Windows' own header winnt.h, from memory."""
