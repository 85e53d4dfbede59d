"""What a day in a test begins with: the cautions, signed, and a setup on one mark."""

from __future__ import annotations

from gradecheck.measure.quantities import Elevation, Length
from gradecheck.plan.model import Rod
from gradecheck.report.cautions import GENERAL
from gradecheck.survey.setup import Setup, Sight, setup_on

CAUTIONS = tuple(caution.says for caution in GENERAL)


def set_up(rod: Rod, mark: Elevation, backsight: Length) -> Setup:
    """The setup that one backsight on a mark of known elevation fixes."""
    return setup_on(rod, [Sight("", mark, backsight)])
