"""Make a shop with years behind it: every lot, link, break, booking and mark the program writes.

The rows go in by bulk, not call by call, but each act leaves the same rows in the same tables as
the program leaves for it; money alone is left out. ``collop check`` is clean on the result, and
marks are kept by the program's own function. Everything is seeded and invented.
"""

from __future__ import annotations

import random
import sqlite3
from collections import Counter, defaultdict
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from fractions import Fraction
from pathlib import Path

from rows import COLUMNS, Rows

from collop.shop import DEMO_START, NewPart, NewStyle, create_shop
from collop.shop.railing import AIR
from collop.shop.stock import keep_mark
from collop.shop.store import Store

__all__ = ["build"]

_GRAM = 100_000_000  # counts
_STEP = 5 * _GRAM
_HANGS_DAYS = 3
_MARK_EVERY = 10_000
_SUNDAY = 6


@dataclass(frozen=True, slots=True)
class Cut:
    """A part of a style as the builder weighs it."""

    part_id: int
    name: str
    place: str
    case_id: str | None
    share: Fraction


@dataclass(slots=True)
class Lot:
    """A lot in the past being made: where it is, and how many lots were cut from it."""

    id: str
    species: str
    farm: str
    delivery: int
    count: int
    case_id: str | None = None
    use_by: date | None = None
    children: int = 0
    free: int = 0


@dataclass(slots=True)
class Promise:
    """A booking that waits for its day: its lines as (line id, lot, count)."""

    number: int
    lines: list[tuple[int, Lot, int]] = field(default_factory=list)


def _styles() -> tuple[NewStyle, NewStyle]:
    def parts(cuts: list[tuple[str, str, int]]) -> list[NewPart]:
        found = [
            NewPart(name, "cut", "case", Fraction(share, 100), case_id, 5)
            for name, case_id, share in cuts
        ]
        rest = 99 - sum(share for _, _, share in cuts)
        shares = {"trim": rest - 12, "fat": 5, "bone": 7}
        found += [NewPart(kind.title(), kind, kind, Fraction(share, 100))
                  for kind, share in shares.items()]  # fmt: skip
        return [*found, NewPart("Loss", "loss", "drip", Fraction(1, 100))]

    lamb = [("Leg, left", "C01", 15), ("Leg, right", "C01", 15), ("Shoulder, left", "C02", 11),
            ("Shoulder, right", "C02", 11), ("Breast", "C03", 7), ("Riblets", "C03", 5),
            ("Loin chops", "C04", 8), ("Chump chops", "C04", 3), ("Neck", "C05", 5)]  # fmt: skip
    beef = [("Brisket", "C10", 12), ("Short ribs", "C09", 8), ("Chuck eye", "C07", 10),
            ("Blade", "C08", 7), ("Shin, fore", "C15", 5), ("Shin, hind", "C15", 4),
            ("Rump", "C13", 12), ("Fillet", "C12", 3), ("Hanger and skirt", "C14", 2)]  # fmt: skip
    return (
        NewStyle("lamb-12", "lamb", "lamb carcass", "Lamb in twelve", parts(lamb)),
        NewStyle("side-12", "beef", "beef side", "Side in twelve", parts(beef)),
    )


class Past:
    """Writes one day after another until there are enough entries."""

    def __init__(self, file: Path, seed: int) -> None:
        self.random = random.Random(seed)
        self.rows = Rows(file)
        self.rail: defaultdict[date, list[tuple[Lot, str]]] = defaultdict(list)
        self.waiting: list[Promise] = []
        self.fresh: list[Lot] = []
        self.in_case: list[Lot] = []
        self.trim: list[Lot] = []
        self.waste: list[tuple[Lot, str]] = []
        self.animals = 0
        self.styles = {style: self.rows.cuts(style, Cut) for style in ("lamb-12", "side-12")}

    def day(self, today: date) -> None:
        """Write one day: door, rail, block, case, counter, bins."""
        self.rows.at = datetime.combine(today, time(7))
        for _ in range(2):
            self.receive(today)
        for lot, _style in self.rail[self.rows.days_ago(today, 1)]:
            self.hang(lot)
        self.rows.at = datetime.combine(today, time(9))
        for lot, style in self.rail.pop(self.rows.days_ago(today, _HANGS_DAYS), []):
            self.break_piece(lot, style, today)
        self.trim_to_case(today)
        self.rows.at = datetime.combine(today, time(11))
        self.counter()
        self.rows.at = datetime.combine(today, time(12))
        self.book(today)
        self.rows.at = datetime.combine(today, time(18))
        self.bins(today)

    def steps(self, low: int, high: int) -> int:
        """Return a weight between two in kilograms, as a scale of five grams reads it."""
        return self.random.randrange(low * 200, high * 200) * _STEP

    def receive(self, today: date) -> None:
        """Take in a lamb, hung whole, or every fourth time a beef animal, hung as two sides."""
        self.animals += 1
        is_beef = self.animals % 4 == 0
        species = "beef" if is_beef else "lamb"
        tag, farm = f"{species[0].upper()}{self.animals:06d}", f"Farm {self.animals % 9}"
        sides = [self.steps(130, 170), self.steps(130, 170)] if is_beef else [self.steps(20, 26)]
        total = sum(sides)
        self.rows.act("receive")
        number = self.rows.delivery(tag, farm, species, total)
        self.rows.lot(tag, "animal" if is_beef else "piece", species, number, farm=farm,
                      count=total, piece=None if is_beef else "lamb carcass")  # fmt: skip
        self.rows.entry(self.rows.move(), tag, "rail", total, "received")
        if not is_beef:
            self.rail[today].append((Lot(tag, species, farm, number, total), "lamb-12"))
            return
        for index, count in enumerate(sides, 1):
            side = Lot(f"{tag}-{index}", species, farm, number, count)
            self.rows.lot(side.id, "piece", species, number, farm=farm, count=count,
                          piece="beef side")  # fmt: skip
            self.rows.cut(tag, side.id, ("rail", "rail"), count, "hung apart")
            self.rail[today].append((side, "side-12"))

    def hang(self, lot: Lot) -> None:
        """Weigh a hanging piece again: half a hundredth to air."""
        lost = lot.count // 200 // _STEP * _STEP
        self.rows.act("hang")
        self.rows.pair(lot.id, ("rail", "drip"), lost, AIR)
        lot.count -= lost

    def break_piece(self, lot: Lot, style: str, today: date) -> None:
        """Break one piece into its twelve parts and close it."""
        self.rows.act("start break")
        self.rows.pair(lot.id, ("rail", "block"), lot.count, "to the block")
        number = self.rows.break_(lot.id, style, lot.count)
        left = lot.count
        for cut in self.styles[style]:
            count = int(lot.count * cut.share) // _STEP * _STEP
            self.rows.act("weigh part")
            child = self.child(lot, cut.name, count, cut.case_id, today)
            self.rows.cut(lot.id, child.id, ("block", cut.place), count, "cut")
            self.rows.weighing(number, cut.part_id, child.id, count)
            left -= count
            self.stow(child, cut.place)
        self.rows.act("close break")
        self.rows.pair(lot.id, ("block", "drip"), left, "loss at the block")
        self.rows.closed(number, left)

    def child(self, parent: Lot, what: str, count: int, case_id: str | None, today: date) -> Lot:
        """Make the lot that is cut from another."""
        parent.children += 1
        use_by = today + timedelta(days=5) if case_id else None
        found = Lot(f"{parent.id}.{parent.children:02d}", parent.species, parent.farm,
                    parent.delivery, count, case_id, use_by, free=count)  # fmt: skip
        self.rows.lot(found.id, "cut", parent.species, parent.delivery, farm=parent.farm,
                      count=count, what=what, case_id=case_id, use_by=use_by)  # fmt: skip
        return found

    def stow(self, lot: Lot, place: str) -> None:
        """Remember where a lot lies."""
        if place == "case":
            self.fresh.append(lot)
            self.in_case.append(lot)
        elif place == "trim":
            self.trim.append(lot)
        else:
            self.waste.append((lot, place))

    def trim_to_case(self, today: date) -> None:
        """Put each trim in the case as mince: a lot of a lot."""
        for lot in self.trim:
            case_id = "C06" if lot.species == "lamb" else "C11"
            mince = self.child(lot, "Mince", lot.count, case_id, today)
            self.rows.act("put in case")
            self.rows.cut(lot.id, mince.id, ("trim", "case"), lot.count, "cut")
            self.stow(mince, "case")
        self.trim = []

    def book(self, today: date) -> None:
        """Book what came into the case today, half a lot a line, two or three lines a booking."""
        halves = []
        for lot in self.fresh:
            half = lot.count // 2 // _STEP * _STEP
            halves += [(lot, half), (lot, lot.count - half - _STEP)]
        self.fresh = []
        self.random.shuffle(halves)
        while halves:
            wanted, halves = halves[:3], halves[3:]
            self.rows.act("book")
            promise = Promise(self.rows.booking(today + timedelta(days=1)))
            for position, (lot, count) in enumerate(wanted, 1):
                assert lot.case_id is not None
                line = self.rows.booking_line(promise.number, position, lot.case_id, count)
                self.rows.pair(lot.id, ("case", "booked"), count, "booked", line)
                lot.free -= count
                promise.lines.append((line, lot, count))
            self.waiting.append(promise)

    def counter(self) -> None:
        """Hand over what was booked the day before; one in twenty is released instead."""
        for promise in self.waiting:
            if self.random.random() < 0.05:
                self.release(promise)
            else:
                self.hand_over(promise)
        self.waiting = []

    def release(self, promise: Promise) -> None:
        """Give all of a booking back to the case."""
        self.rows.act("release")
        for line, lot, count in promise.lines:
            self.rows.pair(lot.id, ("booked", "case"), count, "released", line)
            lot.free += count
        self.rows.event(promise.number, "release", "off")

    def hand_over(self, promise: Promise) -> None:
        """Sell a booking, one line in ten a little under what was booked."""
        self.rows.act("hand over")
        slip = self.rows.slip(promise.number)
        for line, lot, count in promise.lines:
            rest = count // 10 if self.random.random() < 0.1 else 0
            self.rows.pair(lot.id, ("booked", "sold"), count - rest, "handed over", line)
            if rest:
                self.rows.pair(lot.id, ("booked", "case"), rest, "not taken", line)
                lot.free += rest
            self.rows.slip_line(slip, line, count - rest)
        self.rows.event(promise.number, "hand over", "gone")

    def bins(self, today: date) -> None:
        """Bin fat and bone, and what the case has past its day."""
        for lot, place in self.waste:
            self.rows.act("bin")
            self.rows.pair(lot.id, (place, "bin"), lot.count, "rendered")
        self.waste = []
        kept = []
        for lot in self.in_case:
            if lot.use_by is not None and lot.use_by > today:
                kept.append(lot)
            elif lot.free:
                self.rows.act("bin")
                self.rows.pair(lot.id, ("case", "bin"), lot.free, "past its day")
        self.in_case = kept


def build(file: Path, entries: int, *, seed: int = 1) -> Counter[str]:
    """Make a shop with at least so many ledger entries, ended at the close of a day.

    Parameters
    ----------
    file : Path
        Where the shop goes; must not be there yet.
    entries : int
        Ledger entries to reach, the demo week's own included.
    seed : int
        Of every choice.

    Returns
    -------
    Counter
        Rows by table.
    """
    url = f"sqlite:///{file}"
    with create_shop(url, demo=True) as shop:
        for style in _styles():
            shop.cutting.add_style(style, by="ines", key=f"style {style.id}")
    past, store = Past(file, seed), Store(url)
    today, marked = DEMO_START.date(), 0
    while past.rows.entries < entries:
        today += timedelta(days=1)
        if today.weekday() != _SUNDAY:
            past.day(today)
        if past.rows.entries - marked >= _MARK_EVERY:
            past.rows.flush()
            with store.write() as conn:
                keep_mark(conn, past.rows.at, every=_MARK_EVERY)
            marked = past.rows.entries
    past.rows.close()
    store.close()
    with closing(sqlite3.connect(file)) as conn:
        conn.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        tables = [*COLUMNS, "stock_marks", "stock_mark_lines"]
        sizes = {name: conn.execute(f"SELECT count(*) FROM {name}").fetchone()[0]  # noqa: S608
                 for name in tables}  # fmt: skip
    return Counter(sizes)
