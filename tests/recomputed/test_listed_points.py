"""A job asked for from nothing takes sixty points from an office's list: every target by sums written here again."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from gradecheck.exchange.answers import ImportAnswers
from gradecheck.files.imports import looked_at, write_list
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.folder_names import folder_fault
from gradecheck.plan.load import load_plan
from gradecheck.plan.targets import target
from tests.plan.three_jobs import JOBS

F = Fraction
DEPTHS = {"finish": F(0), "bedding": F("0.06"), "base": F("0.085"), "subgrade": F("0.185")}
"""Under the finish, in meters: paver 60 mm, bedding 25 mm, base 100 mm."""
STAKES = {
    n: (F(30) + n % 10 * 2, F(2) + n // 10 * F("1.5"), F("-0.1") - n % 10 * F("0.03") - n // 10 * F("0.0225"))
    for n in range(60)
}
"""x, y and elevation in meters: ten along, six across, 1.5% down both ways."""


def as_sent() -> bytes:
    """The list: elevation first, easting before northing, the numbers odd after even, no headings."""
    rows = []
    for n in [*range(0, 60, 2), *range(59, 0, -2)]:
        x, y, z = (f"{float(size):.4f}".replace(".", ",") for size in STAKES[n])
        rows.append(f"{z};{x};{n + 101};edge {n // 10};{y}")
        rows += [";;;;", ""] if n % 7 == 0 else []
    return ("\ufeff" + "\r\n".join(rows) + "\r\n").encode()


def test_sixty_points_of_an_offices_list_have_their_targets_in_the_plaza(tmp_path: Path) -> None:
    asking = GuidedAnswers(folder_fault)
    while asking.question is not None:
        asking.answer(JOBS["plaza"].get(asking.key, ""))
    more = "  forecourt:\n    build-up: court\n    points: stakes.csv\n"
    job, sent = tmp_path / "tern" / "job.yaml", tmp_path / "Stakes.txt"
    job.parent.mkdir()
    job.write_text(asking.build.text().rstrip("\n") + "\n" + more, encoding="utf-8")
    sent.write_bytes(as_sent())
    assert looked_at(sent, ImportAnswers(), job.parent / "stakes.csv").taken.questions, "nothing is guessed"
    looked = looked_at(sent, ImportAnswers(units="m", order="ZEPDN", prefix="K"), job.parent / "stakes.csv")
    assert looked.taken.questions == []
    write_list(looked, job.parent / "stakes.csv")
    plan = load_plan(job).plan
    area = plan.areas["forecourt"]
    assert {point.name for point in area.points} == {f"K{n + 101}" for n in STAKES}
    for point in area.points:
        x, y, z = STAKES[int(point.name[1:]) - 101]
        assert point.at is not None
        assert (point.at[0].metres, point.at[1].metres) == (x, y)
        assert {stage: target(area, point, stage).wanted.metres for stage in area.stages} == {
            stage: z - depth for stage, depth in DEPTHS.items()
        }
    assert [each.what for each in findings(plan) if each.severity is Severity.FAULT] == []
