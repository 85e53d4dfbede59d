"""The help by who uses a command, its examples, the completions of four shells and the manual page."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from gradecheck.cli import main
from gradecheck.cli.completions import SHELLS, script_for
from gradecheck.cli.examples import EXAMPLES
from gradecheck.cli.man import manual
from gradecheck.cli.run import verb_named, whole_parser
from gradecheck.cli.verbs import GROUPS, VERBS
from tests.cli.asides import answered

Out = pytest.CaptureFixture[str]
JOBS = Path(__file__).parents[2] / "jobs"
FLAGS = {name: [flag for _, flags, _ in verb_named(name).asked for flag in flags] for name in VERBS}
"""The options of each command."""


def test_every_command_is_in_one_group_and_each_group_shows_an_example(capsys: Out) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        main(["--help"])
    says = capsys.readouterr().out
    parts = re.split(r"^  (\S.*):$", says.partition("commands:\n")[2], flags=re.MULTILINE)[1:]
    assert parts[::2] == list(GROUPS)
    listed = []
    for text in parts[1::2]:
        text = text.partition("\noptions:")[0]
        named, example = text.split("    Example:\n")
        listed += re.findall(r"^    ([a-z]+)\b", named, flags=re.MULTILINE)
        assert shlex.split(example)[0] == "gradecheck"
        assert shlex.split(example)[1] in re.findall(r"^    ([a-z]+)\b", named, flags=re.MULTILINE)
    assert sorted(listed) == sorted(VERBS)
    assert sum(map(len, GROUPS.values())) == len(VERBS), "in one group alone"


def test_the_example_of_each_command_is_understood_and_is_shown_whole(capsys: Out) -> None:
    parser = whole_parser()
    assert list(EXAMPLES) == list(VERBS)
    for name, example in EXAMPLES.items():
        words = shlex.split(example)
        assert words[0] == name
        assert parser.parse_args(words).command == name
        with pytest.raises(SystemExit, match=r"^0$"):
            main([name, "--help"])
        assert f"\n  gradecheck {example}\n" in capsys.readouterr().out


DAY = (
    "settings paths new rehearse examine targets plan rules schema guide completions import changes setup recheck "
    "read correct strike undo mark datum add change compact undercut gauge layout instrument circuit sign review "
    "checks stone day report log asbuilt quantities share board copy join verify rescue move"
)
"""An order in which the examples can be run on the demo job."""


@pytest.mark.thorough
def test_the_examples_can_be_run_one_after_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GRADECHECK_BY", raising=False)
    shutil.copytree(JOBS, "jobs", ignore=shutil.ignore_patterns("journal*"))
    Path("office-drive").mkdir()
    Path("points.csv").write_text("name,x,y,elevation\nN1,1,2,3\n", encoding="utf-8")
    left_out = {"jobs", "open", "follow", "line", "office"}  # these wait for keys, or for a server
    assert set(DAY.split()) == set(VERBS) - left_out
    for name in DAY.split():
        if name == "sign":  # every point of the ramp is read first, at its target, and nothing is out
            rod = "R1=62-3/4 R2=63-9/16 R3=74-3/4 R4=75-9/16 R5=76 R6=76-3/4 R7=88 R8=88-3/4"
            assert main(["read", "jobs/quince-street", *rod.split()]) == 0
        unasked = ["--example"] if name == "new" else []  # nobody is here to be asked
        code = main([*shlex.split(EXAMPLES[name]), *unasked])
        printed = capsys.readouterr()
        assert code in (0, 1), f"{name}: {printed.err}"
        assert printed.out


@pytest.mark.parametrize("shell", SHELLS)
def test_completions_know_every_command_and_option(shell: str, tmp_path: Path, capsys: Out) -> None:
    assert main(["completions", shell]) == 0
    script = capsys.readouterr().out
    words = set(re.findall(r"[a-z-]+", script))
    for name, flags in FLAGS.items():
        assert name in words
        assert {flag.lstrip("-") for flag in flags} <= {word.lstrip("-") for word in words}, name
    written = tmp_path / "file"
    assert main(["completions", shell, "-o", str(written), "--json"]) == 0
    answer = answered(capsys.readouterr().out)
    assert (answer["shell"], answer["script"], answer["written"]) == (shell, script, str(written))
    assert written.read_text(encoding="utf-8") == script


BASH = """
source /dev/stdin
complete=$(complete -p gradecheck); complete=${complete#*-F }
complete_words() { COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); COMPREPLY=()
    ${complete%% *} gradecheck "${@: -1}" "${@: -2:1}"; echo "${COMPREPLY[*]}"; }
complete_words gradecheck re
complete_words gradecheck read here/job --st
complete_words gradecheck board here --theme ""
complete_words gradecheck read he
"""


@pytest.mark.skipif(not shutil.which("bash") or sys.platform == "win32", reason="no bash")
def test_bash_completes_commands_options_choices_and_folders(tmp_path: Path) -> None:
    (tmp_path / "here").mkdir()
    ran = subprocess.run(
        ["bash", "--norc", "-c", BASH],
        cwd=tmp_path,
        input=script_for("bash"),
        capture_output=True,
        text=True,
        check=True,
    )
    commands, options, choices, folders = ran.stdout.splitlines()
    assert sorted(commands.split()) == sorted(name for name in VERBS if name.startswith("re"))
    assert options == "--stage"
    assert choices.split() == ["sun", "night", "plain"]
    assert folders.rstrip("/") == "here"


FISH = (
    'source; complete -C "gradecheck re"; complete -C "gradecheck read here --st"; complete -C "gradecheck read he"'
)


@pytest.mark.skipif(not shutil.which("fish"), reason="no fish")
def test_fish_completes_commands_options_and_folders(tmp_path: Path) -> None:
    (tmp_path / "here").mkdir()
    ran = subprocess.run(
        ["fish", "--no-config", "-c", FISH],
        cwd=tmp_path,
        env={**os.environ, "HOME": str(tmp_path), "LC_ALL": "C.UTF-8"},
        input=script_for("fish"),
        capture_output=True,
        text=True,
        check=True,
    )
    found = [line.split("\t")[0] for line in ran.stdout.splitlines()]
    assert sorted(found) == sorted([*(name for name in VERBS if name.startswith("re")), "--stage", "here/"])


@pytest.mark.skipif(not shutil.which("zsh"), reason="no zsh")
def test_zsh_takes_its_completions(tmp_path: Path) -> None:
    (tmp_path / "_gradecheck").write_text(script_for("zsh"), encoding="utf-8")
    order = "fpath=($PWD $fpath); autoload -Uz compinit; compinit -u -D"
    order += "; autoload +X _gradecheck; print $_comps[gradecheck]"
    ran = subprocess.run(
        ["zsh", "-f", "-c", order], cwd=tmp_path, env={**os.environ, "HOME": str(tmp_path)}, capture_output=True,
        text=True, check=True,
    )  # fmt: skip
    assert (ran.stdout, ran.stderr) == ("_gradecheck\n", "")


def test_the_manual_page_has_every_command_option_and_example() -> None:
    page = manual()
    assert page.isascii()
    for line in page.splitlines():
        if line[0] in ".'":
            assert re.match(r"\.(TH|SH|SS|TP|IP|RS|RE|nf|fi)\b", line), line
        assert not re.search(r"(?<!\\)-", line.partition('"')[0]), f"a hyphen that can't be copied: {line}"
    plain = re.sub(r"\\f[BIR]", "", page).replace(r"\-", "-").replace(r"\(dq", '"')
    for name, example in EXAMPLES.items():
        assert f"\ngradecheck {name} " in plain
        assert f"\ngradecheck {example}\n" in plain
        for flag in FLAGS[name]:
            assert re.search(rf"^(.*, )?{flag}\b", plain, re.MULTILINE)
    assert re.findall(r"^(\d)$", plain.partition("EXIT STATUS")[2], re.MULTILINE) == list("01234")


@pytest.mark.skipif(not shutil.which("groff"), reason="no groff")
def test_troff_has_nothing_to_say_about_the_manual_page(capsys: Out) -> None:
    assert main(["guide", "--man"]) == 0
    page = capsys.readouterr().out
    ran = subprocess.run(["groff", "-man", "-ww", "-Tascii"], input=page, capture_output=True, text=True, check=True)
    assert ran.stderr == ""
    assert "gradecheck completions SHELL" in re.sub(".\b", "", re.sub("\x1b\\[[0-9;]*m", "", ran.stdout))
