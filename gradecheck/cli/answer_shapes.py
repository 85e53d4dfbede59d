"""What every command answers with --json, written short: a key with a question mark may be missing.

`gradecheck schema --json-output` makes a JSON Schema of it; tests hold real answers against that. What is added to
an answer is added here.
"""

from __future__ import annotations

from typing import Any

Shape = Any
"""A JSON Schema, a list of one shape, or an object by its keys."""

TEXT: Shape = {"type": "string"}
WHOLE: Shape = {"type": "integer"}
NUMBER: Shape = {"type": "number"}
YES: Shape = {"type": "boolean"}
VALUE: Shape = {"type": ["string", "boolean", "integer"]}
LENGTH: Shape = {"$ref": "#/$defs/length"}
EXACT = {"mm": NUMBER, "text": TEXT}


class Maybe:
    """A shape, or null where there is nothing."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape


class ByName:
    """An object whose keys are names, such as those of marks."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape


class Either:
    """One of several shapes."""

    def __init__(self, *shapes: Shape) -> None:
        self.shapes = shapes


SURFACE = {"area": TEXT, "point": TEXT, "stage": TEXT}
STAGE = {"area": TEXT, "stage": TEXT}
ALLOWED = {"high": LENGTH, "low": LENGTH}
STAMP = Maybe({"time": TEXT, "by": TEXT, "laptop": TEXT})
NOTED = {"entry": WHOLE, "area": TEXT, "says": TEXT}
CHECK = {"section": TEXT, "says": TEXT, "verdict": TEXT, "limit": TEXT, "source": TEXT}
LOST = [{"seq": WHOLE, "to": WHOLE, "why": TEXT}]
COPIES = [{"name": TEXT, "entries": WHOLE, "last_hash": TEXT}]
CONFLICTS = {
    "conflicts?": [{"entry": WHOLE, "counts": TEXT, "against": [TEXT]}],
    "parted?": [TEXT],
    "waiting?": WHOLE,
    "do not count?": [TEXT],
}
SETUP_THERE = Maybe({"mark": TEXT, "made": TEXT, "rechecked": TEXT, "disagrees by": TEXT})
ENTRY = {
    **dict.fromkeys(("id", "day", "time", "offset", "by", "kind", "subject", "typed", "then", "now", "note"), TEXT),
    "seq": WHOLE,
    "struck": YES,
    "late": YES,
    "about": Maybe(WHOLE),
    "replaced_by": Maybe(TEXT),
    "clock": TEXT,
    "laptop": TEXT,
    "behind": TEXT,
}
COUNTED = {
    **STAGE,
    **dict.fromkeys(("points", "read", "within", "cut", "fill", "undecided", "doubt", "questioned", "voided"), WHOLE),
    "worst": TEXT,
    "signed": TEXT,
}
OF_THE_DAY = {"seq": WHOLE, "when": TEXT, "by": TEXT, "kind": TEXT, "what": TEXT, "why": TEXT}
PRINTED = {"mm": Maybe(NUMBER), "text": TEXT}
JUDGED = Either(EXACT, {"ratio": NUMBER, "text": TEXT}, {"count": WHOLE, "text": TEXT})
SPAN = Maybe([LENGTH])

REPORT = {
    **dict.fromkeys(
        ("job", "title", "day", "weekday", "unit", "lengths", "rehearsal", "zero", "over_dig_total"), TEXT
    ),
    **{key: [TEXT] for key in ("people", "open", "laptops", "cautions", "signers")},
    **{key: [OF_THE_DAY] for key in ("described", "struck", "trusted", "changes", "notes", "cautions_read")},
    "is_whole": YES,
    "is_last": YES,
    "instrument": {
        "good_for": TEXT,
        "rods": [TEXT],
        "tests": [OF_THE_DAY],
        "set_ups": [
            {
                **dict.fromkeys(("when", "by", "stands", "agreement", "disturbed", "why"), TEXT),
                "seq": WHOLE,
                "readings": WHOLE,
                "marks": [{"mark": TEXT, "rod": TEXT, "zero": TEXT, "off": TEXT}],
            }
        ],
        "disagrees": TEXT,
        "rechecks": [
            {
                "seq": WHOLE,
                "time": TEXT,
                "by": TEXT,
                "setup": WHOLE,
                "mark": TEXT,
                "rod": PRINTED,
                "off": PRINTED,
                "then": TEXT,
                "now": TEXT,
            }
        ],
        "marks": [OF_THE_DAY],
        "circuits": [TEXT],
    },
    "summary": [COUNTED],
    "areas": [
        {
            "name": TEXT,
            "what": TEXT,
            "stages": [
                {
                    "stage": TEXT,
                    "allowed": TEXT,
                    "points": WHOLE,
                    "signed": TEXT,
                    "readings": [
                        {
                            **dict.fromkeys(("day", "time", "by", "point", "what", "then", "now", "remark"), TEXT),
                            **dict.fromkeys(("target", "rod", "found", "off"), PRINTED),
                            "seq": WHOLE,
                            "setup": WHOLE,
                            "doubt": YES,
                            "latest": YES,
                        }
                    ],
                    "unread": [TEXT],
                    "earlier": [TEXT],
                    "checks": [CHECK],
                }
            ],
            "gauged": [OF_THE_DAY],
            "over_dig": Maybe(CHECK),
        }
    ],
    "layouts": [
        {
            "name": TEXT,
            "tapes": [{"seq": WHOLE, "between": TEXT, "target": PRINTED, "taped": PRINTED, "off": PRINTED}],
            "checks": [CHECK],
        }
    ],
    "over_dig": [[Either(TEXT, CHECK)]],
    "signed": [
        {
            "seq": WHOLE,
            "when": TEXT,
            "by": TEXT,
            "area": TEXT,
            "stage": TEXT,
            "remark": TEXT,
            "accepted": [TEXT],
            "unread": [TEXT],
            "asked": [TEXT],
        }
    ],
    "limits": [{"what": TEXT, "limit": TEXT, "source": TEXT}],
    "trace": {
        "first": WHOLE,
        "last": WHOLE,
        "entries": WHOLE,
        "journal_last": WHOLE,
        "journal_hash": TEXT,
        "journal_hash_short": TEXT,
        "plan": TEXT,
        "version": TEXT,
    },
}
"""The daily report, as `report` answers and as its .json file has it."""

ANSWERS: dict[str, Shape] = {
    "new": {"job": TEXT, "file": TEXT, "title": TEXT, "areas": [{"name": TEXT, "kind": TEXT}]},
    "examine": {
        "job?": TEXT,
        "problems": [{"file": TEXT, "line": WHOLE, "column": WHOLE, "says": TEXT}],
        "findings?": [
            {
                **dict.fromkeys(("severity", "area", "what", "kind", "rule", "source", "says"), TEXT),
                "line": WHOLE,
                "where": [TEXT],
                "more": WHOLE,
                "value": JUDGED,
                "limit": JUDGED,
            }
        ],
        "not checked?": [{"area": TEXT, "check": TEXT, "why": TEXT, "how": TEXT}],
        "areas?": ByName({"points": WHOLE, "stages": [TEXT]}),
        "lists?": [
            {
                "area": TEXT,
                "file": TEXT,
                "kind": TEXT,
                "count": WHOLE,
                "says": TEXT,
                "x": SPAN,
                "y": SPAN,
                "elevation": SPAN,
            }
        ],
    },
    "targets": Either(
        {
            "rows": [
                {
                    **SURFACE,
                    "wanted": LENGTH,
                    **ALLOWED,
                    "example": YES,
                    "on site?": TEXT,
                    "working?": [TEXT],
                }
            ]
        },
        {
            "rows": [
                {
                    "area": TEXT,
                    "point": TEXT,
                    "ties": [{"from": TEXT, "length": LENGTH}],
                    "crossing": Maybe(NUMBER),
                    "why": TEXT,
                }
            ]
        },
        {
            "setup": Maybe(TEXT),
            "on rod": TEXT,
            "plane": LENGTH,
            "offset": Maybe(LENGTH),
            "rows": [
                {
                    "area": Maybe(TEXT),
                    "point?": TEXT,
                    "mark?": TEXT,
                    "stage": Maybe(TEXT),
                    "why": TEXT,
                    **{key: Maybe(LENGTH) for key in ("wanted", "rod", "high", "low")},
                }
            ],
        },
    ),
    "plan": Either(
        {
            "job": TEXT,
            "written": [TEXT],
            "on site": [TEXT],
            "areas": [
                {
                    "area": TEXT,
                    "what": TEXT,
                    "datum": Maybe(TEXT),
                    "examples": [WHOLE],
                    "points": [{"point": TEXT, "what": TEXT, "at": Maybe([NUMBER]), "stages": ByName(LENGTH)}],
                    "tolerances": ByName(ALLOWED),
                }
            ],
        },
        {"rows": [ByName(Either(TEXT, Maybe(LENGTH)))]},
    ),
    "changes": Either(
        {"as text": TEXT},
        {
            "accepted": YES,
            "digest": TEXT,
            "moved": [{**SURFACE, "by": LENGTH}],
            **{key: [TEXT] for key in ("added", "gone", "marks", "lost", "staying", "on site")},
            "tolerances": [STAGE],
            "stages": [STAGE],
            "settings": [{"what": TEXT, "from": TEXT, "to": TEXT}],
        },
    ),
    "import": {
        "file": TEXT,
        "kind": TEXT,
        "layers": ByName(ByName(WHOLE)),
        "samples": [TEXT],
        "taken as": [TEXT],
        "questions": [TEXT],
        "points": WHOLE,
        "spans": TEXT,
        "written": [TEXT],
        "add to an area": [TEXT],
        "changed": Maybe({"new": [TEXT], "gone": [TEXT], "changed": [TEXT]}),
    },
    "rules": {
        "codes": Maybe([TEXT]),
        "rules": [{"name": TEXT, "limit": TEXT, "source": TEXT, "where": TEXT}],
    },
    "schema": {"schema": {}, "written": Maybe(TEXT)},
    "setup": {
        "setup": Maybe(TEXT),
        "seq": Maybe(WHOLE),
        "rod": TEXT,
        "plane": Maybe(LENGTH),
        "agree": YES,
        "from?": ByName(LENGTH),
        "spread?": LENGTH,
    },
    "recheck": {"entry": WHOLE, "mark": TEXT, "off": LENGTH, "good": YES, "in doubt": [SURFACE]},
    "move": {"entry": WHOLE, "why": TEXT},
    "mark": {"entry": WHOLE, "mark": TEXT, "elevation": Maybe(LENGTH)},
    "datum": {"shown": Maybe(TEXT), "tied": ByName(YES)},
    "circuit": {
        "circuits": [
            {
                "marks": [TEXT],
                "setups": WHOLE,
                "misclosure": LENGTH,
                "allowed": LENGTH,
                "closes": YES,
                "page check": Maybe(YES),
                "legs": [{"from": TEXT, "to": TEXT, "rise": LENGTH}],
                "corrections": ByName(LENGTH),
            }
        ],
        "network?": {
            "marks": ByName(LENGTH),
            "deviations mm": ByName(Maybe(NUMBER)),
            "residuals": ByName(LENGTH),
            "standardized residuals": ByName(Maybe(NUMBER)),
            "redundancies": ByName(NUMBER),
            "scatter mm": Maybe(NUMBER),
            "degrees of freedom": WHOLE,
            "chi-square": Maybe({"statistic": NUMBER, "limit": NUMBER, "risk": NUMBER}),
            "passes": Maybe(YES),
            "says": TEXT,
        },
    },
    "instrument": {
        "entry": WHOLE,
        "test": TEXT,
        "slope error": {"ratio": NUMBER, "arc-seconds": NUMBER},
        "within": Maybe(YES),
        "says": TEXT,
    },
    "read": {
        "rows": [
            {
                "entry": WHOLE,
                "id": TEXT,
                **SURFACE,
                "verdict": TEXT,
                "rod": LENGTH,
                "found": LENGTH,
                "difference": Maybe(LENGTH),
                "uncertainty": Maybe(LENGTH),
                "question": TEXT,
                "notes?": [TEXT],
            }
        ]
    },
    "correct": {"recorded": YES, "points moved": WHOLE, "largest": LENGTH, "verdicts changed": [SURFACE]},
    "strike": {"entry": WHOLE, "strikes": WHOLE, "why": TEXT},
    "undo": {"entry": WHOLE, "undoes": WHOLE, "counts": YES},
    "add": {"area": TEXT, "point": TEXT, "finish": LENGTH, "working": TEXT},
    "change": {"kind": TEXT, "says": TEXT},
    "compact": NOTED,
    "undercut": NOTED,
    "gauge": {"rows": [{"says": TEXT, "verdict": TEXT, "source": TEXT}]},
    "layout": Either(
        {
            "rows": [
                {
                    "layout": TEXT,
                    "says": [TEXT],
                    "verdict": TEXT,
                    "do": TEXT,
                    "tapes": [
                        {
                            **dict.fromkeys(("start", "end", "kind", "wanted", "taped", "off", "word"), TEXT),
                            "lengths": {"wanted": LENGTH, "taped?": LENGTH, "off?": LENGTH},
                        }
                    ],
                    "moves": Maybe([{"corner": TEXT, "along": [{"way": TEXT, "of": TEXT, "by": LENGTH}]}]),
                }
            ]
        },
        {"rows": [TEXT], "tapes": [{"kind": TEXT, "start": TEXT, "end": TEXT, "wanted": LENGTH}]},
        {"rows": [TEXT], "chalk": [{"row": WHOLE, "at": LENGTH}]},
    ),
    "review": Either(
        {
            "stages": [COUNTED],
            "open": [TEXT],
            "rechecks": TEXT,
            "laptops": [TEXT],
            "entries?": [ENTRY],
            "trend": [{"kind": TEXT, "name": TEXT, "mean": LENGTH, "count": WHOLE, "scatter mm": Maybe(NUMBER)}],
            "lasers": [
                {
                    "laptops": [TEXT],
                    "points": WHOLE,
                    "mean": LENGTH,
                    "exact mean m": TEXT,
                    "least": LENGTH,
                    "most": LENGTH,
                }
            ],
        },
        {
            "left": [{**SURFACE, "where": TEXT, "do": TEXT, "rod": TEXT}],
            "not begun": [TEXT],
            "file?": TEXT,
        },
    ),
    "checks": {"rows": [{**CHECK, "area": TEXT}]},
    "stone": {
        "rows": [
            {
                "area": TEXT,
                "what": TEXT,
                "m3": NUMBER,
                "kg": Maybe(NUMBER),
                "money": Maybe(NUMBER),
                "factors": [{"name": TEXT, "value": NUMBER, "unit": TEXT, "source": TEXT}],
                "not ordered?": TEXT,
                "loads?": Maybe(WHOLE),
                "loose m3?": NUMBER,
            }
        ]
    },
    "sign": {**STAGE, "accepted": [TEXT], "unread": [TEXT], "remark": TEXT, "asked": [TEXT]},
    "day": {"weather": TEXT, "crew": TEXT},
    "report": Either(
        REPORT,
        {
            "day": TEXT,
            "files": [TEXT],
            "entries": WHOLE,
            "last": WHOLE,
            "hash": TEXT,
            "hash to read out": TEXT,
        },
    ),
    "log": {"rows": [{**ENTRY, "lengths": ByName(LENGTH)}]},
    "asbuilt": {
        "job": TEXT,
        "log to entry": WHOLE,
        "hash": TEXT,
        "written": [TEXT],
        "rows": [
            {
                **dict.fromkeys(("area", "stage", "point", "verdict", "time", "person", "laptop", "remark"), TEXT),
                **{key: Maybe(LENGTH) for key in ("x", "y", "target", "found", "off", "U")},
                "setup": Maybe(WHOLE),
                "entry": WHOLE,
            }
        ],
    },
    "quantities": {
        "job": TEXT,
        "written": [TEXT],
        "rows": [
            {"of": TEXT, "what": TEXT, "kind": TEXT, "amount": Maybe(NUMBER), "unit": TEXT, "basis": TEXT},
        ],
    },
    "share": {
        "taken in": WHOLE,
        "put there": WHOLE,
        "entries there": WHOLE,
        "half there": [TEXT],
        "trouble": TEXT,
        "not taken in": [TEXT],
        "less there": [TEXT],
        **CONFLICTS,
        "plan from the office": Maybe(WHOLE),
        "plan that waits": Maybe(WHOLE),
    },
    "board": {
        "jobs": [
            {
                "job": TEXT,
                "plan": TEXT,
                "counted by": TEXT,
                "entries": WHOLE,
                "sent": Maybe(TEXT),
                "last entry": STAMP,
                "in doubt": WHOLE,
                "setup": SETUP_THERE,
                "remarks": [TEXT],
                "stages": [
                    {
                        **dict.fromkeys(("points", "read", "on grade", "out", "in doubt", "unread"), WHOLE),
                        **STAGE,
                        "last reading": STAMP,
                    }
                ],
                "laptops": [
                    {
                        "laptop": TEXT,
                        "entries": WHOLE,
                        "sent": Maybe(TEXT),
                        "last entry": STAMP,
                        "setup": SETUP_THERE,
                    }
                ],
            }
        ],
        "passed over": [TEXT],
        "trouble": TEXT,
    },
    "join": {"taken in": WHOLE, "entries": WHOLE, "not taken in": [TEXT], **CONFLICTS},
    "copy": {"copied": TEXT, "to": TEXT, "entries": WHOLE},
    "office": {
        "office?": TEXT,
        "new?": YES,
        "weakened?": [TEXT],
        "job?": TEXT,
        "plan?": WHOLE,
        "laptops?": [TEXT],
        "password files?": ByName(TEXT),
        "folder?": TEXT,
        "runs?": YES,
        "password file?": TEXT,
    },
    "verify": {
        "entries": WHOLE,
        "of other laptops": WHOLE,
        "hash": TEXT,
        "hash to read out": TEXT,
        "behind": WHOLE,
        "fault": Maybe(TEXT),
        "lost": LOST,
        "backups": COPIES,
        "not here yet": WHOLE,
        "less there": [TEXT],
        "entry with hash?": Maybe(WHOLE),
        "compared": [
            {
                "with": TEXT,
                "outcome": TEXT,
                "entries": WHOLE,
                "first": Maybe(WHOLE),
                "damaged from?": WHOLE,
                "there?": TEXT,
                "here?": TEXT,
                "missing?": [WHOLE],
            }
        ],
    },
    "rescue": {
        "kept": WHOLE,
        "chained anew": WHOLE,
        "notes": WHOLE,
        "hash": TEXT,
        "lost": LOST,
        "backups": COPIES,
    },
    "guide": Either({"topics": ByName(TEXT)}, {"topic": TEXT, "text": TEXT}),
    "settings": {
        "file": TEXT,
        "settings": ByName({"value": VALUE, "from": Maybe(TEXT)}),
        "keys": ByName(TEXT),
        "wrong": [TEXT],
    },
    "paths": {
        "settings": TEXT,
        "cache": TEXT,
        "crashes": TEXT,
        "jobs": TEXT,
        "reports": [TEXT],
        "found": [TEXT],
    },
    "completions": {"shell": TEXT, "script": TEXT, "belongs in": TEXT, "and then": TEXT, "written": Maybe(TEXT)},
    "rehearse": {
        "folder": TEXT,
        "seed": WHOLE,
        "entries": WHOLE,
        "readings": WHOLE,
        "people": [TEXT],
        "last day": TEXT,
    },
}
"""By command, what stands beside `schema version`, `command` and, where it judges, `decides`."""
