"""Grades checked live on site, from the grade plan to the day's log."""

__version__ = "2026.12.1"
