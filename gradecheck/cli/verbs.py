"""Every verb in a line, by who uses it. Nothing is imported here: `--help` costs no more than Python itself."""

from gradecheck.catalogue import _

GROUPS: dict[str, dict[str, tuple[str, str]]] = {
    _("the app"): {
        "jobs": ("screens.jobs", _("the app, on the jobs in FOLDER (also without the word jobs)")),
        "open": ("screens.open_one", _("the app, on one job")),
        "follow": (
            "screens.follow",
            _("a second window, read only: the point, the verdict and the next rod reading, in large type"),
        ),
        "line": ("line.line", _("Check as a plain loop of questions: for a screen reader, a pipe, a bad terminal")),
    },
    _("in the office, before work"): {
        "new": (
            "new.new",
            _("a guided start: a job asked for question by question, or a file of examples to edit"),
        ),
        "examine": ("office.examine", _("what is wrong with a plan, line by line")),
        "targets": (
            "office.targets",
            _("every target elevation, with how it adds up if asked"),
        ),
        "plan": (
            "plan.plan",
            _("the grade plan: a table and a drawing for each area"),
        ),
        "changes": (
            "site.changes",
            _("what the job file would change now, and what was changed on site"),
        ),
        "import": (
            "exchange.import_",
            _(
                "points from an office's list or drawing (CSV, XLSX, GeoJSON, DXF, LandXML), "
                "as a list next to the job file"
            ),
        ),
        "rules": (
            "office.rules",
            _("every rule by its name, its limit and its source; with JOB what holds there"),
        ),
        "schema": (
            "guide.schema",
            _("a JSON Schema of the job file, for editors that complete and check it"),
        ),
    },
    _("on site, the laser and its marks"): {
        "setup": (
            "instrument.setup",
            _("set up the laser: the rod on MARK reads READING"),
        ),
        "recheck": (
            "instrument.recheck",
            _("recheck a mark from the same setup"),
        ),
        "move": ("instrument.move", _("the laser was moved")),
        "mark": (
            "instrument.mark",
            _("a spot becomes a mark (NAME=READING), or a point that was read (POINT)"),
        ),
        "datum": (
            "instrument.datum",
            _("show elevations from another datum (job is the job's own)"),
        ),
        "circuit": (
            "circuits.circuit",
            _("the circuits walked: misclosure, page check, corrections"),
        ),
        "instrument": (
            "circuits.instrument",
            _("a field test of the laser: two-peg A B A B TO-A TO-B, four-directions R R R R TO"),
        ),
    },
    _("on site, the rod"): {
        "read": (
            "site.read",
            _("readings at points, answered with CUT, FILL or ON GRADE"),
        ),
        "correct": (
            "site.correct",
            _("correct a reading, or a mark's elevation"),
        ),
        "strike": (
            "site.strike",
            _("strike an entry, with the reason; it stays in the log"),
        ),
        "undo": (
            "site.undo",
            _("undo your own last reading, correction or strike; that is logged"),
        ),
        "add": (
            "site.add",
            _("add a point on site: from P4 fall 2% over 12 ft, at 6 ft, 7 ft, or an elevation"),
        ),
        "change": (
            "site.change",
            _("give a point another finish, or with --stage an area another tolerance"),
        ),
        "compact": (
            "site.compact",
            _("note that a stage was compacted, and in how many passes"),
        ),
        "undercut": (
            "site.undercut",
            _("note an undercut that was ordered; it is kept apart from over-dig"),
        ),
        "gauge": (
            "built.gauge",
            _("a step measured directly: lippage between units, or paving above a drain"),
        ),
        "layout": (
            "layout.layout",
            _("what to tape and what the tapes show, 3-4-5, chalk lines, a line around an obstruction"),
        ),
    },
    _("in the evening"): {
        "review": ("evening.review", _("results, what is out, open items")),
        "checks": (
            "built.checks",
            _("slopes, ponding, flatness, steps, squareness and over-dig of what was read"),
        ),
        "stone": (
            "built.stone",
            _("what to order and to haul, and what over-digging cost"),
        ),
        "sign": (
            "evening.sign",
            _("sign off a stage of an area; accept by name what is out"),
        ),
        "day": (
            "evening.day",
            _("note the weather and crew for the daily report"),
        ),
        "report": (
            "evening.report",
            _("the daily report as PDF, web page, CSV of each area, JSON or ten lines of text"),
        ),
        "log": ("records.log", _("everything recorded, in order")),
        "asbuilt": (
            "exchange.asbuilt",
            _("what was built, as a list or a drawing for the office: CSV, GeoJSON, XLSX, DXF, LandXML"),
        ),
        "quantities": (
            "exchange.quantities",
            _("for the invoice: areas, layers, loads, over-dig, taped lengths, and the days side by side"),
        ),
    },
    _("several laptops, and the office"): {
        "share": (
            "sharing.share",
            _("swap new entries with other laptops by a shared folder or an office"),
        ),
        "board": (
            "board.board",
            _("progress of all jobs in a shared folder or at an office: open, out, in doubt, last entry"),
        ),
        "join": (
            "joining.join",
            _("take in what other laptops recorded on the same job"),
        ),
        "copy": (
            "records.copy",
            _("copy the job with its whole log to a new folder, to go on there"),
        ),
        "office": (
            "server.office",
            _("a PostgreSQL server for the jobs of many crews: set it up, or try one out"),
        ),
    },
    _("when something seems wrong"): {
        "verify": ("records.verify", _("check that the log is as it was written")),
        "rescue": (
            "records.rescue",
            _("a new log from what a damaged one still holds"),
        ),
    },
    _("to learn, and to set up"): {
        "guide": (
            "guide.guide",
            _("the guide: the job file, keys, commands, what to do when the laser moves"),
        ),
        "settings": (
            "settings.settings",
            _("this laptop's settings and where each came from; write settings.toml, also from a firm's file"),
        ),
        "paths": ("settings.paths", _("where settings, cache, crash reports and jobs are")),
        "completions": (
            "completions.completions",
            _("completion of commands and options for bash, zsh, fish, powershell"),
        ),
        "rehearse": (
            "rehearse.rehearse",
            _("made-up days of a crew to practice on, in a log of their own"),
        ),
    },
}
"""By who uses them, and by name: its file and function in this room, and what it does."""

VERBS = {name: about for verbs in GROUPS.values() for name, about in verbs.items()}
"""The same by name alone."""
