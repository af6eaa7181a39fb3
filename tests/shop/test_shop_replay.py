"""The same history again: the same shop, whoever sends it twice and however marks are kept."""

from __future__ import annotations

import random
import shutil
import sqlite3
from collections import defaultdict
from contextlib import closing
from datetime import datetime, timedelta
from functools import partial

import pytest
from floor import HELD, Floor, grams, written
from wished import lb, line, order

from collop.measures import Temperature, Weight
from collop.shop import NewDelivery, NewPiece, StillClock, acts, open_shop
from collop.shop.stock import keep_mark

MARKS = ("stock_marks", "stock_mark_lines")
SATURDAY = datetime(2026, 6, 20, 10, 0)  # noqa: DTZ001 -- shop-local


class Days:
    """Some days of a shop, drawn by a seed: a third of all it tries is refused."""

    def __init__(self, floor, seed):
        self.floor = floor
        self.random = random.Random(seed)
        self.bookings = []
        self.came = 0

    def live(self, steps):
        """Do so many things; the clock goes on, and now and then back."""
        for _ in range(steps):
            minutes = self.random.choice([0, 1, 7, 40, 120, -30])
            self.floor.clock.put(self.floor.clock.now() + timedelta(minutes=minutes))
            self.random.choice(
                [self.receive, self.hang, self.cut_up, self.cut_up, self.put, self.bin, self.count,
                 self.book, self.at_counter]
            )()  # fmt: skip

    def some_lot(self, *places):
        """Return something that lies at one of these places."""
        return self.random.choice(self.floor.lies(*places))

    def share(self, count):
        """Return some of a weight, sometimes a little more than all of it."""
        return Weight(count * self.random.choice([20, 50, 100, 100, 103]) // 100)

    def receive(self):
        """Take in a lamb, sometimes with a tag that is taken."""
        self.came += self.random.random() < 0.8
        tag = f"R-{self.came}"
        piece = NewPiece(tag, "lamb", "lamb carcass", grams(22_000 + self.came))
        new = NewDelivery(
            tag,
            "lamb",
            "Upper Nimmock",
            [piece],
            grams(22_000),
            papers=["inspection mark"],
            temperature=Temperature.fahrenheit(38),
        )
        self.floor.call("cutting.receive", new, by="marek")

    def hang(self):
        """Weigh and plan what hangs."""
        lot, _, count = self.some_lot("rail")
        self.floor.call("cutting.hang", lot, Weight(count * 99 // 100), by="kofi")
        self.floor.call("cutting.plan_break", lot, SATURDAY.date(), by="ines")

    def cut_up(self):
        """Break one piece: all its parts, one taken back and weighed again, closed, reopened."""
        tag = self.some_lot("rail")[0]
        style = (
            "lamb" if tag.startswith(("R", "L")) else self.random.choice(["hind", "side", "goat"])
        )
        made = self.floor.call("cutting.start_break", tag, style, by="marek")
        if isinstance(made, Exception):
            return
        for part in [one for one in made.style.parts if one.kind != "loss"]:
            weight = Weight(int(made.start.count * part.share))
            made = self.floor.call("cutting.weigh_part", made.number, part.id, weight, by="marek")
        last = made.parts[-1]
        part = next(one for one in made.style.parts if one.name == last.part)
        self.floor.call("cutting.take_back", made.number, last.seq, by="kofi", why="pan")
        self.floor.call("cutting.close_break", made.number, by="marek", why=" ")
        self.floor.call("cutting.weigh_part", made.number, part.id, last.weight, by="marek")
        self.floor.call("cutting.close_break", made.number, by="marek", why="as weighed")
        if self.random.random() < 0.5:
            self.floor.call("cutting.reopen_break", made.number, by="ines", why="looked again")

    def put(self):
        """Put what waits in the case, if it is of that kind."""
        lot, place, count = self.some_lot("block", "trim", "bone")
        case_id = self.random.choice(["C06", "C11", "C13", "C32", "C31"])
        self.floor.call("cutting.put_in_case", lot, place, case_id, by="dot",
                        weight=self.share(count))  # fmt: skip

    def bin(self):
        """Bin some of what lies somewhere."""
        lot, place, count = self.some_lot("case", "fat", "bone", "booked", "block")
        self.floor.call("cutting.bin", lot, place, by="dot", why="past it",
                        weight=self.share(count))  # fmt: skip

    def count(self):
        """Count a line of the case or a lot elsewhere."""
        one = self.random.choice(self.floor.shop.case())
        self.floor.call("cutting.count_case", one.id, self.share(one.on_hand.count), by="dot")
        lot, place, count = self.some_lot("trim", "fat", "bone", "rail")
        self.floor.call("cutting.count_lot", lot, place, self.share(count), by="dot")

    def book(self):
        """Book a cut and a bird, and hang a booking on a lamb."""
        one = self.random.choice([one for one in self.floor.shop.case() if not one.piece_lb])
        wishes = [line(one.id, "1.5"), line("C23", "4.1", pieces=["4.1"])]
        made = self.floor.call("book", order(*wishes, collect_at=SATURDAY))
        if not isinstance(made, Exception):
            self.bookings.append(made.id)
            self.floor.call("cutting.claim", made.id, self.some_lot("rail")[0], lb(5), by="ines")

    def at_counter(self):
        """Release, undo or hand over one of the bookings."""
        if not self.bookings:
            return
        name = self.random.choice(self.bookings)
        way = self.random.choice(["release", "undo", "hand_over", "hand_over"])
        if way == "hand_over":
            weights = {one.id: one.weight for one in self.floor.shop.booking(name).lines}
            self.floor.call(way, name, weights, by="dot")
        else:
            self.floor.call(way, name, by="dot", **({"why": "rang"} if way == "release" else {}))


@pytest.fixture(scope="module")
def history(demo_file, tmp_path_factory):
    """Let the demo shop live some days and keep every call."""
    floor = Floor(shutil.copy(demo_file, tmp_path_factory.mktemp("history") / "shop.db"))
    Days(floor, seed=7).live(90)
    yield floor
    floor.close()


def sent_again(calls, url, *, times=1):
    """Send calls to another shop, each at its hour and so many times."""
    clock = StillClock()
    shop = open_shop(url, clock)
    for call in calls:
        clock.put(call.at)
        for _ in range(times):
            call.send(shop)
    return shop


def what_it_shows(shop):
    """Return what the shop shows of itself."""
    numbers = [one.number for one in shop.cutting.open_breaks()]
    return {
        "stock": shop.cutting.stock(), "case": shop.case(), "rail": shop.rail(),
        "open": [shop.cutting.break_(number) for number in numbers],
        "worth": shop.board_value(), "check": shop.check(),
        "bookings": shop.bookings(datetime(2026, 6, 1).date(), SATURDAY.date()),  # noqa: DTZ001
    }  # fmt: skip


def test_the_history_did_something(history):
    """It is no empty proof: hundreds of calls were kept, dozens refused."""
    kinds = {call.name for call in history.calls}
    assert len(kinds) >= 15
    assert len(history.calls) > 200
    assert len(history.refused) > 30
    assert history.shop.check() == []


def test_a_history_replayed_gives_the_same_shop(history, shop_file, url):
    """Every row of every table is the same, but for the ids of moves, which are drawn by lot."""
    with sent_again(history.calls, url) as shop:
        shown = what_it_shows(shop)
        assert shown == what_it_shows(history.shop)
        assert shown["check"] == []
    assert written(shop_file) == written(history.file)


def test_the_refused_need_not_be_sent(history, shop_file, url):
    """With what was refused sent too, in its place and hour, the shop is the same."""
    with sent_again([], url) as shop:
        clock = shop._room.clock
        for call in sorted(history.calls + history.refused, key=_number):
            clock.put(call.at)
            try:
                call.send(shop)
            except Exception:  # noqa: BLE001 -- what is refused here was refused there
                assert call in history.refused
            else:
                assert call in history.calls
    assert written(shop_file) == written(history.file)


def _number(call):
    return int(call.named["key"].removeprefix("key-"))


def test_every_key_sent_twice_changes_nothing(history, shop_file, url):
    """Each request is sent twice at once, then all of them again, days later and in any order."""
    with sent_again(history.calls, url, times=2) as shop:
        assert written(shop_file) == written(history.file)
        late = list(history.calls)
        random.Random(1).shuffle(late)
        shop._room.clock.put(SATURDAY)
        for call in late:
            call.send(shop)
    assert written(shop_file) == written(history.file)


@pytest.mark.parametrize("every", [1, 5, 23])
def test_marks_change_no_sum(history, shop_file, url, monkeypatch, every):
    """With a mark each few entries the shop shows the same, now and at every past moment."""
    monkeypatch.setattr(acts, "keep_mark", partial(keep_mark, every=every))
    with sent_again(history.calls, url) as shop:
        assert what_it_shows(shop) == what_it_shows(history.shop)
        for moment, _ in history.told:
            assert shop.cutting.stock(moment) == history.shop.cutting.stock(moment)
        marks = shop_marks(shop_file)
        assert len(marks) >= len(history.told) // (every + 1)
        for seq, lines in marks.items():
            assert lines == summed_up_to(shop_file, seq)
    assert written(shop_file, *MARKS) == written(history.file, *MARKS)


def shop_marks(file):
    """Return each mark's lines by the entry it was kept after."""
    found = {}
    for seq, lot, place, count in _ask(
        file,
        "SELECT mark_seq, lot_id, place, sum(count) FROM stock_mark_lines GROUP BY 1, 2, 3",
    ):
        found.setdefault(seq, {})[lot, place] = count
    return found


def _ask(file, query):
    with closing(sqlite3.connect(file)) as conn:
        return conn.execute(query).fetchall()


def summed_up_to(file, seq):
    """Return what is on hand after an entry, added up one by one from the first."""
    found = defaultdict(int)
    query = f"SELECT lot_id, place, delta FROM ledger_entries WHERE seq <= {seq}"  # noqa: S608
    for lot, place, delta in _ask(file, query):
        if place in HELD:
            found[lot, place] += delta
    return {key: count for key, count in found.items() if count}
