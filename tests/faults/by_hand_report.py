"""The daily report that follows from `by_hand`, in the form of the program's JSON, numbers only."""

from __future__ import annotations

import base64
from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

from tests.faults.by_hand import (
    ALLOWED,
    MARK,
    OUT,
    STAGES,
    Place,
    Row,
    exact,
    figure,
    headline,
    inches,
    marks,
    nearest,
    rounded,
)
from tests.faults.by_hand_instrument import InstrumentOfDay, Said

Surface = tuple[str, str, str]


NAMED = {"set-up": "setup", "mark given": "mark", "point added": "point", "signed off": "signed"}
"""Kinds of entries that are kept under another word than they are told by."""


class Sheet(InstrumentOfDay):
    """One day of a journal that was read by hand."""

    def __init__(self, job: Path, journal: Path, day: str) -> None:
        super().__init__(job, journal, day)
        self.by_id = {row.id: row for row in self.rows}
        self.shots: dict[Surface, list[Place]] = {}
        for each in self.book.of("reading"):
            fact = each.last.fact
            self.shots.setdefault((fact["area"], fact["point"], fact["stage"]), []).append(each)

    def all(self) -> Said:
        """Everything on it that is a number."""
        own = [row for row in self.rows if row.day == self.day]
        people = Counter(row.by for row in own)
        end = self.rows[-1]
        dug = [(area, self.over_dig(area)) for area in self.job.areas]
        return {
            "job": self.job.name,
            "day": self.day,
            "weekday": f"{date.fromisoformat(self.day):%A}",
            "people": [f"{by} ({count} {'entry' if count == 1 else 'entries'})" for by, count in people.items()],
            "zero": f"from the job's zero: {', '.join(f'{name} is {exact(at)} in' for name, at in self.given())}",
            "instrument": {
                "rods": ["site rod (readings grow upward, marks every 1/16 in)"],
                "set_ups": [self.set_up(each) for each in self.set_ups()],
                "rechecks": [self.recheck(each) for each in self.book.of("recheck", self.day)],
                "marks": [self.noted(each.last, self.carried(each)) for each in self.book.of("mark", self.day)],
                "circuits": list(self.circuits()),
            },
            "summary": list(self.summary()),
            "open": list(self.open()) if end.day == self.day else [],
            "areas": list(self.areas()),
            "over_dig": [[area, {"says": says}] for area, says in dug if says],
            "struck": list(self.struck()),
            "trusted": [self.noted(each.last, self.told(each.last)[0]) for each in self.book.of("doubt", self.day)],
            "changes": [self.noted(each.last, self.told(each.last)[0]) for each in self.book.of("plan", self.day)],
            "notes": [self.noted(each.last, each.last.fact["text"]) for each in self.book.of("note", self.day)],
            "cautions_read": [
                self.noted(each.last, self.told(each.last)[0]) for each in self.book.of("cautions", self.day)
            ],
            "limits": [{"limit": f"{exact(ALLOWED)} in"}],
            "trace": {
                "first": own[0].seq,
                "last": own[-1].seq,
                "entries": len(own),
                "journal_last": end.seq,
                "journal_hash": end.hash,
                "journal_hash_short": read_out(end.hash),
                "plan": self.job.digest,
            },
        }

    def given(self) -> list[tuple[str, Fraction]]:
        """The benchmarks."""
        return list(self.job.given.items())

    # -- the readings

    def off(self, each: Place) -> Fraction:
        """How far a reading lies from what is wanted, as it is known now."""
        return self.book.sighted(each) - self.job.wanted(each.last.fact["point"], each.last.fact["stage"])

    def judged(self, row: Row) -> tuple[Fraction, str]:
        """What a reading was found to be when it was written, and how that was judged; the journal says the same."""
        fact = row.fact
        found = self.then(row.seq).plane(fact["setup"]) - inches(fact["rod"])
        wanted, limit = self.job.wanted(fact["point"], fact["stage"]), self.job.limits[fact["stage"]]
        kept, word = fact["judged"], rounded(found - wanted, limit)[0]
        told = inches(kept["found"]), inches(kept["wanted"]), inches(kept["high"]), inches(kept["low"]), kept["word"]
        assert told == (found, wanted, limit, limit, word), f"entry {row.seq} was judged otherwise than it says"
        return found, headline(found - wanted, limit)

    def reading(self, each: Place, latest: Place) -> Said:
        """One reading in its place."""
        row, found, off, doubt = each.last, self.book.sighted(each), self.off(each), self.book.in_doubt(each)
        point, stage, limit = row.fact["point"], row.fact["stage"], self.job.limits[row.fact["stage"]]
        wanted, rod, (found_then, then) = self.job.wanted(point, stage), inches(row.fact["rod"]), self.judged(row)
        trusted = "doubted, trusted" if self.book.trusted[each.first.id] else ""
        remarks = [
            "IN DOUBT" if doubt else trusted,
            f"corrects no. {each.first.seq}" if row.seq != each.first.seq else "",
            f"read again, no. {latest.last.seq}" if latest is not each else "",
            "questioned, kept" if row.fact["question"] else "",
            f"then found {marks(found_then)}" if found != found_then else "",
        ]
        return {
            "seq": row.seq, "time": row.time, "by": row.by, "point": point,
            "day": self.day,
            "setup": self.standing(row.fact["setup"]),
            "target": figure(wanted, f"{'~' if wanted % MARK else ''}{marks(wanted)}"),
            "rod": figure(rod, marks(rod)), "found": figure(found, marks(found)),
            "off": figure(off, exact(rounded(off, limit)[1], "+")),
            "then": then, "now": headline(off, limit), "doubt": doubt, "latest": latest is each,
            "remark": "; ".join(filter(None, remarks)),
        }  # fmt: skip

    def areas(self) -> Iterator[Said]:
        """Every area read that day, with its stages."""
        for area, points in self.job.areas.items():
            stages = []
            for stage in STAGES:
                shots = [(point, self.shots.get((area, point, stage), [])) for point in points]
                read = [self.reading(each, every[-1]) for _, every in shots for each in every
                        if each.first.day == self.day]  # fmt: skip
                if read:
                    stages.append(self.stage(stage, shots, read))
            if stages:
                over = self.over_dig(area)
                yield {"name": area, "stages": stages, "over_dig": {"says": over} if over else None}

    def stage(self, stage: str, shots: Sequence[tuple[str, list[Place]]], read: Sequence[Said]) -> Said:
        """One stage of an area."""
        last = [(point, every[-1]) for point, every in shots if every]
        limit = exact(self.job.limits[stage])
        return {
            "checks": list(self.left_out(stage, last)),
            "stage": stage, "allowed": f"{limit} high, {limit} low (the plan)", "points": len(shots),
            "readings": list(read), "unread": [point for point, every in shots if not every],
            "earlier": [f"{point} no. {each.last.seq} ({each.first.day})" for point, each in last
                        if each.first.day != self.day],
        }  # fmt: skip

    def left_out(self, stage: str, last: Sequence[tuple[str, Place]]) -> Iterator[Said]:
        """Which points no check of the surface uses: no point of this job has a place, and doubt leaves out more."""
        doubted = [point for point, each in last if self.book.in_doubt(each)]
        known = [point for point, each in last if not self.book.in_doubt(each)]
        if known and stage != "subgrade":
            has, them = ("has", "it") if len(known) == 1 else ("have", "them")
            left = "slopes, flatness and ponding leave" if stage == "finish" else "flatness leaves"
            says = f"{_some(known)} {has} no place, so {left} {them} out; give {them} “at: [x, y]”"
            yield {"section": "places", "verdict": "not checked", "says": says}
        if doubted:
            why = "in doubt or without a setup that counts, so every check leaves them out; read them again"
            yield {"section": "points", "verdict": "not checked", "says": f"{_some(doubted)}: {why}"}

    def counted(
        self, area: str, stage: str, day: str = ""
    ) -> tuple[dict[str, list[str]], list[tuple[str, Fraction]]]:
        """The points last read, then or ever, by verdict or doubt; and those out with what they are off by."""
        words: dict[str, list[str]] = {}
        out = []
        for point in self.job.areas[area]:
            each = self.shots.get((area, point, stage), [None])[-1]
            if each is None or day not in ("", each.first.day):
                words.setdefault("not read", []).append(point)
                continue
            off = self.off(each)
            word = rounded(off, self.job.limits[stage])[0]
            words.setdefault("doubt" if self.book.in_doubt(each) else word, []).append(point)
            if word in OUT:
                out.append((point, off))
        return words, out

    def summary(self) -> Iterator[Said]:
        """The counts of each stage read that day."""
        asked, struck = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
        for row in self.rows:
            before = self.by_id[row.replaces] if row.replaces else row
            if row.day == self.day and before.kind == "reading":
                key = before.fact["area"], before.fact["stage"]
                asked[key] += row.replaces is None and bool(row.fact["question"])
                struck[key] += row.kind == "void"
        for area, points in self.job.areas.items():
            for stage in STAGES:
                words, out = self.counted(area, stage, self.day)
                read = len(points) - len(words.get("not read", []))
                if read or struck[area, stage]:
                    worst = max(out, key=lambda each: abs(each[1]), default=None)
                    count = {word: len(names) for word, names in words.items()}
                    yield {
                        "area": area, "stage": stage, "points": len(points), "read": read,
                        "within": count.get("ON GRADE", 0), "cut": count.get("CUT", 0), "fill": count.get("FILL", 0),
                        "undecided": 0, "doubt": count.get("doubt", 0),
                        "worst": f"{worst[0]} {headline(worst[1], self.job.limits[stage])}" if worst else "",
                        "questioned": asked[area, stage], "voided": struck[area, stage],
                    }  # fmt: skip

    def over_dig(self, area: str) -> str:
        """What the dig was too deep by, at the points that are trusted."""
        last = [self.shots[area, point, "subgrade"][-1] for point in self.job.areas[area]
                if (area, point, "subgrade") in self.shots]  # fmt: skip
        depths = [(max(Fraction(0), -self.off(each)), each.last.fact["point"]) for each in last
                  if not self.book.in_doubt(each)]  # fmt: skip
        deep = [each for each in depths if each[0]]
        if not deep:
            return f"none at {len(depths)} point{'s' if len(depths) != 1 else ''} read" if depths else ""
        mean = nearest(sum((depth for depth, _ in deep), Fraction(0)) / len(depths), Fraction(1, 64))
        worst, where = max(deep, key=lambda each: each[0])
        unknown = "no stone quantity: the plan has neither an outline nor places"
        deepest = f"mean {exact(mean) if mean else 'less than 1/64'} in, worst {marks(worst)} in at {where}"
        return f"{len(deep)} of {len(depths)} below target, {deepest}; {unknown}"

    def open(self) -> Iterator[str]:
        """What is still to be done, in sentences."""
        if wrong := self.disagrees(self.book.of("set-up")[-1]):
            yield f"{wrong}. Set up again."
        last = sorted((every[-1] for every in self.shots.values()), key=lambda each: each.first.seq)
        doubts = [f"{each.last.fact['point']} {each.last.fact['stage']}" for each in last if self.book.in_doubt(each)]
        if doubts:
            more = f" and {len(doubts) - 6} more" if len(doubts) > 7 else ""
            named = ", ".join(doubts[:6] if more else doubts)
            yield f"In doubt: {named}{more}. Read them again, or say why they can be trusted."
        newest = self.book.of("set-up")[-1]
        moved = any(each.first.seq > newest.first.seq for each in self.book.of("moved"))
        if not moved and self.book.disturbed(newest.first.id) is None:
            looked = self.book.last_good(newest.first.id)
            since = sum(each.last.fact["setup"] == newest.first.id and each.first.seq > looked
                        for each in self.book.of("reading"))  # fmt: skip
            if since:
                told = f"{since} reading{'s' if since > 1 else ''} since the last recheck"
                yield f"{told}; recheck one before packing up."
        for area, points in self.job.areas.items():
            wrong, read = [], []
            for stage in STAGES:
                words, _ = self.counted(area, stage)
                unread, doubt = words.get("not read", []), words.get("doubt", [])
                out = [point for point in points if any(point in words.get(word, []) for word in OUT)]
                if len(unread) < len(points):
                    read.append(stage)
                    parts = [f"{len(unread)} of {len(points)} not read ({some(unread)})"] * bool(unread)
                    parts += [f"{len(out)} not on grade ({some(out)})"] * bool(out)
                    parts += [f"{len(doubt)} in doubt ({some(doubt)})"] * bool(doubt)
                    wrong += [f"{stage} {', '.join(parts)}"] * bool(parts)
            if read:
                told = [*wrong, f"{', '.join(read)} not signed"]
                yield f"{area}: {'; '.join(told if wrong else ['all read is on grade', *told])}."

    # -- what was put right and noted

    def struck(self) -> Iterator[Said]:
        """What was struck or put right that day, or of that day later."""
        for row in self.rows:
            if row.replaces is None:
                continue
            old, first = self.by_id[row.replaces], self.book.first[self.book.home[row.id]]
            if self.day in (row.day, first.day):
                subject, *more = self.told(old)
                was = ", ".join(filter(None, (f"no. {old.seq} {NAMED.get(old.kind, old.kind)} {subject}", *more)))
                if row.kind == "void":
                    yield self.noted(row, was, kind="struck", why=row.fact["why"])
                else:
                    now = ", ".join(filter(None, ("now reads", *self.told(row)[1:])))
                    yield self.noted(row, was, kind="corrected", why=now)

    def told(self, row: Row) -> tuple[str, ...]:
        """What an entry is about, what was keyed, and how it was judged."""
        fact = row.fact
        match row.kind:
            case "reading":
                asked = " (questioned)" if fact["question"] else ""
                return f"{fact['point']} {fact['stage']}{asked}", row.typed, self.judged(row)[1]
            case "backsight":
                return f"on {fact['sight']['mark']}, site rod", row.typed
            case "set-up":
                sights = [(each["mark"], exact(inches(each["rod"]))) for each in fact["backsights"]]
                keyed = " ".join(f"{mark}={rod}" for mark, rod in sights)
                several = row.replaces and len(sights) > 1
                on = ", ".join(mark for mark, _ in sights)
                return f"on {on}, site rod", keyed if several or not row.typed else row.typed
            case "doubt":
                several = len(fact["readings"]) != 1
                return (f"{len(fact['readings'])} reading{'s' * several} trusted: {fact['why']}",)
            case "cautions":
                return (f"{len(fact['cautions'])} cautions read",)
            case _:
                return (f"plan {fact['digest'][:8]} accepted",)


def read_out(digest: str) -> str:
    """A hash in groups: the letters of RFC 4648's base 32 put for those of crockford.com/base32.html."""
    letters = base64.b32encode(bytes.fromhex(digest)[:20]).decode()
    there = letters.translate(str.maketrans("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", "0123456789ABCDEFGHJKMNPQRSTVWXYZ"))
    return " ".join(there[start : start + 4] for start in range(0, 32, 4))


def some(names: Sequence[str]) -> str:
    """The first few."""
    return ", ".join(names) if len(names) <= 6 else f"{', '.join(names[:5])} and {len(names) - 5} more"


def _some(names: Sequence[str]) -> str:
    return ", ".join(names) if len(names) <= 4 else f"{', '.join(names[:3])} and {len(names) - 3} more"
