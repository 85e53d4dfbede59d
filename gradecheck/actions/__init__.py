"""What people do, from what they enter: each verb gives an Action with the fact, or raises Refusal with one sentence.

Pure: state in, fact out. `Session.record` writes what they give.
"""

from gradecheck.actions.entered import Action, Refusal, initials, no_point
from gradecheck.actions.evening import describe_day, gauge, sign_off, tape
from gradecheck.actions.field_tests import instrument_test
from gradecheck.actions.instrument import (
    answer_doubt,
    backsight,
    finish_setup,
    give_mark,
    known_mark,
    mark,
    mark_meant,
    mark_question,
    moved,
    new_mark_name,
    next_mark_name,
    promote,
    recheck,
    set_up,
    set_up_on,
    show_datum,
)
from gradecheck.actions.layers import HeldError, compaction, go_past, order_undercut, refuse_no_subgrade
from gradecheck.actions.points import add_point, change_target, change_tolerance
from gradecheck.actions.readings import (
    cautions,
    change_offset,
    note,
    question,
    read_surface,
    reading,
    spot_on_string,
    why_corrected,
    working_offset,
)

__all__ = [
    "Action",
    "HeldError",
    "Refusal",
    "add_point",
    "answer_doubt",
    "backsight",
    "cautions",
    "change_offset",
    "change_target",
    "change_tolerance",
    "compaction",
    "describe_day",
    "finish_setup",
    "gauge",
    "give_mark",
    "go_past",
    "initials",
    "instrument_test",
    "known_mark",
    "mark",
    "mark_meant",
    "mark_question",
    "moved",
    "new_mark_name",
    "next_mark_name",
    "no_point",
    "note",
    "order_undercut",
    "promote",
    "question",
    "read_surface",
    "reading",
    "recheck",
    "refuse_no_subgrade",
    "set_up",
    "set_up_on",
    "show_datum",
    "sign_off",
    "spot_on_string",
    "tape",
    "why_corrected",
    "working_offset",
]
