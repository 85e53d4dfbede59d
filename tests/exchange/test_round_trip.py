"""Jobs go out in every format and come back in as new jobs: no target differs, and none is lost."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Mapping, Sequence
from fractions import Fraction
from pathlib import Path

import openpyxl
import pytest

from gradecheck.cli import main
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.folder_names import folder_fault
from gradecheck.plan.load import load_plan
from gradecheck.plan.model import Area, Plan
from gradecheck.report.grade_plan import area_zero
from tests.cli.asides import answered
from tests.plan.three_jobs import JOBS as THREE_JOBS
from tests.report.site import YARD
from tests.thorough import some


def as_asked(answers: Mapping[str, str]) -> str:
    """The job file of what was typed."""
    asking = GuidedAnswers(folder_fault)
    while asking.question is not None:
        asking.answer(answers.get(asking.key, ""))
    return asking.build.text()


ROOT = Path(__file__).parents[2]
JOBS = {each.parent.name: each.read_text(encoding="utf-8") for each in sorted(ROOT.glob("jobs/*/job.yaml"))}
JOBS["thrushfield"] = YARD
ASKED_FOR = {f"{name} asked for": as_asked(answers) for name, answers in THREE_JOBS.items()}
"""Three jobs made from nothing by what was typed."""
JOBS |= ASKED_FOR
ANSWERS = {
    ".csv": [],
    ".geojson": [],
    ".xlsx": [],
    ".dxf": ["--units"],
    ".xml": [],
}
WORTH = {"in": Fraction(254, 10_000), "ft-in": Fraction(254, 10_000), "mm": Fraction(1, 1000), "m": Fraction(1)}
"""Meters in the units that the jobs have."""


def new_job(folder: Path, units: str, area: str, lists: list[str], datums: Sequence[object] = ()) -> Path:
    """A job of one area that takes those lines and nothing else; `datums` are tied in on site."""
    folder.mkdir(exist_ok=True)
    lines = [
        "job: New",
        f"units: {units}",
        "benchmarks: {ZERO: 0}",
        "tolerances: {finish: 5 mm}",
        *(["datums:", *(f"  {each}: {{mark: COPING, reads: 0}}" for each in datums)] if datums else []),
        "areas:",
        f"  {area}:",
        *(f"    {e}" for e in lists),
    ]
    (folder / "job.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def placed(area: Area) -> dict[str, tuple[str, Fraction, Fraction, Fraction]]:
    """The points with a place, each with its words, place and finish in meters."""
    return {
        point.name: (point.what, point.at[0].metres, point.at[1].metres, point.finish.metres)
        for point in area.points
        if point.at is not None
    }


def assert_same(before: Area, after: Area, half: Fraction, zero: Fraction = Fraction(0)) -> None:
    """All names in their order, and every number to half the last place that a list keeps.

    `zero` is how far the one's elevations count from above where the other's do.
    """
    one, other = placed(before), placed(after)
    assert list(one) == list(other)
    for name, (what, x, y, finish) in one.items():
        numbers = (x, y, finish + zero)
        assert other[name][0] == what
        for wanted, got in zip(numbers, other[name][1:], strict=True):
            assert abs(wanted - got) <= half, name


def plan_of(folder: Path) -> Plan:
    return load_plan(folder / "job.yaml").plan


@pytest.mark.parametrize("ending", ANSWERS)
@pytest.mark.parametrize("job", some(JOBS, JOBS.keys() - ASKED_FOR))
def test_a_job_goes_out_and_comes_back_with_the_same_targets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], job: str, ending: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("job").mkdir()
    Path("job/job.yaml").write_text(JOBS[job], encoding="utf-8")
    for file in ROOT.glob(f"jobs/{job}/*.csv"):
        shutil.copy(file, "job")
    plan, compared = plan_of(Path("job")), 0
    units = plan.notation.units.value
    for name, area in plan.areas.items():
        if not placed(area):
            continue
        zero = area_zero(plan, area)
        own = [] if zero is not None else [f"datum: {area.datum}"]
        assert main(["plan", "job", "--area", name, "-o", f"out{ending}"]) == 0
        new = new_job(Path(f"new {name}"), units, name, ["points: {Z: 0}"])
        capsys.readouterr()
        answers = [word for each in ANSWERS[ending] for word in (each, units)]
        outline = ["--outline", _layer(ending, name)] if area.outline and ending in (".dxf", ".xml") else []
        assert main(["import", str(new), f"out{ending}", "--json", *answers, *outline]) == 0, capsys.readouterr()
        answer = answered(capsys.readouterr().out)
        new_job(new, units, name, [*answer["add to an area"], *own], list(own and [area.datum]))
        again = plan_of(new).areas[name]
        assert_same(area, again, WORTH[units] / 2 / 10**6, Fraction(0) if zero is None else zero.metres)
        if outline and area.outline and again.outline:
            assert again.outline.ring == area.outline.ring or job in ASKED_FOR
            corners = zip(again.outline.ring, area.outline.ring, strict=True)  # rounded where it bends
            off = [abs(one.metres - other.metres) for each in corners for one, other in zip(*each, strict=True)]
            assert max(off) <= WORTH[units] / 2 / 10**6
            assert [set(hole) for hole in again.outline.holes] == [set(hole) for hole in area.outline.holes]
        compared += len(area.points)
    assert compared > 5


def _layer(ending: str, area: str) -> str:
    return area.upper().replace(" ", "-") if ending == ".dxf" else area


@pytest.mark.parametrize("ending", ANSWERS)
def test_an_area_of_a_zero_tied_in_on_site_keeps_its_elevations(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], ending: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("job").mkdir()
    text = YARD.replace("P1: -1/2", "P1: {elevation: -1/2 in, at: [1 ft, 2 ft]}")
    Path("job/job.yaml").write_text(text, encoding="utf-8")
    assert main(["plan", "job", "--area", "deck", "-o", f"out{ending}"]) == 0
    assert "Elevations count from datum pool" in capsys.readouterr().err
    new = new_job(Path("new"), "in", "deck", ["points: {Z: 0}"])
    assert main(["import", str(new), f"out{ending}", *(w for e in ANSWERS[ending] for w in (e, "in"))]) == 0
    new_job(new, "in", "deck", ["points: out.csv", "datum: pool"], ["pool"])
    inch = WORTH["in"]
    assert placed(plan_of(new).areas["deck"]) == {"P1": ("", 12 * inch, 24 * inch, -inch / 2)}


# -- a list as an office exports it


def office_rows() -> list[tuple[str, str, str, str, str]]:
    """Sixty numbered points with northing, easting and elevation in meters, from figures of our own."""
    return [
        (str(n), f"{2000 + n / 8:.3f}", f"{500 + n / 4:.3f}", f"{12 + n / 16:.4f}", f"stake {n}")
        for n in range(1, 61)
    ]


def as_an_office_exports(rows: list[tuple[str, str, str, str, str]]) -> bytes:
    """Odd order, BOM, CRLF, semicolons, decimal commas, blank rows, no headings."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";", lineterminator="\r\n")
    writer.writerow([])
    for number, (name, north, east, up, note) in enumerate(rows):
        writer.writerow([note, up.replace(".", ","), east.replace(".", ","), north.replace(".", ","), name])
        if number % 7 == 0:
            writer.writerow(["", "", "", "", ""])
    return out.getvalue().encode("utf-8-sig")


def test_a_list_of_60_as_an_office_exports_it_survives_every_format(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    rows = office_rows()
    Path("office.csv").write_bytes(as_an_office_exports(rows))
    new_job(Path("one"), "m", "site", ["points: {Z: 0}"])
    given = ["import", "one", "office.csv", "--json"]
    assert main(given) == 1
    questions = " ".join(answered(capsys.readouterr().out)["questions"])
    assert "--order" in questions
    assert "--units" in questions
    assert main([*given, "--order", "DZENP", "--units", "m"]) == 1
    assert "--prefix" in answered(capsys.readouterr().out)["questions"][0]
    assert main([*given, "--order", "DZENP", "--units", "m", "--prefix", "P"]) == 0
    first = new_job(Path("one"), "m", "site", answered(capsys.readouterr().out)["add to an area"])
    wanted = {
        f"P{name}": (note, Fraction(east), Fraction(north), Fraction(up)) for name, north, east, up, note in rows
    }
    assert placed(plan_of(first).areas["site"]) == wanted
    for ending, asked in ANSWERS.items():
        assert main(["plan", "one", "-o", f"round{ending}"]) == 0
        new = new_job(Path(f"from{ending}"), "m", "site", ["points: {Z: 0}"])
        capsys.readouterr()
        assert main(["import", str(new), f"round{ending}", "--json", *(w for e in asked for w in (e, "m"))]) == 0
        new_job(new, "m", "site", answered(capsys.readouterr().out)["add to an area"])
        assert placed(plan_of(new).areas["site"]) == wanted


def test_the_same_list_from_a_spreadsheet_under_headings_needs_no_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    book = openpyxl.Workbook()
    book.active.append(["Desc.", "RL [m]", "Easting (m)", "Northing_m", "Pt No"])
    for name, north, east, up, note in office_rows():
        book.active.append([note, float(up), float(east), float(north), int(name)])
    book.save("office.xlsx")
    new_job(Path("one"), "ft", "site", ["points: {Z: 0}"])
    assert main(["import", "one", "office.xlsx", "--prefix", "P", "--json"]) == 0
    new_job(Path("one"), "ft", "site", answered(capsys.readouterr().out)["add to an area"])
    wanted = {f"P{n}": (note, Fraction(e), Fraction(north), Fraction(up)) for n, north, e, up, note in office_rows()}
    assert placed(plan_of(Path("one")).areas["site"]) == wanted
