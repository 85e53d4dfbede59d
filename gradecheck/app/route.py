"""Where the work stands on its way along the points: always at a surface that the current plan has."""

from __future__ import annotations

from collections.abc import Sequence

from gradecheck.catalogue import _
from gradecheck.measure.verdict_words import Word
from gradecheck.plan.model import Area, Plan
from gradecheck.plan.spelling import written_like
from gradecheck.session.session import Session
from gradecheck.state.spelt import Spelt
from gradecheck.state.state import Surface
from gradecheck.system.settings import GO_ON, UNTIL_ON_GRADE


class Route:
    """Goes along the points of one area at one stage, and to other areas and stages.

    A plan may be accepted at any moment, here or in another window. So the place is kept by its names and held
    against the plan whenever it is asked for; `lost` then says what of it is gone, until somebody has told that.
    """

    def __init__(self, session: Session, after_a_reading: str = GO_ON) -> None:
        """Takes up where the last reading left off, which `after_a_reading` says as the settings do."""
        self._session = session
        self._after = after_a_reading
        self._plan = session.plan
        self._shown: Surface | None = None
        self._spot: Surface | None = None
        """The spot on a string that was gone to; the way along the points goes on from where it stands."""
        self.lost = ""
        self._here = self._resumed()
        self._worked = self._here.stage
        """The stage that was chosen: an area that does not have it is passed through."""

    @property
    def surface(self) -> Surface:
        """What the next reading is about."""
        self._keep_up()
        return self._spot or self._here

    @property
    def shown(self) -> Surface:
        """What the verdict shown is about: the last reading until the next key, else the point under the hand."""
        self._keep_up()
        return self._shown or self._spot or self._here

    @shown.setter
    def shown(self, surface: Surface | None) -> None:
        kept = surface is not None and (_has(self._session.plan, surface) or self._session.state.spot(surface))
        self._shown = surface if kept else None

    @property
    def area(self) -> Area:
        """The area being checked."""
        return self._session.plan.areas[self.surface.area]

    @property
    def stage(self) -> str:
        """The stage being checked."""
        return self.surface.stage

    @property
    def index(self) -> int:
        """Where in its area the point stands; from a spot on a string, where the way along the points goes on."""
        self._keep_up()
        return self.area.index[self._here.point]

    # -- going

    def move(self, by: int) -> None:
        """To another point of the area."""
        self._shown = None
        self._stand(self.area, self.stage, max(0, min(self.index + by, len(self.area.points) - 1)))

    def leave_spot(self) -> bool:
        """From a spot on a string back to the point where the way goes on; whether there was one."""
        left, self._spot = self._spot is not None, None
        self._shown = None if left else self._shown
        return left

    def go_on(self, left: Sequence[str] = ()) -> bool:
        """To the next point without a trusted reading; where there is none, to the first of those that are left.

        Whether there was one.
        """
        here, self._spot = self.surface, None
        if here != self._here:
            return True  # from a spot on a string back to the point
        if not self._go_on(self.area, self.stage, self.index) and left:
            self._stand(self.area, self.stage, self.area.index[left[0]])
        return self._here != here

    def go_to(self, point: str) -> None:
        """To that point, at the same stage where its area has it."""
        area = self._session.plan.areas[self._session.plan.area_of[point]]
        self._shown = None
        self._stand(area, _stage(area, self._worked), area.index[point])

    def go_to_spot(self, spot: Surface) -> None:
        """To a spot on a string, from where the way along the points goes on behind it."""
        self._keep_up()
        known = self._session.state.spot(spot)
        assert known is not None
        if (spot.area, spot.stage) != (self._here.area, self._here.stage):
            self._stand(known.area, spot.stage, known.area.index[known.start.name])
        self._spot, self._shown = spot, None

    def go_to_area(self, name: str) -> None:
        """To that area, at the same stage where it has it."""
        area = self._session.plan.areas[name]
        self._begin(area, _stage(area, self._worked))

    def go_to_stage(self, stage: str) -> None:
        """To that stage of the area."""
        self._worked = stage
        self._begin(self.area, stage)

    def next_area(self) -> None:
        """To the next area, at the same stage where it has it."""
        areas = self._session.plan.areas
        names = list(areas)
        area = areas[names[(names.index(self.surface.area) + 1) % len(names)]]
        self._begin(area, _stage(area, self._worked))

    def next_stage(self) -> None:
        """To the next surface up, and from the finish back to the subgrade."""
        stages = self.area.stages
        self.go_to_stage(stages[(stages.index(self.stage) + 1) % len(stages)])

    def go_back(self, surface: Surface) -> None:
        """To a surface that was read, where the plan still has it."""
        if _has(self._session.plan, surface):
            self._keep_up()
            self._here, self._shown, self._spot = surface, None, None
            if surface.stage != _stage(self._session.plan.areas[surface.area], self._worked):
                self._worked = surface.stage
        elif self._session.state.spot(surface) is not None:
            self.go_to_spot(surface)

    # -- within

    def _stand(self, area: Area, stage: str, place: int) -> None:
        self._spot = None
        self._here = Surface(area.name, area.points[place].name, stage)

    def _begin(self, area: Area, stage: str) -> None:
        self._shown = None
        self._stand(area, stage, 0)
        self._go_on(area, stage, -1)

    def _go_on(self, area: Area, stage: str, after: int) -> bool:
        following = self._session.state.next_unchecked(area.name, stage, after)
        if following is not None:
            self._stand(area, stage, following)
        return following is not None

    def _resumed(self) -> Surface:
        """At the last reading that counts or behind it, as is wished; else at the first point of all."""
        plan, state = self._plan, self._session.state
        last = max(
            ((shots[-1].seq, surface) for surface, shots in state.shots.items() if state.target(surface)),
            default=None,
        )
        if last is None:
            area = next(iter(plan.areas.values()))
            return Surface(area.name, area.points[0].name, area.stages[0])
        self._shown = self._here = last[1]
        if self.is_done_with(last[1]):
            self._go_on(plan.areas[last[1].area], last[1].stage, plan.areas[last[1].area].index[last[1].point])
        spots = ((shots[-1].seq, spot) for spot, shots in state.spots.items() if state.target(spot))
        self._shown = max((last, *spots))[1]
        return self._here

    def is_done_with(self, surface: Surface, after_a_reading: str = "") -> bool:
        """Whether a reading there leads on; a point with nothing to be held against is done with."""
        after = after_a_reading or self._after
        verdict = self._session.state.verdict(surface)
        done = verdict is not None and verdict.word in (Word.ON_GRADE, Word.EXAMPLE)
        return after == GO_ON or (after == UNTIL_ON_GRADE and done)

    def _keep_up(self) -> None:
        """Finds the place again where another plan was accepted by now."""
        before, plan = self._plan, self._session.plan
        if plan is before:
            return
        spelt = Spelt(plan)
        self._plan, here = plan, spelt.surface(self._here)
        self._here, spot = here, self._spot
        if spot is not None and self._session.state.spot(spot) is None:
            self._spot, self.lost = None, _("{point} can't be worked out by this plan any more.", point=spot.point)
        self.shown = spelt.surface(self._shown) if self._shown is not None else None
        if _has(plan, here):
            return
        self.lost = _lost(plan, here)
        area = plan.areas.get(plan.area_of.get(here.point, here.area))
        if area is None:
            self._here = self._resumed()
        elif here.point in area.index:
            self._stand(area, _stage(area, here.stage), area.index[here.point])
        else:
            place = min(written_like(before, plan).areas[here.area].index[here.point], len(area.points) - 1)
            self._stand(area, _stage(area, here.stage), place)
            self._go_on(area, _stage(area, here.stage), place - 1)


def _has(plan: Plan, surface: Surface) -> bool:
    area = plan.areas.get(surface.area)
    return area is not None and surface.point in area.index and surface.stage in area.stages


def _stage(area: Area, wanted: str) -> str:
    return wanted if wanted in area.stages else area.stages[0]


def _lost(plan: Plan, here: Surface) -> str:
    if here.area not in plan.areas:
        return _("{area} is no longer in the plan.", area=here.area)
    if here.point not in plan.areas[here.area].index:
        return _("{point} is no longer in {area}.", point=here.point, area=here.area)
    return _("{area} no longer has {stage}.", area=here.area, stage=here.stage)
