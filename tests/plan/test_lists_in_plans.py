"""Lists and outlines beside a job file: read as part of the plan, and the plan is another when they are."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import pytest

from gradecheck.findings.every import findings
from gradecheck.plan import cache
from gradecheck.plan.load import Loaded, PlanFile, load_plan, plan_hash, text_hash
from gradecheck.plan.problems import PlanProblemsError
from gradecheck.report.findings import finding_line, listing_line
from tests.plan.ground import at_mm, height, job_with, mm, names, place, plan_with, point, yard

WALK = "name,x,y,elevation,note\nW1,0,0,-10,by the gate\nW2,1000,0,-30,\n"
OUTLINE = """\
{"type": "FeatureCollection", "units": "m", "features": [
{"type": "Feature", "geometry": {"type": "Polygon", "coordinates": [[[0, 0], [4, 0], [4, 4], [0, 4], [0, 0]]]}}
]}
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job whose yard is a list."""
    (tmp_path / "job.yaml").write_text(job_with("points: walk.csv"), encoding="utf-8")
    (tmp_path / "walk.csv").write_text(WALK, encoding="utf-8")
    return tmp_path / "job.yaml"


def _finish(loaded: Loaded, name: str) -> float:
    return height(loaded.plan, name).mm


# What a list brings into a plan -------------------------------------------------------------------------------


def test_points_of_a_list_keep_its_order_their_places_notes_and_lines() -> None:
    plan = plan_with("points: walk.csv", lists={"walk.csv": WALK})
    assert names(plan) == ["W1", "W2"]
    first = point(plan, "W1")
    assert (first.finish.height, first.at, first.what) == (mm(-10), place(0, 0), "by the gate")
    assert first.working == "−10 mm by the list, line 2"


def test_a_list_and_written_points_count_from_each_other() -> None:
    plan = plan_with(
        "points: {K: {from: W2, down: 1, riser: 150}}\npoint list: walk.csv\nroute: [W1, K, W2]",
        lists={"walk.csv": WALK},
    )
    assert names(plan) == ["W1", "K", "W2"]
    assert height(plan, "K") == mm(-180)


def test_a_list_may_have_units_and_headings_of_its_own() -> None:
    entry = "point list: {file: site.csv, units: m, columns: {name: Nr of the stake, elevation: Finished height}}"
    plan = plan_with(entry, lists={"site.csv": "Finished height;Nr of the stake;Idle\n-0,25;W1;7\n"})
    assert height(plan, "W1") == mm(-250)


def test_points_of_a_list_without_elevations_lie_on_the_surface() -> None:
    plan = plan_with(
        "surface: {at: DOOR, fall: {x: 2%}}\npoint list: walk.csv", lists={"walk.csv": "name,x,y\nW1,1000,5\n"}
    )
    assert height(plan, "W1") == mm(-20)


def test_a_surface_may_be_carried_by_points_of_a_list() -> None:
    spots = "name,x,y,elevation\nA,0,0,0\nB,1000,0,-20\nC,0,1000,-10\n"
    plan = plan_with(
        "surface: {through: [A, B, C]}\npoints: {P: {at: [500, 500]}}\npoint list: spots.csv",
        lists={"spots.csv": spots},
    )
    assert height(plan, "P") == mm(-15)


def test_points_and_outlines_may_come_as_geojson() -> None:
    place_of = '{"type": "Point", "coordinates": [1, 2, -0.5]}'
    spots = f'{{"type": "Feature", "geometry": {place_of}, "properties": {{"name": "W1"}}}}'
    plan = plan_with(
        "outline: yard.json\nsurface: {at: DOOR, fall: {x: 1%}}\ngrid: {every: 4000, name: G}\n"
        "point list: {file: spots.geojson, units: m}",
        lists={"yard.json": OUTLINE, "spots.geojson": spots},
    )
    assert names(plan) == ["W1", "G1-1", "G1-2", "G2-2", "G2-1"]
    assert point(plan, "W1").at == place(1000, 2000)
    assert height(plan, "W1") == mm(-500)
    outline = yard(plan).outline
    assert outline is not None
    assert outline.area == 16


def test_a_list_without_headings_is_read_by_the_order_the_plan_gives() -> None:
    rows = "1,2000,1000,-10,by the gate\n2,2000,3000,-30,\n"
    plan = plan_with("point list: {file: site.csv, order: pnezd, prefix: P}", lists={"site.csv": rows})
    assert names(plan) == ["P1", "P2"]
    assert (point(plan, "P1").at, height(plan, "P1")) == (place(1000, 2000), mm(-10))
    turned = plan_with("point list: {file: site.csv, order: PENZD, prefix: P}", lists={"site.csv": rows})
    assert point(turned, "P1").at == place(2000, 1000)
    with pytest.raises(PlanProblemsError, match=r"site\.csv:1:1: This list has no headings.*order: PNEZD"):
        plan_with("points: site.csv", lists={"site.csv": rows})


def test_a_plan_knows_how_far_each_of_its_lists_reaches() -> None:
    yard_json = OUTLINE.replace("[4, 4]", "[4, 5.5]")
    plan = plan_with(
        "outline: yard.json\npoint list: walk.csv",
        lists={"walk.csv": WALK + "W3,500,-40,5,\n", "yard.json": yard_json},
    )
    outline, points = plan.listings
    assert (outline.file, outline.kind, outline.count, outline.heights) == ("yard.json", "outline", 4, None)
    assert outline.places == (place(0, 0), place(4000, 5500))
    assert (points.area, points.file, points.kind, points.count) == ("yard", "walk.csv", "points", 3)
    assert points.places == (place(0, -40), place(1000, 0))
    assert points.heights == (at_mm(-30), at_mm(5))
    assert listing_line(plan, points) == (
        "walk.csv: 3 points in yard, x 0 to 1000 mm, y −40 to 0 mm, elevation −30 to 5 mm"
    )
    assert listing_line(plan, outline) == "yard.json: outline of 4 corners in yard, x 0 to 4000 mm, y 0 to 5500 mm"


@pytest.mark.parametrize(("units", "asked"), [("", True), (", units: m", False)])
def test_lengths_that_could_be_degrees_are_asked_about(units: str, asked: bool) -> None:
    spots = "".join(
        f'{{"type": "Feature", "geometry": {{"type": "Point", "coordinates": {place}}}, '
        f'"properties": {{"name": "{name}", "elevation": 0}}}},'
        for name, place in (("A", "[0, 0]"), ("B", "[24, 20]"))
    )
    text = f'{{"type": "FeatureCollection", "features": [{spots.removesuffix(",")}]}}'
    plan = plan_with(f"point list: {{file: spots.geojson{units}}}", lists={"spots.geojson": text}, units="m")
    told = [finding_line(plan, each) for each in findings(plan) if each.what == "degrees"]
    assert bool(told) is asked
    assert all("these coordinates could be degrees" in line for line in told)


def test_coordinates_of_a_countrys_grid_are_lengths() -> None:
    ring = "[[10000000.00 ft, 700000 ft], [10000040.00 ft, 700000 ft], [10000040.00 ft, 700030 ft]]"
    plan = plan_with(
        f"outline: {ring}\npoints: {{A: {{elevation: 0, at: [10000020.00 ft, 700005.5 ft]}}}}", units="ft"
    )
    found = point(plan, "A").at
    assert found is not None
    assert [each.metres / Fraction(3048, 10_000) for each in found] == [10_000_020, Fraction(1_400_011, 2)]


def test_a_text_without_a_folder_has_no_lists() -> None:
    with pytest.raises(PlanProblemsError) as refused:
        plan_with("points: walk.csv")
    (problem,) = refused.value.problems
    assert str(problem) == "job.yaml:9:13: There is no file “walk.csv” next to the job file; put it there."


def test_one_list_serves_two_areas_only_where_no_name_is_shared(tmp_path: Path) -> None:
    text = job_with("points: walk.csv", after="court: {points: walk.csv}")
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    (tmp_path / "walk.csv").write_text(WALK, encoding="utf-8")
    with pytest.raises(PlanProblemsError, match="“W1” is made here and written elsewhere too; rename one of the two"):
        load_plan(tmp_path / "job.yaml")


def test_a_plan_names_so_many_files_and_no_more(tmp_path: Path) -> None:
    areas = [f"a{number}: {{points: list{number}.csv}}" for number in range(40)]
    for number in range(41):
        (tmp_path / f"list{number}.csv").write_text(f"name,elevation\nP{number},-1\n", encoding="utf-8")
    job = tmp_path / "job.yaml"
    job.write_text(job_with("points: list40.csv", after="\n".join(areas[1:])), encoding="utf-8")
    assert len(load_plan(job).files) == 40
    job.write_text(job_with("points: list40.csv", after="\n".join(areas)), encoding="utf-8")
    with pytest.raises(PlanProblemsError, match="more than 40 files; put their points together"):
        load_plan(job)


def test_a_list_lies_beside_the_job_file_and_nowhere_else(tmp_path: Path) -> None:
    (tmp_path / "secret.csv").write_text(WALK, encoding="utf-8")
    folder = tmp_path / "job"
    folder.mkdir()
    for name in ("../secret.csv", str(tmp_path / "secret.csv"), "..\\\\secret.csv"):
        (folder / "job.yaml").write_text(job_with(f'point list: {{file: "{name}"}}'), encoding="utf-8")
        with pytest.raises(PlanProblemsError, match="is not the plain name of a file next to the job file"):
            load_plan(folder / "job.yaml")


# A list is a part of the plan ---------------------------------------------------------------------------------


def test_the_name_of_a_plan_follows_its_lists_and_else_its_text_alone(job: Path) -> None:
    loaded = load_plan(job)
    assert loaded.files == {"walk.csv": WALK}
    assert loaded.plan.files == {"walk.csv": text_hash(WALK)}
    assert loaded.digest == plan_hash(loaded.text, loaded.files) != text_hash(loaded.text)
    assert plan_hash(loaded.text, {}) == text_hash(loaded.text)
    (job.parent / "walk.csv").write_text(WALK.replace("-30", "-31"), encoding="utf-8")
    assert load_plan(job).digest != loaded.digest
    (job.parent / "walk.csv").write_text(WALK, encoding="utf-8")
    assert load_plan(job).digest == loaded.digest


def test_a_plan_remembered_is_not_taken_where_its_list_has_changed(job: Path) -> None:
    assert _finish(load_plan(job), "W2") == -30
    (job.parent / "walk.csv").write_text(WALK.replace("-30", "-45"), encoding="utf-8")
    assert _finish(load_plan(job), "W2") == -45


def test_a_plan_is_remembered_with_its_lists(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = load_plan(job)
    remembered = cache.recall(text_hash(before.text))
    assert remembered == before.plan

    def never(*_: object) -> None:
        raise AssertionError("read anew")

    monkeypatch.setattr("gradecheck.plan.read.read_plan", never)
    assert load_plan(job) == before


def test_a_list_that_went_away_is_told_though_the_plan_is_remembered(job: Path) -> None:
    load_plan(job)
    (job.parent / "walk.csv").unlink()
    with pytest.raises(PlanProblemsError, match=r"job\.yaml:9:13: “walk\.csv”: This file can't be read"):
        load_plan(job)


def test_a_list_that_broke_is_named_by_its_line_beside_a_known_plan(job: Path) -> None:
    load_plan(job)
    (job.parent / "walk.csv").write_text(WALK.replace("-30", "low"), encoding="utf-8")
    with pytest.raises(PlanProblemsError, match=r"^walk\.csv:3:11: elevation: “low” is not a length"):
        load_plan(job)


def _touch(path: Path, text: str, when: int) -> None:
    path.write_text(text, encoding="utf-8")
    os.utime(path, ns=(when, when))


def test_an_open_job_notices_a_changed_list_and_keeps_the_readable_plan(job: Path) -> None:
    walk = job.parent / "walk.csv"
    _touch(walk, WALK, 1_000)
    opened = PlanFile(job)
    assert _finish(opened.read(), "W2") == -30
    assert not opened.refresh()
    _touch(walk, WALK.replace("-30", "low"), 2_000)
    assert opened.refresh()
    assert opened.wrong is not None
    assert opened.latest is not None
    assert _finish(opened.latest, "W2") == -30
    assert not opened.refresh()
    _touch(walk, WALK.replace("-30", "-45"), 3_000)
    assert opened.refresh()
    assert opened.wrong is None
    assert _finish(opened.latest, "W2") == -45


def test_an_open_job_looks_again_at_a_faulty_list(tmp_path: Path) -> None:
    job, walk = tmp_path / "job.yaml", tmp_path / "walk.csv"
    _touch(job, job_with("points: {W1: -1}"), 1_000)
    opened = PlanFile(job)
    opened.read()
    _touch(job, job_with("points: walk.csv"), 2_000)
    assert opened.refresh()
    assert opened.wrong is not None
    assert "“walk.csv”: This file can't be read" in str(opened.wrong)
    assert not opened.refresh()
    _touch(walk, WALK.replace("-30", "low"), 3_000)
    assert opened.refresh()
    assert opened.wrong is not None
    assert "“low” is not a length" in str(opened.wrong)
    assert not opened.refresh()
    _touch(walk, WALK, 4_000)
    assert opened.refresh()
    assert opened.wrong is None
    assert opened.latest is not None
    assert _finish(opened.latest, "W2") == -30
    assert not opened.refresh()
