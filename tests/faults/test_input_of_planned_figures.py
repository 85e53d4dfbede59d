"""Every figure in a job file, or in a list beside it, that is known to be misread: read as it stands, or refused."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gradecheck.codec import CodecError, decode
from gradecheck.journal.facts import Judged
from gradecheck.measure import units
from gradecheck.measure.quantities import Elevation, Length
from tests.faults.sent_in import VALUE, Office, as_elevation, beside, inches_of, plan_in
from tests.plan.sample import WALK, spoiled


def test_true_and_bytes_are_no_numbers_wherever_they_come_in(office: Office) -> None:
    for written in ("true", "True", "b'1.5'"):
        office.refused(as_elevation(f"§{written}"), "is not a length")
    feature = '{"type": "Feature", "geometry": {"type": "Point", "coordinates": [true, 1]}, "properties": %s}'
    (office.job / "spots.json").write_text(feature % '{"name": "A", "elevation": 1}', encoding="utf-8")
    [line] = office.examined(beside("spots.json"))
    assert line == "spots.json:1:67: A number is expected here, without quotes."
    for value in ("true", "1.5", "null", '"1.5"', "1"):
        with pytest.raises(CodecError):
            decode(Length, value)
    for value in ("true", "1.0", '"1"'):
        with pytest.raises(CodecError):
            decode(tuple[int, ...], f"[{value}]")


def test_a_true_minus_is_a_minus_and_never_lost(office: Office) -> None:
    assert inches_of(plan_in(office.job, as_elevation("\N{MINUS SIGN}1/2"))) == Fraction(-1, 2)
    sloped = f"{WALK}    surface: {{at: DOOR, fall: {{x: \N{MINUS SIGN}2%}}}}\n"
    sloped = sloped.replace("elevation: 0,", "elevation: 0, at: [0, 0],") + "  spare: {points: {Z: 0}}\n"
    surface = plan_in(office.job, sloped).areas["garden walk"].surface
    assert surface is not None
    assert [fall.ratio for fall in surface.planes[0].falls] == [Fraction(-1, 50), 0]
    dense = f"stone: {{density: §\N{MINUS SIGN}1.5 ton/yd^3}}\n{WALK}"
    office.refused(dense, "is not a number with a unit")


@pytest.mark.parametrize(
    "fall", ["-2%", "\N{MINUS SIGN}2%", "-1/4 in/ft", "-1 in per 5 ft", "-1.5 deg", "-1:48", "\N{MINUS SIGN}1:48"]
)
def test_a_fall_or_rise_with_a_minus_is_told_since_it_could_mean_either(office: Office, fall: str) -> None:
    says = f"Write this without a minus: “fall: {fall[1:]}” goes down, “rise: {fall[1:]}” goes up."
    office.refused(spoiled(("fall: 3/16 in/ft", f"fall: §{fall}")), says)
    office.refused(spoiled(("fall: 3/16 in/ft", f"rise: §{fall}")), says)


@pytest.mark.parametrize("digits", ["\N{FULLWIDTH DIGIT ONE}\N{FULLWIDTH DIGIT TWO}", "\N{ARABIC-INDIC DIGIT THREE}"])
def test_digits_of_other_scripts_are_refused_wherever_a_figure_stands(office: Office, digits: str) -> None:
    office.refused(as_elevation(f"§{digits}"), "is not a length")
    for slope in (f"{digits}%", f"1:{digits}", f"{digits} in/ft"):
        office.refused(spoiled(("fall: 3/16 in/ft", f"fall: §{slope}")), "is not a slope")
    counted = spoiled((VALUE, f"W2: {{from: W1, down: §{digits}, riser: 6}}"))
    office.refused(counted, "is not a number that counts")
    office.refused(f"stone: {{density: §{digits} t/m^3}}\n{WALK}", "is not a number with a unit")
    office.refused(f"stone: {{compaction: §{digits}}}\n{WALK}", "is not a factor")
    (office.job / "spots.csv").write_text(f"name,elevation\nA,{digits}\n", encoding="utf-8")
    [line] = office.examined(beside("spots.csv"))
    assert line.startswith("spots.csv:2:3: elevation: ")


@pytest.mark.parametrize(("written", "means"), [("½", "1/2"), ("⅜", "3/8"), ("-3½", "-7/2"), ("1⅜ in", "11/8")])
def test_a_fraction_of_one_character_is_read_by_its_table(office: Office, written: str, means: str) -> None:
    assert inches_of(plan_in(office.job, as_elevation(written))) == Fraction(means)


def test_a_one_character_fraction_no_tape_has_is_refused_with_a_spelling(office: Office) -> None:
    office.refused(as_elevation("§⅓"), "“⅓” is not a length; type it like 13 13/16.")
    falls = spoiled(("fall: 3/16 in/ft", "fall: §½ in/ft"))
    office.refused(falls, "is not a slope; write it like 3/16 in/ft, 2% or 1:48.")


def test_what_the_office_writes_never_reaches_the_parser_of_pint(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    registry, handed_on = units.registry(), []

    def spied(name: str) -> None:
        parse = getattr(type(registry), name)

        def spy(self: object, text: object, *others: object, **named: object) -> object:
            handed_on.append(text)
            return parse(self, text, *others, **named)

        monkeypatch.setattr(type(registry), name, spy)

    for name in ("parse_expression", "parse_units"):
        spied(name)
    written = ("5' 6\"", "5 3/16 in", "4 ft 3 in", "1.2 ft")
    for each in written:
        plan_in(office.job, as_elevation("'" + each.replace("'", "''") + "'"))
    for each in ("1 000 ft", "1.2.3 ft", "1:48", "10**10**10"):
        office.refused(as_elevation(f"§{each}"))
    dense = f"stone: {{density: 1.5 ton/yd^3, price: 38 $/ton}}\n{spoiled(('3/16 in/ft', '1 in per 5 ft'))}"
    assert plan_in(office.job, dense).stone is not None
    assert handed_on, "or nothing was watched"
    assert set(handed_on) <= set(units.NAMES.values())


@pytest.mark.parametrize("tower", ["10**10**10", "9^9^9", "9**9**9**9"])
def test_a_tower_of_powers_is_refused_also_in_the_units(office: Office, tower: str) -> None:
    office.refused(as_elevation(f"§{tower}"), "is not a length")
    office.refused(as_elevation(f"§1 {tower}"), "is not a length")
    for unit in (f"1 {tower}", f"1 in/{tower}", f"1 m^{tower}", f"1 ft**{tower}", f"{tower} in per 5 ft"):
        office.refused(spoiled(("fall: 3/16 in/ft", f"fall: §{unit}")), "is not a slope")
    for unit in (f"1 t/{tower}", f"1 t/m^{tower}", f"1 t/m**{tower}", "1 t^9999999/m"):
        office.refused(f"stone: {{density: §{unit}}}\n{WALK}")


@pytest.mark.parametrize("huge", ["1e30000000", "1e-30000000", "1e1000000"])
def test_an_exponent_that_would_fill_the_memory_is_never_worked_out(office: Office, huge: str) -> None:
    office.refused(as_elevation(f"§{huge}"), f"“{huge}” is not a length")
    for slope in (f"{huge}%", f"{huge}:1", f"{huge} in/ft", f"{huge} deg"):
        office.refused(spoiled(("fall: 3/16 in/ft", f"fall: §{slope}")), "is not a slope")
    office.refused(f"stone: {{density: §{huge} t/m^3}}\n{WALK}")
    office.refused(f"stone: {{compaction: §{huge}}}\n{WALK}", "is not a factor")
    (office.job / "spots.csv").write_text(f"name,elevation\nA,{huge}\n", encoding="utf-8")
    [line] = office.examined(beside("spots.csv"))
    assert "is not a length" in line
    point = '{"type": "Feature", "geometry": null, "properties": {"name": "A", "elevation": %s}}'
    (office.job / "spots.json").write_text(point % huge, encoding="utf-8")
    [line] = office.examined(beside("spots.json"))
    assert "too long or too large for a site" in line
    with pytest.raises(CodecError):
        decode(Length, f'"{huge}"')


@pytest.mark.parametrize(("written", "metres"), [("3 M", "3"), ("3 MM", "0.003"), ("3 IN", "0.0762"), ("3 m", "3")])
def test_m_and_mm_in_capitals_are_metres_and_millimetres(office: Office, written: str, metres: str) -> None:
    assert inches_of(plan_in(office.job, as_elevation(written))) * Fraction("0.0254") == Fraction(metres)


@pytest.mark.parametrize("unit", ["PT", "pt", "min", "Mm^2", "rod", "furlong", "Pm", "l", "°"])
def test_a_unit_that_is_not_on_the_closed_list_is_refused(office: Office, unit: str) -> None:
    office.refused(as_elevation(f"§3 {unit}"))
    office.refused(spoiled(("fall: 3/16 in/ft", f"fall: §3 {unit}/m")), "is not a slope")
    office.refused(f"stone: {{density: §3 {unit}/m^3}}\n{WALK}")


def test_what_was_judged_reads_back_exactly_or_not_at_all() -> None:
    """The figures an entry holds come back by the same narrow way: no float, no exponent, no truth for a number."""
    sound = '{"found":"1/2","wanted":"1/4","high":"1/8","low":"1/8","word":"CUT"}'
    assert decode(Judged, sound).found == Elevation(Fraction(1, 2))
    for wrong in ("0.5", "true", '"0.5"', '"1e9"', '"1/0"', '"١/2"', '"1/2\\n"', f'"{"9" * 65}"', "[1,2]"):
        with pytest.raises(CodecError):
            decode(Judged, sound.replace('"1/2"', wrong))
