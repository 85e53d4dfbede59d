"""What a day in a test begins with: a job that is open, the cautions, a setup on one mark."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from gradecheck import actions
from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Rod
from gradecheck.report.cautions import GENERAL
from gradecheck.session.session import Session
from gradecheck.survey.setup import Setup, Sight, setup_on

CAUTIONS = tuple(caution.says for caution in GENERAL)


def set_up(rod: Rod, mark: Elevation, backsight: Length) -> Setup:
    """The setup that one backsight on a mark of known elevation fixes."""
    return setup_on(rod, [Sight("", mark, backsight)])


@contextmanager
def job_open(folder: Path, job: str, on_door: str = "") -> Iterator[Session]:
    """A session on the job of that text; the laser is set up on DOOR where a reading is given."""
    (folder / "job.yaml").write_text(job, encoding="utf-8")
    with closing(Session(folder, by="RK")) as session:
        if on_door:
            session.record(actions.set_up(session.state, "DOOR", on_door))
        yield session
