"""A job file's text edited in place: what is edited changes, and nothing else, by a model on plain maps and lists."""

from __future__ import annotations

import copy
import difflib
import random
import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from gradecheck.plan.editing import typed_value
from gradecheck.plan.edits import Delete, Edit, EditRefusedError, JobFileDraft, MoveEdit, Put, Rename
from gradecheck.plan.references import delete
from gradecheck.plan.yaml_tree import read_yaml
from tests.bench.plan import job as square_job
from tests.plan.test_broken_jobs import EDITING, sentences

LOADER = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
JOBS = Path(__file__).parents[2] / "jobs"
ODD = """\
# A file as people leave it.
job:   'Quay "Nine"'     # the name, quoted
units: in

benchmarks: {DOOR: {elevation: 0, what: 'the owner''s door', at: [12 ft, 0]}, PIN: -4 3/8,}
build-ups:
  plaza:
    - paver: 2 3/8 in    # as sold
    - bedding: 1 in
    -   base: 8 in
      # no more
  path: [{paver: 2 3/8 in}, base: 6 in]
tolerances:   {finish: 1/8 in,
  base: 3/8 in,   # by the book
  subgrade: {high: 1/2 in, low: 1/2 in}}

areas:
  "größe":

    # what is built first
    what: "a yard"
    outline: [[0, 0],      # the corner
              [24 ft, 0],
              [24 ft, 20 ft],
              [0, 20 ft]]
    points:
      P1: {from: DOOR, fall: 1/4 in/ft, over: 1 ft}   # at the wall
      P2:
        from: P1
        # counted twice
        fall: 2%
        over: 6 ft
      P3:    -3 1/4 in

      "P4": {elevation: -3,
             what: "low, #4"}
    added: {}
    route:
    - P1
    -   P2   # then
    - P3

    - P4
  last: {points: {L1: -1, L2: {from: L1, fall: 1:48,
     over: 4 ft}}, use: walk}
# the end"""
TEXTS = ["-3 1/4 in", "1:48", "12' 6 1/2\"", "a, b", "x: y", "# 5", "it's", '"so"', "no", "- 1", "größer", "[", "%",
         "a #b", "{", "ten: ", "2%", "?", "&a", "!t", "*", "|", "0", "'"]  # fmt: skip


def _files() -> Iterator[tuple[str, str]]:
    for job in sorted(JOBS.iterdir()):
        yield job.name, (job / "job.yaml").read_text(encoding="utf-8")
    yield "odd", ODD
    yield "line ends", ODD.replace("\n", "\r\n") + "\r\n"
    yield "byte order mark", "\ufeff" + ODD


FILES = dict(_files())


def read(text: str) -> Any:
    """What YAML's own reader makes of it, every scalar as text."""
    return yaml.load(text.removeprefix("\ufeff"), Loader=LOADER)  # noqa: S506 - it makes texts alone


def paths(tree: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if at:
        yield at
    for step, value in tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ():
        yield from paths(value, (*at, step))


def under(tree: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        tree = tree[step]
    return tree


def drawn(tree: Any, rng: random.Random) -> tuple[Edit, Any]:
    """An edit, and the tree as it should be then."""
    wanted = copy.deepcopy(tree)
    path = rng.choice(list(paths(tree)))
    home, last = under(wanted, path[:-1]), path[-1]
    kind = rng.choice(["put", "put", "put", "add", "rename", "delete", "move"])
    if kind == "rename" and isinstance(home, dict):
        to = rng.choice([f"{last}2", "N 7", "it's", "1:2", "größer"])
        items = [(to if key == last else key, value) for key, value in home.items()]
        home.clear()
        home.update(items)
        return Rename(path, to), wanted
    if kind == "delete":
        del home[last]
        return Delete(path), wanted
    if kind == "move" and len(home) > 1:
        names = list(home) if isinstance(home, dict) else list(range(len(home)))
        after = rng.choice([None, *(name for name in names if name != last)])
        order = [name for name in names if name != last]
        order.insert(0 if after is None else order.index(after) + 1, last)
        if isinstance(home, dict):
            items = [(name, home[name]) for name in order]
            home.clear()
            home.update(items)
        else:
            home[:] = [home[name] for name in order]
        return MoveEdit(path, after), wanted
    value: Any = rng.choice(
        [*TEXTS, ["1 ft", "2 ft"], {"from": "P1", "fall": "2%", "over": "4 ft"}, [["0", "0"], "x"]]
    )
    if kind == "add" and isinstance(home, dict):
        after = rng.choice([None, *home])
        if "N9" in home:  # from an edit before; it stays where it is
            home["N9"] = value
            return Put((*path[:-1], "N9"), value, after), wanted
        at = len(home) if after is None else list(home).index(after) + 1
        items = [*list(home.items())[:at], ("N9", value), *list(home.items())[at:]]
        home.clear()
        home.update(items)
        return Put((*path[:-1], "N9"), value, after), wanted
    old = home[last]
    if isinstance(old, dict) and old and rng.random() < 0.7:
        value = {key: rng.choice(TEXTS) if rng.random() < 0.3 else each for key, each in old.items()}
        if rng.random() < 0.4:
            value.pop(rng.choice(list(value)))
        if rng.random() < 0.4:
            value["what else"] = rng.choice(TEXTS)
    elif isinstance(old, list) and old and rng.random() < 0.7:
        value = list(old)
        value[rng.randrange(len(value))] = rng.choice(TEXTS)
        if rng.random() < 0.3:
            value.append(["3 ft", "4 ft"])
        if rng.random() < 0.3:
            value.pop(rng.randrange(len(value)))
    home[last] = value
    return Put(path, value), wanted


def lines_of(text: str, path: tuple[Any, ...]) -> tuple[int, int]:
    """The first and the last line of an entry, from 0, by the marks of YAML's own composer."""
    node = yaml.compose(text.removeprefix("\ufeff"), Loader=LOADER)
    first = 0
    for step in path:
        if isinstance(node, yaml.MappingNode):
            key, node = next((k, v) for k, v in node.value if k.value == step)
            first = key.start_mark.line
        else:
            node = node.value[step]
            first = node.start_mark.line
    ends = [each.end_mark.line for each in leaves(node)]
    own = node.end_mark.line if not isinstance(node, yaml.CollectionNode) or node.flow_style else 0
    return first, max([first, own, *ends])


def leaves(node: yaml.Node) -> Iterator[yaml.Node]:
    if isinstance(node, yaml.ScalarNode):
        yield node
    elif isinstance(node, yaml.MappingNode):
        for pair in node.value:
            yield from (leaf for each in pair for leaf in leaves(each))
    else:
        for each in node.value:
            yield from leaves(each)


def changed_lines(old: str, new: str) -> tuple[int, int]:
    """The least run of lines of the old text that holds all that changed."""
    one, other = old.splitlines(keepends=True), new.splitlines(keepends=True)
    if one and not one[-1].endswith(("\n", "\r")) and one[-1] != other[-1]:
        one[-1] += "\r\n" if "\r\n" in old else "\n"  # a line behind the last one gives that its end
    before = 0
    while before < min(len(one), len(other)) and one[before] == other[before]:
        before += 1
    behind = 0
    while behind < min(len(one), len(other)) - before and one[-1 - behind] == other[-1 - behind]:
        behind += 1
    return before, len(one) - behind


def check(text: str, rng: random.Random) -> bool:
    """Whether a drawn edit was made; then only its own lines changed, and it says what was meant."""
    tree = read(text)
    edit, wanted = drawn(tree, rng)
    try:
        new = JobFileDraft(text).edited(edit).text
    except EditRefusedError:
        return False
    assert repr(read(new)) == repr(wanted), edit
    assert new.startswith("\ufeff") == text.startswith("\ufeff")
    assert new.endswith("\n") == text.endswith("\n")
    assert ("\r\n" in text) or "\r" not in new
    if "\r\n" in text:
        assert new.count("\n") == new.count("\r\n")
    first, last = changed_lines(text, new)
    near = edit.path if not isinstance(edit, MoveEdit) and under_or_none(tree, edit.path) else edit.path[:-1]
    begin, end = lines_of(text, near)
    begin -= isinstance(edit, Delete)  # the comma before the last one in brackets goes too
    assert first >= last or (begin <= first and last <= end + 1 + isinstance(edit, Delete)), (
        edit,
        first,
        last,
        begin,
        end,
    )
    remarks = [line.partition("#")[2] for line in text.splitlines() if line.strip().startswith("#")]
    kept = [line.partition("#")[2] for line in new.splitlines() if line.strip().startswith("#")]
    shrinks = isinstance(edit, Put) and under_or_none(tree, edit.path) and isinstance(edit.value, dict)
    if not isinstance(edit, Delete) and not shrinks:
        assert sorted(kept) == sorted(remarks), edit
    return True


def under_or_none(tree: Any, path: tuple[Any, ...]) -> bool:
    try:
        under(tree, path)
    except (KeyError, IndexError):
        return False
    return True


@pytest.mark.parametrize("count", [60, pytest.param(1_000, marks=pytest.mark.thorough)])
@pytest.mark.parametrize("name", FILES)
def test_any_edit_says_what_was_meant_and_leaves_all_other_lines_alone(name: str, count: int) -> None:
    rng = random.Random(f"{name} {count}")
    made = sum(check(FILES[name], rng) for _ in range(count))
    assert made >= count * 0.8


@pytest.mark.parametrize("count", [10, pytest.param(100, marks=pytest.mark.thorough)])
def test_edit_after_edit_stays_readable(count: int) -> None:
    for seed in range(count):
        rng, text = random.Random(seed), ODD
        for _unused in range(12):
            if not list(paths(read(text))):
                break
            edit, wanted = drawn(read(text), rng)
            try:
                text = JobFileDraft(text).edited(edit).text
            except EditRefusedError:
                continue
            assert repr(read(text)) == repr(wanted)


def put(path: tuple[Any, ...], value: Any, after: str | None = None) -> str:
    return JobFileDraft(ODD).edited(Put(path, value, after)).text


def difference(new: str) -> list[str]:
    """The lines that went and came, with - and + before them."""
    return [line.rstrip("\n") for line in difflib.ndiff(ODD.splitlines(), new.splitlines()) if line[0] in "+-"]


def test_a_value_keeps_its_quotes_its_place_and_its_remark() -> None:
    assert difference(put(("job",), "it's so")) == [
        "- job:   'Quay \"Nine\"'     # the name, quoted",
        "+ job:   'it''s so'     # the name, quoted",
    ]
    assert difference(put(("areas", "größe", "what"), "a lawn")) == ['-     what: "a yard"', '+     what: "a lawn"']


def test_a_text_that_yaml_would_read_otherwise_is_quoted() -> None:
    assert difference(put(("areas", "größe", "points", "P3"), "# 5")) == [
        "-       P3:    -3 1/4 in",
        "+       P3:    '# 5'",
    ]
    assert "at: 4' 3\"" in put(("areas", "größe", "points", "P1", "at"), "4' 3\"")


def test_a_new_point_has_its_own_line_behind_the_named_one() -> None:
    point = {"from": "P1", "fall": "2%", "over": "4 ft", "at": ["4 ft", "1 ft"]}
    assert difference(put(("areas", "größe", "points", "P9"), point, "P2")) == [
        "+       P9: {from: P1, fall: 2%, over: 4 ft, at: [4 ft, 1 ft]}"
    ]


def test_a_new_area_has_its_points_on_lines_of_their_own() -> None:
    area = {"use": "walk", "outline": [["0", "0"], ["4 ft", "0"]], "points": {"W1": "-1", "W2": {"from": "W1"}}}
    assert difference(put(("areas", "walk"), area)) == [
        "+   walk:",
        "+     use: walk",
        "+     outline: [[0, 0], [4 ft, 0]]",
        "+     points:",
        "+       W1: -1",
        "+       W2: {from: W1}",
    ]


def test_of_a_map_only_what_differs_is_touched() -> None:
    old = read(ODD)["areas"]["größe"]["points"]["P2"]
    assert difference(put(("areas", "größe", "points", "P2"), {**old, "fall": "1:40", "what": "drain"})) == [
        "-         fall: 2%",
        "+         fall: 1:40",
        "+         what: drain",
    ]


def test_what_can_not_be_changed_alone_is_refused_with_what_to_do() -> None:
    with pytest.raises(EditRefusedError, match="A remark stands beside this; edit it in the job file by hand"):
        JobFileDraft(ODD).edited(Delete(("areas", "größe", "outline", 0)))
    with pytest.raises(EditRefusedError, match="take another name"):
        JobFileDraft(ODD).edited(Rename(("areas", "größe", "points", "P1"), "P2"))
    with pytest.raises(EditRefusedError, match="There is no such entry"):
        JobFileDraft(ODD).edited(Delete(("areas", "gone")))
    with pytest.raises(EditRefusedError, match="can't be seen"):
        put(("job",), "a\nb")
    for text in ("a: &x 1\nb: *x\n", "a: 1\na: 2\n", "[1, 2]\n", "a: [\n", "a: 1\n--- \nb: 2\n", "a: !t 1\n"):
        with pytest.raises(EditRefusedError, match=r"correct it in an editor first\.$"):
            JobFileDraft(text).edited(Put(("b",), "1"))


NO_EDIT = [
    ("a: 1\na: 2\n", [Put(("b",), "1")], "A key is written twice in this file; correct it in an editor first."),
    ("a: 1\n---\nb: 2\n", [Put(("b",), "1")],
     "A second document begins in this file; correct it in an editor first."),
    ("a: [\n", [Put(("b",), "1")], "This text can't be taken apart; correct it in an editor first."),
    ("[1, 2]\n", [Put(("b",), "1")], "A job file begins with keys; correct it in an editor first."),
    ("a: &x 1\n", [Put(("b",), "1")],
     "This file has anchors, tags or aliases; correct it in an editor first."),
    ("a:\n- x: 1\n  y: 2\n", [MoveEdit(("a", 0, "y"), None)],
     "This stands beside a dash; edit it in the job file by hand."),
    ("a: |\n  x\n", [Put(("a",), "y")], "This is written as a block of lines; edit it in the job file by hand."),
    ("a:\n  b: 1\n", [Put(("a",), "x")], "This is written over several lines; change its parts one by one."),
    ("a:\n  b: 1\n", [Put(("a",), {})], "Nothing would be left here; delete the whole entry instead."),
    ("a: 1\n", [Put(("a",), "x\ny")], "A character in this can't be seen; write it without."),
    ("a: [1, # one\n  2]\n", [Delete(("a", 0))], "A remark stands beside this; edit it in the job file by hand."),
    ("a: 1\n", [Delete(("b",))], "There is no such entry in the job file any more; look again."),
    ("a:\n  b: 1\n", [Delete(("a", "b"))], "It is the only one here; delete the whole entry instead."),
    ("a: 1\nb: 2\n", [Rename(("a",), "b")], "“b” is there already; take another name."),
    ("a: [b: 1]\n", [Put(("a", 0, "c"), "2")], "This is written without braces; edit it in the job file by hand."),
    ("a:\nb: 1\n", [Put(("a",), "x"), Put(("a",), "y")],
     "This can't be changed here without changing more; edit the job file by hand."),
    ("a: 1\n", [Put(("a",), "x"), Put(("a",), "y")], "These changes touch one another; make them one at a time."),
]  # fmt: skip
"""A text, what is to be changed in it, and why that is refused: every sentence once, by the words themselves."""
NO_VALUE = "These brackets can't be read; write them like [12 ft, 20 ft]."
IN_USE = "“P1” is used by P2; change that first."


@pytest.mark.parametrize(("text", "edits", "says"), NO_EDIT, ids=[says[:40] for _text, _edits, says in NO_EDIT])
def test_an_edit_that_is_refused_is_told_in_one_sentence(text: str, edits: list[Edit], says: str) -> None:
    with pytest.raises(EditRefusedError) as refused:
        JobFileDraft(text).edited(*edits)
    assert str(refused.value) == says


def test_brackets_that_no_one_can_read_and_what_is_in_use_are_told_so() -> None:
    with pytest.raises(EditRefusedError) as refused:
        typed_value("[12 ft, [", ("areas", "yard", "points", "P1", "at"))
    assert str(refused.value) == NO_VALUE
    text = "areas:\n  yard:\n    points:\n      P1: -1\n      P2: {from: P1, fall: 2%, over: 4 ft}\n"
    with pytest.raises(EditRefusedError) as refused:
        delete(JobFileDraft(text), ("areas", "yard", "points", "P1"))
    assert str(refused.value) == IN_USE


def test_every_sentence_that_refuses_an_edit_is_said_here() -> None:
    said = {says for _text, _edits, says in NO_EDIT} | {NO_VALUE, IN_USE}
    patterns = [".*".join(map(re.escape, each.split("{}"))) for each in sentences(*EDITING)]
    assert [each for each in patterns if not any(re.fullmatch(each, says) for says in said)] == []
    assert len(patterns) == len(said)


def test_several_edits_are_made_together_or_not_at_all() -> None:
    points = ("areas", "größe", "points")
    both = JobFileDraft(ODD).edited(Rename((*points, "P1"), "A1"), Put((*points, "P2", "from"), "A1"),
                             Put(("areas", "größe", "route", 0), "A1"))  # fmt: skip
    assert "P1" not in both.text
    with pytest.raises(EditRefusedError):
        JobFileDraft(ODD).edited(Put((*points, "P2", "from"), "A1"), Rename((*points, "P7"), "A1"))


def test_an_edit_of_2000_points_takes_at_most_three_readings_of_its_yaml() -> None:
    text = square_job(45)
    draft = JobFileDraft(text)
    assert draft.root
    ours, bare = [], []
    for turn in range(5):
        began = time.perf_counter()
        draft.edited(Put(("areas", "acre", "points", f"P4-{turn}", "what"), "low"))
        ours.append(time.perf_counter() - began)
        began = time.perf_counter()
        read_yaml(text, "job.yaml")
        bare.append(time.perf_counter() - began)
    assert min(ours) < min(bare) * 3
