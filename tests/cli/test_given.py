"""What is given to a command is kept, or refused with a sentence; no option is passed over without a word."""

from __future__ import annotations

import functools
from contextlib import closing
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from gradecheck import actions
from gradecheck.cli import main
from gradecheck.cli.options import Reply
from gradecheck.cli.run import verb_named
from gradecheck.cli.screens import JobsOptions
from gradecheck.cli.verbs import VERBS
from gradecheck.session.session import Session
from tests.cli.asides import answered
from tests.cli.test_cli import JOB, answer, journal, said

Out = pytest.CaptureFixture[str]
MORNING = datetime(2026, 5, 12, 7, 30, tzinfo=timezone(timedelta(hours=-5)))


@pytest.fixture(autouse=True)
def half_past_seven(monkeypatch: pytest.MonkeyPatch) -> None:
    """The clock stands still, and nobody has said who is checking."""
    monkeypatch.setattr("gradecheck.cli.shared.Session", functools.partial(Session, clock=lambda: MORNING))
    monkeypatch.delenv("GRADECHECK_BY", raising=False)


@pytest.fixture
def court(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out) -> Path:
    """A job in the folder the commands are given in: set up on DOOR, P1 and P2 read, TP1 shot."""
    monkeypatch.chdir(tmp_path)
    folder = Path("court")
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    for order in (
        ["setup", "court", "DOOR=50", "--by", "RK"],
        ["read", "court", "P1=51", "P2=51-1/2"],
        ["mark", "court", "TP1=49"],
    ):
        assert main(order) == 0
    capsys.readouterr()
    return folder


REFUSED = [
    "correct court 3 49 --mark DOOR=1 --why moved",
    "correct court 3 --mark DOOR=1 --why moved",
    "correct court 3 49 --moved",
    "correct court 3 49 --why ",
    "changes court --accept --as-text",
    "targets court --hi 50",
    "targets court --rod P1 --hi 50 --area path",
    "read court P1=51 --from evening.txt",
    "read court P1=51 --person JM",
    "log court --csv --json",
    "asbuilt court --csv -o built.dxf",
    "review court --csv --entries",
    "guide typing --man",
    "log court --csv --json",
    "plan court --csv --json",
    "plan court --csv --geojson",
    "plan court --csv --ascii",
    "plan court --geojson --ascii",
    "plan court --json --ascii",
    "plan court --svg plan.svg --ascii",
    "plan court --labels --ties",
    "plan court --labels --svg plan.svg",
    "plan court --labels --csv",
    "plan court --labels --json -o labels.csv",
    "plan court --ties --csv",
    "plan court --ties --json",
    "plan court --above 6",
    "plan court --ground",
    "plan court --labels --ground --above 6",
    "plan court --stage finish",
    "targets court --ties --stage finish",
    "targets court --ties --working",
    'targets court --ties --on-string "P1 to P2 half way"',
    "plan court --json -o plan.txt",
    "checks court --line P1,P2 --area path",
    "report court --paper a4",
    "report court --paper a4 -o day.csv",
    "report court --json --paper letter",
    "layout court --sides 12',20' corner",
    "layout court --module 82-1/2/10 corner",
    "stone court --sections 0:1:1 9:1:1 --area path",
    "read court P1=51 --person JM",
    "read court P1=51 --time 7:31",
    "read court P1=51 --time half-past",
    "read court P1=51 --time 2026-05-11 --by RK",
    "read court P1=51 --time 7:30 --person 4",
    "read court P1=51 --offset 3",
    "read court P1=51 --offset=-3-above",
    "stone court --sections 0:1:1",
    "stone court --truck 7",
    "mark court TP1=48",
    "mark court tp1=48",
    "sign court path finish --accept P1 P9",
    "setup court DOOR=50 door=51",
    "targets court --area path --area yard",
    "targets court --stage base --stage finish",
    "read court P1=50 --by RK --by JM",
    "setup court DOOR=50 --rod ",
    "setup court DOOR=50 --falls ",
    "setup court DOOR=50 --at ",
    "read court P1=50 --by ",
    "read court P1=50 --stage ",
    "circuit court --rule ",
    "log court --area ",
    "review court --person ",
    "review court --left --entries",
    "review court --left --person RK",
    "review court -o left.pdf",
    "review court --left -o left.json",
    "layout court --sides ",
    "examine ",
    "plan court -o ",
]
"""Orders that contradict themselves or leave something to guess; what stands behind the last space is empty."""


@pytest.mark.parametrize("order", REFUSED)
def test_what_contradicts_itself_is_refused_and_nothing_is_recorded(court: Path, capsys: Out, order: str) -> None:
    before, files = journal(court), sorted(court.iterdir())
    try:
        code = main(order.split(" "))
    except SystemExit as ended:
        code = int(str(ended.code))
    printed = capsys.readouterr()
    assert code == 2, printed
    if "--json" in order.split():  # a refusal is an answer too
        assert answered(printed.out)["error"]["exit"] == 2
        assert answered(printed.out)["error"]["says"] in printed.err
    else:
        assert printed.out == ""
    assert printed.err.strip()
    assert journal(court) == before
    assert sorted(court.iterdir()) == files
    assert sorted(Path().iterdir()) == [court]


KEPT = [
    ("read court P1=51 --time 7:30 --person jm", "P1 finish (entered later, read 2026-05-12 07:30 by JM) 51"),
    ("read court P1=48 --offset 3above", "P1 finish (offset 3 in above) 48"),
    ("correct court 2 50-1/2 --why misread", "no. 2 corrected: misread"),
    ("mark court P1 --what nail", "P1 nail"),
    ("mark court TP1=48 --again --what peg", "TP1 peg"),
    ("mark court TP2=48 --what peg", "TP2 peg"),
    ("move court --why spoil", "spoil"),
    ("strike court 3 --why slip", "slip"),
    ("correct court --mark DOOR=1 --moved --why kicked", "kicked"),
    ("change court P1=-1-1/4 --why wet", "wet"),
    ("change court PATH=1/4 --stage FINISH --why wet", "wet"),
    ("add court path N1 -2 --what gully", "N1"),
    ("sign court path finish --remark tidy --accept p1 P2 --accept-open", "path finish"),
]


@pytest.mark.parametrize(("order", "logged"), KEPT)
def test_what_is_given_stands_in_the_log(court: Path, capsys: Out, order: str, logged: str) -> None:
    assert main(order.split()) in (0, 1)
    capsys.readouterr()
    assert any(logged in f"{row['subject']} {row['typed']}" for row in answer(capsys, "log", "court"))


def test_an_offset_set_on_check_is_not_forgotten_by_the_command(court: Path, capsys: Out) -> None:
    with closing(Session(court, by="RK", clock=lambda: MORNING)) as session:
        session.record(actions.change_offset(session.state, "offset 3 1/4 above"))
    assert main(["read", "court", "P1=47-3/4"]) == 0  # 51 less 3 1/4
    text = capsys.readouterr().out
    assert "ON GRADE" in text
    assert "offset 3 1/4 in above" in text
    assert main(["read", "court", "P2=51-1/2", "--offset", "off"]) == 0
    text = capsys.readouterr().out
    assert "ON GRADE" in text
    assert "offset" not in text


def test_each_option_is_in_a_table_or_narrows_or_shapes_the_answer() -> None:
    """A new option must be looked at: is it kept, may it be given beside the others?"""
    shapes = {
        "--json",
        "--by",
        "--area",
        "--stage",
        "--ascii",
        "--theme",
        "--day",
        "-o",
        "--working",
        "--dry",
        "--csv",
    }
    alone = {  # those that stand for themselves, whatever else is given
        "new": {"--in", "--title", "--units", "--zero", "--codes", "--example"},
        "plan": {"--svg", "--geojson"},
        "targets": {"--ties", "--on-string", "--rod"},
        "setup": {"--rod", "--falls", "--at"},
        "circuit": {"--rule", "--share", "--adjust"},
        "checks": {"--line"},
        "stone": {"--truck"},
        "layout": {"--sides", "--round", "--module"},
        "review": {"--person", "--entries", "--left"},
        "report": {"--paper", "--all"},
        "asbuilt": {"--all"},
        "guide": {"--man"},
        "schema": {"--json-output"},
        "import": {
            "--units",
            "--order",
            "--columns",
            "--prefix",
            "--layer",
            "--outline",
            "--sheet",
            "--planar",
            "--as",
        },
        "rehearse": {"--seed", "--readings", "--days"},
        "changes": {"--accept", "--as-text"},
        "compact": {"--remark"},
        "undercut": {"--point", "--ordered-by"},
        "correct": {"--mark", "--moved"},
        "rescue": {"--in-place"},
        "share": {"--office"},
        "board": {"--text"},
        "settings": {"--write", "--from", "--as"},
        "office": {"--laptop", "--stop"},
        "verify": {"--hash", "--against"},
    }
    text = " ".join([*REFUSED, *(order for order, _ in KEPT)])
    for name in VERBS:
        for _, flags, _ in verb_named(name).asked:
            known = not flags or flags[0] in shapes or flags[0] in alone.get(name, ()) or flags[0] in text
            assert known, f"{name} {flags[0]}"


# -- narrowed by names in any capitals


@pytest.mark.parametrize(
    ("order", "spelt"),
    [
        ("targets court --area PATH --stage FINISH", "targets court --area path --stage finish"),
        ("log court --area pAth", "log court --area path"),
        (
            "review court --area pAth --stage FINISH --person rk",
            "review court --area path --stage finish --person RK",
        ),
        ("stone court --area YARD", "stone court --area yard"),
        ("checks court --area PATH --stage Finish", "checks court --area path --stage finish"),
        ("plan court --area pAth", "plan court --area path"),
    ],
)
def test_areas_stages_points_and_people_are_found_in_any_capitals(
    court: Path, capsys: Out, order: str, spelt: str
) -> None:
    codes = []
    answers = []
    for each in (order, spelt):
        codes.append(main([*each.split(), "--json"]))
        answers.append(capsys.readouterr().out)
    assert codes[0] == codes[1] != 2
    assert answers[0] == answers[1]


def test_readings_are_keyed_for_a_stage_in_any_capitals(court: Path, capsys: Out) -> None:
    [row] = answer(capsys, "read", "court", "y1=63", "--stage", "SubGrade")
    assert (row["area"], row["point"], row["stage"]) == ("yard", "Y1", "subgrade")


def test_the_entries_asked_for_are_in_the_answer_in_json_too(court: Path, capsys: Out) -> None:
    reply = answer(capsys, "review", "court", "--entries", code=1)
    assert [row["kind"] for row in reply["entries"]] == ["plan", "set-up", "reading", "reading", "mark"]
    assert "entries" not in answer(capsys, "review", "court", code=1)


def test_what_was_changed_on_site_is_text_in_the_answer_in_json_too(court: Path, capsys: Out) -> None:
    said(capsys, "change", "court", "P1=-1-1/4", "--why", "wet")
    plain = said(capsys, "changes", "court", "--as-text")
    assert answer(capsys, "changes", "court", "--as-text")["as text"].splitlines() == plain


# -- words that are no command


@pytest.mark.parametrize(
    ("word", "near"), [("exmaine", "examine"), ("Examine", "examine"), ("reed", "read"), ("set-up", "setup")]
)
def test_a_misspelt_verb_says_so_and_offers_the_near_one(court: Path, capsys: Out, word: str, near: str) -> None:
    assert main([word, "court"]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err == (
        f"There is no command “{word}”, and there is no folder of that name. Did you mean “{near}”?\n"
    )


def test_a_word_opens_the_app_only_where_a_folder_of_that_name_holds_jobs(
    court: Path, capsys: Out, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []

    def open_app(_folder: Path, _job: Path | None, options: JobsOptions) -> Reply:
        opened.append(options.folder)
        return Reply()

    monkeypatch.setattr("gradecheck.cli.screens._app", open_app)
    Path("empty").mkdir()
    Path("notes").write_text("a file", encoding="utf-8")
    for word in ("empty", "notes", "nowhere", "court/job.yaml", "a\0b", "x" * 5000):
        assert main([word]) == 2
        text = capsys.readouterr().err
        assert text.startswith("There is no command “")
        assert text.count("\n") == 1
    assert main(["empty"]) == 2
    assert "the folder of that name holds no jobs" in capsys.readouterr().err
    assert opened == []
    for word in (".", "court", str(court.absolute())):
        assert main([word]) == 0
    assert opened == [Path("."), Path("court"), court.absolute()]
    assert main([]) == 0
    assert opened[-1] == Path("jobs")


@pytest.mark.parametrize("name", ["a\nSound: 99 entries", "a\rb", "a\x85b", "a\u2028b"])
@pytest.mark.parametrize("verb", ["verify", "log", "rescue", "copy", "open"])
def test_a_folder_whose_name_ends_the_line_it_is_told_in_is_not_opened(
    tmp_path: Path, capsys: Out, verb: str, name: str
) -> None:
    folder = tmp_path / name
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    more = {"rescue": ["-o", str(tmp_path / "new.db")], "copy": [str(tmp_path / "new")]}.get(verb, [])
    assert main([verb, str(folder), *more]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    [line] = printed.err.splitlines()
    assert line.endswith("has a line break in its name; rename it first.")
    assert main(["copy", str(tmp_path), str(folder / "new")]) == 2
