"""What every screen with an entry shares: keys in order, one line for what is wrong, Escape one step back."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import Iterator, Sequence
from typing import ClassVar

from textual import events, on
from textual.binding import BindingType
from textual.css.query import NoMatches

from gradecheck.actions import Action, Refusal
from gradecheck.app.bindings import bind, named, own
from gradecheck.app.screens.left_once import LeftOnceScreen
from gradecheck.app.widgets.entry import LONGEST, EntryBox
from gradecheck.app.widgets.key_line import KeyLine
from gradecheck.app.widgets.line import SentenceLines
from gradecheck.app.widgets.too_small import TooSmall, too_small
from gradecheck.catalogue import _
from gradecheck.journal.errors import JournalError
from gradecheck.journal.facts import Draft, Entry
from gradecheck.journal.store import NotSavedError
from gradecheck.report.decides import said_on
from gradecheck.session import waiting
from gradecheck.session.session import Session
from gradecheck.session.waiting import WAITING

Turn = (
    EntryBox.Committed
    | EntryBox.Pressed
    | EntryBox.Dropped
    | EntryBox.Replaced
    | EntryBox.Answered
    | EntryBox.Flooded
)
"""What the screen takes one after the other, in the order in which it was typed."""

NAMED_AT_MOST = 20
"""Texts behind a refused one that are named one by one; more than that nobody typed."""


class EntryScreen(LeftOnceScreen[None]):
    """A screen whose entry always has the focus.

    Everything that changes what a typed text means is lined up and taken one after the other: the texts sent by
    Enter, and the screen's keys, which the entry sends along in the order they were pressed.
    """

    AUTO_FOCUS = "EntryBox"
    ALWAYS: ClassVar[tuple[str, ...]] = ()
    """Meanings of keys that are not held back while another screen is awaited."""
    WHERE_ELSE = ""
    """What else can be done from here where nothing can be saved."""
    BINDINGS: ClassVar[list[BindingType]] = [
        bind("back", "back", show=True),
        bind("keys", "app.keys", show=True),
        bind("share", "app.share", _("Copy new entries to the folder and bring in new ones from it")),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._refused_turn = 0
        self._also_refused = 0
        self._turns: asyncio.Queue[Turn] = asyncio.Queue()
        self._unsaved: tuple[str, object, tuple[Draft, ...]] | None = None
        self._lost: tuple[str, int, str] | None = None
        self.keeping = False
        """Whether what was entered here is being recorded; what then changes is shown by whoever has it recorded."""
        self.had_seen = True
        """Whether what the Enter before did was on the screen when the one being taken was pressed."""

    @property
    def judges(self) -> str:
        """Who decides, where the screen holds work to limits; it stands in the line above the entry."""
        return said_on(type(self).__name__)

    @property
    def session(self) -> Session:
        """The open job."""
        session = self.host.session
        assert session is not None
        return session

    @property
    def entry(self) -> EntryBox:
        """The one box that is typed into."""
        return self.query_one(EntryBox)

    @property
    def is_up(self) -> bool:
        """Whether this is the screen that is worked on; the palette may lie over it."""
        # While the app ends there is none any more, and what was entered before is still taken.
        return next((screen for screen in reversed(self.app.screen_stack) if not screen.is_modal), self) is self

    # -- what a screen of its own says

    @property
    def needs(self) -> Sequence[tuple[str, str]]:
        """What this state needs first: meanings of keys, each with a word or two for what it does now."""
        return ()

    async def commit(self, text: str) -> None:
        """Acts on a text that Enter was pressed behind; raises Refusal when it makes no sense here."""
        raise NotImplementedError

    def tell_not_taken(self, not_taken: str) -> None:
        """The same once more, as what is not taken goes on."""
        self._not_taken, self._named_seen = "", True
        self._tell_not_taken(not_taken)
        self.say(self._said)

    def may_leave(self, typed: str) -> bool:
        """Whether Enter behind that may lead to another screen; what is typed behind it is held back till then."""
        return True

    def take_early(self, text: str, not_taken: str, *, whole: bool) -> None:
        """The screen is drawn: what was typed before that stands in the box, and what is not taken is named.

        `whole` where Enter was pressed behind it: the next digit begins another figure.
        """
        if self.query(EntryBox):
            self.entry.put(text, whole=whole)
        if whole and text.strip() and not not_taken:
            not_taken = _("“{text}” is not entered: that Enter came before this screen was up.", text=text.strip())
        if not_taken and self.query("#says"):
            self._tell_not_taken(not_taken)
            self.complain("")

    # -- keys and texts, in order

    def on_mount(self) -> None:
        """Begins to take what is typed, beside the drawing: a slow disk must not hide the next figure."""
        for asking in self.query("#asking"):
            asking.border_title = self.judges
        self.run_worker(self._take_turns(), group="turns")

    @on(events.Resize)
    def _mind_size(self, event: events.Resize) -> None:
        """In a window where the box has no room, says so; the box keeps the keys, and what was typed."""
        cover = next(iter(self.query(TooSmall)), None)
        if not too_small(event.size):
            if cover is not None:
                cover.remove()
            return
        if cover is None:
            cover = TooSmall()
            self.mount(cover)
        cover.say(event.size)

    @on(EntryBox.Committed)
    @on(EntryBox.Pressed)
    @on(EntryBox.Dropped)
    @on(EntryBox.Replaced)
    @on(EntryBox.Answered)
    @on(EntryBox.Flooded)
    def _line_up(self, event: Turn) -> None:
        self._turns.put_nowait(event)

    @on(EntryBox.Full)
    def _say_full(self) -> None:
        self.complain(
            _(
                "Too long: {longest} characters at most. The rest was dropped; Escape clears the box.",
                longest=LONGEST,
            )
        )

    async def _take_turns(self) -> None:
        while True:
            event = await self._turns.get()
            if not isinstance(event, EntryBox.Answered) and self._named_seen:
                self._not_taken = ""
            try:
                if isinstance(event, EntryBox.Committed):
                    await self._committed(event)
                elif isinstance(event, EntryBox.Pressed):
                    await self._pressed(event)
                elif isinstance(event, EntryBox.Answered):
                    self.host.call_later(self.host.release)
                elif isinstance(event, EntryBox.Flooded):
                    self.complain(
                        _("More than {most} characters came at once; what did not fit was dropped.", most=event.most)
                    )
                elif isinstance(event, EntryBox.Replaced):
                    self.dropped()
                    self._tell_not_taken(_("“{text}” was not entered.", text=event.text))
                    self.say("")
                else:
                    self.dropped()
                    self.say(_("“{text}” was not entered. Escape again goes back.", text=event.text))
            except NoMatches:
                if not self.is_left and self.query(EntryBox):  # without its box the app is ending, and takes no more
                    raise
            finally:
                self._turns.task_done()

    async def settled(self) -> None:
        """Waits until everything typed so far has been taken; not to be called from what takes it."""
        lined_up = asyncio.Event()
        self.call_later(lined_up.set)
        await lined_up.wait()
        await self._turns.join()

    async def _committed(self, event: EntryBox.Committed) -> None:
        self.had_seen = event.seen
        try:
            await self._take(event)
        except (Refusal, JournalError) as wrong:
            self._refused_turn = event.entry.turn
            self._also_refused = 0
            if event.entry.put_back(event.text):
                self.refused(event.text, wrong)
                self.refuse(wrong)
            else:  # what was typed since was typed for what comes behind it
                self.refuse(wrong)
                self.lost(_("“{text}” was not taken.", text=event.text))
        finally:
            event.entry.draw(event.turn)

    async def _take(self, event: EntryBox.Committed) -> None:
        if not self.is_up:
            # A key before it led to another screen: it was meant for that one, which nobody had seen yet.
            self._tell_current(_("Ignored, typed before this screen was up: “{text}”.", text=event.text), event.text)
        elif event.turn > self._refused_turn:
            self._refuse_if_lost(event)
            await self.commit(event.text)
        elif event.text.strip():
            # It was typed before anyone could see that the text before it was refused, and meant what followed.
            self._also_refused += 1
            if self._also_refused <= NAMED_AT_MOST:
                self.complain(_("{said}  Not taken either: “{text}”.", said=self._said, text=event.text))
            elif self._also_refused == NAMED_AT_MOST + 1:
                self.complain(_("{said}  Nor what followed it.", said=self._said))

    async def _pressed(self, event: EntryBox.Pressed) -> None:
        for binding in own(self).get(event.key, []):
            # A key that came twice must not open a second screen on top of the first.
            if self.is_up and self.check_action(binding.action, ()) is not False:
                await self.act(binding.action)

    async def act(self, action: str) -> None:
        """Runs one of the screen's actions, from a key or the palette; what can't be done is said, not raised."""
        if not self.is_mounted:
            self.call_later(self.act, action)  # chosen before the screen was made up: its turn comes behind that
            return
        if not self.is_up:
            self._tell_current(
                _("Ignored, another screen was up by then: {named}.", named=named(self, action)), action
            )
            return
        await self.run_action(action)

    def refused(self, text: str, wrong: Refusal | JournalError) -> None:
        """The text was not taken, and stands in the box again."""

    def dropped(self) -> None:
        """What was refused does not stand in the box any more."""

    def refuse(self, wrong: Refusal | JournalError) -> None:
        """Says what can't be done, and where else it can."""
        says = f"{wrong}{self.WHERE_ELSE if isinstance(wrong, NotSavedError) else ''}"
        if self.query("#says"):
            self.complain(says)
        else:
            self._tell_current(says, says)  # this screen was left while it was being done

    def _tell_current(self, text: str, typed: str) -> None:
        def tell() -> None:
            screen = self.app.screen  # the one that was up may have led on to another, which is not made up yet
            if isinstance(screen, EntryScreen) and screen.query("#says"):
                screen.complain(text)

        if typed.strip():
            self.app.screen.call_after_refresh(tell)

    def lost(self, what: str) -> None:
        """Says that what the next text was for is gone; a text typed before this is not taken at once for another."""
        self._lost = what, self.entry.turn, self.entry.value
        self.complain(f"{what} {self._said}")

    def _refuse_if_lost(self, event: EntryBox.Committed) -> None:
        if self._lost is None:
            return
        (what, turn, begun), self._lost = self._lost, None
        keyed_before = event.turn <= turn or (event.turn == turn + 1 and begun and event.text.startswith(begun))
        if keyed_before and event.text.strip():
            raise Refusal(
                _(
                    "{what} “{text}” was typed before that; Enter again uses it for what is asked now.",
                    what=what,
                    text=event.text,
                )
            )

    async def keep(self, text: str, about: object, *actions: Action) -> Entry:
        """Records actions; a second Enter behind the same text about the same thing retries the same ones.

        But only those that say what would be said now. A reading that was not saved leaned on the setup of its time;
        entered again behind a new one it is another reading. Should the first be on the disk after all, both stand
        in the log: each was entered, each leans on its own setup, and the later one counts.
        """
        drafts = tuple(map(self.session.draft, actions))
        if self._unsaved is not None and self._unsaved[:2] == (text, about):
            drafts = tuple(_tried(self._unsaved[2], draft) for draft in drafts)
        self._unsaved = text, about, drafts
        self.keeping = True
        try:
            entry = await self.host.record(*drafts)
        finally:
            self.keeping = False
        self._unsaved = None
        return entry

    @contextlib.contextmanager
    def patient(self) -> Iterator[None]:
        """While something is being written: where that takes long, the line says that it is not saved yet."""
        before = self._said
        timer = asyncio.get_running_loop().call_later(waiting.SAID_AFTER, self._say_waiting)
        try:
            yield
        finally:
            timer.cancel()
            if self._said == WAITING and self.is_attached:
                self.say(before)

    def _say_waiting(self) -> None:
        if self.is_attached:
            self.say(WAITING)

    # -- one line of words above the entry

    _said = ""
    _not_taken = ""
    _named_seen = True

    def _tell_not_taken(self, not_taken: str) -> None:
        """Says what was typed and not taken, before all else, until that was on the screen and something is done."""
        self._not_taken = not_taken if self._named_seen else f"{self._not_taken} {not_taken}".strip()
        self._named_seen = False
        self.call_after_refresh(self.host.call_later, self._named)

    def _named(self) -> None:
        self._named_seen = True

    def say(self, text: str) -> None:
        """Says what is to be done next; what was typed too early to be taken is told until something is done."""
        self._said = text
        line = self.query_one("#says", SentenceLines)
        line.remove_class("wrong")
        line.say(f"{self._not_taken} {text}".strip())
        for keys in self.query(KeyLine):
            keys.keep_up()

    def say_first(self, text: str) -> None:
        """Says that before what the line says, which stays as it is, until something is done."""
        line = self.query_one("#says", SentenceLines)
        wrong = line.has_class("wrong")
        if text not in self._not_taken:
            self._tell_not_taken(text)
        self.say(self._said)
        line.set_class(wrong, "wrong")

    def complain(self, text: str) -> None:
        """Says what is wrong, and rings the bell for someone who looks elsewhere."""
        self.say(text)
        self.query_one("#says", SentenceLines).add_class("wrong")
        self.app.bell()

    def action_enter_alone(self) -> None:
        """What Enter does with what stands in the box, for a finger on the line of keys."""
        self.entry.post_message(events.Key("enter", None))

    async def action_back(self) -> None:
        """One step back; what is typed was dropped by the entry before the key comes here."""
        await self.leave()

    async def leave(self) -> None:
        """Goes back to the screen before this one."""
        self.dismiss()


def _tried(before: tuple[Draft, ...], draft: Draft) -> Draft:
    """The draft that was tried before where it says the same: by its id the journal knows whether it has it."""
    same = (each for each in before if (each.fact, each.replaces) == (draft.fact, draft.replaces))
    return next(same, draft)
