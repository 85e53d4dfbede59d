"""Layers at the command line: hold points, compaction, undercut that was ordered."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.asides import answered, job_begun, said

JOB = """\
job: Sorrel Yard
units: in
benchmarks: {DOOR: 0}
build-ups:
  yard: {layers: [{paver: 2 in}, {base: 6 in}], lifts: {base: 2}}
tolerances: {subgrade: 1/2 in, base: 3/8 in, finish: 1/8 in}
hold points: [subgrade]
areas:
  yard:
    build-up: yard
    points: {A1: -1/2, A2: -1}
"""
Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job whose instrument stands: the rod reads 48 on DOOR."""
    return job_begun(tmp_path, monkeypatch, "yard", JOB, "setup yard DOOR=48 --by RK")


def test_a_reading_above_a_hold_point_is_refused_with_the_way_through(job: Path, capsys: Out) -> None:
    before = (job / "journal.db").read_bytes()
    text = said(capsys, "read", "yard", "A1=53-1/2", "--stage", "base lift 1", code=2)
    assert text.endswith(
        "yard: subgrade is a hold point and not signed off; base lift 1 takes no readings until it is. "
        'Sign it: gradecheck sign yard "yard" "subgrade". Or go past it with a reason: --why TEXT.\n'
    )
    assert (job / "journal.db").read_bytes() == before, "nothing is written"


def test_with_a_reason_it_is_read_and_the_reason_stays_to_be_seen(job: Path, capsys: Out) -> None:
    text = said(capsys, "read", "yard", "A1=53-1/2", "A2=54", "--stage", "base lift 1", "--why", "rain coming")
    assert text.splitlines()[0] == "yard: hold point subgrade gone past, not signed: rain coming"
    assert text.count("ON GRADE") == 2
    review = said(capsys, "review", "yard", code=1)
    assert "yard, subgrade: HOLD POINT GONE PAST without a signature, RK: rain coming" in review
    assert "hold point subgrade gone past, not signed: rain coming" in said(capsys, "log", "yard")
    report = answered(said(capsys, "report", "yard", "--json"))
    assert "HOLD POINT GONE PAST" in json.dumps(report)
    assert "take --why out" in said(capsys, "read", "yard", "A1=53-1/2", "--stage", "base", "--why", "rain", code=2)


def test_signed_off_it_is_in_nobodys_way(job: Path, capsys: Out) -> None:
    said(capsys, "read", "yard", "A1=56-1/2", "A2=57", "--stage", "subgrade")
    said(capsys, "sign", "yard", "yard", "subgrade", "--accept-open")
    assert "ON GRADE" in said(capsys, "read", "yard", "A1=53-1/2", "--stage", "base lift 1")


def test_compaction_and_undercut_are_noted(job: Path, capsys: Out) -> None:
    text = said(capsys, "compact", "yard", "yard", "base lift 1", "4", "--remark", "plate")
    assert text == "yard: base lift 1 compacted, 4 passes; plate\n"
    text = said(capsys, "undercut", "yard", "yard", "6", "--point", "a1", "--ordered-by", "M. Roe", "--why", "clay")
    assert text == "yard: undercut 6 in at A1 ordered by M. Roe: clay\n"
    log = said(capsys, "log", "yard")
    assert "base lift 1 compacted, 4 passes; plate" in log
    said(capsys, "read", "yard", "A1=62-1/2", "--stage", "subgrade")
    checks = said(capsys, "checks", "yard")
    assert "undercut ordered: 6 in at A1 by M. Roe" in checks
    assert "over-dig     OK" in checks
