"""From the door to the slip, in any order and with any nonsense between: no pound is lost."""

from __future__ import annotations

import shutil
import tempfile
from datetime import datetime, timedelta
from fractions import Fraction
from pathlib import Path

import pytest
from floor import HELD, LEFT, Floor, by_piece, came_in, grams, summed
from hypothesis import HealthCheck, settings
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
from collop.shop import NewDelivery, NewLine, NewPart, NewPiece, NewStyle

ANY = st.integers(min_value=0, max_value=60)
PERCENT = st.sampled_from([100, 60, 30, 104, 99, 5, 0, -1])
SHARES = st.lists(st.integers(min_value=1, max_value=45), min_size=1, max_size=6)
WORDS = st.sampled_from(["dropped", "said so", "as it is", "  "])
PIECES = [("lamb carcass", "lamb"), ("half pig", "pig"), ("beef forequarter", "beef"), ("?", "eel")]
HUGE = Weight(10**30)
LATER = datetime(2026, 6, 20, 10, 0)  # noqa: DTZ001 -- shop-local
# legs of lamb are sold whole from this style: pieces on the block, each with a ticket
WHOLE_LEGS = NewStyle(
    "legs", "lamb", "lamb carcass", "Lamb with whole legs",
    [NewPart("Legs", "cut", "case", Fraction(1, 3), "C28", 60),
     NewPart("Loin", "cut", "block", Fraction(1, 3), None, 4),
     NewPart("Trim", "trim", "trim", Fraction(1, 4)),
     NewPart("Loss", "loss", "drip", Fraction(1, 12))],
)  # fmt: skip


def share_of(count, percent):
    """Return so many hundredths of a weight, in whole counts."""
    return Weight(count * percent // 100)


class Door:
    """What happens before the block."""

    @rule(at=ANY, kilos=st.integers(min_value=0, max_value=30), halves=st.integers(1, 2))
    def receive(self, at, kilos, halves):
        """Take an animal in, whole or in two; some weigh nothing or have a tag already taken."""
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

    @rule(at=ANY, percent=st.integers(min_value=96, max_value=102))
    def hang(self, at, percent):
        """Weigh a hanging piece again, sometimes heavier than it can be."""
        tag = self.some([*self.floor.hanging(), "nobody", "C01-0609"], at)
        there = sum(count for lot, _, count in self.floor.lies("rail") if lot == tag)
        self.floor.call("cutting.hang", tag, share_of(there, percent), by="kofi")

    @rule(at=ANY, days=st.integers(0, 9), words=WORDS)
    def plan(self, at, days, words):
        """Plan a break, or take the plan away."""
        day = None if days == 0 else (LATER + timedelta(days=days)).date()
        tag = self.some([*self.floor.hanging(), "nobody"], at)
        self.floor.call("cutting.plan_break", tag, day, by="marek", words=words)

    @rule(at=ANY, booking=ANY, percent=PERCENT)
    def claim(self, at, booking, percent):
        """Hang a booking on a piece, for a part of it or for more than it weighs."""
        tag = self.some([*self.floor.hanging(), "nobody"], at)
        there = sum(count for lot, _, count in self.floor.lies("rail") if lot == tag)
        weight = HUGE if percent == 0 else share_of(there, percent)
        self.floor.call(
            "cutting.claim", self.some([*self.made, "H999"], booking), tag, weight, by="ines"
        )


class Block:
    """What happens under the knife."""

    @rule(at=ANY, style=ANY)
    def start(self, at, style):
        """Take something to the block, now and then by a style for something else."""
        tag = self.some([*self.floor.hanging(), "nobody"], at)
        piece = next((one.piece for one in self.floor.shop.rail() if one.tag == tag), None)
        fits = [one.id for one in self.styles if one.piece == piece]
        style_id = self.some([*fits * 6, "lamb", "none"], style)
        made = self.floor.call("cutting.start_break", tag, style_id, by="marek")
        if not isinstance(made, Exception):
            self.breaks.append(made.number)

    @rule(at=ANY, shares=SHARES, part=ANY, halves=st.booleans())
    def weigh(self, at, shares, part, halves):
        """Weigh some parts of a break, each a share of what is left; some in two pieces."""
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

    @rule(at=ANY, which=ANY)
    def take_back(self, at, which):
        """Take a weighing back, a second time too, or under the number of another break."""
        weighed = self.floor.ask("SELECT break_number, seq FROM weighings ORDER BY seq DESC")
        number, seq = self.some([*weighed, (99, 9999)], at)
        self.floor.call("cutting.take_back", number if which % 7 else 1, seq, by="marek")

    @rule(at=ANY, words=WORDS)
    def close(self, at, words):
        """Close a break; without a word it closes only if the bar is full."""
        self.floor.call("cutting.close_break", self.some([*self.breaks, *self.breaks, 1], at),
                        by="marek", why=words)  # fmt: skip

    @rule(at=ANY, words=WORDS)
    def reopen(self, at, words):
        """Open a closed break again, for a reason or without one."""
        self.floor.call("cutting.reopen_break", self.some([*self.breaks, *self.breaks, 1], at),
                        by="marek", why=words)  # fmt: skip


class Store:
    """What moves by itself: into the case, into the bin, by a count."""

    @rule(at=ANY, percent=PERCENT, case=ANY)
    def put(self, at, percent, case):
        """Put what waits in the case, all of it, some, or more than there is."""
        lot, place, count = self.some(self.floor.lies("block", "trim", "bone", "rail", "case"), at)
        kinds = dict(self.floor.ask("SELECT id, species FROM lots"))
        lines = self.floor.shop.case()
        fits = [one.id for one in lines if one.species == kinds[lot].partition(" ")[0]]
        case_id = self.some([*fits, *fits, "C28", "C99", "C34"], case)
        weight = None if percent == 100 else share_of(count, percent)
        self.floor.call("cutting.put_in_case", lot, place, case_id, by="dot", weight=weight)

    @rule(at=ANY, percent=PERCENT, words=WORDS)
    def bin(self, at, percent, words):
        """Bin something from anywhere; nothing leaves the bin, and nothing that is promised."""
        lot, place, count = self.some(self.floor.lies(*HELD, "bin"), at)
        weight = None if percent == 100 else share_of(count, percent)
        self.floor.call("cutting.bin", lot, place, by="dot", why=words, weight=weight)

    @rule(at=ANY, percent=PERCENT, of=ANY)
    def count_case(self, at, percent, of):
        """Count a case line, as much as is thought or up to a twelfth more or all less."""
        one = self.some(self.floor.shop.case(), at)
        case_id = one.id if of % 9 else "C99"
        counted = share_of(one.on_hand.count, percent) if of % 7 else HUGE
        self.floor.call("cutting.count_case", case_id, counted, by="dot", why="Tuesday's count")

    @rule(at=ANY, percent=PERCENT)
    def count_lot(self, at, percent):
        """Count a lot where it lies, up or down."""
        lot, place, count = self.some(self.floor.lies(*HELD), at)
        self.floor.call("cutting.count_lot", lot, place, share_of(count, percent), by="dot")


class Counter:
    """What happens at the counter."""

    @rule(at=ANY, percent=PERCENT, birds=st.integers(0, 3))
    def book(self, at, percent, birds):
        """Book some of a case line, and perhaps whole birds."""
        one = self.some([one for one in self.floor.shop.case() if one.piece_lb is None], at)
        wishes = [NewLine(one.id, share_of(one.free.count, percent))]
        if birds:
            wishes.append(line("C23", f"{41 * birds / 10}", pieces=["4.1"] * birds))
        made = self.floor.call("book", order(*wishes, collect_at=LATER))
        if not isinstance(made, Exception):
            self.made.append(made.id)

    @rule(at=ANY, words=WORDS)
    def release(self, at, words):
        """Take a booking off, or be told why not."""
        name = self.some(self.made[::-1], at % 9 // 3)
        self.floor.call("release", name, by="dot", why=words)

    @rule(at=ANY)
    def undo(self, at):
        """Undo the last step of a booking."""
        self.floor.call("undo", self.some(self.made[::-1], at % 9 // 3), by="dot")

    @rule(at=ANY, percent=PERCENT)
    def hand_over(self, at, percent):
        """Hand a booking over at a share of what was booked."""
        name = self.some(self.made, at)
        weights = {
            one.id: share_of(one.weight.count, percent if one.pieces is None else 104)
            for one in self.floor.shop.booking(name).lines
        }
        self.floor.call("hand_over", name, weights, by="dot")

    @rule(at=ANY, other=st.booleans())
    def send_again(self, at, other):
        """Send a request a second time, or its key with somebody's name nobody knows."""
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
        self.made = ["H8", "H9", "H7"]

    @initialize(at=ANY, style=ANY, case=ANY, parts=st.integers(2, 9))
    def an_ordinary_morning(self, at, style, case, parts):
        """Begin with a piece under the knife, some parts of it weighed, and something booked."""
        piece = self.some(self.floor.shop.rail(), at)
        fits = [one.id for one in self.styles if one.piece == piece.piece]
        found = self.floor.call(
            "cutting.start_break", piece.tag, self.some(fits, style), by="marek"
        )
        self.breaks.append(found.number)
        for part in found.style.parts[-1 - parts : -1]:
            half = Weight(int(found.start.count * part.share) // 2)
            pieces = (half, half) if part.case_id == "C28" else ()
            self.floor.call("cutting.weigh_part", found.number, part.id, half * 2, by="marek",
                            pieces=pieces)  # fmt: skip
        self.book(case, 60, 1)

    @staticmethod
    def some(things, at):
        """Return one of the things there are."""
        return things[at % len(things)]

    def teardown(self):
        """See that each past moment is told now as it was then, and remove the copy."""
        try:
            self.every_moment_is_told_as_it_was()
        finally:
            self.floor.close()
            shutil.rmtree(self.folder)
        self.seen["done"] |= {call.name for call in self.floor.calls}
        self.seen["refused"] |= {call.name for call in self.floor.refused}

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
            max_examples=20, stateful_step_count=45, deadline=None, derandomize=True,
            database=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
    writes = {"receive", "hang", "plan_break", "claim", "start_break", "weigh_part", "take_back",
              "close_break", "reopen_break", "put_in_case", "bin", "count_case",
              "count_lot"}  # fmt: skip
    every = {f"cutting.{name}" for name in writes} | {"book", "release", "undo", "hand_over"}
    assert History.seen["done"] >= every
    assert History.seen["refused"] >= every
