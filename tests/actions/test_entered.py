"""Initials, notes and reasons: the longest that are taken, and one character more."""

from __future__ import annotations

import pytest

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.session.session import Session


def test_initials_have_eight_letters_at_most(session: Session) -> None:
    session.identify("abcdefgh")
    assert session.by == "ABCDEFGH"
    with pytest.raises(Refusal, match="one to 8 letters"):
        session.identify("abcdefghi")


def test_a_note_has_200_characters_at_most(session: Session) -> None:
    assert session.draft(actions.note("n" * 200)).typed == "n" * 200
    with pytest.raises(Refusal, match="That is 201 characters; say it in 200"):
        session.draft(actions.note("n" * 201))
