"""Job files with YAML's surprises and traps in them are refused on the very line, or read as the text they are."""

from __future__ import annotations

import re

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from gradecheck.plan import yaml_tree
from gradecheck.plan.problems import PlanProblemsError
from tests.plan.sample import WALK, complaint, complaints, harmless, marked, plan_of, spoiled
from tests.strategies import IN_MM, mm
from tests.tables import each_of

VALUE = "W2: -3 1/4 in"
"""The last line of the sample; what stands in its place is a point's elevation."""


@pytest.fixture(params=["C", "Python"], autouse=True)
def _either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """PyYAML comes with a parser in C or without; both must give the same answers."""
    if request.param == "C" and not hasattr(yaml, "CSafeLoader"):
        pytest.skip("this PyYAML has no parser in C")
    loader = {"C": "CSafeLoader", "Python": "SafeLoader"}[request.param]
    monkeypatch.setattr(yaml_tree, "LOADER", getattr(yaml, loader))


def _elevation(written: str) -> str:
    return spoiled((VALUE, f"W2: {written}"))


@each_of(
    ("text", "says"),
    [
        # YAML's own machinery.
        pytest.param(_elevation("§&here 3"), "There is an anchor (&) here", id="anchor"),
        pytest.param(_elevation("§*there"), "There is an alias (*) here", id="alias"),
        pytest.param(_elevation("§!!int 3"), "There is a tag (!) here", id="tag"),
        pytest.param(_elevation("§!!python/name:os.system x"), "There is a tag (!) here", id="tag-for-code"),
        pytest.param(_elevation("§!mine 3"), "There is a tag (!) here", id="tag-of-ones-own"),
        pytest.param(_elevation("§! 3"), "There is a tag (!) here", id="tag-without-a-name"),
        pytest.param(spoiled((VALUE, "§<<: {elevation: 3}")), "“<<” could be taken for a reading", id="merge-key"),
        pytest.param(
            spoiled(("  base: 3/8", "  §<<: {high: 1, low: 1}\n  base: 3/8")),
            "No build-up has a stage “<<”",
            id="merge-key-among-tolerances",
        ),
        pytest.param(WALK + "§---\njob: another\n", "A second document begins here", id="two-documents"),
        pytest.param(spoiled((VALUE, "? §[a]\n      : 3")), "A key must be plain text", id="list-for-a-key"),
        pytest.param(spoiled((VALUE, "? §{a: b}\n      : 3")), "A key must be plain text", id="map-for-a-key"),
        # Said twice.
        pytest.param(
            spoiled(("units: in\n", "units: in\n§units: mm\n")),
            "“units” is written twice, first on line 2; keep one.",
            id="same-key-twice-at-the-top",
        ),
        pytest.param(
            spoiled((VALUE, "§W1: 3")), "“W1” is written twice, first on line 18; keep one.", id="same-point-twice"
        ),
        pytest.param(
            spoiled(("what: threshold}", "what: a, §what: b}")),
            "“what” is written twice, first on line 6; keep one.",
            id="same-key-twice-on-one-line",
        ),
        pytest.param(
            spoiled((VALUE, "Cafe\N{COMBINING ACUTE ACCENT}: 1\n      §Caf\N{LATIN SMALL LETTER E WITH ACUTE}: 2")),
            "“Café” is written twice, first on line 19; keep one.",
            id="same-letters-composed-differently",
        ),
        # Nothing said.
        pytest.param(spoiled((VALUE, "W2:§ #3")), "Nothing is written after “W2”", id="a-comment-for-a-value"),
        pytest.param(spoiled((VALUE, "W2:§")), "Nothing is written after “W2”", id="no-value"),
        pytest.param(_elevation('§"#3"'), "“#3” is not a length", id="the-same-quoted"),
        pytest.param(_elevation('§""'), "Nothing was typed", id="empty-text"),
        pytest.param(_elevation('§" "'), "Nothing was typed", id="a-space"),
        # What YAML would make something else of stays the text it is, and that is no length.
        *(
            pytest.param(_elevation(f"§{text}"), f"“{text}” is not a length", id=text)
            for text in (
                *("1:30", "1_000", "no", "on", "yes", "true", "1.e+3", "1e3", "1e400", "0o10", "0x1F", "nan"),
                *(".inf", "-.inf", ".nan", "2024-01-01", "~", "null", "<<", "=", "3:4:5"),
            )
        ),
        pytest.param(_elevation("§" + "9" * 5000), "That is 5000 characters long", id="5000-digits"),
        pytest.param(_elevation("§1,250"), "“1,250” can mean two things", id="comma-for-thousands"),
        pytest.param(_elevation("§\N{FULLWIDTH DIGIT THREE}"), "is not a length", id="fullwidth-digit"),
        pytest.param(_elevation("§\N{ARABIC-INDIC DIGIT THREE}"), "is not a length", id="arabic-digit"),
        # Characters that nobody sees.
        pytest.param(_elevation('§"3\\e[2J"'), "An invisible character (U+001B)", id="terminal-escape-as-escape"),
        pytest.param(_elevation('§"3\\0"'), "An invisible character (U+0000)", id="NUL-as-escape"),
        pytest.param(_elevation('§"3\\a"'), "An invisible character (U+0007)", id="bell-as-escape"),
        pytest.param(_elevation('§"3\\n1/2"'), "An invisible character (U+000A)", id="line-end-as-escape"),
        pytest.param(_elevation('§"3\\t1/2"'), "An invisible character (U+0009)", id="tab-as-escape"),
        pytest.param(_elevation('§"3\\N"'), "An invisible character (U+0085)", id="next-line-as-escape"),
        pytest.param(_elevation('§"3\\L"'), "An invisible character (U+2028)", id="line-separator-as-escape"),
        pytest.param(_elevation("§|\n        3"), "An invisible character (U+000A)", id="block-text"),
        pytest.param(_elevation("§>\n        3"), "An invisible character (U+000A)", id="folded-text"),
        pytest.param(
            spoiled(("Fernhill Mews", "§Fern\N{ZERO WIDTH SPACE}hill")),
            "An invisible character (U+200B)",
            id="zero-width-space",
        ),
        pytest.param(
            spoiled(("Fernhill Mews", "§Fern\N{RIGHT-TO-LEFT OVERRIDE}hill")),
            "An invisible character (U+202E)",
            id="right-to-left-override",
        ),
        pytest.param(
            spoiled(("Fernhill Mews", "§Fern\N{ZERO WIDTH NO-BREAK SPACE}hill")),
            "An invisible character (U+FEFF)",
            id="byte-order-mark-inside",
        ),
        pytest.param(
            spoiled(("Fernhill Mews", "§Fern\N{SOFT HYPHEN}hill")),
            "An invisible character (U+00AD)",
            id="soft-hyphen",
        ),
        pytest.param(
            spoiled(("Fernhill Mews", "§Fern\ue000hill")), "An invisible character (U+E000)", id="private-use"
        ),
        pytest.param(
            spoiled((VALUE, "§W\N{ZERO WIDTH JOINER}1: 3")), "An invisible character (U+200D)", id="look-alike-name"
        ),
        # Names too long, empty, or such as no stake can bear.
        pytest.param(
            spoiled((VALUE, f"§{'W' * 25}: 3")), f"“{'W' * 24}…” is longer than 24 characters", id="long-name"
        ),
        pytest.param(spoiled(("Fernhill Mews", f"§{'F' * 121}")), "longer than 120 characters", id="long-title"),
        pytest.param(spoiled((VALUE, '§"": 3')), "A name is empty", id="empty-name"),
        pytest.param(spoiled((VALUE, '§" W2": 3')), "“ W2” begins or ends with a space", id="space-before-a-name"),
        pytest.param(spoiled((VALUE, "§2W: 3")), "“2W” could be taken for a reading", id="name-like-a-reading"),
        pytest.param(spoiled((VALUE, "§../W2: 3")), "“../W2” could be taken for a reading", id="name-like-a-path"),
        pytest.param(
            spoiled((VALUE, '§"[@click=app.quit]W[/]": 3')), "could be taken for a reading", id="name-like-markup"
        ),
        pytest.param(
            spoiled((VALUE, "§w1: 3")),
            "“w1” is already the name of “W1” on line 18; rename one.",
            id="names-that-differ-in-capitals-alone",
        ),
        pytest.param(
            spoiled((VALUE, "§Door: 3")),
            "“Door” is already the name of “DOOR” on line 6; rename one.",
            id="point-named-like-a-benchmark",
        ),
        # No job file at all.
        pytest.param("§", "A job file begins with keys", id="empty-file"),
        pytest.param("§# nothing yet\n", "A job file begins with keys", id="comments-alone"),
        pytest.param("§- a\n- b\n", "A job file begins with keys", id="list"),
        pytest.param("§hello\n", "A job file begins with keys", id="one-word"),
    ],
)
def test_a_surprise_in_the_file_is_refused_where_it_stands(text: str, says: str) -> None:
    text, [place] = marked(text)
    problem = complaint(text)
    assert says in problem.says
    assert (problem.line, problem.column) == place
    assert harmless(problem.says)


BOMB = """\
job: &a ["x", "x", "x", "x", "x", "x", "x", "x", "x"]
units: &b [*a, *a, *a, *a, *a, *a, *a, *a, *a]
rods: &c [*b, *b, *b, *b, *b, *b, *b, *b, *b]
"""


def test_a_bomb_of_aliases_never_goes_off() -> None:
    found = {(problem.line, problem.column): problem.says for problem in complaints(BOMB)}
    for line, column in ((1, 6), (2, 8), (3, 7)):
        assert found[line, column].startswith("There is an anchor (&) here")
    aliases = {at for at, says in found.items() if says.startswith("There is an alias (*) here")}
    assert aliases == {(2, 12 + 4 * n) for n in range(9)} | {(3, 11 + 4 * n) for n in range(9)}


def test_a_list_that_holds_itself_is_no_endless_loop() -> None:
    problems = complaints(spoiled(("job: Fernhill Mews", "job: &a [*a]")))
    assert [(problem.line, problem.column) for problem in problems if "an anchor" in problem.says] == [(1, 6)]
    assert [(problem.line, problem.column) for problem in problems if "an alias" in problem.says] == [(1, 10)]


@pytest.mark.parametrize(
    ("text", "column"),
    [("[" * 1000, 14), ("- " * 500, 27), ("{a: " * 200, 50)],
    ids=["brackets", "dashes", "braces"],
)
def test_nesting_past_any_job_files_ends_the_reading(text: str, column: int) -> None:
    problem = complaint(text)
    assert problem.says.startswith("Nested more than 12 levels deep")
    assert (problem.line, problem.column) == (1, column)


@pytest.mark.parametrize("value", ["[" * 1000, "[" * 20 + "]" * 20, "{a: " * 13 + "b" + "}" * 13])
def test_nesting_below_a_key_is_refused_on_its_line(value: str) -> None:
    """One parser in C gives up on its own at a thousand levels; it is told on that line either way."""
    problems = complaints(spoiled(("job: Fernhill Mews\nunits: in", f"units: in\njob: {value}")))
    assert {problem.line for problem in problems} == {2}


@pytest.mark.parametrize(
    "escape",
    ["\\xZZ", "\\x1", "\\uZZZZ", "\\u12", "\\UFFFFFFFF", "\\U99999999", "\\U00110000", "\\ud800", "\\q", "\\"],
)
def test_a_broken_escape_is_told_on_its_line(escape: str) -> None:
    problem = complaints(spoiled((VALUE, f'W2: "{escape}"')))[0]
    # A backslash before the last quote lets the text run on to the end of the file.
    assert problem.line in ((19,) if escape != "\\" else (19, 20))
    assert re.search(r"not YAML|escape|invisible", problem.says)


@each_of(
    "character",
    [
        *("\x00", "\x07", "\x08", "\x1b", "\x7f", "\x80", "\x85", "\x9b"),
        *("\N{LINE SEPARATOR}", "\N{PARAGRAPH SEPARATOR}", "\ud800", "\ufffe", "\uffff"),
    ],
)
@each_of(
    "text",
    [
        f"§{WALK}",
        spoiled(("Fernhill Mews", "Ferny \N{LATIN SMALL LETTER E WITH ACUTE}\N{CJK UNIFIED IDEOGRAPH-65E5} §Mews")),
        spoiled((VALUE, "# so: §\n      W2: 3")),
        spoiled((VALUE, "W2: '§3'")),
        f"{WALK}§",
    ],
)
def test_a_character_no_text_file_has_is_told_by_line_and_column(text: str, character: str) -> None:
    _, [place] = marked(text)
    problem = complaint(text.replace("§", character))
    assert problem.says == f"A character that can't go in a job file (U+{ord(character):04X}); remove it."
    assert (problem.line, problem.column) == place


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('job: "unfinished\n', 2),
        (spoiled(("  walk:", "\twalk:")), 8),
        (spoiled(("  base: 3/8", "   base: 3/8")), 11),
        (spoiled(("DOOR: {elevation: 0", "DOOR: {elevation: 0]")), 6),
        (spoiled((VALUE, "W2: @3")), 19),
        (spoiled((VALUE, "W2: %3")), 19),
        (spoiled(("fall: 3/16 in/ft", "fall: %")), 18),
        ("%YAML 9.9\n---\n" + WALK, 1),
    ],
    ids=[
        "quote-left-open",
        "tab-for-an-indent",
        "indent-that-fits-nothing",
        "wrong-bracket",
        "reserved-sign",
        "percent-sign-first",
        "percent-sign-alone",
        "another-yaml",
    ],
)
def test_what_is_not_yaml_is_told_by_its_line(text: str, line: int) -> None:
    problem = complaints(text)[0]
    assert problem.says.startswith("This is not YAML: ")
    assert problem.says.endswith("check the indents, colons and quotes here.")
    assert line - 1 <= problem.line <= line


@pytest.mark.parametrize(
    ("written", "sixteenths"),
    [
        ("010", 160),
        ("08", 128),
        ("+22", 352),
        ("'3'", 48),
        ('"-3 1/4"', -52),
        ("\N{MINUS SIGN}3", -48),
        ("½", 8),
        ("3\N{NO-BREAK SPACE}1/2", 56),
        ("3 # three", 48),
        ("'4'' 3-1/2\"'", 824),
    ],
)
def test_numbers_mean_what_they_say_and_nothing_yaml_makes_of_them(written: str, sixteenths: int) -> None:
    point = plan_of(_elevation(written)).areas["garden walk"].point("W2")
    assert mm(point.finish.height) * 16 == sixteenths * IN_MM


@pytest.mark.parametrize(
    "title", ["010", "no", "1:30", "~", "2024-01-01", "1_000", ".inf", "[TBM]", "slab[b]", "[/]"]
)
def test_texts_stay_the_text_that_was_written(title: str) -> None:
    assert plan_of(spoiled(("Fernhill Mews", f"'{title}'"))).job == title
    if not title.startswith("["):
        assert plan_of(spoiled(("Fernhill Mews", title))).job == title


def test_texts_are_kept_in_one_form_of_their_letters() -> None:
    decomposed = "Cafe\N{COMBINING ACUTE ACCENT} walk"
    assert plan_of(spoiled(("Fernhill Mews", decomposed))).job == "Caf\N{LATIN SMALL LETTER E WITH ACUTE} walk"


@pytest.mark.parametrize("ends", ["...\n", "# the end\n", "\n\n"])
def test_the_usual_ends_and_beginnings_of_a_document_are_no_fault(ends: str) -> None:
    sound = plan_of(WALK)
    assert plan_of(WALK + ends) == sound
    assert plan_of("---\n" + WALK + ends) == sound
    assert plan_of("\n# from the office\n" + WALK + ends) == sound


def test_nothing_quoted_from_a_file_can_command_a_terminal() -> None:
    problems = complaints(
        spoiled(("from: DOOR", 'from: "DO\\e]0;title\\aOR"'), ("build-up: walk", 'build-up: "wa\\elk"'))
    )
    assert len(problems) >= 2
    assert all(harmless(str(problem)) for problem in problems)


PIECES = [
    *("&a ", "*a", "!!int ", "<<: ", "---\n", "...\n", "{", "}", "[", "]", ": ", ", ", "- ", "? ", "|\n", ">\n", "%"),
    *(
        "'",
        '"',
        "\\",
        "\\e",
        "\\U99999999",
        "#",
        " #",
        "\t",
        "\n",
        "  ",
        "@",
        "`",
        "\x00",
        "\x85",
        "\u2028",
        "\ufeff",
    ),
    *(
        "W1",
        "DOOR",
        "from",
        "fall",
        "9" * 400,
        "1e999",
        "\N{MINUS SIGN}",
        "½",
        "\N{ARABIC-INDIC DIGIT THREE}",
        "é" * 50,
    ),
]


@st.composite
def _mutated(draw: st.DrawFn) -> str:
    """A sound file that someone leaned on the keyboard over."""
    text = WALK
    for _ in range(draw(st.integers(1, 6))):
        start = draw(st.integers(0, len(text)))
        end = min(len(text), start + draw(st.integers(0, 30)))
        how = draw(st.sampled_from(("insert", "cut", "repeat", "swap", "replace", "garble")))
        if how == "insert":
            text = text[:start] + draw(st.sampled_from(PIECES)) + text[start:]
        elif how == "cut":
            text = text[:start] + text[end:]
        elif how == "repeat":
            text = text[:end] + text[start:end] * draw(st.integers(1, 40)) + text[end:]
        elif how == "swap":
            later = min(len(text), end + draw(st.integers(0, 60)))
            text = text[:start] + text[end:later] + text[start:end] + text[later:]
        elif how == "replace":
            text = text[:start] + draw(st.sampled_from(PIECES)) + text[end:]
        else:
            text = text[:start] + draw(st.text(max_size=8)) + text[end:]
    return text


@given(_mutated())
def test_a_file_with_anything_done_to_it_is_a_plan_or_a_list_of_problems(text: str) -> None:
    try:
        plan = plan_of(text)
    except PlanProblemsError as refused:
        problems = refused.problems
        lines = re.split("\r\n|[\n\r]", text)
        says = [problem.says for problem in problems]
        places_in_the_file = all(1 <= problem.line <= len(lines) and problem.column >= 1 for problem in problems)
    else:
        says, places_in_the_file = [f"{len(plan.area_of)} points"], bool(plan.area_of)
    assert says
    assert all(harmless(sentence) for sentence in says)
    assert places_in_the_file
