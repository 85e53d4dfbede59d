"""The plan at the command line: what the office changed, what was added and changed on site, findings and sums."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from gradecheck.cli import main
from gradecheck.plan.read import read_plan
from gradecheck.session.session import Session
from tests.cli.asides import answered, unexpected

JOB = """\
job: Saltmarsh Steps
units: in
codes: [us-residential]
benchmarks: {DOOR: {elevation: 0, at: [0, 0]}}
build-ups: {terrace: {layers: [{paver: 2 3/8}, {base: 6}], past edge: 6}}
tolerances: {finish: 1/8, base: 3/8, subgrade: 1/2}
areas:
  terrace:
    build-up: terrace
    surface: {at: DOOR, fall: {x: 2%}}
    points:
      T1: {at: [10 ft, 0], what: by the door}
      T2: {at: [20 ft, 0]}
  steps:
    flight: {from: T2, down: 2, riser: 6, tread: 14}
"""
"""T1 lies at -2.4, T2 at -4.8, the steps at -10.8 and -16.8."""

Out = pytest.CaptureFixture[str]


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job nobody has worked on, in the folder the commands are given in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GRADECHECK_BY", raising=False)
    folder = Path("steps")
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    return folder


def _run(capsys: Out, *arguments: str, code: int = 0) -> str:
    """What a command prints; it must end with that code."""
    assert main(list(arguments)) == code
    return capsys.readouterr().out


def _json(capsys: Out, *arguments: str, code: int = 0) -> Any:
    return answered(_run(capsys, *arguments, "--json", code=code))


def _refused(capsys: Out, job: Path, *arguments: str) -> str:
    """The sentence that a command is refused with; it must end with 2 and leave no trace."""
    before = _entries(job)
    assert main(list(arguments)) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert _entries(job) == before
    return str(err).strip()


def _entries(job: Path) -> int:
    session = Session(job)
    try:
        return session.journal.last_seq
    finally:
        session.close()


def _rewrite(job: Path, old: str, new: str) -> None:
    text = (job / "job.yaml").read_text(encoding="utf-8")
    assert old in text
    (job / "job.yaml").write_text(text.replace(old, new), encoding="utf-8")


@pytest.fixture
def begun(job: Path, capsys: Out) -> Path:
    """The same, its plan taken over with the first entry."""
    _run(capsys, "setup", str(job), "DOOR=48", "--by", "RK")
    return job


# plan -----------------------------------------------------------------------------------------------------------


def test_a_plan_that_nobody_changed_is_in_force(begun: Path, capsys: Out) -> None:
    assert _run(capsys, "changes", str(begun)) == "The plan in the job file is the current plan.\n"
    answer = _json(capsys, "changes", str(begun))
    assert answer["accepted"] is False
    assert [answer[key] for key in ("moved", "added", "gone", "tolerances", "stages", "marks", "on site")] == [[]] * 7


def test_a_job_file_that_changed_waits_and_says_what_it_would_change(begun: Path, capsys: Out) -> None:
    _rewrite(begun, "x: 2%", "x: 1%")
    assert _run(capsys, "changes", str(begun), code=1).splitlines() == [
        "The job file has changed: 4 points moved, most T2 subgrade by 2 3/8 in up. It is not accepted yet.",
        "  terrace: 2 points moved (T1, T2) at subgrade, base, finish, most T2 subgrade +2 3/8 in",
        "  steps: 2 points moved (S1, S2) at finish, all +2 3/8 in",
    ]
    answer = _json(capsys, "changes", str(begun), code=1)
    by = {"mm": pytest.approx(30.48), "text": "1 3/16 in"}
    assert answer["moved"][0] == {"area": "terrace", "point": "T1", "stage": "subgrade", "by": by}
    # Until it is taken over the plan in force is judged by.
    assert main(["read", str(begun), "T1=50 7/16"]) == 0
    out, err = capsys.readouterr()
    assert "ON GRADE" in out
    assert "The job file has changed" in err


def test_an_accepted_plan_is_in_force_and_is_not_accepted_twice(begun: Path, capsys: Out) -> None:
    _rewrite(begun, "x: 2%", "x: 1%")
    assert _run(capsys, "changes", str(begun), "--accept") == "The plan in the job file is the current plan now.\n"
    assert _run(capsys, "changes", str(begun)) == "The plan in the job file is the current plan.\n"
    assert _refused(capsys, begun, "changes", str(begun), "--accept").startswith("The job file is as it was")
    assert "ON GRADE" in _run(capsys, "read", str(begun), "T1=49 3/16")


def test_taken_over_is_said_in_json_too(begun: Path, capsys: Out) -> None:
    before = _json(capsys, "changes", str(begun))["digest"]
    _rewrite(begun, "x: 2%", "x: 1%")
    answer = _json(capsys, "changes", str(begun), "--accept")
    assert answer["accepted"] is True
    assert answer["moved"] == []
    assert answer["digest"] != before


def test_a_job_file_that_broke_is_told_and_not_taken_over(begun: Path, capsys: Out) -> None:
    _rewrite(begun, "x: 2%", "x: steep")
    assert "job.yaml:10:35: “steep” is not a slope" in _broken(capsys, "changes", str(begun), "--accept")


def _broken(capsys: Out, *arguments: str) -> str:
    assert main(list(arguments)) == 2
    return str(capsys.readouterr().err)


# add, change -----------------------------------------------------------------------------------------------------


def test_a_point_is_added_and_its_sum_said(job: Path, capsys: Out) -> None:
    said = _run(capsys, "add", str(job), "terrace", "N1", "from", "T1", "fall", "2%", "over", "5 ft", "--by", "RK")
    assert said == "N1 added to terrace: T1 −2.4 − 60 in × 2% = −3.6 in\n"
    answer = _json(capsys, "add", str(job), "terrace", "N2", "at 5 ft, 2 ft", "--what", "by the wall")
    assert answer == {
        "area": "terrace",
        "point": "N2",
        "finish": {"mm": pytest.approx(-30.48), "text": "-1 3/16 in"},
        "working": "plane through DOOR = −1.2 in",
    }
    assert "N2" in _run(capsys, "changes", str(job))


def test_what_was_added_is_read_like_any_other(begun: Path, capsys: Out) -> None:
    _run(capsys, "add", str(begun), "steps", "N1", "-5")
    assert "ON GRADE" in _run(capsys, "read", str(begun), "N1=53")


def test_a_target_and_a_tolerance_are_changed_for_a_reason(job: Path, capsys: Out) -> None:
    said = _run(capsys, "change", str(job), "T1=-2 1/2", "--why", "door sill", "--by", "RK")
    assert said == "T1 now −2 1/2 in: door sill\n"
    answer = _json(capsys, "change", str(job), "terrace=1/2 high 1/4 low", "--stage", "base", "--why", "clay")
    assert answer == {"kind": "tolerance", "says": "terrace base tolerance now +1/2 -1/4: clay"}
    assert _json(capsys, "change", str(job), "T2=-5", "--why", "kerb")["kind"] == "target"
    assert _run(capsys, "changes", str(job)).splitlines() == [
        "The plan in the job file is the current plan.",
        "Changed on site:",
        "  T1 now −2 1/2 in: door sill",
        "  terrace base tolerance now +1/2 −1/4: clay",
        "  T2 now −5 in: kerb",
    ]


REFUSED = [
    (["add", "lawn", "N1", "-3"], "There is no area “lawn”; known are terrace, steps."),
    (["add", "terrace", "t1", "-3"], "There is a point or mark “t1” already; give this one a name of its own."),
    (["add", "terrace", "N1", "low"], "“low” is not a length; type it like 13 13/16."),
    (
        ["add", "steps", "N1", "at 1, 2"],
        "Area “steps” has no surface; say which point to start from: from P4 fall 2% over 12 ft.",
    ),
    (["change", "T1", "--why", "so"], "“T1” is not NAME=READING, for example DOOR=48-1/4."),
    (["change", "T9=-3", "--why", "so"], "There is no point “T9” in this job."),
    (["change", "T1=-3", "--why", " "], "Changing a target needs a reason; say why."),
    (["change", "steps=1", "--stage", "base", "--why", "so"], "Area “steps” has no stage “base”; it has finish."),
]


@pytest.mark.parametrize(("asked", "says"), REFUSED, ids=[" ".join(row[0]) for row in REFUSED])
def test_what_makes_no_sense_is_refused_with_a_sentence(job: Path, capsys: Out, asked: list[str], says: str) -> None:
    verb, *rest = asked
    assert _refused(capsys, job, verb, str(job), *rest, "--by", "RK") == says


def test_what_was_changed_on_site_is_written_out_for_the_office(job: Path, capsys: Out) -> None:
    assert _run(capsys, "changes", str(job), "--as-text") == "# Nothing was added or changed on site.\n"
    _run(capsys, "add", str(job), "steps", "N1", "from T2 fall 2% over 5 ft", "--what", "at the foot", "--by", "RK")
    _run(capsys, "change", str(job), "T1=-2 1/2", "--why", "door sill")
    text = _run(capsys, "changes", str(job), "--as-text")
    assert text == (
        "# Added and changed on site; paste each area's lines under that area of the job file.\n"
        "areas:\n"
        "  steps:\n"
        "    added:\n"
        "      N1: {elevation: -6 in, what: at the foot}  # T2 −4.8 − 60 in × 2% = −6 in\n"
        "  terrace:\n"
        "    instead:\n"
        "      T1: -2 1/2 in  # door sill\n"
    )
    # Pasted under its area, it is what was wanted on site.
    steps, terrace = text.partition("  steps:\n")[2].split("  terrace:\n")
    merged = JOB.replace("  terrace:\n", f"  terrace:\n{terrace}").replace("  steps:\n", f"  steps:\n{steps}")
    office, site = read_plan(merged, "job.yaml"), _plan(job)
    for name, area in site.areas.items():
        wanted = {each.name: each.finish for each in area.points}
        assert {each.name: each.finish for each in office.areas[name].points} == wanted


def _plan(job: Path) -> Any:
    session = Session(job)
    try:
        return session.plan
    finally:
        session.close()


# examine ----------------------------------------------------------------------------------------------------------


def test_a_sound_plan_ends_with_0_and_reminders_do_not_count(job: Path, capsys: Out) -> None:
    assert _run(capsys, "examine", str(job)) == "Saltmarsh Steps: 4 points in 2 areas, no issues found.\n"
    _rewrite(job, "down: 2, riser: 6", "down: 4, riser: 6")
    lines = _run(capsys, "examine", str(job)).splitlines()
    assert lines[1:] == [
        "line 15: reminder: steps, T2 to S4: 4 risers, from 4 a handrail may be required; check the local code. "
        "(IRC 2018 R311.7.8, 2024 R318.7.8)"
    ]


def test_a_finding_ends_with_1_and_is_told_with_its_line(job: Path, capsys: Out) -> None:
    _rewrite(job, "riser: 6, tread: 14", "riser: 8, tread: 9")
    lines = _run(capsys, "examine", str(job), code=1).splitlines()
    assert lines[1:] == [
        "line 15: fault: steps, T2 to S1: the riser is 8 in, the limit is 7 3/4 in; change their number. "
        "(IRC 2018 R311.7.5.1, 2024 R318.7.5.1) And 1 more like it.",
        "line 15: fault: steps, S1: the tread is 9 in, at least 10 in; make it deeper. "
        "(IRC 2018 R311.7.5.2, 2024 R318.7.5.2)",
    ]
    findings = _json(capsys, "examine", str(job), code=1)["findings"]
    assert [(each["what"], each["severity"], each["line"]) for each in findings] == [
        ("riser", "fault", 15), ("tread", "fault", 15),
    ]  # fmt: skip


def test_problems_end_with_1_and_are_told_all_at_once(job: Path, capsys: Out) -> None:
    _rewrite(job, "x: 2%", "x: steep")
    _rewrite(job, "from: T2", "from: T9")
    assert main(["examine", str(job)]) == 1
    out, err = capsys.readouterr()
    told = [line for line in (out + err).splitlines() if line.startswith("job.yaml:")]
    assert [line.split(": ")[0] for line in told] == ["job.yaml:10:35", "job.yaml:15:20"]
    problems = _json(capsys, "examine", str(job), code=1)["problems"]
    assert [(each["line"], each["column"]) for each in problems] == [(10, 35), (15, 20)]


def test_three_planted_mistakes_are_told_with_their_lines(job: Path, capsys: Out) -> None:
    # Water at the house, a riser the code forbids, and two ways to one point that disagree.
    _rewrite(job, "areas:\n", "walls: {HOUSE: [[0, -9 ft], [0, 9 ft]]}\nareas:\n")
    _rewrite(job, "x: 2%", "x: -1%")
    _rewrite(job, "riser: 6,", "riser: 8,")
    _rewrite(
        job,
        "T2: {at: [20 ft, 0]}",
        "T2: {from: T1, rise: 1%, over: 10 ft, at: [20 ft, 0], also: {from: DOOR, rise: 1%, over: 19 ft}}",
    )
    told = _run(capsys, "examine", str(job), code=1)
    assert "line 14: fault: terrace, T1 to T2: falls 1.00% (1:100)" in told
    assert "line 14: fault: terrace, T2: the second route comes out −0.12 in off; fix one." in told
    assert "line 16: fault: steps, T2 to S1: the riser is 8 in" in told


# targets ---------------------------------------------------------------------------------------------------------


def test_targets_show_how_they_are_come_by(job: Path, capsys: Out) -> None:
    lines = _run(capsys, "targets", str(job), "--area", "terrace", "--stage", "base", "--working").splitlines()
    assert lines[1:4] == [
        "    T1 = plane through DOOR 0 − 120 in × 2% = −2.4 in",
        "    T1 base = finish −2.4 − 2 3/8 in paver = −4.775 in",
        "    shown as −4 3/4 in",
    ]
    first, *_ = _json(capsys, "targets", str(job), "--area", "terrace", "--stage", "base", "--working")
    assert first["working"] == [line.strip() for line in lines[1:4]]


def test_targets_of_steps_are_their_sums(job: Path, capsys: Out) -> None:
    lines = _run(capsys, "targets", str(job), "--area", "steps", "--working").splitlines()
    assert "    S1 = T2 −4.8 − 6 in = −10.8 in" in lines
    assert "    S2 = S1 −10.8 − 6 in = −16.8 in" in lines


def test_targets_that_are_not_there_are_refused(job: Path, capsys: Out) -> None:
    assert "There is no area “lawn”" in _refused(capsys, job, "targets", str(job), "--area", "lawn")
    assert "There is no stage “sand”" in _refused(capsys, job, "targets", str(job), "--stage", "sand")


# targets and sheet, as they stand on site ------------------------------------------------------------------------


@pytest.fixture
def changed(begun: Path, capsys: Out) -> Path:
    """The same job, where on site two points and a tolerance were changed, one of the points was added there."""
    _run(capsys, "change", str(begun), "T1=-2 1/2", "--why", "door sill")
    _run(capsys, "change", str(begun), "terrace=1/2 high 1/4 low", "--stage", "base", "--why", "clay")
    _run(capsys, "add", str(begun), "steps", "N1", "from T2 fall 2% over 5 ft", "--what", "at the foot")
    return begun


def _answered(capsys: Out, *arguments: str) -> tuple[str, str]:
    """What a command that ends well prints, and what it says beside that."""
    assert main(list(arguments)) == 0
    printed = capsys.readouterr()
    return printed.out, unexpected(printed.err)


def test_targets_are_those_in_force_on_site_and_say_which_changed_there(changed: Path, capsys: Out) -> None:
    out, err = _answered(capsys, "targets", str(changed), "--working")
    assert err == ""
    lines = out.splitlines()
    rows = [" ".join(line.split()) for line in lines if not line.startswith("    ")]
    assert rows == [
        "terrace T1 finish −2 1/2 +1/8 −1/8 by the door (changed on site)",
        "terrace T1 base −4 7/8 +1/2 −1/4 by the door (changed on site)",
        "terrace T1 subgrade −10 7/8 +1/2 −1/2 by the door (changed on site)",
        "terrace T2 finish ~−4 13/16 +1/8 −1/8",
        "terrace T2 base ~−7 3/16 +1/2 −1/4 (changed on site)",
        "terrace T2 subgrade ~−13 3/16 +1/2 −1/2",
        "steps S1 finish ~−10 13/16 +1/8 −1/8 nosing 1",
        "steps S2 finish ~−16 13/16 +1/8 −1/8 foot",
        "steps N1 finish −6 +1/8 −1/8 at the foot (added on site)",
    ]
    assert "    T1 = by the surface, changed on site: door sill" in lines
    shown = _json(capsys, "targets", str(changed))
    assert [(row["point"], row["stage"], row["on site"]) for row in shown if row["on site"]] == [
        *(("T1", stage, "changed") for stage in ("finish", "base", "subgrade")),
        ("T2", "base", "changed"),
        ("N1", "finish", "added"),
    ]
    assert {row["point"]: row["wanted"]["mm"] for row in shown if row["stage"] == "finish"}["T1"] == -63.5


CHANGES = [
    "Changed on site, and shown so:",
    "  T1 now −2 1/2 in: door sill",
    "  terrace base tolerance now +1/2 −1/4: clay",
    "  N1 added: T2 −4.8 − 60 in × 2% = −6 in",
]


def test_the_sheet_is_as_it_stands_on_site_and_says_so_at_its_head(changed: Path, capsys: Out) -> None:
    out, err = _answered(capsys, "plan", str(changed))
    assert err == ""
    lines = out.splitlines()
    assert lines[2:6] == CHANGES
    rows = {" ".join(line.split()) for line in lines}
    assert {"T1 by the door −2 1/2 −4 7/8 −10 7/8", "may be low 1/8 1/4 1/2", "N1 at the foot −6"} <= rows
    alone = _answered(capsys, "plan", str(changed), "--area", "steps")[0].splitlines()
    assert alone[2:4] == [CHANGES[0], CHANGES[3]]
    answer = _json(capsys, "plan", str(changed))
    assert answer["on site"] == [
        "T1 now -2 1/2 in: door sill",
        "terrace base tolerance now +1/2 -1/4: clay",
        "N1 added: T2 −4.8 − 60 in × 2% = −6 in",
    ]
    assert answer["areas"][0]["points"][0]["stages"]["finish"]["mm"] == -63.5


SAID = "Changed on site, and so in this: T1, terrace base tolerance, N1. “gradecheck changes” shows why.\n"


@pytest.mark.parametrize("kind", ["--csv", "--geojson"])
def test_other_programs_read_the_changes_too_and_they_are_named_beside(changed: Path, capsys: Out, kind: str) -> None:
    out, err = _answered(capsys, "plan", str(changed), kind)
    assert ("-2.5" in out, "N1" in out, err) == (True, True, SAID)
    assert "changed" not in out.casefold()


def test_a_sheet_and_a_drawing_on_paper_name_what_was_changed_on_site(
    changed: Path, tmp_path: Path, capsys: Out
) -> None:
    page, drawing = tmp_path / "page.txt", tmp_path / "page.svg"
    out, err = _answered(capsys, "plan", str(changed), "-o", str(page), "--svg", str(drawing))
    assert (out, err) == (f"Written to {drawing} and {page}.\n", SAID)
    assert page.read_text(encoding="utf-8").splitlines()[2:6] == CHANGES
    text = drawing.read_text(encoding="utf-8")
    assert "changed on site: T1, N1<" in text
    assert "−2 1/2" in text


def test_a_change_that_was_struck_or_made_again_is_told_as_it_stands(changed: Path, capsys: Out) -> None:
    _run(capsys, "change", str(changed), "T1=-3", "--why", "new sill")
    struck = next(row for row in _json(capsys, "log", str(changed)) if row["subject"].startswith("terrace base"))
    _run(capsys, "strike", str(changed), str(struck["seq"]), "--why", "no clay there")
    lines = _run(capsys, "plan", str(changed)).splitlines()
    assert lines[3:6] == ["  T1 now −3 in: new sill", "  N1 added: T2 −4.8 − 60 in × 2% = −6 in", ""]


@pytest.mark.parametrize("verb", ["targets", "plan"])
def test_a_job_nobody_worked_on_is_shown_as_it_is_and_gets_no_journal(job: Path, capsys: Out, verb: str) -> None:
    out, err = _answered(capsys, verb, str(job))
    assert ("on site" in out, err) == (False, "")
    assert [path.name for path in job.iterdir()] == ["job.yaml"]


@pytest.mark.parametrize("kind", ["foreign", "touched", "cut off", "empty"])
@pytest.mark.parametrize("verb", ["targets", "plan"])
def test_a_journal_that_can_not_be_read_keeps_nobody_from_the_plan(
    changed: Path, capsys: Out, verb: str, kind: str
) -> None:
    journal = changed / "journal.db"
    sound = journal.read_bytes()
    assert sound.count(b"door sill") > 0
    broken = {
        "foreign": b"somebody's notes, and no journal at all" * 30,
        "touched": sound.replace(b"door sill", b"Door sill"),
        "cut off": sound[: len(sound) // 2],
        "empty": b"",
    }[kind]
    journal.write_bytes(broken)
    out, err = _answered(capsys, verb, str(changed))
    whole = " ".join((out + err).split())
    assert "What was changed on site is left out." in whole
    assert str(journal) in whole.replace(" ", "")
    assert "T1" in out
    assert "-2 1/2" not in out, "the job file's own is shown"
    assert journal.read_bytes() == broken


@pytest.mark.parametrize("verb", ["targets", "plan"])
def test_a_job_file_that_waits_is_shown_as_it_is_with_a_word_that_it_waits(
    changed: Path, capsys: Out, verb: str
) -> None:
    _rewrite(changed, "x: 2%", "x: 1%")
    waits = "The job file was changed since it was accepted, and this is how it is now;"
    out, err = _answered(capsys, verb, str(changed))
    assert waits in " ".join((out + err).split())
    assert "−2 1/2" in out, "what was changed on site stands over it"
    assert "−2 3/8" in out, "T2 falls half as much"
    _run(capsys, "changes", str(changed), "--accept")
    out, err = _answered(capsys, verb, str(changed))
    assert waits not in " ".join((out + err).split())


def test_another_plan_beside_the_job_file_is_not_the_one_that_was_changed(changed: Path, capsys: Out) -> None:
    draft = changed / "draft.yaml"
    draft.write_text(JOB, encoding="utf-8")
    out, err = _answered(capsys, "targets", str(draft))
    assert ("on site" in out, err) == (False, "")
