"""Every text that people read is in the catalogue, whole, with its fields by name."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from string import Formatter

from gradecheck.plan.keys import sections
from gradecheck.plan.limits import RULES
from gradecheck.report.findings import SENTENCES
from tests.sentences import ROOT, marked, named, tree_of
from tests.tables import each_of

MODULES = named()
NOT_READ = {
    "codec.py", "office/init.py", "journal/schema.py", "journal/recovery/upgrade.py",  # SQL
    "bundle/machines.py",  # names of systems
    "plan/schema.py",  # what editors show
    "plan/limits.py",  # titles of codes, as they were published
    "plan/names.py",  # names of Unicode's scripts
    "rehearsal/days.py",  # remarks that a made-up crew types
    "cli/examples.py",  # orders as they are typed
    "cli/answer_schema.py", "cli/answer_shapes.py",  # keys of answers, and what programs read of them
}  # fmt: skip
FOR_DEVELOPERS = {"RuntimeError", "AssertionError", "NotImplementedError", "TypeError", "KeyError"}
SENTENCE = re.compile(r"^[A-Z“{][^<>]*[a-z}][.?!]$")
"""A whole sentence, wherever it stands."""
SHORT = re.compile(r"[A-Za-z][^ ]* +[^ ]*[A-Za-z]|^ [a-z]{2,}|[a-z]{2,} $|^[A-Z][a-z]+(/[a-z]+)?$")
"""Two words side by side, a word that is put beside another, or one written like a heading."""
NO_WORDS = re.compile(
    r"^\.(TH|SH) |^fpath=|[<>]|\(\?|l: m|\\|[a-z0-9-]+=[\"{]|\{\"|^M\{x\}|-src 'none'|"
    r"SELECT|FROM|;\n|ORDER BY|WHERE|LEFT JOIN|^[a-z]+(-[a-z]+)*:|^[{}\w ]*: [{\[]|"
    r"^\s*(select|insert into|delete from|update gradecheck|grant|alter|listen|revoke|drop role|copy pg_temp|"
    r"create (role|table|temp|schema|or))\b"
)
"""Markup, headings of troff, orders of a shell, patterns, SQL and lines of a job file."""
UNIT = re.compile(r"[-{}0-9/. ]*(in|ft|mm|cm|m|lb|ton|(cu|us|cubic|survey|yd) ?[a-z]*)[²³/]?\b.{0,6}$")
"""A number with its unit, whose sign is the same in any language, or a unit as it is typed."""
LEFT_OUT = {
    "# yaml-language-server: $schema=job.schema.json",
    # The meanings of keys and settings, as the tables of keys and settings.toml name them.
    "up down page-up page-down strike undo go-on find left stage area accuracy other open", "recheck undo",
    "undo strike", "undo correct", "correct undo", "correct strike", "strike up",
    "up down", "set-up recheck mark doubt correct datum",
    "log day sign checks more person", "day log", "plan set-up", "plan undo", "plan checks",
    "plan other-folder share",
    "back keys theme quit leave", "back keys", "go on", "stay until on grade",
    # Looks, as the style sheet names them.
    "$quiet not bold", "$ink bold", "$doubt bold",
    # Names that two parts of the program, or two programs, know a thing by.
    "{x} to {x}", "{x} to {x}, {x}", "{x} to {x} {x}", "{x} of {x}", "rod {x}", "rod on {x}", "accessible route",
    "exact pitch",
    "{x} of ", "{x} lift {x}", "{x} loose", "{x} set", "{x} at {x}{x}", " of {x}", "laptop {x}", "ids {x}",
    " from the finish", "as {x}", "at ", "falls ", "half way",
    "{x} way", "crash reports",
    "-{} ft per {} ft",  # a slope as the job file has it
    "one point at one place", "names that look alike", "fall at most", "decide guarded", "last copy", "half there",
    "Start", "End", "Center", "Entry", "planar, x right, y up, local", "Libertinus Serif",
    "watchdog of the office",
    # What another program says: words of its messages that are looked for.
    "password authentication failed", "no password supplied", "does not exist", "too many", "starting up",
    "connection slots", "shutting down", "not permitted to log in",
    # What is typed: orders of levelling, spots on a string, keys people tried.
    "first I", "first II", "second I", "second II", "third order", "set up", "{} to P8 at 3 ft", "same as",
    # A folder of a system, and a command.
    "Library/Application Support/gradecheck/program", "python -m gradecheck.bundle",
    # Sections of codes, as they were published.
    "29 CFR 1926.651(c)(2), (j)(2), (k); 1926.652(a)", "IRC 2018 R311.7.8, R312.1.1",
    # Stands in a file for other programs, or reaches developers alone.
    "written by gradecheck", "# gradecheck import", "## Every key", "# codes: [us-residential]",
    "chalk lines lie one row apart or more", "stone weighs something",
    "stone takes no more room compacted than loose",
}  # fmt: skip
"""Texts that no other language would change, each kind with its reason."""
TABLES = {"Column": (0,), "Heading": (1, 2), "bind": (2,), "Binding": (2,)}
"""What shows a text it is given, and as which of its arguments: here a single word counts too."""
SHOWN = {"help", "description", "epilog", "placeholder", "word", "tooltip"}
OF_TEXTS = {"get", "pop", "startswith", "endswith", "partition", "split", "removeprefix", "removesuffix", "execute"}
"""Functions that look a text up or take it apart, rather than show it."""


def text_of(node: ast.AST) -> str | None:
    if isinstance(node, ast.JoinedStr):
        return "".join(str(each.value) if isinstance(each, ast.Constant) else "{x}" for each in node.values)
    return node.value if isinstance(node, ast.Constant) and isinstance(node.value, str) else None


def called(node: ast.AST) -> str:
    """The name of what is called there, without where it comes from."""
    what = node.func if isinstance(node, ast.Call) else None
    return what.id if isinstance(what, ast.Name) else what.attr if isinstance(what, ast.Attribute) else ""


@cache
def stored_words() -> frozenset[str]:
    """Words that files and answers in JSON hold, so that no reader's language may change them."""
    words = {key.key for _place, keys in sections() for key in keys} | set(RULES) | set(SENTENCES)
    for name in MODULES:
        for node in ast.walk(tree_of(name)):
            if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal":
                words.update(text for text in map(text_of, ast.walk(node.slice)) if text)
    return frozenset(words)


def not_shown(tree: ast.Module) -> Iterator[ast.AST]:
    """Docstrings, what only developers see, and the parts of texts that are looked at whole."""
    for node in ast.walk(tree):
        inside = isinstance(getattr(node, "value", None), ast.Call | ast.Await | ast.Yield | ast.YieldFrom)
        if isinstance(node, ast.Expr | ast.Assert | ast.JoinedStr) and not inside:
            yield from (each for each in ast.walk(node) if each is not node)
        if (isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__") or called(node) == "TypeVar":
            yield from ast.walk(node)
        if isinstance(node, ast.Raise) and called(node.exc or node) in FOR_DEVELOPERS:
            yield from ast.walk(node)


def stored(tree: ast.Module) -> Iterator[ast.AST]:
    """What names a thing rather than tells of it: keys, what is compared, values of enums, patterns."""
    for node in ast.walk(tree):
        match node:
            case ast.Dict(keys=keys):
                yield from (key for key in keys if key is not None)
            case ast.Subscript(slice=key):
                yield from ast.walk(key)
            case ast.Compare() | ast.MatchValue():
                yield from ast.walk(node)
            case ast.Call(args=args) if called(node) in OF_TEXTS or ast.unparse(node.func).startswith("re."):
                yield from (each for arg in args for each in ast.walk(arg))
            case ast.ClassDef(bases=bases) if any("Enum" in ast.unparse(base) for base in bases):
                yield from ast.walk(node)


def fields_of(call: ast.Call) -> Iterator[ast.Constant]:
    """Words that fill the fields of a sentence, where they are written beside it."""
    todo: list[ast.AST] = [each.value for each in call.keywords]
    while todo:
        match todo.pop():
            case ast.Constant(value=str()) as word:
                yield word
            case ast.IfExp(body=one, orelse=other) | ast.BinOp(left=one, right=other):
                todo += [one, other]
            case ast.BoolOp(values=values) | ast.JoinedStr(values=values):
                todo += values
            case ast.FormattedValue(value=value) | ast.Call(func=ast.Attribute(attr="join", value=value)):
                todo.append(value)


def in_tables(tree: ast.Module) -> Iterator[ast.expr]:
    """What is given to a table, a heading, a key or an option, to be shown."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield from (node.args[at] for at in TABLES.get(called(node), ()) if at < len(node.args))
            yield from (each.value for each in node.keywords if each.arg in SHOWN)


def is_kept(text: str, words: str) -> bool:
    """Whether a text stays as it is in every language; `words` is what it holds beside its fields."""
    return bool(NO_WORDS.search(text) or UNIT.match(words)) or text in stored_words() | LEFT_OUT


def unmarked(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Texts that people read and that stand in no call of the catalogue, with their lines."""
    left_out, names, calls = set(not_shown(tree)), set(stored(tree)), list(marked(tree))
    for call, _sentences in calls:
        left_out.update(ast.walk(call))
    found = [word for call, _sentences in calls for word in fields_of(call) if re.search("[A-Za-z]", word.value)]
    found += [each for each in in_tables(tree) if re.search("[A-Za-z]", (text_of(each) or "").replace("{x}", ""))]
    for node in ast.walk(tree):
        text = "" if node in left_out else text_of(node) or ""
        words = text.replace("{x}", "")
        whole = SENTENCE.match(text) and len(re.findall("[A-Za-z]{2,}", words)) >= 3
        if whole or (SHORT.search(words) and node not in names and not is_kept(text, words)):
            yield getattr(node, "lineno", 0), text
    yield from ((each.lineno, text_of(each) or "") for each in found)


@each_of("name", [name for name in MODULES if name not in NOT_READ])
def test_no_text_is_outside_the_catalogue(name: str) -> None:
    assert list(unmarked(tree_of(name))) == []


def test_a_sentence_outside_is_found() -> None:
    tree = ast.parse('def f(n):\n    "A docstring is no sentence."\n    return f"There are {n} points left."')
    assert list(unmarked(tree)) == [(3, "There are {x} points left.")]


def test_a_text_outside_is_found_wherever_it_is_shown() -> None:
    source = """
KEYS = {"keys": ("f1", "Keys")}
bind("up", "move(-1)", "the point before", word="before")
Column("worst")
option("--all", help="everything")
_("{n} are {left}", n=1, left="open" if here else "closed")
names = " and ".join(names)
def said(row): return "not read" if row["not a text"] == "nor this" else f"read by {row.who}"
"""
    found = {text for _line, text in unmarked(ast.parse(source))}
    assert found == {"Keys", "the point before", "before", "worst", "everything", "open", "closed", " and ",
                     "not read", "read by {x}"}  # fmt: skip


def test_what_is_left_out_is_still_there() -> None:
    every = {text_of(node) for name in MODULES for node in ast.walk(tree_of(name))}
    assert every >= LEFT_OUT


@each_of("name", [name for name in MODULES if name.split("/")[0] in ("checks", "findings", "plan")])
def test_a_finding_is_stored_under_a_name_that_no_language_changes(name: str) -> None:
    kept = {text_of(each) for _call, sentences in marked(tree_of(name)) for each in sentences}
    assert not kept & {name for name in (*SENTENCES, *RULES) if " " in name}


@each_of("name", MODULES)
def test_a_sentence_has_each_of_its_fields_and_no_other(name: str) -> None:
    for call, sentences in marked(tree_of(name)):
        given = {each.arg for each in call.keywords}
        if None in given or name == "catalogue.py":
            continue
        for each in sentences:
            assert isinstance(each, ast.Constant), f"{name}:{each.lineno} is put together before it is looked up"
            if call.keywords or len(sentences) > 1:
                named = {field for _text, field, _spec, _how in Formatter().parse(each.value) if field is not None}
                assert named <= given | {"n"}, f"{name}:{each.lineno}"
                assert len(sentences) > 1 or named == given, f"{name}:{each.lineno}"


def test_sentences_are_many_and_of_every_room_that_speaks() -> None:
    rooms = {name.split("/")[0] for name in MODULES if any(True for _ in marked(tree_of(name)))}
    assert {"actions", "app", "checks", "cli", "findings", "plan", "report", "session"} <= rooms
    assert (ROOT / "catalogue.py").exists()
