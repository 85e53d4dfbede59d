"""A row of a point list changed in its text: only that row changes, and the list holds what was meant."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.plan.editing import Change, Editing, deleting, moving, putting, renaming
from gradecheck.plan.edits import EditRefusedError, JobFileDraft
from gradecheck.plan.list_edits import list_at, value_at
from gradecheck.plan.read import read_plan

JOB = """job: Heron Yard
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas:
  walk:
    points: walk.csv
    added: {N1: {from: W2, down: 1, riser: 6}}
    route: [W1, W2, W3]
"""
LIST = """name,x (ft),y (ft),elevation (in),note
W1, 0,2,-1.5,by the door
# shot again
W2,4,2,-1.75,
W3,8,2,-2,"gate, left"
"""
HOME = ("areas", "walk", "points")


def draft(text: str = LIST, job: str = JOB) -> JobFileDraft:
    return JobFileDraft(job, {"walk.csv": text})


def changed(change: Change, text: str = LIST, job: str = JOB) -> str:
    """The list's text after that change; the job file stays as it is."""
    new = change(draft(text, job))
    assert new.text == job
    return new.lists["walk.csv"]


def test_one_cell_is_set_and_every_other_character_stays() -> None:
    assert changed(putting((*HOME, "W1", "x"), "6 in")) == LIST.replace("W1, 0,", "W1, 0.5,")
    assert changed(putting((*HOME, "W2", "elevation"), "-1 7/8")) == LIST.replace("-1.75", "-1.875")
    assert changed(putting((*HOME, "W2", "note"), "low, wet")) == LIST.replace("-1.75,", '-1.75,"low, wet"')
    assert changed(putting((*HOME, "W3", "note"), "post")) == LIST.replace("gate, left", "post")
    assert changed(deleting((*HOME, "W3", "note"))) == LIST.replace("gate, left", "")


def test_a_row_is_added_behind_another_or_last() -> None:
    assert changed(
        putting((*HOME, "W4"), "x 12 ft, y 2, elevation -2 1/4, note kerb")
    ) == LIST + "W4,144,2,-2.25,kerb\n".replace("144", "12")
    assert changed(putting((*HOME, "W1b"), "-1.6", "W1")) == LIST.replace(
        "by the door\n", "by the door\nW1b,,,-1.6,\n"
    )
    bare = LIST.removesuffix("\n")
    assert changed(putting((*HOME, "W4"), "-3"), bare) == bare + "\nW4,,,-3,"


def test_a_row_is_deleted_and_moved_whole() -> None:
    free = JOB.replace("    added: {N1: {from: W2, down: 1, riser: 6}}\n    route: [W1, W2, W3]\n", "")
    assert changed(deleting((*HOME, "W2")), job=free) == LIST.replace("W2,4,2,-1.75,\n", "")
    bare = LIST.removesuffix("\n")
    assert changed(deleting((*HOME, "W3")), bare, free) == bare.removesuffix('\nW3,8,2,-2,"gate, left"')
    one, two = 'W3,8,2,-2,"gate, left"', "W1, 0,2,-1.5,by the door\n"
    assert changed(moving((*HOME, "W3"), None)) == LIST.replace(one + "\n", "").replace(two, one + "\n" + two)
    assert changed(moving((*HOME, "W3"), "W1"), bare) == bare.replace("\n" + one, "").replace(two, two + one + "\n")
    assert changed(moving((*HOME, "W1"), "W3"), bare) == bare.replace(two, "") + "\n" + two.removesuffix("\n")
    assert changed(moving((*HOME, "W2"), "W1")) == LIST


def test_a_point_is_renamed_with_all_that_refers_to_it() -> None:
    new = renaming((*HOME, "W2"), "MID")(draft())
    assert new.lists["walk.csv"] == LIST.replace("W2,", "MID,")
    assert new.text == JOB.replace("from: W2", "from: MID").replace("[W1, W2, W3]", "[W1, MID, W3]")


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (deleting((*HOME, "W2")), "“W2” is used by N1 and more; change that first."),
        (renaming((*HOME, "W1"), "W3"), "“W3” is there already; take another name."),
        (renaming((*HOME, "W1"), "12"), "12"),
        (putting((*HOME, "W1", "elevation"), "wet"), "“wet” is not a length"),
        (putting((*HOME, "W4"), "colour red, x 3"), "Type it like"),
        (moving((*HOME, "W9"), None), "“W9” is not in the list any more"),
    ],
)
def test_what_can_not_be_done_is_refused(change: Change, says: str) -> None:
    with pytest.raises(EditRefusedError, match=says.split(" and more")[0].replace("(", r"\(")):
        change(draft())


def test_a_list_without_that_column_and_one_without_names_say_so() -> None:
    with pytest.raises(EditRefusedError, match="no column for x; it has elevation"):
        putting((*HOME, "W1", "x"), "3")(draft("name,elevation\nW1,2\nW2,3\nW3,4\n"))
    job = JOB.partition("    points:")[0] + "    point list: {file: walk.csv, order: NEZ, prefix: W}\n"
    for change in (deleting(("areas", "walk", "point list", "file", "W1")),
                   renaming(("areas", "walk", "point list", "file", "W1"), "A")):  # fmt: skip
        with pytest.raises(EditRefusedError, match="named by their row"):
            change(draft("1,2,3\n4,5,6\n7,8,9\n", job))


def test_names_that_are_numbers_stay_numbers_under_their_prefix() -> None:
    job = JOB.replace("points: walk.csv", "point list: {file: walk.csv, order: PNEZD, prefix: W}")
    home = ("areas", "walk", "point list", "file")
    text = "1;2,0;0,0;-1,5;door\n2;2,0;4,0;-1,75;\n3;2,0;8,0;-2,0;\n"
    assert value_at(draft(text, job), (*home, "W2")) == {"x": "4,0", "y": "2,0", "elevation": "-1,75"}
    assert changed(renaming((*home, "W3"), "W3"), text, job) == text
    new = renaming((*home, "W2"), "W7")(draft(text, job))
    assert new.lists["walk.csv"] == text.replace("2;2,0;4,0", "7;2,0;4,0")
    assert changed(putting((*home, "W4"), "x 12.5, y 2, elevation -2.25"), text, job) == text + "4;2;12,5;-2,25;\n"
    assert changed(putting((*home, "W1", "elevation"), "-1 5/8"), text, job) == text.replace("-1,5;", "-1,625;")


@pytest.mark.parametrize("begins", ["", "\ufeff"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_byte_order_mark_and_line_ends_stay(begins: str, end: str) -> None:
    text = begins + LIST.replace("\n", end)
    assert changed(putting((*HOME, "W4"), "-3"), text) == text + f"W4,,,-3,{end}"
    assert changed(putting((*HOME, "W1", "elevation"), "-2"), text) == text.replace("-1.5", "-2")
    assert changed(moving((*HOME, "W3"), None), text).startswith(begins + "name,x (ft)")
    plan = read_plan(JOB, "job.yaml", lambda _name: LIST)
    editing = Editing(draft(text), lambda job, lists: read_plan(job, "job.yaml", lists.__getitem__))
    assert not editing.problems
    assert editing.plan is not None
    assert editing.plan.areas["walk"].points == plan.areas["walk"].points


def test_a_value_that_can_not_be_is_found_at_its_cell() -> None:
    editing = Editing(draft("\ufeff" + LIST.replace("\n", "\r\n")),
                      lambda job, lists: read_plan(job, "job.yaml", lists.__getitem__))  # fmt: skip
    editing.make(deleting((*HOME, "W2", "x")))
    editing.read()
    assert editing.changed_files == ["walk.csv"]
    fault = editing.problem_with((*HOME, "W2", "x"))
    assert fault is not None
    assert (fault.file, fault.line) == ("walk.csv", 4)
    assert editing.problem_with((*HOME, "W3", "x")) is None
    assert editing.take_back()
    assert not editing.is_changed


texts = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.sampled_from(' ,;"#=+-'), max_size=8)
numbers = st.integers(-999, 999).map(lambda each: f"{each / 8:g}")


@st.composite
def lists(draw: st.DrawFn) -> tuple[str, str, list[list[str]]]:
    """A list written by the standard library, its separator, and its rows of name, x, y, elevation and note."""
    sign = draw(st.sampled_from(",;\t"))
    rows = [
        [f"W{number}", draw(numbers), draw(numbers), draw(numbers), draw(texts).strip()]
        for number in range(1, draw(st.integers(2, 6)))
    ]
    for row in rows:
        if row[4][:1] in ("=", "+", "-", "@", "'"):
            row[4] = f"n{row[4]}"
    file = io.StringIO()
    quoting = draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    writer = csv.writer(file, delimiter=sign, quoting=quoting, lineterminator=draw(st.sampled_from(["\n", "\r\n"])))
    writer.writerows([["name", "x", "y", "elevation", "note"], *rows])
    return file.getvalue(), sign, rows


@given(lists(), st.data())
def test_what_the_standard_library_reads_is_what_was_meant(
    made: tuple[str, str, list[list[str]]], data: st.DataObject
) -> None:
    text, sign, rows = made
    job = "job: a\nunits: in\nbenchmarks: {D: 0}\nareas: {walk: {points: walk.csv}}\n"
    begun = draft(text, job)
    assert list_at(begun, HOME) is not None
    at = data.draw(st.integers(0, len(rows) - 1))
    kind = data.draw(st.sampled_from(["set", "rename", "delete", "move", "add"]))
    wanted = [list(row) for row in rows]
    if kind == "set":
        change, wanted[at][3] = putting((*HOME, rows[at][0], "elevation"), "-7.125"), "-7.125"
    elif kind == "rename":
        change, wanted[at][0] = renaming((*HOME, rows[at][0]), "gate 5a"), "gate 5a"
    elif kind == "delete":
        if len(rows) == 1:
            return
        change = deleting((*HOME, rows[at][0]))
        del wanted[at]
    elif kind == "move":
        others = [None, *(row[0] for row in rows if row[0] != rows[at][0])]
        after = data.draw(st.sampled_from(others))
        change = moving((*HOME, rows[at][0]), after)
        row = wanted.pop(at)
        wanted.insert(0 if after is None else [each[0] for each in wanted].index(after) + 1, row)
    else:
        change = putting((*HOME, "Z9"), "elevation 3, note a;b,c", rows[at][0])
        wanted.insert(at + 1, ["Z9", "", "", "3", "a;b, c"])
    new = change(begun).lists["walk.csv"]
    _heading, *read = csv.reader(io.StringIO(new, newline=""), delimiter=sign, strict=True)
    assert read == wanted
    lines = text.splitlines(keepends=True)
    kept = [line for line in new.splitlines(keepends=True) if line in lines]
    assert len(kept) >= len(lines) - 1, "no other row changed"
