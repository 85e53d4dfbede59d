"""What is left as a work order: each point once, what to do there, what the rod should read, and nothing else."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pypdf
import pytest

from gradecheck import actions
from gradecheck.files.exports import left_of, write_left
from gradecheck.report.left import order_text, work_order_lines
from gradecheck.session.session import Session
from gradecheck.state.state import Surface

MORNING = datetime(2026, 5, 12, 7, 30, tzinfo=timezone(timedelta(hours=-5)))
JOB = """\
job: Larkspur Steps
units: in
rods:
  site rod: {kind: standard, graduation: 1/16 in}
benchmarks:
  DOOR: 0
build-ups:
  walk: [{paver: 2 in}, {bedding: 1 in}, {base: 6 in}]
tolerances: {subgrade: 1/2 in, base: 3/8 in, bedding: 1/4 in, finish: 1/8 in}
areas:
  terrace:
    build-up: walk
    points:
      F4: {elevation: -1, what: by the door}
      F5: {elevation: -1 1/2, what: at the wall}
      F6: {elevation: -2, what: at the step}
  path:
    points: {P1: -2, P2: -3}
"""


@pytest.fixture
def stood(tmp_path: Path) -> Iterator[Session]:
    """The laser 50 in above the door; the subgrade lies 9 in below the finish."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with closing(Session(tmp_path, by="RK", clock=lambda: MORNING)) as session:
        session.record(actions.set_up(session.state, "DOOR", "50"))
        yield session


def read(session: Session, point: str, stage: str, rod: str) -> None:
    """The rod on a point."""
    area = session.plan.area_of[point]
    session.record(actions.reading(session.state, Surface(area, point, stage), rod))


def rows(session: Session) -> list[tuple[str, ...]]:
    """Each row without its area."""
    return [(row.stage, row.point, row.where, row.do, row.rod) for row in left_of(session).rows]


def test_out_and_unread_points_are_listed_with_the_rod_at_begun_stages(stood: Session) -> None:
    assert (rows(stood), left_of(stood).not_begun) == ([], ("terrace", "path"))
    read(stood, "F4", "subgrade", "60")  # right
    read(stood, "F5", "subgrade", "59-1/2")  # an inch high
    assert rows(stood) == [
        ("subgrade", "F5", "at the wall", "CUT 1", "60 1/2"),
        ("subgrade", "F6", "at the step", "read it", "61"),
    ]
    assert left_of(stood).not_begun == ("path",)
    read(stood, "F6", "base", "55")  # read above, so its subgrade is covered
    assert [row[:2] for row in rows(stood)] == [("subgrade", "F5"), ("base", "F4"), ("base", "F5")]
    whole = left_of(stood, stage="subgrade").rows
    assert [(row.point, row.do) for row in whole] == [("F5", "CUT 1"), ("F6", "read it")]


def test_in_doubt_is_to_be_read_again_and_without_a_setup_the_rod_is_blank(stood: Session) -> None:
    read(stood, "P1", "finish", "52")
    read(stood, "P2", "finish", "53")
    assert rows(stood) == []
    stood.record(actions.recheck(stood.state, "DOOR", "51"))
    assert rows(stood) == [
        ("finish", "P1", "", "read again: in doubt", ""),
        ("finish", "P2", "", "read again: in doubt", ""),
    ]
    assert left_of(stood).setup == ""


def test_an_offset_counts_and_is_said_and_spots_out_follow_the_points(stood: Session) -> None:
    for point, rod in (("P1", "52"), ("P2", "53")):
        read(stood, point, "finish", rod)
    spot = actions.spot_on_string(stood.state, None, "P1 to P2 half way")
    assert spot is not None
    stood.record(actions.reading(stood.state, spot, "53"))
    stood.record(actions.change_offset(stood.state, "offset 1 above"))
    assert rows(stood) == [("finish", "P1 to P2 half way", "on a string", "FILL 1/2", "51 1/2")]
    assert "offset 1 in above" in order_text(left_of(stood))


def test_it_reads_as_lines_with_a_box_each(stood: Session) -> None:
    read(stood, "F5", "subgrade", "59-1/2")
    assert work_order_lines(left_of(stood)) == [
        "Larkspur Steps: what is left, 2026-05-12 07:30",
        "setup on DOOR 07:30",
        "",
        "terrace, subgrade: 3 points left",
        "        point  where        do       should read",
        "  [  ]  F4     by the door  read it  60",
        "  [  ]  F5     at the wall  CUT 1    60 1/2",
        "  [  ]  F6     at the step  read it  61",
        "Not begun: path.",
    ]
    assert "Local code and the drawings decide." in order_text(left_of(stood))


@pytest.mark.parametrize("ending", [".pdf", ".html", ".csv", ".txt"])
def test_each_kind_of_file_holds_every_point(stood: Session, tmp_path: Path, ending: str) -> None:
    read(stood, "F5", "subgrade", "59-1/2")
    path = write_left(stood, tmp_path / f"left{ending}", left_of(stood))
    if ending == ".pdf":
        pages = pypdf.PdfReader(path).pages
        assert len(pages) == 1
        text = pages[0].extract_text()
    else:
        text = path.read_text(encoding="utf-8-sig")
    for part in ("terrace", "subgrade", "F4", "at the wall", "CUT 1", "60"):
        assert part in text
    if ending == ".csv":
        table = list(csv.DictReader(io.StringIO(text)))
        assert [(row["point"], row["do"], row["rod should read"], row["done"]) for row in table] == [
            ("F4", "read it", "60 in", ""), ("F5", "CUT 1", "60 1/2 in", ""), ("F6", "read it", "61 in", ""),
        ]  # fmt: skip
    else:
        assert "Local code and the drawings decide." in " ".join(text.split())
        assert "811" in text, "the cautions go along"
