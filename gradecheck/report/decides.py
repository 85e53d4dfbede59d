"""Who decides where the program judges: said on every screen, by every command and on every sheet that does."""

from __future__ import annotations

DECIDES = "Local code and the drawings decide."
