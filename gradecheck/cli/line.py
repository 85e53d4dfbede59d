"""The verb `line`: Check as a plain loop of questions, for a screen reader or a terminal that can't draw.

Nothing is drawn, no cursor moved, no color used: a line in, lines out, also through a pipe. What is asked and said is
what the screen asks and says, and what is recorded goes through the same actions; a reading is saved before its
verdict is printed.
"""

from __future__ import annotations

import contextlib
import gc
import io
import re
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from gradecheck import actions
from gradecheck.actions import Action, HeldError, Refusal
from gradecheck.actions.instrument import other_mark
from gradecheck.app import check_words
from gradecheck.app.check_view import COUNTED_AT_ONCE, Tally, check_view, notes_of
from gradecheck.app.find import listed, listed_areas, matches
from gradecheck.app.route import Route
from gradecheck.catalogue import _, count, translated
from gradecheck.checks.blunders import KEEPS, STRIKES
from gradecheck.cli.options import Reply, as_path, named, on_session, option
from gradecheck.cli.shared import assignment, printable
from gradecheck.cli.verbs import VERBS
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import BacksightTaken, Draft, Entry, Reading, Rechecked, SetupMade
from gradecheck.measure.printed import with_true_minus
from gradecheck.report.cautions import day_cautions
from gradecheck.report.decides import DECIDES
from gradecheck.report.instrument import agreement_line, chain_line, disagreement, recheck_line, set_up_line
from gradecheck.report.rows import at_offset
from gradecheck.session.session import BROUGHT_BACK_NOW, Session
from gradecheck.state.state import Surface
from gradecheck.survey.level_book import RecordedSetup
from gradecheck.system import keymap
from gradecheck.system.settings import GO_ON, Settings, read_settings

LONGEST = 200
"""Characters of a line; more is a mistake, and no part of it is taken."""

WORDS = {
    "setup": ("set-up", _("set up the laser; setup DOOR=50 PIN=54 does it in one line")),
    "recheck": ("recheck", _("recheck a mark from the same setup")),
    "mark": ("mark", _("shoot a turning point before moving; mark TP1=49")),
    "strike": ("strike", _("strike the last reading; it stays in the log")),
    "undo": ("undo", _("take back your own last reading or strike")),
    "area": ("area", _("the next area")),
    "stage": ("stage", _("the next layer up")),
    "left": ("left", _("what is left of this area at this stage")),
    "find": ("find", _("find T4, or a word of where it is: go to the first that is meant")),
    "doubt": ("doubt", _("trust the readings in doubt, with a reason")),
    "person": ("person", _("another person checks from here on")),
    "quit": ("quit", _("leave; everything entered is saved")),
}
"""What can be typed beside readings and names: each word with the meaning of a key, which may be typed too."""
DONE_BY_COMMAND = {"log": "log", "day": "review", "plan": "changes", "correct": "correct", "other-folder": "copy",
             "share": "share", "datum": "datum", "checks": "instrument"}  # fmt: skip
"""Meanings of keys that only the screen has, with the command that does the same."""
HELP = ("?", "help")
BACK = ("back", "esc", "escape", "cancel")
LEAVE = ("quit", "exit", "q", "bye", "stop")
AGAIN = ("+", "-", "*", "/")
ALSO = {
    **dict.fromkeys(("next", "skip"), "+"),
    **dict.fromkeys(("previous", "prev", *BACK), "-"),
    **dict.fromkeys(HELP, "?"),
    **dict.fromkeys(LEAVE, "quit"),
    "list": "left",
}
"""Words that people try at a point, with the one that means the same; a point of that name goes first."""
REPEAT = ("again", "repeat", "save", "saved")
"""Words after which the question is only asked again: all that was entered is saved."""


@dataclass(frozen=True, kw_only=True, slots=True)
class LineOptions:
    job: Path = named("JOB", type=as_path, help=_("a job's folder or its job.yaml"))
    by: str | None = option("--by", metavar="XX", help=_("initials of who is checking"))


@on_session(LineOptions)
def line(session: Session, _options: LineOptions) -> Reply:
    """Asks and answers until the lines end, or someone types quit."""
    gc.enable()  # other commands are over before there is garbage; this one may last a day
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")
    LineCheck(session, read_settings(), _typed, _printed).run()
    return Reply()


def _typed() -> str:
    """The next line; one that no terminal has shown is printed, so that the answers stand under what they answer."""
    text = sys.stdin.readline()
    if text and not sys.stdin.isatty():
        _printed(text.rstrip("\r\n"))
    return text


def _printed(text: str, *, end: str = "\n") -> None:
    print(with_true_minus(printable(text)), end=end, flush=True)


class Left(Exception):
    """Nothing more comes, or the person leaves."""


class LineCheck:
    """One person at one job, by lines."""

    def __init__(self, session: Session, liked: Settings, read: Callable[[], str], say: Callable[..., None]) -> None:
        """`read` gives the next line with its end, an empty text when there is none; `say` prints one."""
        self._session, self._liked, self._read, self._say = session, liked, read, say
        self._route = Route(session, liked.after_a_reading)
        self._kept: tuple[str, Surface] | None = None
        """A figure that was asked about, and where: Enter alone keeps it."""
        self._unsaved: tuple[list[Draft], Surface | None] | None = None
        """What could not be written: Enter alone tries the same again."""

    def run(self) -> None:
        """Cautions first, then a setup where there is none, then readings until the person leaves."""
        self._say(_("{job}. Type ? for what can be typed; quit or Ctrl+D leaves.", job=self._session.plan.job))
        for fault in self._liked.faults:
            self._say(fault)
        with contextlib.suppress(Left):
            if not self._session.view_only:
                if not self._session.cautions_read_today:
                    self._sign()  # who decides is one of the cautions
                else:
                    self._say(DECIDES)
                if self._session.why_set_up_is_old == BROUGHT_BACK_NOW:
                    self._recheck("")
                elif self._session.state.setup is None or self._session.why_set_up_is_old:
                    self._set_up("")
            self._tell_area()
            while True:
                self._next()
        self._say(_("Everything entered is saved."))

    # -- lines

    def _ask(self, label: str) -> str:
        """The next line, without blanks at its ends; what is too long is refused and asked for again."""
        while True:
            self._say(f"{label} ", end="")
            try:
                typed = self._read()
            except KeyboardInterrupt:
                self._say("")
                self._say(_("quit or Ctrl+D leaves; everything entered is saved."))
                continue
            if not typed:
                self._say("")
                raise Left
            if len(typed := typed.strip()) <= LONGEST:
                return typed
            self._say(_("Too long: {longest} characters at most. Nothing was taken.", longest=LONGEST))

    def _try(self, act: Callable[[], None]) -> None:
        """Does it; what can't be done, or written, is said."""
        try:
            act()
        except HeldError as wrong:
            self._say(str(wrong))
            self._go_past(wrong)
        except (Refusal, JournalError) as wrong:
            self._say(str(wrong))
            if self._unsaved is not None:
                self._say(_("NOT SAVED. Press Enter alone to save it again."))

    def _record(self, *acts: Action, at: Surface | None = None) -> Entry:
        """Writes them; what fails is kept, so that Enter alone writes the same ones."""
        self._unsaved = [self._session.draft(each) for each in acts], at
        return self._write_again()

    def _write_again(self) -> Entry:
        assert self._unsaved is not None
        entry = self._session.record(*self._unsaved[0])
        self._unsaved = None
        return entry

    def _question(self, label: str, allowed: str) -> str | None:
        """The answer to a question; None where the person goes back. `allowed` is what help says of it."""
        while True:
            typed = self._ask(label)
            word = typed.casefold()
            if self._session.name_of(typed) is not None:
                return typed
            if word in BACK:
                return None
            if word in LEAVE:
                raise Left
            if word not in HELP:
                return typed
            self._say(allowed)

    # -- at a point

    def _next(self) -> None:
        with contextlib.suppress(JournalError):
            self._session.catch_up()
        self._session.plan_file.refresh()
        route = self._route
        if route.surface and route.lost:  # asked for its place, the route finds it in another plan
            self._say(route.lost)
            route.lost = ""
        if self._kept is None and self._unsaved is None:
            asked = check_words.prompt_text(self._session, route), self._session.remark
            self._say("  ".join(filter(None, asked)))
        typed = self._ask(_("{point} reads:", point=route.surface.point))
        self._try(lambda: self._take(typed))

    def _take(self, typed: str) -> None:
        if not typed:
            self._enter_alone()
            return
        self._kept, self._unsaved = (self._kept if typed == (self._kept or ("",))[0] else None), None
        session, route = self._session, self._route
        if session.name_of(typed) is None:
            typed = ALSO.get(typed.casefold(), typed)
        if typed == "?":
            self._help()
        elif typed in AGAIN:
            self._sign_alone(typed)
        elif (name := session.name_of(typed)) is not None:
            if name not in session.plan.area_of:
                raise Refusal(_("{name} is a benchmark; press F4 to set up on it.", name=name))
            route.go_to(name)
        elif (meaning := _meaning(typed)) is not None:
            self._do(meaning, typed.partition(" ")[2].strip())
        elif typed.casefold() in REPEAT:
            self._say(_("Everything entered is saved."))
        elif typed.casefold().split()[0] == "offset":
            if " " in typed:
                self._record(actions.change_offset(session.state, typed))
            at = at_offset(session.state.offset, session.plan.notation.units)
            self._say(f"{at}." if at else _("No offset is on."))
        elif (spot := actions.spot_on_string(session.state, None, typed)) is not None:
            has = route.stage in session.plan.areas[spot.area].stages
            route.go_to_spot(spot._replace(stage=route.stage) if has else spot)
        elif typed[0].isalpha():
            self._find(typed)
        else:
            self._reading(typed)

    def _enter_alone(self) -> None:
        if self._unsaved is not None:
            at = self._unsaved[1]
            self._write_again()
            if at is not None:
                self._answer(at, "")
        elif self._kept is not None:
            self._reading(self._kept[0])
        else:
            self._route.shown = None
            left = self._left
            if not self._route.go_on(left):
                self._say(check_words.stays_put(self._route, left=bool(left)))

    def _reading(self, typed: str) -> None:
        session, surface = self._session, self._route.surface
        above = session.state.offset
        looks = session.question(surface, typed, above)
        if looks is not None and looks.stops and self._kept != (typed, surface):
            self._kept = typed, surface
            raise Refusal(
                _("{typed} is {says} {keeps}", typed=typed, says=translated(looks.says), keeps=translated(KEEPS))
            )
        self._kept = None
        action = actions.reading(session.state, surface, typed, looks.says if looks else "", above)
        self._record(action, at=surface)
        self._answer(
            surface,
            f"{translated(looks.says)} {translated(STRIKES)}" if looks is not None and not looks.stops else "",
        )

    def _answer(self, surface: Surface, hint: str) -> None:
        """Goes on as is wished, and says what the saved reading is."""
        route = self._route
        if route.surface == surface and route.is_done_with(surface):
            route.go_on(() if self._liked.after_a_reading == GO_ON else self._left)
        route.shown = surface
        view = check_view(self._session.state, route.surface, surface, hint=hint)
        self._say(_("{point} {stage}: {verdict}", point=view.point, stage=view.stage, verdict=view.large))
        if view.answer is not None:
            saved = _("saved {time}", time=view.saved_at)
            self._say("  " + ", ".join((*notes_of(view, view.answer), saved)))

    @property
    def _left(self) -> list[str]:
        area = self._route.area
        if len(area.points) > COUNTED_AT_ONCE:
            return []
        return Tally(self._session.state, area.name, self._route.stage).left(self._route.surface.point)

    def _tell_area(self) -> None:
        area, stage, state = self._route.area, self._route.stage, self._session.state
        read = _("{checked} of {points} read", checked=state.checked(area.name, stage), points=len(area.points))
        self._say(f"{area.name}, {stage}: {read}.")
        if caution := check_words.beginning(self._session, self._route):
            self._say(caution)

    def _find(self, typed: str) -> None:
        """Goes to the first that the text may mean."""
        found = matches(self._session.state, self._route.surface, typed)
        if not found:
            raise Refusal(self._not_found(typed))
        if len(found) > 1:
            self._say(_("Goes to the first of {listed}.", listed=listed(found)))
        go = {"area": self._route.go_to_area, "stage": self._route.go_to_stage, "point": self._route.go_to}
        go[found[0].kind](found[0].name)
        if found[0].kind != "point":
            self._tell_area()

    def _not_found(self, typed: str) -> str:
        """Why that is not understood, and what is to be typed instead."""
        first, behind = typed.replace("=", " ").split()[0], len(typed.replace("=", " ").split()) > 1
        point = self._session.name_of(first)
        if point is not None and behind:
            return _("Type {point} alone to go there, then the reading. Nothing was recorded.", point=point)
        if first.casefold() in VERBS:
            way = f"gradecheck {first.casefold()} {self._session.folder}"
            return _("That is a command of its own: {command}", command=way)
        near = get_close_matches(first.casefold(), [*WORDS, *ALSO], n=1)
        meant = _("Did you mean “{word}”?", word=near[0]) if near else _("Type ? for what can be typed.")
        return f"{actions.no_point(self._session.plan, typed)} {meant}"

    def _sign_alone(self, sign: str) -> None:
        if sign in "+-":
            self._route.move(1 if sign == "+" else -1)
        else:
            self._do("strike" if sign == "*" else "area", "")

    def _do(self, meaning: str, behind: str) -> None:
        session, route = self._session, self._route
        match meaning:
            case "set-up":
                self._set_up(behind)
            case "recheck":
                self._recheck(behind)
            case "mark":
                self._mark(behind)
            case "strike":
                self._strike()
            case "undo":
                surface, what = check_words.undone(session, self._record(session.undo()))
                if surface is not None:
                    route.go_back(surface)
                self._say(_("{what} It stays in the log.", what=what))
            case "area" | "stage" if behind:
                self._find(behind)
            case "area":
                route.next_area()
                self._tell_area()
            case "stage":
                route.next_stage()
                self._tell_area()
            case "left":
                self._say(check_words.what_is_left(session.state, route, self._left))
            case "find":
                if not behind:
                    self._say(_("Find: {listed_areas}.", listed_areas=listed_areas(session.state, route.surface)))
                else:
                    self._find(behind)
            case "doubt":
                self._trust(behind)
            case "person":
                self._sign()
            case "keys":
                self._help()
            case "quit" | "leave":
                raise Left
            case "up" | "down":
                route.move(1 if meaning == "down" else -1)
            case _:
                key = keymap.shown_key(keymap.key_of(meaning))
                if meaning not in DONE_BY_COMMAND:
                    raise Refusal(_("{key} is on the screen alone. Type ? for what can be typed.", key=key))
                way = f"gradecheck {DONE_BY_COMMAND[meaning]} {session.folder}"
                raise Refusal(_("{key} is on the screen alone; the command is: {command}", key=key, command=way))

    def _strike(self) -> None:
        last = self._session.last_reading()
        if last is None:
            raise Refusal(_("There is no reading to strike."))
        assert isinstance(last.fact, Reading)
        surface = Surface(last.fact.area, last.fact.point, last.fact.stage)
        self._record(self._session.strike(last.id, _("struck at once")))
        self._route.go_back(surface)
        self._say(check_words.struck(surface, last.typed))

    def _trust(self, why: str) -> None:
        state = self._session.state
        marks = [name for name, _shot in state.doubt.marks()]
        if not state.doubts() and not marks:
            raise Refusal(_("Nothing is in doubt."))
        named = [f"{surface.point} {surface.stage}" for surface, _shot in state.doubts()]
        self._say(_("In doubt: {what}.", what=", ".join([*named, *marks])))
        if not why:
            self._say(check_words.doubt_asked())
            why = self._ask(_("why:"))
        if not why or why.casefold() in BACK:
            return
        self._record(actions.answer_doubt(state, why))
        self._say(_("Trusted: {why}.", why=why.rstrip(".")))

    def _sign(self) -> None:
        """The day's cautions, and whose initials say that they were read."""
        session, shown = self._session, day_cautions(self._session.plan)
        for caution in shown:
            self._say(f"  {caution}")
        signed = False

        def sign(typed: str) -> None:
            nonlocal signed
            session.identify(typed or by)
            self._record(actions.cautions(shown))
            signed = True

        while not signed:
            by = session.by_or(self._liked.initials)
            self._say(check_words.initials_asked(by))
            typed = self._ask(_("initials:"))
            if typed == "quit":
                raise Left
            self._try(lambda typed=typed: sign(typed))  # type: ignore[misc]

    def _go_past(self, held: HeldError) -> None:
        self._say(_("Why go past {hold}? Type the reason, then Enter. Escape goes back.", hold=held.hold))
        why = self._ask(_("why:"))
        if why and why.casefold() not in BACK:
            self._try(lambda: self._past(held, why))

    def _past(self, held: HeldError, why: str) -> None:
        self._record(actions.go_past(self._session.state, held.area, held.hold, why))
        self._say(_("Gone past; enter the reading again."))

    # -- the laser

    @property
    def _rod(self) -> str:
        state = self._session.state
        last = state.newest_setup
        known = state.sights[-1].rod if state.sights else last.fact.rod if last else ""
        return known if known in state.plan.rods else state.plan.rod.name

    @property
    def _taken(self) -> RecordedSetup:
        """The setup that the backsights taken so far would make."""
        state = self._session.state
        sights = [(sight.sight.mark, sight.sight.rod) for sight in state.sights]
        return state.setup_from(sights, self._rod, state.sights[-1].slopes if state.sights else None)

    def _set_up(self, behind: str) -> None:
        """Backsight by backsight, as on the screen; with ``DOOR=50`` behind it at once, as the command does."""
        if behind:
            units = self._session.plan.rod.notation.units
            sights = [assignment(each, units) for each in _sights(behind)]
            action = actions.set_up_on(self._session.state, sights, None, None, None, "")
            assert isinstance(action.fact, SetupMade)
            backsights = [(sight.mark, sight.rod) for sight in action.fact.backsights]
            made = self._session.state.setup_from(backsights, action.fact.rod, None)
            if wrong := disagreement(self._session.state, made):
                way = _("Nothing was recorded; setup alone asks why it may be used.")
                raise Refusal(f"{check_words.marks_disagree(wrong)} {way}")
            self._record(action)
            self._tell_setup()
            return
        marks = self._session.state.book.marks()
        mark, done = self._unread(marks) or marks[0], False
        warned = False

        def take(typed: str) -> None:
            nonlocal mark, done, warned
            state = self._session.state
            wrong = disagreement(state, self._taken) if state.sights else ""
            if self._session.name_of(typed) is None and typed.casefold() in ("strike", "undo"):
                typed = "*"
            if not typed and self._unsaved is not None:
                self._write_again()
            elif not typed and not state.sights:
                done = True
            elif not typed and wrong:
                warned = True
                raise Refusal(check_words.marks_disagree(wrong))
            elif not typed or (warned and typed[0].isalpha() and self._session.name_of(typed) is None):
                self._record(actions.finish_setup(state, self._taken.slopes, None, typed))
                self._tell_setup()
                done = True
            elif "=" in typed:
                mark, figure = assignment(typed, self._session.plan.rod.notation.units)
                mark = actions.known_mark(state, mark)[0]
                self._sight(mark, figure)
                mark, warned = self._unread(marks) or mark, False
            elif typed[0].isalpha():
                mark = actions.known_mark(state, typed)[0]
            elif typed == "*":
                mark, warned = self._drop_backsight(), False
            else:
                self._sight(mark, typed)
                mark, warned = self._unread(marks) or mark, False

        self._say(_("Marks: {marks}.", marks=", ".join(marks)))
        while not done:
            self._say(check_words.backsight_asked(self._session.state, mark, self._taken, self._rod))
            allowed = _("A reading; a mark's name, or DOOR=50; * strikes the last backsight; back leaves it so.")
            typed = self._question(_("{mark} reads:", mark=mark), allowed)
            if typed is None:
                return
            self._try(lambda typed=typed: take(typed))  # type: ignore[misc]

    def _unread(self, marks: Sequence[str]) -> str:
        read = {sight.sight.mark for sight in self._session.state.sights}
        return next((name for name in marks if name not in read), "")

    def _sight(self, mark: str, typed: str) -> None:
        state = self._session.state
        slopes = self._taken.slopes if state.sights else None
        self._record(*actions.backsight(state, mark, typed, self._rod, slopes))
        state = self._session.state
        wrong = disagreement(state, self._taken)
        self._say(check_words.marks_disagree(wrong) if wrong else agreement_line(state, self._taken))

    def _drop_backsight(self) -> str:
        """Strikes the last backsight; returns its mark, which is asked for again."""
        last = self._session.last_backsight()
        if last is None:
            raise Refusal(_("There is no backsight to strike."))
        assert isinstance(last.fact, BacksightTaken)
        self._record(self._session.strike(last.id, _("while setting up")))
        self._say(_("Struck: {typed}. It stays in the log.", typed=last.typed))
        return last.fact.sight.mark

    def _tell_setup(self) -> None:
        setup = self._session.state.setup
        if setup is not None:
            self._say(set_up_line(self._session.state, setup))

    def _recheck(self, behind: str) -> None:
        """One mark; the setup's own where none is named."""
        state = self._session.state
        setup = state.newest_setup
        mark = setup.fact.backsights[0].mark if setup is not None else next(iter(state.book.marks()))
        typed = behind
        while True:
            if not typed:
                self._say(check_words.recheck_asked(mark))
                allowed = _("A reading; another mark's name, or DOOR=50; back leaves it so.")
                asked = self._question(_("{mark} reads:", mark=mark), allowed)
                if not asked:
                    return
                typed = asked
            try:
                name, equals, figure = typed.rpartition("=")
                if equals or typed[0].isalpha():
                    mark, typed = actions.known_mark(state, name.strip() if equals else typed)[0], figure.strip()
                    typed = typed if equals else ""
                if typed:
                    action = actions.recheck(state, mark, typed)
                    break
            except Refusal as wrong:
                if behind:
                    raise
                # Asked again here: what is entered next would else go to the point.
                self._say(str(wrong))
                typed = ""
        assert isinstance(action.fact, Rechecked)
        other = None if action.fact.good else other_mark(state, action.fact)
        entry = self._record(action)
        assert isinstance(entry.fact, Rechecked)
        self._say(recheck_line(self._session.state, entry, entry.fact))
        if other is not None:
            self._say(_("Or was that {other}? gradecheck strike takes entry {seq} back.", other=other, seq=entry.seq))

    def _mark(self, behind: str) -> None:
        """A new mark, by its name and what the rod reads there."""
        state = self._session.state
        name, equals, typed = behind.rpartition("=")
        name = actions.new_mark_name(state, name if equals else behind or actions.next_mark_name(state))
        if asked := actions.mark_question(state, name):
            raise Refusal(asked)
        typed = typed.strip() if equals else ""
        at_once, action = bool(typed), None
        while action is None:
            if not typed:
                self._say(_("New mark {name}: what does the rod read there?", name=name))
                asked = self._question(_("{mark} reads:", mark=name), _("A reading; back leaves it so."))
                if not asked:
                    return
                typed = asked
            try:
                action = actions.mark(state, name, typed)
            except Refusal as wrong:
                if at_once:
                    raise
                self._say(str(wrong))
                typed = ""
        self._record(action)
        self._say(chain_line(self._session.state, actions.mark_meant(self._session.state, name) or name))

    def _help(self) -> None:
        """What can be typed, a line each."""
        self._say(
            _("A reading, as on the screen; a point's name goes there; + or next, - or back, * strikes, / next area.")
        )
        self._say(_("Enter alone goes on. Also, each by its word or its key:"))
        for word, (meaning, does) in WORDS.items():
            self._say(f"  {word}, {keymap.shown_key(keymap.key_of(meaning))}: {does}")
        self._say(_("{area}, {stage}; {count} to check.", area=self._route.area.name, stage=self._route.stage,
                    count=count(len(self._route.area.points), "point")))  # fmt: skip


def _meaning(typed: str) -> str | None:
    """The meaning of a word or a key that was typed, with what stands behind it; None where it has none."""
    word = typed.casefold().partition(" ")[0]
    if word in WORDS:
        return WORDS[word][0]
    return next((meaning for meaning in keymap.KEYS if keymap.key_of(meaning) == word and len(word) > 1), None)


def _sights(text: str) -> list[str]:
    """The parts of ``DOOR=50 PIN=54 3/8``: each begins with the word before its sign."""
    return [each.strip() for each in re.split(r"\s+(?=[^\s=]+\s*=)", text) if each.strip()]
