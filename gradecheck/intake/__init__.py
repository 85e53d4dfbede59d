"""What people key in, turned into facts in the light of what is known, or refused with a sentence."""

from gradecheck.intake.shared import Refusal

__all__ = ["Refusal"]
