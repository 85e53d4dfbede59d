"""Two laptops on one job: Check shows what the other crew read, and what is left counts both."""

from __future__ import annotations

from gradecheck.app.check_view import Panel, Tally, check_view
from gradecheck.app.widgets.check_regions import PointCard
from gradecheck.app.widgets.verdict_panel import face_of
from tests.joining.crews import W1, W2, Crews, crew, two

__all__ = ["crew"]


def text_of(card: PointCard, width: int) -> str:
    """The two rows of the card as text."""
    return "\n".join("".join(text for text, _ in row) for row in card.rows(width, 2))


def test_the_other_crews_last_reading_is_shown_with_who_and_when_before_the_point_is_shot_again(
    crew: Crews,
) -> None:
    north, south = two(crew)
    south.read(W2, "53-1/2")  # half an inch high
    north.take(south)
    view = check_view(north.session.state, W2, None)
    assert view.panel is Panel.NOTHING
    assert (view.card.crew, view.card.last_read, view.card.last_at) == ("south", "CUT 1/2", "S 08:31")
    card = PointCard()
    card.show(view.card)
    assert "south read CUT 1/2  S 08:31" in text_of(card, 80)
    shown = check_view(north.session.state, W2, W2)
    assert face_of(shown).corner == "S, south 08:31"
    north.read(W2, "54")
    again = check_view(north.session.state, W2, W2)
    assert (again.card.crew, again.card.last_read, again.card.last_at) == ("", "54", "08:33")
    assert again.was == "was CUT 1/2, now ON GRADE"
    assert face_of(again).corner == "saved 08:33"


def test_what_was_read_before_the_copy_was_made_is_nobody_elses(crew: Crews) -> None:
    _, south = two(crew)
    south.read(W2, "54")
    assert check_view(south.session.state, W1, W1).card.crew == ""


def test_of_another_day_the_day_is_told_too(crew: Crews) -> None:
    north, south = two(crew, ahead=-1440)
    south.set_up("STEP", "40")
    south.read(W2, "46")
    north.take(south)
    assert check_view(north.session.state, W2, None).card.last_at == "S 06 Apr 08:32"


def test_what_is_left_counts_what_both_crews_read(crew: Crews) -> None:
    north, south = two(crew)
    tally = Tally(north.session.state, "walk", "finish")
    assert (tally.progress.on_grade, tally.progress.unread) == (1, 1)
    south.read(W2, "54")
    north.take(south)
    tally = Tally(north.session.state, "walk", "finish")
    assert (tally.progress.on_grade, tally.progress.unread, tally.left()) == (2, 0, [])
