"""The verb `completions`: what a shell completes our commands with, made from the table of verbs by shtab."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from gradecheck.catalogue import _
from gradecheck.cli.options import Options, Reply, as_meeting_place, as_path, named, output_option, verb
from gradecheck.files.whole_files import write_whole

SHELLS = ("bash", "zsh", "fish", "powershell")

INSTALLED = {
    "bash": "~/.local/share/bash-completion/completions/gradecheck",
    "zsh": "~/.zfunc/_gradecheck",
    "fish": "~/.config/fish/completions/gradecheck.fish",
    "powershell": "~/gradecheck.ps1",
}
"""Where the shell looks for them, or may be told to."""
THEN = {
    "zsh": "fpath=(~/.zfunc $fpath); autoload -Uz compinit; compinit",
    "powershell": ". ~/gradecheck.ps1",
}
"""The line that the shell needs in its own file as well."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CompletionsOptions(Options):
    shell: str = named("SHELL", choices=SHELLS)
    output: Path | None = output_option("FILE", _("write it to FILE instead of printing it"))


@verb(CompletionsOptions)
def completions(options: CompletionsOptions) -> Reply:
    """The completions for a shell, printed or written to a file."""
    script, written = script_for(options.shell), options.output
    answer = {
        "shell": options.shell,
        "script": script,
        "belongs in": INSTALLED[options.shell],
        "and then": THEN.get(options.shell, ""),
        "written": None if written is None else str(written),
    }
    if written is None:
        return Reply(answer, text=script)
    write_whole(written.parent, {written.name: script.encode()})
    lines = [_("Written to {path}.", path=written)]
    if options.shell in THEN:
        lines.append(_("Put this in {shell}'s startup file:", shell=options.shell))
        lines.append(f"  {THEN[options.shell]}")
    return Reply(answer, lines, saved=True)


def script_for(shell: str) -> str:
    """The script for that shell."""
    import shtab

    from gradecheck.cli.run import whole_parser

    parser = whole_parser()
    [commands] = (each for each in parser._actions if each.choices)
    for command in dict(commands.choices or {}).values():
        for each in command._actions:
            if each.type in (as_path, as_meeting_place):
                each.complete = shtab.FILE
    return f"{shtab.complete(parser, shell).rstrip()}\n"
