"""A crew's days made up from a seed and recorded with the session's own verbs, the truth kept beside them."""

from gradecheck.rehearsal.crew import TrueReading
from gradecheck.rehearsal.days import Rehearsal, rehearse
from gradecheck.rehearsal.truth import Clock

__all__ = ["Clock", "Rehearsal", "TrueReading", "rehearse"]
