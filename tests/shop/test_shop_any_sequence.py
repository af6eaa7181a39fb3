"""Whatever is booked, released, undone and handed over, in any order, the ledger holds."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test
from wished import line, order

from collop.errors import NotEnoughFree, ShopError
from collop.measures import Weight, WeightUnit
from collop.shop import NewLine, StillClock, open_shop

GRAMS = st.integers(min_value=1, max_value=6_000)
BY_WEIGHT = st.sampled_from(["C12", "C04", "C14"])
ANY = st.integers(min_value=0, max_value=30)


def of_grams(count):
    return Weight(count * 100_000_000, WeightUnit.G)


class Counter(RuleBasedStateMachine):
    """A busy counter; a model beside it keeps what must be on hand."""

    places, source = None, ""

    def __init__(self):
        super().__init__()
        self.url = self.places.copy(self.source)
        self.shop = open_shop(self.url, StillClock())
        self.made = ["H8", "H9", "H7"]
        self.keys = 0
        self.on_hand = {one.id: one.on_hand.count for one in self.shop.case()}

    def teardown(self):
        """Close the shop and remove its copy."""
        self.shop.close()
        self.places.drop(self.url)

    def key(self):
        """Return a key nobody used yet."""
        self.keys += 1
        return f"key-{self.keys}"

    def some(self, at):
        """Return one of the bookings there are."""
        return self.made[at % len(self.made)]

    @rule(case_id=BY_WEIGHT, grams=GRAMS, birds=st.integers(min_value=0, max_value=6))
    def book(self, case_id, grams, birds):
        """Book a cut and perhaps birds; it works exactly if all of it is free."""
        wishes = [NewLine(case_id, of_grams(grams))]
        if birds:
            weight = str(birds * 41)
            wishes.append(line("C23", f"{weight[:-1]}.{weight[-1]}", pieces=["4.1"] * birds))
        free = {one.id: one.free for one in self.shop.case()}
        try:
            made = self.shop.book(order(*wishes), key=self.key())
        except NotEnoughFree:
            assert any(wish.weight > free[wish.case_id] for wish in wishes)
        else:
            assert all(wish.weight <= free[wish.case_id] for wish in wishes)
            self.made.append(made.id)

    @rule(at=ANY)
    def release(self, at):
        """Release a booking; it works exactly if it still holds its weight."""
        name = self.some(at)
        holds = self.shop.booking(name).state.holds
        try:
            self.shop.release(name, by="dot", key=self.key(), why="changed")
        except ShopError:
            assert not holds
        else:
            assert holds

    @rule(at=ANY)
    def undo(self, at):
        """Undo a last step, or be told why not."""
        with suppress(ShopError):
            self.shop.undo(self.some(at), by="dot", key=self.key())

    @rule(at=ANY, percent=st.integers(min_value=0, max_value=150))
    def hand_over(self, at, percent):
        """Hand a booking over at some share of what was booked, or be told why not."""
        name = self.some(at)
        lines = self.shop.booking(name).lines
        # birds stay within their tolerance: all of them or none
        weights = {
            one.id: Weight(one.weight.count * (percent if one.pieces is None else 104) // 100)
            for one in lines
        }
        try:
            slip = self.shop.hand_over(name, weights, by="dot", key=self.key())
        except ShopError:
            return
        for sold, promised in zip(slip.lines, lines, strict=True):
            left = promised.weight if promised.pieces else sold.weighed
            self.on_hand[sold.case_id] -= left.count

    @invariant()
    def the_ledger_holds(self):
        """Check the ledger and compare on hand with the model."""
        assert self.shop.check() == []
        for one in self.shop.case():
            assert one.free.count >= 0
            assert one.on_hand.count == self.on_hand[one.id]
            assert one.on_hand == one.booked + one.free


@pytest.mark.filterwarnings("error")
def test_any_sequence_of_steps_keeps_the_ledger(places, demos):
    """In = out + on hand for every lot, free is never below zero, promises match."""
    Counter.places, Counter.source = places, demos("tuesday")
    run_state_machine_as_test(
        Counter,
        settings=settings(
            max_examples=15, stateful_step_count=14, deadline=None, derandomize=True,
            database=None, suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip
