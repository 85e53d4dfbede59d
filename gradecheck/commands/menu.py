"""What can be asked of gradecheck: each command with what it does, the verb that does it, and its options."""

from __future__ import annotations

import argparse

TYPE_CHECKING = False  # importing that of `typing`, or `pathlib`, takes a third of what the help takes
if TYPE_CHECKING:
    from pathlib import Path
    from typing import Any

    Flag = tuple[tuple[str, ...], dict[str, Any]]
    """Names of an option, and what argparse is told of it."""


class Command:
    """`does` in words; `module` and `verb` name the function, which is imported only when it is run.

    `apart` are pairs of options of which one alone may be given; of a pair in `belongs` the first says something only
    beside the second.
    """

    def __init__(
        self,
        does: str,
        module: str,
        verb: str,
        options: tuple[Flag, ...],
        apart: tuple[tuple[str, str], ...] = (),
        belongs: tuple[tuple[str, str], ...] = (),
    ) -> None:
        self.does, self.module, self.verb, self.options = does, module, verb, options
        self.apart, self.belongs = apart, belongs


def _path(typed: str) -> Path:
    from pathlib import Path

    if not typed.strip():
        raise argparse.ArgumentTypeError("nothing is named")  # else it would be the folder one happens to be in
    return Path(typed)


class Once(argparse.Action):
    """Keeps what an option is given. Given twice, one of the two would be dropped; empty, it would seem left out."""

    def __call__(
        self, parser: argparse.ArgumentParser, given: argparse.Namespace, values: object, option: str | None = None
    ) -> None:
        told_to_give = self.dest in ("why", "what", "remark")  # there the command says what is wanted, or takes it
        if option is not None and isinstance(values, str) and not values.strip() and not told_to_give:
            parser.error(f"argument {option}: nothing is given behind it")
        before = given.__dict__.setdefault(_GIVEN, [])
        if option is not None and self.dest in before:
            parser.error(f"argument {option}: given twice; give it once")
        before.append(self.dest)
        setattr(given, self.dest, values)


_GIVEN = "_given"


class _MayBeLeftOut(argparse.Action):
    """A word that may be left out. One with nargs “?” argparse takes for left out once an option stands before it."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**{**settings, "required": False})

    def __call__(self, _parser: object, given: argparse.Namespace, values: object, _option: object = None) -> None:
        setattr(given, self.dest, values)


_AGAIN = "may be given again, and a name with a comma in it is given alone"

_JOB: Flag = (("job",), {"metavar": "JOB", "type": _path, "help": "a job's folder or its job.yaml"})
_JSON: Flag = (("--json",), {"action": "store_true", "help": "answer in JSON"})
_BY: Flag = (("--by",), {"metavar": "XX", "help": "initials of who is checking"})
_AREA: Flag = (("--area",), {"metavar": "A", "help": "this area only"})
_STAGE: Flag = (("--stage",), {"metavar": "S", "help": "this stage only"})
_ASCII: Flag = (("--ascii",), {"action": "store_true", "help": "plain letters where fonts lack blocks"})
_THEME: Flag = (("--theme",), {"choices": ("sun", "night", "plain"), "help": "colors to start with"})

COMMANDS: dict[str, Command] = {
    "jobs": Command(
        "the app, on the jobs in FOLDER (also without the word jobs)",
        "app.start",
        "jobs",
        ((("folder",), {"metavar": "FOLDER", "type": _path, "nargs": "?", "default": "jobs"}), _ASCII, _THEME),
    ),
    "open": Command("the app, on one job", "app.start", "open_one", (_JOB, _ASCII, _THEME)),
    "new": Command(
        "a guided start: a job file with remarks and examples, to edit",
        "commands.new",
        "new",
        (
            (("name",), {"metavar": "NAME", "help": "the job's folder, which is made"}),
            (("--in",), {"metavar": "FOLDER", "dest": "folder", "type": _path, "default": "jobs"}),
            (("--title",), {"metavar": "TEXT", "help": "what the day's records are headed with"}),
            (("--units",), {"choices": ("in", "ft-in", "ft", "mm", "cm", "m")}),
            (("--zero",), {"metavar": "MARK", "help": "the mark that is the zero; MARK=TEXT says what it is"}),
            (
                ("--area",),
                {"metavar": "NAME:KIND", "action": "append", "default": [], "help": "may be given several times"},
            ),
            (("--codes",), {"metavar": "CODE,...", "help": "what the drawings name; gradecheck rules lists them"}),
            _JSON,
        ),
    ),
    "examine": Command("what is wrong with a plan, line by line", "commands.office", "examine", (_JOB, _JSON)),
    "rules": Command(
        "every rule by its name, its limit and its source; with JOB what holds there",
        "commands.rules",
        "rules",
        ((("job",), {"metavar": "[JOB]", "action": _MayBeLeftOut, "type": _path}), _JSON),
    ),
    "guide": Command(
        "what the program knows of itself: the job file, keys, commands, when the laser moves",
        "commands.guide",
        "guide",
        ((("topic",), {"metavar": "[TOPIC]", "action": _MayBeLeftOut, "type": str.strip}), _JSON),
    ),
    "schema": Command(
        "a JSON Schema of the job file, with which editors complete and mark it",
        "commands.guide",
        "schema",
        (
            (("-o", "--output"), {"metavar": "FILE", "type": _path, "help": "write it to FILE, a .json"}),
            _JSON,
        ),
    ),
    "targets": Command(
        "every wanted elevation, with its sum if asked",
        "commands.office",
        "targets",
        (_JOB, _AREA, _STAGE, (("--working",), {"action": "store_true", "help": "show each sum"}), _JSON),
    ),
    "plan": Command(
        "the grade plan: a table and a drawing for each area",
        "commands.plan",
        "plan",
        (
            _JOB,
            _AREA,
            (("--svg",), {"metavar": "FILE", "type": _path, "help": "write the drawing to FILE as an SVG"}),
            (("--csv",), {"action": "store_true", "help": "the points as a list"}),
            (("--geojson",), {"action": "store_true", "help": "the points and outlines as GeoJSON"}),
            (
                ("-o", "--output"),
                {
                    "metavar": "FILE",
                    "type": _path,
                    "help": "write it as FILE ends: .csv, .geojson, .xlsx, .dxf, .xml; else the sheet",
                },
            ),
            _ASCII,
            _JSON,
        ),
    ),
    "changes": Command(
        "what the job file would change now, and what was changed on site",
        "commands.changes",
        "changes",
        (
            _JOB,
            (("--accept",), {"action": "store_true", "help": "accept the job file as it is now"}),
            (("--as-text",), {"action": "store_true", "help": "what was changed on site, as text for the job file"}),
            _BY,
            _JSON,
        ),
        apart=(("--accept", "--as-text"),),
    ),
    "add": Command(
        "add a point on site: from F4 fall 2% over 12 ft, at 6 ft, 7 ft, or an elevation",
        "commands.changes",
        "add",
        (
            _JOB,
            (("area",), {"metavar": "AREA"}),
            (("name",), {"metavar": "NAME"}),
            (("how",), {"metavar": "HOW", "nargs": "+"}),
            (("--what",), {"metavar": "TEXT", "default": ""}),
            _BY,
            _JSON,
        ),
    ),
    "change": Command(
        "give a point another finish, or with --stage an area another tolerance",
        "commands.changes",
        "change",
        (
            _JOB,
            (("what",), {"metavar": "NAME=LENGTH", "help": "POINT=ELEVATION, or AREA=TOLERANCE with --stage"}),
            _STAGE,
            (("--why",), {"metavar": "TEXT", "required": True}),
            _BY,
            _JSON,
        ),
    ),
    "setup": Command(
        "set up the laser: the rod on MARK reads READING",
        "commands.instrument",
        "setup",
        (
            _JOB,
            (("sights",), {"metavar": "MARK=READING", "nargs": "+"}),
            (("--rod",), {"metavar": "R", "help": "the rod read on, the plan's first where none is named"}),
            (("--falls",), {"metavar": "X,Y", "help": "falls of a sloped beam along x and y, as 2%%,0.5%%"}),
            (("--at",), {"metavar": "X,Y", "help": "where the laser stands: x and y, or a point"}),
            _BY,
            _JSON,
        ),
    ),
    "move": Command(
        "the laser was moved",
        "commands.instrument",
        "move",
        (_JOB, (("--why",), {"metavar": "TEXT", "default": "moved"}), _BY, _JSON),
    ),
    "recheck": Command(
        "recheck a mark from the same setup",
        "commands.instrument",
        "recheck",
        (_JOB, (("sight",), {"metavar": "MARK=READING"}), _BY, _JSON),
    ),
    "mark": Command(
        "a spot becomes a mark (NAME=READING), or a point that was read (POINT)",
        "commands.instrument",
        "mark",
        (
            _JOB,
            (("sight",), {"metavar": "NAME=READING"}),
            (("--what",), {"metavar": "TEXT", "default": ""}),
            (("--again",), {"action": "store_true", "help": "a mark of that name is taken anew"}),
            _BY,
            _JSON,
        ),
    ),
    "datum": Command(
        "show elevations from another datum (job is the job's own)",
        "commands.instrument",
        "datum",
        (_JOB, (("name",), {"metavar": "[DATUM]", "action": _MayBeLeftOut}), _BY, _JSON),
    ),
    "correct": Command(
        "correct a reading, or a mark's elevation",
        "commands.instrument",
        "correct",
        (
            _JOB,
            (("entry",), {"metavar": "[ENTRY]", "action": _MayBeLeftOut, "help": "its number in the log"}),
            (
                ("reading",),
                {"metavar": "[READING]", "action": _MayBeLeftOut, "type": str.strip, "help": "the correct reading"},
            ),
            (("--mark",), {"metavar": "NAME=ELEVATION", "help": "a mark's right elevation, with --why"}),
            (("--moved",), {"action": "store_true", "help": "the mark moved: right from now on only"}),
            (("--why",), {"metavar": "TEXT", "help": "the reason, which stays in the log"}),
            (("--dry",), {"action": "store_true", "help": "only say what would change"}),
            _BY,
            _JSON,
        ),
        apart=(("--mark", "ENTRY"),),
        belongs=(("--moved", "--mark"),),
    ),
    "read": Command(
        "readings at points, answered with CUT, FILL or ON GRADE",
        "commands.site",
        "read",
        (_JOB, (("sights",), {"metavar": "POINT=READING", "nargs": "+"}), _STAGE, _BY, _JSON),
    ),
    "strike": Command(
        "strike an entry, with the reason; it stays in the log",
        "commands.site",
        "strike",
        (
            _JOB,
            (("entry",), {"metavar": "ENTRY", "help": "its number in the log"}),
            (("--why",), {"metavar": "TEXT", "required": True}),
            _BY,
            _JSON,
        ),
    ),
    "undo": Command(
        "take back your own last reading, correction of one, or strike; that is logged",
        "commands.site",
        "undo",
        (_JOB, _BY, _JSON),
    ),
    "log": Command(
        "everything recorded, in order",
        "commands.records",
        "log",
        (
            _JOB,
            _AREA,
            (("--day",), {"metavar": "YYYY-MM-DD"}),
            (("--csv",), {"action": "store_true", "help": "for a spreadsheet"}),
            _JSON,
        ),
        apart=(("--csv", "--json"),),
    ),
    "circuit": Command(
        "the circuits walked: misclosure, page check, corrections",
        "commands.circuits",
        "circuit",
        (
            _JOB,
            (("--rule",), {"metavar": "TEXT", "help": "what is allowed, such as 0.02 ft per root setup"}),
            (
                ("--share",),
                {"choices": ("setups", "distance"), "default": "setups", "help": "what a misclosure is shared by"},
            ),
            (("--adjust",), {"action": "store_true", "help": "adjust all sights together by least squares"}),
            _JSON,
        ),
    ),
    "instrument": Command(
        "a field test of the laser: two-peg A B A B TO-A TO-B, four-directions R R R R TO",
        "commands.circuits",
        "instrument",
        (
            _JOB,
            (("test",), {"metavar": "TEST", "choices": ("two-peg", "four-directions")}),
            (("figures",), {"metavar": "FIGURE", "nargs": "+", "type": str.strip}),
            _BY,
            _JSON,
        ),
    ),
    "checks": Command(
        "slopes, ponding, flatness, steps, squareness and over-dig of what was read",
        "commands.checks",
        "checks",
        (
            _JOB,
            _AREA,
            _STAGE,
            (
                ("--line",),
                {
                    "metavar": "F1,F5,F9",
                    "action": "append",
                    "help": f"the falls between these points, and the straightedge; {_AGAIN}",
                },
            ),
            _JSON,
        ),
        apart=(("--line", "--area"),),
    ),
    "stone": Command(
        "what to order and to haul, and what over-digging cost",
        "commands.checks",
        "stone",
        (
            _JOB,
            _AREA,
            (
                ("--truck",),
                {"metavar": "VOLUME", "help": "what a truck holds loose, such as “14 yd^3”; tells loads"},
            ),
            (
                ("--sections",),
                {
                    "metavar": "STATION:CUT:FILL",
                    "nargs": "+",
                    "help": "cut and fill between cross sections by average end areas, in square feet or meters",
                },
            ),
            _JSON,
        ),
        apart=(("--sections", "--area"),),
    ),
    "gauge": Command(
        "a step measured directly: lippage between units, or paving above a drain",
        "commands.evening",
        "gauge",
        (
            _JOB,
            (("kind",), {"metavar": "KIND", "choices": ("lippage", "drain")}),
            (("area",), {"metavar": "AREA"}),
            (("where",), {"metavar": "WHERE"}),
            (("reading",), {"metavar": "LENGTH"}),
            _BY,
            _JSON,
        ),
    ),
    "layout": Command(
        "what to tape and what the tapes say, 3-4-5, chalk lines, a line round an obstruction",
        "commands.layout",
        "layout",
        (
            _JOB,
            (
                ("name",),
                {"metavar": "[NAME]", "action": _MayBeLeftOut, "help": "a layout check or a bond of the plan"},
            ),
            (
                ("tapes",),
                {
                    "metavar": "[A-B=LENGTH]",
                    "action": _MayBeLeftOut,
                    "nargs": "+",
                    "default": [],
                    "help": "what the tape shows between two corners",
                },
            ),
            (("--sides",), {"metavar": "W,L", "help": "a rectangle that the plan does not name"}),
            (("--round",), {"metavar": "ALONG,OUT,ROOM", "help": "carry a line round something in the corner"}),
            (("--module",), {"metavar": "LENGTH/UNITS", "help": "what so many units measure as laid"}),
            _BY,
            _JSON,
        ),
    ),
    "review": Command(
        "what was checked, what is out, what is still open",
        "commands.evening",
        "review",
        (
            _JOB,
            _AREA,
            _STAGE,
            (("--day",), {"metavar": "YYYY-MM-DD"}),
            (("--person",), {"metavar": "XX", "help": "what this person recorded"}),
            (("--entries",), {"action": "store_true", "help": "the entries too, by time"}),
            _JSON,
        ),
    ),
    "sign": Command(
        "sign a stage of an area off; what is out is accepted by name",
        "commands.evening",
        "sign",
        (
            _JOB,
            (("area",), {"metavar": "AREA"}),
            (("stage",), {"metavar": "STAGE"}),
            (
                ("--accept",),
                {
                    "metavar": "POINT,...",
                    "action": "extend",
                    "nargs": "+",
                    "default": [],
                    "help": f"points that are out or not read; {_AGAIN}",
                },
            ),
            (
                ("--accept-open",),
                {
                    "action": "store_true",
                    "help": "also stages below that were not read or are out, and checks that are OUT or NOT CHECKED",
                },
            ),
            (("--remark",), {"metavar": "TEXT", "default": ""}),
            _BY,
            _JSON,
        ),
    ),
    "day": Command(
        "what the daily report says of the day: the weather and who was there",
        "commands.evening",
        "day",
        (_JOB, (("weather",), {"metavar": "WEATHER"}), (("crew",), {"metavar": "CREW"}), _BY, _JSON),
    ),
    "report": Command(
        "the daily report as a PDF, CSV of each area, JSON or ten lines of text",
        "commands.report",
        "report",
        (
            _JOB,
            (("--day",), {"metavar": "YYYY-MM-DD", "help": "the last with entries where none is named"}),
            (
                ("-o", "--output"),
                {
                    "metavar": "FILE",
                    "type": _path,
                    "help": "ends in .pdf, .csv, .json or .txt; else ten lines are printed",
                },
            ),
            (("--paper",), {"choices": ("letter", "a4"), "help": "of the PDF, letter where nobody says"}),
            _JSON,
        ),
    ),
    "asbuilt": Command(
        "what was built, as a list or a drawing for the office: CSV, GeoJSON, XLSX, DXF, LandXML",
        "commands.exchange",
        "asbuilt",
        (
            _JOB,
            _AREA,
            (
                ("--all",),
                {"action": "store_true", "help": "every reading that counts, not the last at each point alone"},
            ),
            (
                ("-o", "--output"),
                {
                    "metavar": "FILE",
                    "type": _path,
                    "help": "ends in .csv, .geojson, .xlsx, .dxf, .xml or .landxml; else CSV is printed",
                },
            ),
            _JSON,
        ),
    ),
    "import": Command(
        "points from an office's list or drawing (CSV, XLSX, GeoJSON, DXF, LandXML), as a list beside the job file",
        "commands.exchange",
        "import_",
        (
            _JOB,
            (("file",), {"metavar": "FILE", "type": _path, "help": "the list or the drawing"}),
            (("--dry",), {"action": "store_true", "help": "only show what is in it and what must be answered"}),
            (
                ("--units",),
                {"choices": ("in", "ft", "ft-in", "mm", "cm", "m", "usft"), "help": "what its numbers count"},
            ),
            (("--order",), {"metavar": "PNEZD", "help": "of a list without headings: a letter for each column"}),
            (
                ("--columns",),
                {
                    "metavar": "name=PT,x=E",
                    "action": "append",
                    "help": "the heading, attribute or number of name, x, y, elevation, note; may be given again",
                },
            ),
            (("--prefix",), {"metavar": "P", "help": "stands before names that begin with a figure"}),
            (("--layer",), {"metavar": "LAYER", "action": "append", "help": "of the points; may be given again"}),
            (("--outline",), {"metavar": "LAYER", "help": "of the closed line that is the area's outline"}),
            (("--sheet",), {"metavar": "SHEET", "help": "of a workbook"}),
            (("--planar",), {"action": "store_true", "help": "the GeoJSON counts lengths, not degrees"}),
            (("--as",), {"dest": "as_name", "metavar": "NAME.csv", "help": "what the list is called"}),
            _JSON,
        ),
    ),
    "rehearse": Command(
        "a crew's days made up from a seed, in a journal of their own",
        "commands.rehearse",
        "rehearse",
        (
            _JOB,
            (
                ("-o", "--output"),
                {"metavar": "FOLDER", "type": _path, "required": True, "help": "a new folder for the rehearsal"},
            ),
            (("--seed",), {"metavar": "N", "type": int, "default": 1, "help": "the same seed, the same days"}),
            (("--readings",), {"metavar": "N", "type": int, "default": 150, "help": "about so many in all"}),
            (("--days",), {"metavar": "D", "type": int, "default": 1, "help": "working days, one after the other"}),
            (("--day",), {"metavar": "YYYY-MM-DD", "help": "the last of them, today where none is given"}),
            _JSON,
        ),
    ),
    "copy": Command(
        "the job with its whole journal into a new folder, to go on there",
        "commands.records",
        "copy",
        (_JOB, (("to",), {"metavar": "NEW", "type": _path, "help": "a folder that is not there yet"}), _JSON),
    ),
    "verify": Command(
        "whether the log is as it was written",
        "commands.records",
        "verify",
        (
            _JOB,
            (("--hash",), {"metavar": "HASH", "help": "a hash from a report already handed over, its number first"}),
            (
                ("--against",),
                {"metavar": "JOB2", "type": _path, "help": "the same job, or its journal.db alone, kept elsewhere"},
            ),
            _JSON,
        ),
    ),
    "rescue": Command(
        "a new journal from what a damaged one still holds",
        "commands.records",
        "rescue",
        (
            _JOB,
            (
                ("-o", "--output"),
                {"metavar": "NEW", "type": _path, "help": "the new journal, a name not yet taken"},
            ),
            (
                ("--in-place",),
                {"action": "store_true", "help": "the new one takes the damaged one's name; that is moved aside"},
            ),
            _JSON,
        ),
    ),
}
