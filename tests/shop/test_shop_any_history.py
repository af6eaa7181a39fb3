"""From the door to the slip, in any order and with any nonsense between: no pound is lost."""

from __future__ import annotations

import shutil
import tempfile
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from floor import HELD, LEFT, WHOLE_LEGS, Floor, by_piece, came_in, grams, share_of, summed
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from wished import line, order

from collop.measures import Temperature, Weight
from collop.shop import NewDelivery, NewLine, NewPiece

ANY = st.integers(min_value=0, max_value=60)
PERCENT = st.sampled_from([100, 60, 30, 104, 99, 5, 0, -1])
SHARES = st.lists(st.integers(min_value=1, max_value=45), min_size=1, max_size=6)
WORDS = st.sampled_from(["dropped", "said so", "as it is", "  "])


@dataclass(frozen=True)
class Drawn:
    """What one step is made of."""

    at: int
    other: int
    percent: int
    words: str
    shares: list[int]


# one draw for all kinds of steps, so that none is left out of a whole history
DRAWN = st.builds(Drawn, at=ANY, other=ANY, percent=PERCENT, words=WORDS, shares=SHARES)
PIECES = [
    ("lamb carcass", "lamb"),
    ("half pig", "pork"),
    ("beef forequarter", "beef"),
    ("?", "eel"),
]
HUGE = Weight(10**30)
LATER = datetime(2026, 6, 20, 10, 0)  # noqa: DTZ001 -- shop-local


class Door:
    """What happens before the block."""

    def receive(self, drawn):
        """Take an animal in, whole or in two; some weigh nothing or have a tag already taken."""
        at, kilos, halves = drawn.at, drawn.other // 2, 1 + drawn.other % 2
        piece, species = PIECES[at % len(PIECES)]
        tag = f"Z-{at % 20}"
        tags = [tag] if halves == 1 else [f"{tag}a", f"{tag}b"]
        pieces = [NewPiece(one, piece, piece, grams(kilos * 1000 + 5)) for one in tags]
        new = NewDelivery(
            tag, species, "Upper Nimmock", pieces if at % 7 else [],
            invoiced=grams(kilos * 1000 * halves), papers=("inspection mark",) * (at % 5 > 0),
            temperature=Temperature.fahrenheit(38 + at % 6),
        )  # fmt: skip
        self.floor.call("cutting.receive", new, by="marek")

    def hang(self, drawn):
        """Weigh a hanging piece again, sometimes heavier than it can be."""
        at, percent = drawn.at, 88 + drawn.other % 18
        tag = self.some([*self.floor.hanging(), "nobody", "C01-0609"], at)
        there = sum(count for lot, _, count in self.floor.lies("rail") if lot == tag)
        self.floor.call(
            "cutting.hang", tag, share_of(there, percent), by="kofi", sure=drawn.other % 2 > 0
        )

    def plan(self, drawn):
        """Plan a break, or take the plan away."""
        at, days, words = drawn.at, drawn.other % 10, drawn.words
        day = None if days == 0 else (LATER + timedelta(days=days)).date()
        tag = self.some([*self.floor.hanging(), "nobody"], at)
        self.floor.call("cutting.plan_break", tag, day, by="marek", words=words)

    def claim(self, drawn):
        """Hang a booking on a piece, for a part of it or for more than it weighs."""
        at, booking, percent = drawn.at, drawn.other, drawn.percent
        tag = self.some([*self.floor.hanging(), "nobody"], at)
        there = sum(count for lot, _, count in self.floor.lies("rail") if lot == tag)
        weight = HUGE if percent == 0 else share_of(there, percent)
        self.floor.call(
            "cutting.claim", self.some([*self.made, "H999"], booking), tag, weight, by="ines"
        )


class Block:
    """What happens under the knife."""

    def start(self, drawn):
        """Take something to the block, now and then by a style for something else."""
        at, style = drawn.at, drawn.other
        tag = self.some([*self.floor.hanging(), "nobody"], at)
        piece = next((one.piece for one in self.floor.shop.rail() if one.tag == tag), None)
        fits = [one.id for one in self.styles if one.piece == piece]
        style_id = self.some([*fits * 6, "lamb", "none"], style)
        made = self.floor.call("cutting.start_break", tag, style_id, by="marek")
        if not isinstance(made, Exception):
            self.breaks.append(made.number)

    def weigh(self, drawn):
        """Weigh some parts of a break, each a share of what is left; some in two pieces."""
        at, part, halves, shares = drawn.at, drawn.other, drawn.other % 4 == 0, drawn.shares
        number = self.some([*self.breaks, 99], at)
        for step, percent in enumerate(shares):
            if number == 99:
                self.floor.call("cutting.weigh_part", number, 1, grams(1), by="marek")
                return
            found = self.floor.shop.cutting.break_(number)
            one = self.some(found.style.parts, part + step)
            weight = share_of(found.left.count, percent + (70 if percent == 45 else 0))
            half = Weight(weight.count // 2)
            is_whole = one.case_id == "C28"
            pieces = (half, weight - half) if halves or (is_whole and step) else ()
            self.floor.call("cutting.weigh_part", number, one.id, weight, by="marek", pieces=pieces)

    def take_back(self, drawn):
        """Take a weighing back, a second time too, or under the number of another break."""
        at, which = drawn.at, drawn.other
        weighed = self.floor.ask("SELECT break_number, seq FROM weighings ORDER BY seq DESC")
        number, seq = self.some([*weighed, (99, 9999)], at)
        self.floor.call("cutting.take_back", number if which % 7 else 1, seq, by="marek")

    def close(self, drawn):
        """Close a break; without a word it closes only if the bar is full."""
        at, words = drawn.at, drawn.words
        self.floor.call("cutting.close_break", self.some([*self.breaks, *self.breaks, 1], at),
                        by="marek", why=words)  # fmt: skip

    def put_back(self, drawn):
        """Put a piece back on the rail, if nothing of it is weighed."""
        number = self.some([*self.breaks, 1], drawn.at)
        self.floor.call("cutting.put_back", number, by="marek")

    def reopen(self, drawn):
        """Open a closed break again, for a reason or without one."""
        at, words = drawn.at, drawn.words
        self.floor.call("cutting.reopen_break", self.some([*self.breaks, *self.breaks, 1], at),
                        by="marek", why=words)  # fmt: skip


class Store:
    """What moves by itself: into the case, into the bin, by a count."""

    def lying(self, at, *places):
        """Return something that lies there, mostly of what was touched last."""
        found = self.floor.lies(*places)
        return self.some(found if at % 5 == 0 else found[:7], at // 5)

    def there(self, lot, place):
        """Return what a lot has at a place, by the entries alone."""
        return summed(self.floor.file).get((lot, place), 0)

    def put(self, drawn):
        """Put what waits in the case, all of it, some, or more than there is."""
        at, percent, case = drawn.at, drawn.percent, drawn.other
        lot, place, count = self.lying(at, "block", "trim", "bone", "rail")
        kinds = dict(self.floor.ask("SELECT id, species FROM lots"))
        lines = self.floor.shop.case()
        fits = [one.id for one in lines if one.species == kinds[lot].partition(" ")[0]]
        case_id = self.some([*fits, *fits, *fits, "C28", "C99"], case)
        weight = None if percent == 100 else share_of(count, percent)
        made = self.floor.call("cutting.put_in_case", lot, place, case_id, by="dot", weight=weight)
        if not isinstance(made, Exception):
            moved = count if weight is None else weight.count
            assert self.there(made, "case") == moved
            assert self.there(lot, place) == count - moved

    def bin(self, drawn):
        """Bin something from anywhere; nothing leaves the bin, and nothing that is promised."""
        at, percent, words = drawn.at, drawn.percent, drawn.words
        lot, place, count = self.lying(at, *HELD, *(["bin"] if at % 3 == 0 else []))
        weight = None if percent == 100 else share_of(count, percent)
        before = self.there(lot, "bin")
        made = self.floor.call("cutting.bin", lot, place, by="dot", why=words, weight=weight)
        if not isinstance(made, Exception):
            moved = count if weight is None else weight.count
            assert self.there(lot, "bin") == before + moved
            assert self.there(lot, place) == count - moved

    def count_case(self, drawn):
        """Count a case line, as much as is thought or a little more or all less."""
        at, percent, of = drawn.at, drawn.percent, drawn.other
        one = self.some(self.floor.shop.case(), at)
        case_id = one.id if of % 9 else "C99"
        counted = share_of(one.on_hand.count, percent) if of % 7 else HUGE
        made = self.floor.call(
            "cutting.count_case", case_id, counted, by="dot", why="Tuesday", sure=drawn.at % 3 > 0
        )
        if not isinstance(made, Exception):
            now = {line_.id: line_.on_hand for line_ in self.floor.shop.case()}
            assert now[case_id] == counted

    def count_lot(self, drawn):
        """Count a lot where it lies, up or down."""
        at, percent = drawn.at, drawn.percent
        lot, place, count = self.lying(at, *HELD)
        counted = share_of(count, percent)
        made = self.floor.call("cutting.count_lot", lot, place, counted, by="dot")
        if not isinstance(made, Exception):
            assert self.there(lot, place) == counted.count


class Counter:
    """What happens at the counter."""

    def book(self, drawn):
        """Book some of a case line, and perhaps whole birds."""
        at, percent, birds = drawn.at, drawn.percent, drawn.other % 4
        one = self.some([one for one in self.floor.shop.case() if one.piece_lb is None], at)
        wishes = [NewLine(one.id, share_of(one.free.count, percent))]
        if birds:
            wishes.append(line("C23", f"{41 * birds / 10}", pieces=["4.1"] * birds))
        made = self.floor.call("book", order(*wishes, collect_at=LATER))
        if not isinstance(made, Exception):
            self.made.append(made.id)

    def release(self, drawn):
        """Take a booking off, or be told why not."""
        at, words = drawn.at, drawn.words
        name = self.some(self.made[::-1], at % 9 // 3)
        self.floor.call("release", name, by="dot", why=words)

    def undo(self, drawn):
        """Undo the last step of a booking."""
        at = drawn.at
        self.floor.call("undo", self.some(self.made[::-1], at % 9 // 3), by="dot")

    def hand_over(self, drawn):
        """Hand a booking over at a share of what was booked."""
        at, percent = drawn.at, drawn.percent
        name = self.some(self.made, at)
        weights = {
            one.id: share_of(one.weight.count, percent if one.pieces is None else 104)
            for one in self.floor.shop.booking(name).lines
        }
        self.floor.call("hand_over", name, weights, by="dot")

    def send_again(self, drawn):
        """Send a request a second time, or its key with somebody's name nobody knows."""
        at, other = drawn.at, drawn.other % 2
        if not self.floor.calls:
            return
        made = self.some(self.floor.calls, at)
        before = self.floor.rows()
        if other:
            self.floor.call("release", "H8", by="nobody", why="?", key=made.named["key"])
        else:
            made.send(self.floor.shop)
        assert self.floor.rows() == before


class History(Door, Block, Store, Counter, RuleBasedStateMachine):
    """A whole shop, door to slip; its stock after each step is remembered beside it."""

    source = Path()
    seen = {"done": set(), "refused": set()}  # noqa: RUF012 -- over all the histories together

    def __init__(self):
        super().__init__()
        self.folder = tempfile.mkdtemp()
        self.floor = Floor(shutil.copy(self.source, f"{self.folder}/shop.db"))
        self.floor.call("cutting.add_style", WHOLE_LEGS, by="marek")
        self.styles = self.floor.shop.cutting.styles()
        self.breaks = []
        self.made = ["H7", "H9", "H8"]

    @initialize(drawn=DRAWN)
    def an_ordinary_morning(self, drawn):
        """Begin with one good step of each kind: a piece under the knife, all its parts weighed."""
        piece = self.some(self.floor.shop.rail(), drawn.at)
        style = self.some([one.id for one in self.styles if one.piece == piece.piece], drawn.other)
        found = self.floor.call("cutting.start_break", piece.tag, style, by="marek")
        self.breaks.append(found.number)
        for part in found.style.parts[:-1]:
            half = Weight(int(found.start.count * part.share) // 2)
            found = self.floor.call(
                "cutting.weigh_part", found.number, part.id, half * 2, by="marek",
                pieces=(half, half) if part.case_id == "C28" else (),
            )  # fmt: skip
        for step in (self.close, self.reopen):
            step(replace(drawn, at=0, words="said so"))
        self.floor.call("cutting.take_back", found.number, found.parts[0].seq, by="marek")
        trim = next(one.lot_id for one in found.parts if one.place == "trim")
        line_id = {"lamb": "C06", "beef": "C11", "pork": "C16", "goat": "C31"}[piece.species]
        self.floor.call("cutting.count_lot", trim, "trim", grams(9_000), by="dot", sure=True)
        self.floor.call("cutting.bin", trim, "trim", by="dot", why="?", weight=grams(900))
        self.floor.call("cutting.put_in_case", trim, "trim", line_id, by="dot", weight=grams(5_000))
        self.floor.call("cutting.count_case", line_id, grams(90_000), by="dot", sure=True)
        self.floor.call("release", "H8", by="dot", why="?")
        self.floor.call("undo", "H8", by="dot")
        self.claim(replace(drawn, percent=30, at=0, other=0))
        self.hand_over(replace(drawn, at=0, percent=100))
        self.book(replace(drawn, percent=60, at=0, other=0))
        other = self.some(self.floor.shop.rail(), drawn.at)
        style = next(one.id for one in self.styles if one.piece == other.piece)
        begun = self.floor.call("cutting.start_break", other.tag, style, by="marek")
        self.floor.call("cutting.put_back", begun.number, by="marek")
        assert not self.floor.refused
        self.one_refusal_of_each(line_id)

    def one_refusal_of_each(self, line_id):
        """Make one step of each kind that cannot be done."""
        call, nothing = self.floor.call, grams(0)
        empty = NewDelivery("Z-1", "beef", "x", [], grams(1), papers=("inspection mark",))
        call("cutting.receive", empty, by="marek")
        call("cutting.hang", "nobody", grams(1), by="kofi")
        call("cutting.plan_break", "nobody", None, by="ines")
        call("cutting.claim", "H8", "nobody", grams(1), by="ines")
        call("cutting.start_break", "nobody", "fore", by="marek")
        call("cutting.weigh_part", 999, 1, grams(1), by="marek")
        call("cutting.take_back", 999, 1, by="marek")
        call("cutting.close_break", 999, by="marek")
        call("cutting.reopen_break", 999, by="marek", why="x")
        call("cutting.put_back", self.breaks[0], by="marek")
        call("cutting.put_in_case", "nobody", "trim", line_id, by="dot")
        call("cutting.bin", "nobody", "trim", by="dot", why="x")
        call("cutting.count_case", "C99", nothing, by="dot")
        call("cutting.count_lot", "nobody", "trim", nothing, by="dot")
        for name in ("release", "undo"):
            call(name, "H99", by="dot", **({"why": "x"} if name == "release" else {}))
        call("hand_over", "H99", {}, by="dot")
        call("book", order(line("C99", "1")))
        assert len(self.floor.refused) == 18

    @staticmethod
    def some(things, at):
        """Return one of the things there are."""
        return things[at % len(things)]

    def teardown(self):
        """See that each past moment is told now as it was then, and remove the copy."""
        try:
            self.every_moment_is_told_as_it_was()
            self.every_recall_finds_all_of_it()
        finally:
            self.floor.close()
            shutil.rmtree(self.folder)
        self.seen["done"] |= {call.name for call in self.floor.calls}
        self.seen["refused"] |= {call.name for call in self.floor.refused}

    def every_recall_finds_all_of_it(self):
        """Recall each lot there is: what came in is found, where the entries say it is."""
        places = summed(self.floor.file)
        for lot_id in sorted({lot for lot, _ in places}):
            found = self.floor.shop.tracing.recall(lot_id)
            assert found.balance.closes
            by_hand = {
                (lot, place): count for (lot, place), count in places.items()
                if lot in {one.lot_id for one in found.lots}
            }  # fmt: skip
            assert by_hand == {
                (lot.lot_id, place): weight.count
                for lot in found.lots
                for place, weight in lot.where
            }

    @rule(name=st.sampled_from(["receive", "receive", "hang", "plan", "claim"]), drawn=DRAWN)
    def at_the_door(self, name, drawn):
        """Do something at the door or the rail."""
        getattr(self, name)(drawn)

    @rule(
        name=st.sampled_from(
            ["start", "weigh", "weigh", "take_back", "close", "close", "reopen", "put_back"]
        ),
        drawn=DRAWN,
    )
    def at_the_block(self, name, drawn):
        """Do something under the knife."""
        getattr(self, name)(drawn)

    @rule(name=st.sampled_from(["put", "bin", "count_case", "count_lot"]), drawn=DRAWN)
    def at_the_store(self, name, drawn):
        """Move something by itself."""
        getattr(self, name)(drawn)

    @rule(
        name=st.sampled_from(["book", "release", "undo", "hand_over", "hand_over", "send_again"]),
        drawn=DRAWN,
    )
    def at_the_counter(self, name, drawn):
        """Do something at the counter."""
        getattr(self, name)(drawn)

    @rule(minutes=st.integers(min_value=1, max_value=90))
    def time_goes(self, minutes):
        """Let the clock go on."""
        self.floor.clock.put(self.floor.clock.now() + timedelta(minutes=minutes))

    @rule(minutes=st.integers(min_value=1, max_value=60))
    def clock_put_back(self, minutes):
        """Put the clock back, as when summer time ends."""
        self.floor.clock.put(self.floor.clock.now() - timedelta(minutes=minutes))

    @invariant()
    def the_ledger_holds(self):
        """Add it all up by hand and compare with what the shop says."""
        file = self.floor.file
        places = summed(file)
        assert self.floor.shop.check() == []
        assert min(places.values()) > 0
        assert min(count for key, count in by_piece(file).items() if key[1] in HELD) > 0
        held = {key: count for key, count in places.items() if key[1] in HELD}
        left = sum(count for (_, place), count in places.items() if place in LEFT)
        assert came_in(file) == sum(held.values()) + left
        assert self.floor.stock() == held

    def every_moment_is_told_as_it_was(self):
        """Compare stock as of each moment with what it was after the last step of that moment.

        Where the clock was put back, one reading stands for two moments; then the stock told is
        one that was there when the clock had not passed that reading.
        """
        told = self.floor.told
        for moment, _ in told:
            up_to = [at <= moment for at, _ in told]
            known = [stock for (_, stock), is_past in zip(told, up_to, strict=True) if is_past]
            found = self.floor.stock(moment)
            if up_to == sorted(up_to, reverse=True):
                assert found == known[-1]
            else:
                assert found in known


@pytest.mark.filterwarnings("error")
def test_any_history_keeps_every_pound(demo_file):
    """No place is below zero, what came in is here or gone, a refusal writes nothing at all."""
    History.source = demo_file
    run_state_machine_as_test(
        History,
        settings=settings(
            max_examples=17, stateful_step_count=40, deadline=None, derandomize=True,
            # a history that fails is told whole: making it shorter takes minutes
            phases=[Phase.generate], database=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
    writes = {"receive", "hang", "plan_break", "claim", "start_break", "weigh_part", "take_back",
              "close_break", "reopen_break", "put_back", "put_in_case", "bin", "count_case",
              "count_lot"}  # fmt: skip
    every = {f"cutting.{name}" for name in writes} | {"book", "release", "undo", "hand_over"}
    assert every - History.seen["done"] == set()
    assert every - History.seen["refused"] == set()
