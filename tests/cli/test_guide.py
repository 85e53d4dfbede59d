"""`gradecheck guide`: the pages are in the package, whole, and a slip in a topic offers the near one."""

from __future__ import annotations

import re

import pytest

from gradecheck.cli import main
from gradecheck.cli.guide import TOPICS
from gradecheck.report.guide import guide_text
from tests.cli.asides import answered
from tests.languages import speaking


def test_without_a_topic_the_pages_are_listed_each_with_a_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["guide"]) == 0
    lines = capsys.readouterr().out.splitlines()
    topics = ["moving", "evening", "keys", "typing", "squaring", "office", "commands", "job-file", "files"]
    assert [line.split()[:3] for line in lines] == [["gradecheck", "guide", topic] for topic in topics]
    assert all(len(line.split()) > 4 for line in lines)


def test_a_page_is_its_text_in_any_capitals_and_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["guide", "Typing"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("# Typing a length\n")
    assert "Lengths stay exact fractions" in text
    assert main(["guide", "typing", "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert (answer["topic"], answer["text"]) == ("typing", text.rstrip("\n"))


def test_a_page_that_is_not_there_is_refused_with_the_near_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["guide", "jobfile"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("There is no page “jobfile”; there are moving, evening,")
    assert said.endswith("Did you mean “job-file”?\n")


def test_the_page_of_the_job_file_ends_with_every_key(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["guide", "job-file"]) == 0
    keys = capsys.readouterr().out.partition("\n## Every key\n")[2]
    for line in (
        "  longest shot: 60 ft                         # The longest distance that is read over",
        "  from: DOOR                                  # The point or mark that it is counted from",
        "  landing fall: 1:50                          # How much the landings fall the way the ramp does",
    ):
        assert f"\n{line}\n" in keys
    assert "\nareas: NAME: ramp:\n" in keys
    assert "\n  outline: [[0 ft, 0 ft], [24 ft, 0 ft], [24 ft, 20 ft]]\n" in keys
    assert max(map(len, keys.splitlines())) <= 118


def test_each_page_is_there_in_spanish_and_says_that_nobody_of_the_trade_reviewed_it() -> None:
    english = {topic: guide_text(topic) for topic in TOPICS}
    with speaking("es"):
        for topic in TOPICS:
            assert guide_text(topic).endswith("sin revisar por un hablante nativo del oficio.\n")
            assert guide_text(topic)[:40] != english[topic][:40]


@pytest.mark.parametrize("topic", TOPICS)
def test_a_spanish_page_has_every_command_key_and_example_of_the_english_one(topic: str) -> None:
    code = re.compile(r"`[^`\n]+`|(?s:```.*?```)")
    english = set(code.findall(guide_text(topic)))
    with speaking("es"):
        assert english == set(code.findall(guide_text(topic)))
