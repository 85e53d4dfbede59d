"""The usual cautions for this work, in general words; local codes and licensed practice always come first."""

from __future__ import annotations

CAUTIONS = (
    "Buried services: have them located and marked before any dig, and dig by hand near the marks.",
    "Trenches: no one enters a deep or unsound one without protection; keep spoil back from the edge.",
    "Machines: stay out of the swing, keep eye contact with the operator, never stand under the bucket.",
    "Laser: do not stare into the beam, set it above or below eye height, warn the others on site.",
    "Falls, ramps, steps, guards and drainage follow the local code and the drawings, not this program.",
    "Boundaries and structural elevations are for a licensed surveyor or engineer.",
)
