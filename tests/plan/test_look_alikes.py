"""Names that look alike: refused across alphabets, advised about within one; honest names of any are let be."""

from __future__ import annotations

import unicodedata
from contextlib import closing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gradecheck import actions
from gradecheck.actions import Refusal
from gradecheck.cli import main
from gradecheck.findings.every import findings
from gradecheck.findings.finding import Severity
from gradecheck.plan.names import NamesInUse, as_known, folded, name_fault, odd_letter
from gradecheck.plan.problems import PlanProblemsError, Problem
from gradecheck.report.findings import finding_line
from gradecheck.session.session import Session
from gradecheck.state.state import Surface
from tests.findings.sample import found, plan_of
from tests.tables import each_of

PAIRS = (
    ("P1", "\N{CYRILLIC CAPITAL LETTER ER}1"),
    ("p1", "\N{CYRILLIC SMALL LETTER ER}1"),
    ("A1", "\N{GREEK CAPITAL LETTER ALPHA}1"),
    ("a1", "\N{CYRILLIC SMALL LETTER A}1"),
    ("o1", "\N{GREEK SMALL LETTER OMICRON}1"),
    ("I1", "\N{CYRILLIC CAPITAL LETTER BYELORUSSIAN-UKRAINIAN I}1"),
    ("i1", "\N{CYRILLIC SMALL LETTER BYELORUSSIAN-UKRAINIAN I}1"),
    ("J1", "\N{CYRILLIC CAPITAL LETTER JE}1"),
    ("S1", "\N{CYRILLIC CAPITAL LETTER DZE}1"),
    ("v1", "\N{GREEK SMALL LETTER NU}1"),
    ("W1", "\N{CYRILLIC CAPITAL LETTER WE}1"),
    ("h1", "\N{CYRILLIC SMALL LETTER SHHA}1"),
    ("S1", "\N{ARMENIAN CAPITAL LETTER TIWN}1"),
    ("D1", "\N{CHEROKEE LETTER A}1"),
    ("PACTA", "\N{CYRILLIC CAPITAL LETTER ER}\N{CYRILLIC CAPITAL LETTER A}\N{CYRILLIC CAPITAL LETTER ES}"
              "\N{CYRILLIC CAPITAL LETTER TE}\N{CYRILLIC CAPITAL LETTER A}"),
    ("\N{CYRILLIC CAPITAL LETTER O}1", "\N{GREEK CAPITAL LETTER OMICRON}1"),
)  # fmt: skip
"""As confusables.txt of Unicode Technical Standard 39 has them, read there by hand."""
SAME = (
    ("main walk", "main\N{NO-BREAK SPACE}walk"),
    ("main walk", "main\N{THIN SPACE}walk"),
    ("main walk", "MAIN  WALK"),
    ("Café", "Cafe\N{COMBINING ACUTE ACCENT}"),
    ("fin", "\N{LATIN SMALL LIGATURE FI}n"),
    ("m2", "m\N{SUPERSCRIPT TWO}"),
    ("\N{KATAKANA LETTER KA}1", "\N{HALFWIDTH KATAKANA LETTER KA}1"),
)
HONEST = (
    "entrée", "jardín", "señal", "Ñ1", "über", "Øst", "dôme", "Nº 3", "m²", "Straße",
    "стена", "Вход", "ступени 2", "αυλή", "Τοίχος", "現場", "テスト台", "駅前A", "한글 3", "שער", "بوابة", "P-1_b",
    "Δh", "Aµ", "Ωmega",
)  # fmt: skip
MIXED = (
    "W\N{CYRILLIC SMALL LETTER A}lk",
    "\N{CYRILLIC CAPITAL LETTER VE}alk",
    "\N{GREEK SMALL LETTER OMICRON}ak",
    "main W\N{CYRILLIC SMALL LETTER A}lk",
    "\N{GREEK SMALL LETTER OMICRON}\N{CYRILLIC SMALL LETTER ER}",
    "e\N{COMBINING ACUTE ACCENT}\N{CYRILLIC SMALL LETTER ER}",
)
NEARLY = (("P0", "PO"), ("Pl", "P1"), ("PI", "Pl"), ("I1", "l1"), ("barn", "bam"), ("burn1", "bum1"))


@each_of(("one", "other"), [*PAIRS, *(pair[::-1] for pair in PAIRS)])
def test_two_names_that_look_alike_across_alphabets_are_not_let_in(one: str, other: str) -> None:
    says = f"“{other}” looks like “{one}” on line"
    for text in (f"points: {{{one}: -1, {other}: -2}}", f"points: {{{one}: -1}}\nadded: {{{other}: -2}}"):
        assert any(says in problem.says for problem in complaints_of(text)), text


@pytest.mark.parametrize(("one", "other"), [*SAME, *(pair[::-1] for pair in SAME)])
def test_names_that_differ_in_nothing_to_be_seen_are_one_name(one: str, other: str) -> None:
    assert folded(one) == folded(other)
    assert as_known(other, ["x", one]) == one
    told = complaints_of(f"points: {{{one}: -1, {other}: -2}}")
    assert any("is already the name of" in each.says or "is written twice" in each.says for each in told)


@each_of("name", HONEST)
def test_a_name_honestly_in_one_alphabet_is_let_be(name: str) -> None:
    name = name.strip()
    assert name_fault(name) is None
    assert plan_of(f"points: {{{name}: -1, A1: -2}}").area_of[unicodedata.normalize("NFC", name)]
    assert found(plan_of(f"points: {{{name}: -1, A1: -2}}"), "names alike") == []


@pytest.mark.parametrize("name", MIXED)
def test_a_word_of_two_alphabets_is_refused_and_told_with_its_letter(name: str) -> None:
    fault = name_fault(unicodedata.normalize("NFC", name))
    assert fault is not None
    odd = odd_letter(unicodedata.normalize("NFC", name))
    assert odd is not None
    assert f"(U+{ord(odd):04X})" in fault
    assert fault.endswith("type it in one alphabet.")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("\N{FULLWIDTH LATIN CAPITAL LETTER P}1", "that looks like “P”; type the plain letter."),
        ("\N{MATHEMATICAL BOLD CAPITAL P}1", "that looks like “P”; type the plain letter."),
        ("e\N{COMBINING ACUTE ACCENT}\N{COMBINING ACUTE ACCENT}", "a mark on a letter that can't be made out"),
        ("i\N{COMBINING DOT ABOVE}n", "a mark on a letter that can't be made out"),
        ("o" + "".join(map(chr, range(0x0310, 0x0315))), "a mark on a letter that can't be made out"),
        ("P\N{COMBINING GRAPHEME JOINER}1", "looks like nothing (U+034F)"),
        ("P\N{VARIATION SELECTOR-16}1", "looks like nothing (U+FE0F)"),
        ("P\N{HANGUL FILLER}1", "looks like nothing (U+3164)"),
    ],
)
def test_letters_drawn_otherwise_and_marks_nobody_sees_are_refused(name: str, says: str) -> None:
    fault = name_fault(name)
    assert fault is not None
    assert says in fault


@pytest.mark.parametrize(("one", "other"), NEARLY)
def test_names_of_one_alphabet_that_look_alike_are_advised_about(one: str, other: str) -> None:
    plan = plan_of(f"points: {{{one}: -1, {other}: -2}}")
    (finding,) = found(plan, "names alike")
    assert (finding.severity, finding.where) == (Severity.ADVICE, (one, other))
    says = f"{one}, {other}: these names are hard to tell apart on a stake; rename one."
    assert says in finding_line(plan, finding)


@pytest.mark.parametrize(
    ("one", "other"), [("P1", "P2"), ("I1", "L1"), ("S5", "S6"), ("a1", "e1"), ("row 1", "row 2")]
)
def test_names_that_differ_to_be_seen_are_not(one: str, other: str) -> None:
    assert findings(plan_of(f"points: {{{one}: -1, {other}: -1}}")) == []


@given(st.lists(st.from_regex(r"[A-Za-z][A-Za-z0-9]{0,3}", fullmatch=True), min_size=1, max_size=30))
def test_names_of_one_alphabet_are_never_refused_for_their_look(names: list[str]) -> None:
    seen: NamesInUse[int] = NamesInUse()
    for place, name in enumerate(names):
        assert seen.alike(name) is None
        same = seen.same(name)
        assert (same is not None) == (name.casefold() in {each.casefold() for each in names[:place]})
        seen.add(name, place)


JOB = """\
job: Teasel Court
units: in
benchmarks: {DOOR: 0}
tolerances: {finish: 1/8}
areas:
  HOB:
    points: {P1: -1, C2: -2, C3: -3}
"""
ER, ES, NU = "\N{CYRILLIC CAPITAL LETTER ER}", "\N{CYRILLIC CAPITAL LETTER ES}", "\N{GREEK CAPITAL LETTER NU}"
HOB = "\N{CYRILLIC CAPITAL LETTER EN}\N{CYRILLIC CAPITAL LETTER O}\N{CYRILLIC CAPITAL LETTER VE}"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job in which P1 was read, TP1 made and N1 added on site; C3 was read, and the plan lost it since."""
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    with closing(Session(tmp_path, by="RK")) as session:
        session.record(actions.set_up(session.state, "DOOR", "50"))
        for point in ("P1", "C3"):
            session.record(actions.reading(session.state, Surface("HOB", point, "finish"), "51"))
        session.record(actions.mark(session.state, "TP1", "48", "nail in the curb"))
        session.record(actions.add_point(session.state, "HOB", "N1", "-4"))
        (tmp_path / "job.yaml").write_text(JOB.replace(", C3: -3", ""), encoding="utf-8")
        assert session.plan_file.refresh()
        session.record(session.accept_plan())
    return tmp_path


@pytest.mark.parametrize(
    ("was", "sent", "name", "alike"),
    [
        ("P1: -1", f"{ER}1: -1", f"{ER}1", "P1"),
        ("P1: -1", f"P1: -1, {NU}1: -2", f"{NU}1", "N1"),
        ("P1: -1", f"P1: -1, \N{CYRILLIC CAPITAL LETTER TE}{ER}1: -2", f"\N{CYRILLIC CAPITAL LETTER TE}{ER}1", "TP1"),
        ("P1: -1", f"P1: -1, {ES}3: -2", f"{ES}3", "C3"),
        ("{DOOR: 0}", f"{{DOOR: 0, {ES}3: 2}}", f"{ES}3", "C3"),
        ("HOB:", f"{HOB}:", HOB, "HOB"),
    ],
    ids=[
        "a point",
        "one added on site",
        "a mark made on site",
        "one that was read and is gone",
        "a benchmark",
        "an area",
    ],
)
def test_a_new_plan_with_a_look_alike_of_a_known_name_is_not_accepted(
    job: Path, capsys: pytest.CaptureFixture[str], was: str, sent: str, name: str, alike: str
) -> None:
    before = job.joinpath("journal.db").read_bytes()
    job.joinpath("job.yaml").write_text(
        JOB.replace("P1: -1, C2: -2, C3: -3", "P1: -1, C2: -2").replace(was, sent), "utf-8"
    )
    says = f"“{name}” looks like “{alike}”, a name this job has, in another alphabet; rename it in the job file."
    with closing(Session(job, by="RK")) as session:
        assert session.offered is not None
        with pytest.raises(Refusal, match=says):
            session.accept_plan()
    assert main(["changes", str(job), "--accept", "--by", "RK"]) == 2
    assert capsys.readouterr().err.splitlines()[-1].endswith(says)
    assert job.joinpath("journal.db").read_bytes() == before


def test_a_new_plan_with_other_names_is_accepted_in_any_alphabet(job: Path) -> None:
    job.joinpath("job.yaml").write_text(JOB.replace("P1: -1", f"p1: -1, {ER}7: -1, стена: -2"), encoding="utf-8")
    with closing(Session(job, by="RK")) as session:
        session.record(session.accept_plan())
        assert [*session.plan.area_of] == ["p1", f"{ER}7", "стена", "C2", "C3", "N1"]


def complaints_of(area: str) -> list[Problem]:
    try:
        plan_of(area)
    except PlanProblemsError as wrong:
        return list(wrong.problems)
    return []
