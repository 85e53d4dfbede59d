"""Every way a job file is known to bring a reader of YAML down, or to take a name for another: told on its line.

Each goes in as the office would send it and is judged by what `gradecheck examine` says.
"""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from tests.faults.sent_in import VALUE, Office, as_elevation, beside, inches_of, plan_in
from tests.plan.sample import WALK, spoiled

# -- YAML's own machinery


def test_an_alias_bomb_of_a_few_hundred_bytes_never_goes_off(office: Office) -> None:
    bomb = 'a: &a ["x", "x", "x", "x", "x", "x", "x", "x", "x"]\n'
    for earlier, name in zip("abcdefgh", "bcdefghi", strict=True):
        bomb += f"{name}: &{name} [{', '.join([f'*{earlier}'] * 9)}]\n"
    assert len(bomb) < 500, "as small as the one that filled the memory"
    lines = office.examined(bomb)
    assert sum("There is an anchor (&) here" in line for line in lines) == 9
    assert sum("There is an alias (*) here" in line for line in lines) == 8 * 9


def test_a_self_reference_is_no_endless_loop(office: Office) -> None:
    lines = office.examined(spoiled(("job: Fernhill Mews", "job: &a [*a]")))
    assert "job.yaml:1:6: There is an anchor (&) here; write each value out where it is used." in lines
    assert "job.yaml:1:10: There is an alias (*) here; write the value out." in lines


@pytest.mark.parametrize("nested", ["[" * 1000, "- " * 500, "{a: " * 200], ids=["brackets", "dashes", "braces"])
def test_deep_nesting_ends_the_reading_in_one_sentence(office: Office, nested: str) -> None:
    [line] = office.examined(nested)
    assert "job.yaml:1:" in line
    assert "Nested more than 12 levels deep" in line


@pytest.mark.parametrize("escape", [r"\xZZ", r"\uD800", r"\UFFFFFFFF", r"\U99999999", r"\q", r"\x1"])
def test_broken_escapes_are_told_with_their_line(office: Office, escape: str) -> None:
    line = office.examined(as_elevation(f'"{escape}"'))[0]
    assert line.startswith("job.yaml:19:")
    assert re.search("not YAML|escape|invisible", line)


def test_the_same_key_twice_is_told_with_both_lines(office: Office) -> None:
    twice = spoiled(("units: in\n", "units: in\n§units: mm\n"))
    office.refused(twice, "“units” is written twice, first on line 2; keep one.")
    composed = spoiled((VALUE, "Cafe\N{COMBINING ACUTE ACCENT}: 1\n      §Café: 2"))
    office.refused(composed, "“Café” is written twice, first on line 19; keep one.")


@pytest.mark.parametrize(
    "written", ["1:30", "1_000", "no", "on", "yes", "1.e+3", "2024-01-01", "2024-01-01 10:00:00"]
)
def test_yaml_1_1_scalars_are_the_text_they_are(office: Office, written: str) -> None:
    office.refused(as_elevation(f"§{written}"), f"“{written}” is not a length")
    assert plan_in(office.job, spoiled(("Fernhill Mews", written))).job == written


@pytest.mark.parametrize(
    ("written", "means"),
    [("010", Fraction(10)), ("08", Fraction(8)), ("3/16", Fraction(3, 16)), ("'3'", Fraction(3))],
)
def test_010_and_08_and_3_16_mean_what_they_say(office: Office, written: str, means: Fraction) -> None:
    assert inches_of(plan_in(office.job, as_elevation(written))) == means


@pytest.mark.parametrize("written", ["1e3", "0o10", "0x10", "nan", ".inf", "-.inf", ".nan", "1e400", "Infinity"])
def test_1e3_and_0o10_and_inf_and_nan_and_1e400_are_no_lengths(office: Office, written: str) -> None:
    office.refused(as_elevation(f"§{written}"), f"“{written}” is not a length")


def test_5000_digits_are_counted_not_read_and_not_repeated(office: Office) -> None:
    digits = "9" * 5000
    office.refused(as_elevation(f"§{digits}"), "That is 5000 characters long; a length is short")
    falls = spoiled(("fall: 3/16 in/ft", f"fall: §{digits}%"))
    office.refused(falls, "too long for a slope")
    counts = spoiled((VALUE, f"W2: {{from: W1, down: §{digits}, riser: 6}}"))
    office.refused(counts, "is not a number that counts")


def test_a_comment_for_a_value_is_told_as_nothing_written(office: Office) -> None:
    office.refused(
        spoiled((VALUE, "W2:§ #3")),
        "Nothing is written after “W2”; give a value (one that begins with # needs quotes).",
    )


def test_tags_merge_keys_and_two_documents_are_told_with_their_line(office: Office) -> None:
    for tag in ("!!int", "!!python/object/apply:os.system", "!mine", "!!binary"):
        office.refused(as_elevation(f"§{tag} 3"), "There is a tag (!) here")
    merged = spoiled((VALUE, "§<<: {elevation: 3}"))
    office.refused(merged, "“<<” could be taken for a reading")
    office.refused(f"{WALK}§---\njob: another\n", "A second document begins here")


@pytest.mark.parametrize(
    ("old", "new", "meant"),
    [
        ("units: in", "§unit: in\nunits: in", "units"),
        ("build-up: walk", "build-up: walk\n    §tolerence: {}", "tolerances"),
        (VALUE, "W2: {§elevaton: 3, elevation: 3}", "elevation"),
        ("kind: standard", "§knd: direct, kind: standard", "kind"),
    ],
)
def test_an_unknown_key_is_told_with_the_near_one(office: Office, old: str, new: str, meant: str) -> None:
    says = f"is not a key that belongs here. Did you mean “{meant}”?"
    office.refused(spoiled((old, new)), says)


# -- names and texts


def test_look_alike_names_are_one_name_or_refused(office: Office) -> None:
    hidden = spoiled((VALUE, "§W\N{ZERO WIDTH SPACE}1: 3"))
    office.refused(hidden, "An invisible character (U+200B)")
    mixed = spoiled((VALUE, "§W\N{CYRILLIC SMALL LETTER A}lk: 3"))
    office.refused(mixed, "has a Cyrillic “\N{CYRILLIC SMALL LETTER A}” (U+0430) among letters")
    area = spoiled(("garden walk", "§g\N{CYRILLIC SMALL LETTER A}rden walk"))
    office.refused(area, "type it in one alphabet.")
    other = spoiled((VALUE, "X1: 3\n      §\N{CYRILLIC CAPITAL LETTER HA}1: 3"))
    office.refused(other, "looks like “X1” on line 19 in another alphabet; rename one.")


def test_look_alike_names_in_a_list_are_refused_on_its_line(office: Office) -> None:
    (office.job / "spots.csv").write_text("name,elevation\nB\N{CYRILLIC SMALL LETTER A}y,1\n", encoding="utf-8")
    [line] = office.examined(beside("spots.csv"))
    assert line.startswith("spots.csv:2:1: ")
    assert "type it in one alphabet" in line
    (office.job / "spots.csv").write_text(
        "name,elevation\n\N{CYRILLIC CAPITAL LETTER VE}1,1\nB1,2\n", encoding="utf-8"
    )
    [line] = office.examined(beside("spots.csv"))
    assert "“B1” looks like “\N{CYRILLIC CAPITAL LETTER VE}1”" in line


@pytest.mark.parametrize(
    "name", ["Ящик 3", "Точка A1", "Kapı", "Δh", "naïve", "庭A", "Straße", "Ωmega", "5µm", "Čakovec"]
)
def test_a_name_in_any_one_alphabet_is_a_name(office: Office, name: str) -> None:
    assert name in plan_in(office.job, spoiled(("garden walk", name))).areas


@pytest.mark.parametrize("escape", [r"\e]0;x\a", r"\e[2J", r"\x9b2J", r"\u202e", r"\0", r"\n"])
def test_terminal_escapes_in_a_text_are_refused_at_load(office: Office, escape: str) -> None:
    office.refused(spoiled(("Fernhill Mews", f'§"Fern{escape}"')), "An invisible character (U+")
