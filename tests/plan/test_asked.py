"""A plan asked for question by question: true figures alone, every text readable, any answer given again."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from fractions import Fraction

import pytest

from gradecheck.measure.quantities import ZERO
from gradecheck.measure.units import read_slope
from gradecheck.plan.asked import GuidedAnswers
from gradecheck.plan.asked_areas import KINDS, STANDING
from gradecheck.plan.asked_build import HOUSE, Build, Edge, fan
from gradecheck.plan.asked_edges import to_stand_along
from gradecheck.plan.asked_paved import turned_round
from gradecheck.plan.folder_names import folder_fault
from gradecheck.plan.model import Plan
from gradecheck.plan.read import read_plan
from gradecheck.plan.starter import NotPossibleError
from tests.plan.ground import inch
from tests.plan.three_jobs import STEPS_AND_WALK

BACKYARD = {
    "title": "Alder Row backyard",
    "zero-place": "8 ft",
    "codes": "us-residential",
    "patio: width": "20 ft",
    "patio: length": "12 ft",
    "patio: drop at the house": "1 1/4",
    **STEPS_AND_WALK,
}
"""What is typed; everything else is taken as it is offered."""


def asked(answers: Mapping[str, str], given: dict[str, str] | None = None) -> tuple[GuidedAnswers, int]:
    """All questions answered by those texts, and how many there were; at each the plan so far can be read."""
    asking, count = GuidedAnswers(folder_fault, given), 0
    while asking.question is not None:
        asking.answer(answers.get(asking.key, ""))
        count += 1
        assert count < 200
        if text := asking.preview().text():
            read_plan(text, "job.yaml")
    return asking, count


def plan_of(asking: GuidedAnswers) -> Plan:
    return read_plan(asking.build.text(), "job.yaml")


def finish(plan: Plan, name: str) -> Fraction:
    """In inches."""
    return plan.areas[plan.area_of[name]].point(name).finish.height.metres / Fraction("0.0254")


def test_a_patio_with_steps_and_a_walk_takes_sixty_answers_at_most() -> None:
    asking, count = asked(BACKYARD)
    assert count <= 60
    plan, text = plan_of(asking), asking.build.text()
    assert "<--" not in text
    assert plan.examples == ()
    # By hand: 1 1/4 below the door; 2% over 12 ft is 2.88 in; three risers of 6 in; 2% over 30 ft is 7.2 in.
    patio = plan.areas["patio"]
    assert finish(plan, "P1") == Fraction("-1.25")
    assert {point.finish.height.metres / Fraction("0.0254") for point in patio.points if point.what == "corner"} == {
        Fraction("-4.13")
    }
    assert finish(plan, "S3") == Fraction("-22.13")
    walk = plan.areas["garden walk"]
    far = [point for point in walk.points if point.at and point.at[1] == inch("532")]  # 14 ft 4 in and 30 ft
    assert sorted(point.finish.height.metres / Fraction("0.0254") for point in far) == [
        Fraction("-29.81"), Fraction("-29.33"),
    ]  # fmt: skip
    assert walk.build_up is not None
    assert walk.build_up.name == "patio"
    assert plan.codes == ("us-residential",)
    assert plan.walls == {HOUSE: ((inch("0"), inch("0")), (inch("240"), inch("0")))}


PATIO = {
    "title": "Yard",
    "patio: width": "20 ft",
    "patio: length": "12 ft",
    "patio: drop at the house": "1",
}


def until(answers: Mapping[str, str], key: str) -> GuidedAnswers:
    """The questions up to that one."""
    asking = GuidedAnswers(folder_fault)
    while asking.key != key:
        assert asking.question is not None
        asking.answer(answers.get(asking.key, ""))
    return asking


@pytest.mark.parametrize(
    ("key", "text", "says"),
    [
        ("title", "a\u200bb", "This title has a character in it that can't be seen; write it without."),
        ("units", "yd", "“yd” is not a choice here; write in, ft-in, ft, mm, cm or m."),
        ("zero", "5 door", "“5 door” could be taken for a reading; begin a point or mark with a letter."),
        ("second-mark", "door", "DOOR is the first zero's mark; name another."),
        (
            "patio: kind",
            "p",
            "“p” is not a choice here; write patio, walk, steps, ramp, driveway, pool deck or plaza.",
        ),
        ("patio: width", "0", "This must be more than zero."),
        ("patio: width", "1/3", "1/3 is on no tape; use halves, 4ths, 8ths, 16ths, 32nds or 64ths"),
        ("patio: layers", "mud", "“mud” is not a layer; write its name and thickness, as base 6 in."),
        ("2: area", "Patio", "Two areas are called “Patio”; give each a name of its own."),
        ("2: area", "House", "“House” is already what something begins at; take another name."),
        ("2: area", "coping", "“coping” is already what something begins at; take another name."),
        ("2: area", "patio left", "“patio left” is already what something begins at; take another name."),
        (
            "bedding: tolerance",
            "1/8",
            "Above it 3/16 in is allowed; tighter below is work that the next layer hides.",
        ),
        ("graduation", "3 in", "A rod's marks are at most 2 in (50 mm) apart; type how fine they are."),
    ],
)
def test_a_wrong_answer_is_refused_with_a_sentence_and_asked_again(key: str, text: str, says: str) -> None:
    asking = until(PATIO | {"second": "pool", "patio: begins at": "house"}, key)
    question, so_far = asking.question, asking.so_far
    with pytest.raises(NotPossibleError) as refused:
        asking.answer(text)
    assert str(refused.value).startswith(says)
    assert (asking.question, asking.so_far) == (question, so_far)


def test_a_tolerance_offered_below_is_never_tighter_than_that_above() -> None:
    asking = until(PATIO, "finish: tolerance")
    asking.answer("7/8")
    for stage in ("bedding", "base", "subgrade"):
        assert asking.question is not None
        assert (asking.question.about, asking.question.default) == (f"{stage} within", "7/8 in")
        asking.answer("")


def test_without_layers_only_the_finish_has_a_tolerance() -> None:
    plan = plan_of(asked(PATIO | {"patio: layers": "finish"})[0])
    assert plan.areas["patio"].stages == ("finish",)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("long walk", "walk"),
        ("North Steps", "steps"),
        ("pool deck", "pool deck"),
        ("court", "patio"),
        ("curb", "patio"),
    ],
)
def test_the_kind_is_guessed_from_the_name(name: str, kind: str) -> None:
    asking = until({"title": "Yard", "1: area": name}, f"{name}: kind")
    assert asking.question is not None
    assert asking.question.default == kind


def test_a_folder_is_offered_from_the_title_or_another_if_taken() -> None:
    asking = GuidedAnswers(lambda name: "It is there." if name == "mill-lane" else folder_fault(name))
    asking.answer("Mill Lane!")
    assert asking.question is not None
    assert (asking.key, asking.question.default) == ("folder", "mill-lane-2")
    with pytest.raises(NotPossibleError, match=r"^It is there\.$"):
        asking.answer("mill-lane")
    asking.answer("")
    assert asking.build.folder == "mill-lane-2"


def test_a_folder_that_is_known_is_not_asked_for_and_names_the_job() -> None:
    asking = GuidedAnswers(folder_fault, folder="mill-lane")
    assert asking.question is not None
    assert (asking.key, asking.question.default) == ("title", "Mill lane")
    asking.answer("")
    assert (asking.key, asking.build.folder) == ("units", "mill-lane")


def test_what_is_called_in_capitals_can_be_begun_at() -> None:
    answers = {key.replace("patio", "Back Patio"): text for key, text in PATIO.items()}
    asking = until(answers | {"1: area": "Back Patio", "2: area": "Long Walk"}, "Long Walk: begins at")
    for text in ("", "back patio", "Back Patio Left", "BACK PATIO R"):
        asking.go_to("Long Walk: begins at")
        asking.answer(text)
        assert asking.so_far[-1][0] == "Long Walk: begins at"


def test_an_answer_is_given_again_and_the_others_stay() -> None:
    asking, _unused = asked(BACKYARD)
    asking.go_to("patio: length")
    assert asking.question is not None
    assert asking.question.default == "12 ft"
    asking.answer("15 ft")
    assert asking.is_whole
    assert finish(plan_of(asking), "S3") == Fraction("-22.85")  # 0.72 in lower: 2% of 3 ft more


def test_answers_that_were_kept_are_gone_on_with() -> None:
    whole, _unused = asked(BACKYARD)
    half = dict(list(whole.typed.items())[:20])
    asking = GuidedAnswers(folder_fault, half)
    assert len(asking.so_far) == 20
    again, more = asked(BACKYARD, half)
    assert (again.build.text(), 20 + more) == (whole.build.text(), len(whole.typed))
    assert GuidedAnswers(folder_fault, {"title": "x" * 500, "units": "cubits"}).question is not None


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("title", "A job needs a title"),
        ("patio: width", "This has to be typed; nothing is offered that nobody measured."),
        ("patio: length", "This has to be typed"),
        ("patio: drop at the house", "Type how far below it is"),
        ("steps: risers", "Type a whole number"),
        ("steps: riser height", "This has to be typed"),
        ("steps: tread depth", "This has to be typed"),
    ],
)
def test_no_size_is_offered_that_nobody_measured(key: str, said: str) -> None:
    with pytest.raises(NotPossibleError, match=said):
        asked({name: text for name, text in BACKYARD.items() if name != key})


def test_each_answer_draws_the_plan_with_what_is_offered_for_the_rest() -> None:
    asking = GuidedAnswers(folder_fault)
    seen: list[int] = []
    while asking.question is not None:
        asking.answer(BACKYARD.get(asking.key, ""))
        seen.append(len(asking.preview().areas))
        if asking.key == "patio: falls":
            assert finish(read_plan(asking.preview().text(), "job.yaml"), "P1") == Fraction("-1.25")
    assert seen == sorted(seen)
    assert seen[-1] == 3


@pytest.mark.parametrize(
    ("across", "along", "deep"), [(8, 9, "0.24"), (13, 8, "0.26"), (10, 3, "0.26"), (11, 14, "0.28")]
)
def test_a_plaza_falls_to_its_drain_from_every_side_as_much_as_is_asked(across: int, along: int, deep: str) -> None:
    asking, _unused = asked({
        "title": "Tern Square", "units": "m", "1: area": "court", "court: kind": "plaza",
        "court: width": "20 m", "court: length": "16 m", "court: drop at the house": "0",
        "court: drain at": f"{across} m, {along} m", "court: falls to it": "2%",
    })  # fmt: skip
    plan = plan_of(asking)
    # By hand: 8 and 9 m in, the farthest side is 12 m off, so the drain lies 0.24 m down; the nearest, 7 m off, falls
    # 3.4%. From each of the other places another side is the farthest: 13, 13 and 14 m.
    surface, low = plan.areas["court"].surface, plan.areas["court"].point("ZD")
    assert surface is not None
    assert low.at is not None
    paving = surface.elevation(low.at)
    assert paving is not None
    drain = paving.height.metres
    assert drain == -Fraction(deep)
    assert low.finish.height.metres == drain - Fraction("0.005")  # the drain lies 5 mm below the paving around it
    rim = [plan.areas["court"].point(f"Z{n}").finish.height.metres for n in range(1, 5)]
    assert rim == [0, 0, 0, 0]
    assert all(-drain / side >= Fraction("0.02") for side in (across, 20 - across, along, 16 - along))


def test_the_wall_reaches_along_all_that_begins_at_the_house() -> None:
    asking, _unused = asked(BACKYARD | {
        "3: area": "side walk", "side walk: begins at": HOUSE, "side walk: from its left end": "26 ft",
        "side walk: width": "4 ft", "side walk: length": "10 ft", "side walk: drop at the house": "1 1/4",
    })  # fmt: skip
    # By hand: the patio's 20 ft from the left end, and the walk from 26 to 30 ft.
    assert plan_of(asking).walls[HOUSE] == ((inch("0"), inch("0")), (inch("360"), inch("0")))


def test_no_tolerance_offered_is_finer_than_that_of_the_surface_above() -> None:
    asking, _unused = asked(BACKYARD | {"finish: tolerance": "3/4"})
    assert [*asking.build.tolerances.values()] == [inch("3/4")] * len(asking.build.stages)


def test_a_curb_stands_along_an_edge_and_a_ramp_goes_on_from_a_side() -> None:
    asking, _unused = asked({
        "title": "Mill Court", "units": "mm", "patio: width": "6 m", "patio: length": "4 m",
        "patio: drop at the house": "20", "2: area": "curb", "curb: stands along": "patio right",
        "curb: upstand": "100",
        "3: area": "ramp", "ramp: begins at": "patio left", "ramp: from its left end": "0.4 m",
        "ramp: width": "1.2 m",
        "ramp: its slope": "1:20",
        "ramp: runs": "6 m", "ramp: landing length": "1.6 m", "ramp: landings fall": "0%",
    })  # fmt: skip
    plan = plan_of(asking)
    first, last = plan.areas["curb"].points[0], plan.areas["curb"].points[-1]
    assert first.finish.height.metres == Fraction("0.080")  # 100 above the patio, 20 below the door
    assert last.finish.height.metres == Fraction("0")  # 2% of 4 m lower
    # The ramp leaves the left side 1 m out: 20 mm and 2% of 1 m below, then 6 m at 1 in 20.
    assert plan.areas["ramp"].point("R1").finish.height.metres == Fraction("-0.34")
    end = plan.areas["ramp"].point("R1L")
    assert end.at is not None
    assert [each.metres for each in end.at] == [Fraction("-7.6"), Fraction(1)]


def test_an_outline_is_taped_and_checked_by_the_other_diagonal() -> None:
    # 12 by 20 ft with a true diagonal of 23 ft 3 7/8 in to 1/8 in (L-20 of the check values: 279.8857 in).
    answers = {
        "title": "Taped", "patio: width": "taped", "patio: sides": "12 ft, 20 ft, 12 ft, 20 ft",
        "patio: diagonals": "23 ft 3 7/8 in", "patio: other diagonal": "23 ft 3 7/8 in",
        "patio: drop at the house": "1",
    }  # fmt: skip
    plan = plan_of(asked(answers)[0])
    outline = plan.areas["patio"].outline
    assert outline is not None
    assert abs(float(outline.area) - 12 * 20 * 0.3048**2) < 0.001
    with pytest.raises(NotPossibleError, match="The other tapes make it 279 7/8 in; one of them is off, tape again"):
        asked(answers | {"patio: other diagonal": "23 ft 5 in"})
    with pytest.raises(NotPossibleError, match="make no triangle"):
        asked(answers | {"patio: diagonals": "40 ft"})


def test_a_fan_of_tapes_gives_the_corners_of_a_known_figure() -> None:
    # A 3-4-5 triangle beside a square of 3 m: corners by hand.
    def metres(*sides: int) -> list[object]:
        return [inch(f"{each}") for each in sides]

    corners = fan(metres(3, 4, 5), [])  # type: ignore[arg-type]
    scaled = [(round(x / 0.0254, 6), round(y / 0.0254, 6)) for x, y in corners]
    assert scaled == [(0, 0), (3, 0), (3, 4)]


def test_a_ratio_is_turned_round_where_the_axis_runs_the_other_way() -> None:
    assert read_slope(turned_round("1:48", -1)).ratio == Fraction(-1, 48)
    assert read_slope(turned_round("1.5 : 48", -1)).ratio == Fraction(-1, 32)
    assert turned_round("-2%", -1) == "2%"


def test_the_foot_of_steps_is_no_edgeto_stand_along() -> None:
    foot, side = (Edge("flight", each, (ZERO, ZERO), (0, 1)) for each in ("foot", "left"))
    assert to_stand_along(Build(edges=[foot, side])) == [side]


def drawn(rng: random.Random) -> dict[str, str]:
    """Answers for areas of any kind, each begun somewhere."""
    metric = rng.random() < 0.5
    unit = "m" if metric else "ft"

    def far() -> str:
        return f"{rng.randint(2, 12)}.{rng.randint(0, 9)} {unit}" if metric else f"{rng.randint(4, 40)} {unit}"

    def small() -> str:
        return f"{rng.randint(80, 180)} mm" if metric else f"{rng.randint(3, 7)} 1/{rng.choice([2, 4, 8])} in"

    def length() -> str:
        """Straight, or with a bend or two whose inside is wider than the walk."""
        bends = [f"{rng.choice(['left', 'right'])} radius {rng.randint(45, 60)} {unit} for {rng.randint(1, 90)} deg"
                 for _ in range(rng.choice([0, 0, 1, 2]))]  # fmt: skip
        return ", ".join([far(), *(each for bend in bends for each in (bend, far()))])

    answers = {"title": "Drawn", "units": rng.choice(["m", "mm", "cm"] if metric else ["in", "ft-in", "ft"]),
               "second": rng.choice(["", "pool"]), "second-above": rng.choice(["", f"-{small()}"])}  # fmt: skip
    for number in range(1, rng.randint(2, 6)):
        name = f"part {number}"
        kind = rng.choice([kind for kind in KINDS if number > 1 or kind not in STANDING])
        answers |= {
            f"{number}: area": name,
            f"{name}: kind": kind,
            f"{name}: width": far(),
            f"{name}: length": length() if kind in ("walk", "driveway") else far(),
            f"{name}: its left corner": f"{far()}, -{small()}", f"{name}: it goes on": rng.choice(["out", "left"]),
            f"{name}: drop at the house": small(), f"{name}: drop at COPING": "0",
            f"{name}: risers": str(rng.randint(1, 6)), f"{name}: riser height": small(),
            f"{name}: tread depth": f"4{small()}" if metric else "14 in",
            f"{name}: runs": f"{far()}, {far()}", f"{name}: landing length": far(),
            f"{name}: upstand": small(), f"{name}: falls": rng.choice(["2%", "-1%", "1:48", "0%"]),
            f"{name}: falls across": rng.choice(["0%", "1%", "-1.5%"]),
            f"{name}: they go": rng.choice(["up", "down"]),
            f"{name}: it goes": rng.choice(["up", "down"]),
            f"{name}: its top": rng.choice(["level", "follows"]), f"{name}: water away": rng.choice(["yes", "no"]),
            f"{name}: top above DOOR": rng.choice(["0", small(), f"-{small()}"]),
            f"{name}: top above COPING": small(),
        }  # fmt: skip
    return answers


@pytest.mark.parametrize("count", [12, pytest.param(300, marks=pytest.mark.thorough)])
def test_whatever_is_built_from_whatever_the_plan_can_be_read(count: int) -> None:
    for seed in range(count):
        rng = random.Random(seed)
        answers, asking = drawn(rng), GuidedAnswers(folder_fault)
        while asking.question is not None:
            said = answers.get(asking.key, "")
            if asking.question.about in ("begins at", "its surface", "water", "stands along"):
                said = rng.choice(asking.question.choices)[0]
            if asking.key.endswith(": kind") and said in STANDING and said not in dict(asking.question.choices):
                said = "ramp"  # nothing but steps and ramps so far
            asking.answer(said)
        plan = plan_of(asking)
        assert list(plan.areas) == list(names(answers))
        assert read_slope("2%").ratio == Fraction(1, 50)


def names(answers: Mapping[str, str]) -> Iterable[str]:
    return [text for key, text in answers.items() if key.endswith(": area")]
