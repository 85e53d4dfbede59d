"""Every verb in a line, by who uses it. Nothing is imported here: `--help` costs no more than Python itself."""

from gradecheck.catalogue import _

GROUPS: dict[str, dict[str, tuple[str, str, str]]] = {
    _("the app"): {
        "jobs": ("screens.jobs", _("the app, on the jobs in FOLDER (also without the word jobs)"), "jobs"),
        "open": ("screens.open_one", _("the app, on one job"), "open jobs/quince-street"),
        "follow": (
            "screens.follow",
            _("a second window, read only: the point, the verdict and the next rod reading, in large type"),
            "follow jobs/quince-street",
        ),
    },
    _("in the office, before work"): {
        "new": (
            "new.new",
            _("a guided start: a job file with remarks and examples, to edit"),
            "new mill-court --units ft-in --area terrace:patio",
        ),
        "examine": ("office.examine", _("what is wrong with a plan, line by line"), "examine jobs/quince-street"),
        "targets": (
            "office.targets",
            _("every target elevation, with how it adds up if asked"),
            "targets jobs/quince-street --area forecourt --working",
        ),
        "plan": (
            "plan.plan",
            _("the grade plan: a table and a drawing for each area"),
            "plan jobs/quince-street -o plan.pdf",
        ),
        "changes": (
            "site.changes",
            _("what the job file would change now, and what was changed on site"),
            "changes jobs/quince-street",
        ),
        "import": (
            "exchange.import_",
            _(
                "points from an office's list or drawing (CSV, XLSX, GeoJSON, DXF, LandXML), "
                "as a list next to the job file"
            ),
            "import jobs/quince-street points.csv --units ft --dry",
        ),
        "rules": (
            "office.rules",
            _("every rule by its name, its limit and its source; with JOB what holds there"),
            "rules jobs/quince-street",
        ),
        "schema": (
            "guide.schema",
            _("a JSON Schema of the job file, for editors that complete and check it"),
            "schema -o job.schema.json",
        ),
    },
    _("on site, the laser and its marks"): {
        "setup": (
            "instrument.setup",
            _("set up the laser: the rod on MARK reads READING"),
            "setup jobs/quince-street DOOR=48-1/4 CURB=61-5/8 --by RK",
        ),
        "recheck": (
            "instrument.recheck",
            _("recheck a mark from the same setup"),
            "recheck jobs/quince-street DOOR=48-1/4",
        ),
        "move": ("instrument.move", _("the laser was moved"), 'move jobs/quince-street --why "spoil in the way"'),
        "mark": (
            "instrument.mark",
            _("a spot becomes a mark (NAME=READING), or a point that was read (POINT)"),
            'mark jobs/quince-street TP1=52-3/8 --what "nail in the curb"',
        ),
        "datum": (
            "instrument.datum",
            _("show elevations from another datum (job is the job's own)"),
            "datum jobs/quince-street office",
        ),
        "circuit": (
            "circuits.circuit",
            _("the circuits walked: misclosure, page check, corrections"),
            "circuit jobs/quince-street",
        ),
        "instrument": (
            "circuits.instrument",
            _("a field test of the laser: two-peg A B A B TO-A TO-B, four-directions R R R R TO"),
            'instrument jobs/quince-street two-peg 48 52 47-1/2 51-1/2 "5 ft" "105 ft"',
        ),
    },
    _("on site, the rod"): {
        "read": (
            "site.read",
            _("readings at points, answered with CUT, FILL or ON GRADE"),
            "read jobs/quince-street P5=50 P6=50-1/8",
        ),
        "correct": (
            "site.correct",
            _("correct a reading, or a mark's elevation"),
            "correct jobs/quince-street 4 50-1/16",
        ),
        "strike": (
            "site.strike",
            _("strike an entry, with the reason; it stays in the log"),
            'strike jobs/quince-street 5 --why "rod on a stone"',
        ),
        "undo": (
            "site.undo",
            _("undo your own last reading, correction or strike; that is logged"),
            "undo jobs/quince-street",
        ),
        "add": (
            "site.add",
            _("add a point on site: from P4 fall 2% over 12 ft, at 6 ft, 7 ft, or an elevation"),
            "add jobs/quince-street forecourt P17 from P6 fall 2% over 4 ft",
        ),
        "change": (
            "site.change",
            _("give a point another finish, or with --stage an area another tolerance"),
            'change jobs/quince-street P7=-1-7/8 --why "the door is higher"',
        ),
        "compact": (
            "site.compact",
            _("note that a stage was compacted, in so many passes"),
            'compact jobs/quince-street court "base lift 1" 4',
        ),
        "undercut": (
            "site.undercut",
            _("note an undercut that someone ordered; it is kept apart from over-dig"),
            'undercut jobs/quince-street court 6 --ordered-by "M. Roe" --why clay',
        ),
        "gauge": (
            "built.gauge",
            _("a step measured directly: lippage between units, or paving above a drain"),
            'gauge jobs/quince-street lippage forecourt "by P6" 1/16',
        ),
        "layout": (
            "layout.layout",
            _("what to tape and what the tapes say, 3-4-5, chalk lines, a line round an obstruction"),
            'layout jobs/quince-street --sides "20 ft,12 ft"',
        ),
    },
    _("in the evening"): {
        "review": ("evening.review", _("results, what is out, open items"), "review jobs/quince-street"),
        "checks": (
            "built.checks",
            _("slopes, ponding, flatness, steps, squareness and over-dig of what was read"),
            "checks jobs/quince-street",
        ),
        "stone": (
            "built.stone",
            _("what to order and to haul, and what over-digging cost"),
            'stone jobs/quince-street --truck "14 yd^3"',
        ),
        "sign": (
            "evening.sign",
            _("sign a stage of an area off; what is out is accepted by name"),
            "sign jobs/quince-street ramp finish --accept-open",
        ),
        "day": (
            "evening.day",
            _("note the weather and crew for the daily report"),
            'day jobs/quince-street "dry, 60 F" "RK, JM and a digger"',
        ),
        "report": (
            "evening.report",
            _("the daily report as PDF, web page, CSV of each area, JSON or ten lines of text"),
            "report jobs/quince-street -o today.pdf",
        ),
        "log": ("records.log", _("everything recorded, in order"), "log jobs/quince-street --csv"),
        "asbuilt": (
            "exchange.asbuilt",
            _("what was built, as a list or a drawing for the office: CSV, GeoJSON, XLSX, DXF, LandXML"),
            "asbuilt jobs/quince-street -o built.dxf",
        ),
        "quantities": (
            "exchange.quantities",
            _("for the invoice: areas, layers, loads, over-dig, taped lengths, and the days side by side"),
            "quantities jobs/quince-street -o invoice.csv",
        ),
    },
    _("several laptops, and the office"): {
        "share": (
            "sharing.share",
            _("by a folder where laptops meet: put there what is new here, take in what is new there"),
            "share jobs/quince-street office-drive",
        ),
        "board": (
            "board.board",
            _("how far all jobs are that meet in a folder or at an office: open, out, in doubt, last entry"),
            "board office-drive",
        ),
        "join": (
            "joining.join",
            _("take in what other laptops recorded on the same job"),
            "join jobs/quince-street stick/quince-street",
        ),
        "copy": (
            "records.copy",
            _("copy the job with its whole log to a new folder, to continue there"),
            "copy jobs/quince-street stick/quince-street",
        ),
        "office": (
            "server.office",
            _("a PostgreSQL server where the jobs of many crews meet: make it, or try one out"),
            "office here try-office",
        ),
    },
    _("when something seems wrong"): {
        "verify": ("records.verify", _("check that the log is as it was written"), "verify jobs/quince-street"),
        "rescue": (
            "records.rescue",
            _("a new log from what a damaged one still holds"),
            "rescue jobs/quince-street -o rescued.db",
        ),
    },
    _("to learn, and to set up"): {
        "guide": (
            "guide.guide",
            _("the guide: the job file, keys, commands, what to do when the laser moves"),
            "guide typing",
        ),
        "settings": (
            "settings.settings",
            _("what counts on this laptop and where it came from; write settings.toml, also from a firm's file"),
            "settings",
        ),
        "paths": ("settings.paths", _("where settings, cache, crash reports and jobs lie"), "paths"),
        "completions": (
            "completions.completions",
            _("what a shell completes commands and options with: bash, zsh, fish, powershell"),
            "completions bash -o gradecheck.bash",
        ),
        "rehearse": (
            "rehearse.rehearse",
            _("a crew's days made up from a seed, in a journal of their own"),
            "rehearse jobs/quince-street -o rehearsed/quince",
        ),
    },
}
"""By who uses them, and by name: its file and function in this room, what it does, and an example of it."""

VERBS = {name: about for verbs in GROUPS.values() for name, about in verbs.items()}
"""The same by name alone."""
