"""Work on what is booked or free: boned legs keep lot, days and value, and nothing is lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test
from wished import case_line, free_lb, lb, line, order

from collop.errors import BadValue, CollopError, NotEnoughFree, NotFound, WrongState
from collop.measures import Money, Weight, WeightUnit
from collop.shop import StillClock, open_shop
from collop.shop.acts import once
from collop.shop.ledger import receive
from collop.shop.lots import NewLot, make_lot
from collop.shop.works_case import kept_price, name_of_work
from collop.shop.works_model import Worked

THURSDAY = datetime(2026, 6, 11, 17, 0)  # noqa: DTZ001 -- shop-local


def bone(shop, what="H1-1", before="13.0", after="9.36", **more):
    """Bone and tie a part of a line."""
    asked = {"by": "marek", "key": "bone", "words": "boned and tied"} | more
    return shop.pickup.work(what, lb(before), lb(after), **asked)


def held(shop, name):
    """Return what a booked line holds, by line of the case."""
    booking = shop.booking(name.partition("-")[0])
    found = next(one for one in booking.lines if one.id == name)
    return {case_id: weight.text() for case_id, weight in found.held_as}


def places(shop, lot_id):
    """Return where the weight of a lot is."""
    (mine,) = (one for one in shop.cutting.trace(lot_id).up if one.lot_id == lot_id)
    return {place: weight.text() for place, weight in mine.where}


def test_boned_legs_are_a_new_line_of_the_same_lot_and_day(shop):
    """13.0 lb of leg boned to 9.36: boneless, 15.56 a lb, the day and species of the leg."""
    leg = case_line(shop, "C01")
    done = bone(shop)
    made = case_line(shop, done.into_case)
    assert (made.name, made.boneless_fraction) == ("Lamb leg, boned and tied", 1)
    assert (made.price.amount, made.price.per) == (kept_price(leg.price, lb(13), lb("9.36")).amount,
                                                   WeightUnit.LB)  # fmt: skip
    assert str(made.price.amount) == "15.56"
    assert (made.on_hand, made.free, made.use_by) == (lb("9.36"), lb(0), leg.use_by)
    assert (made.contains, made.casing, made.method, made.styles, made.cook_as) == (
        leg.contains, leg.casing, leg.method, leg.styles, leg.cook_as,
    )  # fmt: skip
    assert held(shop, "H1-1") == {"C01": "13.00 lb", done.into_case: "9.36 lb"}
    assert done.lots[0].startswith(leg.lot)
    assert places(shop, done.lots[0]) == {"booked": "9.36 lb"}
    assert done.rest == lb("3.64")
    (why,) = (one.why for one in shop.board_changes(done.into_case))
    assert why.startswith("15.56 keeps the value of 13.00 lb at 11.20")


def test_the_customer_pays_for_what_was_bought(shop, clock):
    """26.0 lb booked, 22.36 lb in the parcel: the slip is 291.20, and tells what is not in it."""
    bone(shop)
    clock.put(datetime(2026, 6, 12, 9, 0))  # noqa: DTZ001
    weights = {one.id: one.held for one in shop.booking("H1").lines}
    assert weights["H1-1"] == lb("22.36")
    slip = shop.hand_over("H1", weights, by="dot", key="go")
    first = slip.lines[0]
    assert (first.weighed, first.line_total, first.lost) == (lb(26), Money.of("291.20"), lb("3.64"))
    assert slip.total == Money.of("387.89")
    assert shop.check() == []


@pytest.mark.parametrize(
    ("scale", "paid"), [("22.36", "26.00"), ("22.00", "25.64"), ("9.36", "13.00"), ("0", "0.00"),
                        ("4.68", "6.50"), ("23.36", "27.00")],
)  # fmt: skip
def test_what_is_left_out_is_left_out_of_the_bone_in_first(scale, paid):
    """Bought weight of what the scale says, where 13.0 of 26.0 lb were boned to 9.36."""
    done = Worked(lb("13.0").count, lb("9.36").count)
    assert Weight(done.paid_for(lb(scale).count)).text() == f"{paid} lb"


def test_a_release_gives_each_its_own_line_and_an_undo_the_very_same_lots(shop, clock):
    """Bone-in goes back to its line, boned to its own; undone, the same lots are promised."""
    clock.put(THURSDAY)
    done = bone(shop)
    before = {one.id: one.free for one in shop.case()}
    was = shop.booking("H1").lines[0]
    shop.release("H1", by="ines", key="off", why="the wedding is off")
    after = {one.id: one.free for one in shop.case()}
    freed = {name: (after[name] - before[name]).text() for name in after
             if after[name] != before[name]}  # fmt: skip
    assert freed == {"C01": "13.00 lb", done.into_case: "9.36 lb", "C23": "12.30 lb",
                     "C33": "1.50 lb", "C34": "2.00 lb"}  # fmt: skip
    assert case_line(shop, done.into_case).days_left == case_line(shop, "C01").days_left == 2
    assert shop.check() == []
    # somebody takes half of the bone-in lot's free leg, from the older stock there is
    shop.undo("H1", by="ines", key="on")
    again = shop.booking("H1").lines[0]
    assert (again.held_as, again.lots, again.held) == (was.held_as, was.lots, was.held)


def test_an_undo_needs_the_boned_meat_to_be_there(shop, clock):
    """Sold meanwhile: what was boned for her is not made up from bone-in leg."""
    clock.put(THURSDAY)
    done = bone(shop)
    shop.release("H1", by="ines", key="off", why="the wedding is off")
    shop.book(order(line(done.into_case, "2.0")), key="other")
    with pytest.raises(NotEnoughFree, match=r"2\.00 lb of Lamb leg, boned and tied is not free"):
        shop.undo("H1", by="ines", key="on")
    assert not shop.booking("H1").state.holds


def test_a_release_leaves_what_is_done_in_the_record_and_nothing_on_the_list(shop, clock):
    """The bench has nothing left to do for H1; the work stays told."""
    clock.put(THURSDAY)
    bone(shop)
    assert any(one.booking_id == "H1" for one in shop.bench.lines().lines)
    shop.release("H1", by="ines", key="off", why="the wedding is off")
    left = [one for one in shop.bench.lines().lines if one.booking_id == "H1"]
    assert all(one.is_off for one in left)
    (told,) = shop.pickup.works("H1")
    assert (told.words, told.by, told.taken_back) == ("boned and tied", "marek", False)


def test_work_is_taken_back_to_the_count(shop):
    """All 26.0 lb are bone-in leg again, the bone barrel is as it was, and once is enough."""
    done = bone(shop)
    back = shop.pickup.take_work_back(done.number, by="marek", key="back")
    assert back.taken_back
    assert held(shop, "H1-1") == {"C01": "26.00 lb"}
    assert case_line(shop, done.into_case).on_hand == lb(0)
    assert shop.check() == []
    with pytest.raises(WrongState, match="taken back already"):
        shop.pickup.take_work_back(done.number, by="marek", key="again")


@pytest.mark.parametrize("rest", ["bone", "trim", "fat", "drip"])
def test_free_stock_is_worked_on_the_same_way(shop, rest):
    """5.0 of the 8.0 lb free leg, whatever becomes of the rest; and back again."""
    done = bone(shop, "C01", "5.0", "3.6", rest=rest)
    assert (free_lb(shop, "C01"), free_lb(shop, done.into_case)) == ("3.00", "3.60")
    assert (done.line_id, done.rest_place) == (None, rest)
    assert shop.check() == []
    again = bone(shop, "C01", "2.0", "1.5", key="more")
    assert (again.into_case, again.kept.amount) == (done.into_case, again.kept.amount)
    shop.pickup.take_work_back(done.number, by="marek", key="back")
    assert free_lb(shop, done.into_case) == "1.50"
    assert shop.check() == []


def test_a_whole_bird_is_worked_on_whole_and_comes_back_whole(shop):
    """One booked bird of 4.1 lb is boned out; a part of a bird is refused."""
    with pytest.raises(NotEnoughFree, match=r"in pieces of 4\.10 lb"):
        bone(shop, "H1-2", "2.0", "1.5")
    done = bone(shop, "H1-2", "4.1", "2.9", words="boned out")
    assert done.name == "Chicken, boned out"
    assert held(shop, "H1-2") == {"C23": "8.20 lb", done.into_case: "2.90 lb"}
    birds = len(case_line(shop, "C23").piece_lb)
    shop.pickup.take_work_back(done.number, by="marek", key="back")
    assert shop.check() == []
    shop.release("H1", by="ines", key="off", why="off")
    assert len(case_line(shop, "C23").piece_lb) == birds + 3


def test_boned_birds_are_paid_for_as_birds(shop, clock):
    """Three birds booked, one of them boned: 12.3 lb are paid for."""
    bone(shop, "H1-2", "4.1", "2.9", words="boned out")
    clock.put(datetime(2026, 6, 12, 9, 0))  # noqa: DTZ001
    slip = shop.hand_over("H1", {one.id: one.held for one in shop.booking("H1").lines}, by="dot",
                          key="go")  # fmt: skip
    assert slip.lines[1].line_total == Money.of("65.19")


@pytest.mark.parametrize(
    ("change", "error", "sentence"),
    [
        ({"after": "14.0"}, BadValue, "more than 13.00 lb before"),
        ({"after": "0"}, BadValue, "more than nothing"),
        ({"before": "-1"}, BadValue, "more than nothing"),
        ({"before": "26.1"}, NotEnoughFree, "26.00 lb of H1-1 is there"),
        ({"words": " "}, BadValue, "what was done"),
        ({"rest": "river"}, BadValue, "bone, trim, fat, drip"),
        ({"into": "C01"}, BadValue, "the line it was made of"),
        ({"into": "C09"}, BadValue, "is beef"),
        ({"into": "C28"}, BadValue, "sold by the whole piece"),
        (
            {"what": "C25", "before": "2", "after": "1.5", "into": "C24"},
            BadValue,
            "does not tell of sesame, soy, wheat, and Chicken thigh, soy-sesame holds it",
        ),
        ({"what": "H1-9"}, NotFound, "no booked line"),
        ({"what": "H999999999999-1"}, NotFound, "no booked line"),
        ({"what": "C99"}, NotFound, "no case line"),
    ],
)
def test_what_cannot_be_is_told(shop, change, error, sentence):
    """One sentence each, and nothing is written."""
    with pytest.raises(error, match=sentence):
        bone(shop, **change)
    assert shop.pickup.works() == ()


def test_what_is_left_of_several_lots_is_shared_to_the_count(shop):
    """Of lots of 10, 10 and 1 counts 20 are left: no lot gives more than it had."""

    def lots(act):
        for at, count in enumerate((10, 10, 1)):
            new = NewLot(f"C01-{at}", "stock", "lamb", "leg", Weight(count), act.at, case_id="C01",
                         use_by=act.at.date())  # fmt: skip
            make_lot(act, new)
            receive(act, new.id, new.weight, "case")
        return "made"

    once(shop.pickup._room, "lots", None, by="kofi", key="lots", work=lots)
    with pytest.raises(BadValue, match="too little to come of 3 lots"):
        shop.pickup.work("C01", Weight(21), Weight(2), words="trimmed", by="marek", key="a")
    done = shop.pickup.work("C01", Weight(21), Weight(20), words="trimmed", by="marek", key="b")
    assert (len(done.lots), done.after) == (3, Weight(20))
    assert shop.check() == []


def test_the_same_key_is_one_piece_of_work(shop):
    """Sent twice, done once."""
    assert bone(shop) == bone(shop)
    assert held(shop, "H1-1") == {"C01": "13.00 lb", "C35": "9.36 lb"}


def test_an_ask_for_a_booking_anew_counts_boned_meat_as_boned(shop):
    """Left out, 13.0 lb of H1 are free leg and 9.36 lb free boned leg; no bone-in comes of it."""
    done = bone(shop)
    lines = {one.id: one for one in shop.case(leaving_out="H1")}
    assert (lines["C01"].free, lines[done.into_case].free) == (lb(21), lb("9.36"))


def test_the_fire_sheet_cooks_what_is_there(shop):
    """The boned legs cook as what they became, beside the legs on the bone."""
    done = bone(shop)
    weights = {one["id"]: one["weight_lb"] for one in shop.fire.look("H1").problem["items"]}
    assert (weights["C01"], weights[done.into_case]) == ("13", "9.36")


def test_the_label_of_a_worked_line_says_what_its_parents_does(shop):
    """Boned and tied, all but the till's number is told as it was; marinated, it is to be told."""
    leg = shop.tickets.facts("C01").facts
    made = shop.tickets.facts(bone(shop).into_case)
    assert made.is_told
    assert made.facts == replace(leg, item=None, gtin=None)
    other = bone(shop, before="2.0", after="1.9", words="boned and marinated", key="m")
    assert not shop.tickets.facts(other.into_case).is_told


def test_a_name_of_work_drops_the_bone():
    """Names are those of the parent before its comma or bracket."""
    assert name_of_work("Beef shin on the bone", "sliced") == "Beef shin, sliced"
    assert name_of_work("Chicken, whole (15 birds, 4.1 lb)", "jointed") == "Chicken, jointed"


SHARES = st.integers(min_value=1, max_value=100)
LINES = st.sampled_from(["H1-1", "H1-2", "H8-1", "H9-2", "H2-3"])
WAYS = st.sampled_from(["take", "top up", "swap", "left out"])
REASONS = st.sampled_from(["drip", "cut light, rest in the case", "other"])


class Week(RuleBasedStateMachine):
    """Work, weighing, choices, release and undo, in any order."""

    places, source = None, ""

    def __init__(self):
        super().__init__()
        self.url = self.places.copy(self.source)
        self.shop = open_shop(self.url, StillClock())
        self.keys = 0
        self.done = []
        self.in_shop = self.whole()

    def teardown(self):
        """Close the shop and remove its copy."""
        self.shop.close()
        self.places.drop(self.url)

    def key(self):
        """Return who does it, with a key nobody used yet."""
        self.keys += 1
        return {"by": "dot", "key": f"key-{self.keys}"}

    def whole(self):
        """Return all that is in the shop, in counts."""
        return sum(one.weight.count for one in self.shop.cutting.stock())

    def line(self, name):
        """Return a booked line."""
        booking = self.shop.booking(name.partition("-")[0])
        return next(one for one in booking.lines if one.id == name)

    @rule(name=LINES, share=SHARES, left=SHARES,
          rest=st.sampled_from(["bone", "trim", "fat", "drip"]))  # fmt: skip
    def work(self, name, share, left, rest):
        """Work on a part of a line, or be told why not."""
        there = self.line(name).held.count
        before = Weight(there * share // 100)
        after = Weight(before.count * left // 100)
        try:
            made = self.shop.pickup.work(name, before, after, words="worked", rest=rest,
                                         **self.key())  # fmt: skip
        except CollopError:
            return
        self.done.append(made.number)
        if rest == "drip":
            self.in_shop -= before.count - after.count

    @rule(at=st.integers(min_value=0, max_value=9))
    def take_back(self, at):
        """Take a piece of work back, or be told why not."""
        if not self.done:
            return
        number = self.done[at % len(self.done)]
        try:
            made = self.shop.pickup.take_work_back(number, **self.key())
        except CollopError:
            return
        if made.rest_place == "drip":
            self.in_shop += made.rest.count

    @rule(name=LINES, share=st.integers(min_value=0, max_value=120), reason=REASONS)
    def weigh(self, name, share, reason):
        """Weigh a line ahead, or be told why not."""
        line = self.line(name)
        weighed = Weight(line.weight.count * share // 100)
        try:
            self.shop.pickup.weigh(name, weighed, reason, why="seen", **self.key())
        except CollopError:
            return
        self.in_shop = self.whole()  # what is lost is told by the ledger's own check
        if line.pieces is None:
            assert self.line(name).held == weighed

    @rule(name=LINES, way=WAYS)
    def choose(self, name, way):
        """Let the customer choose, and see that the total told is the total kept."""
        number = name.partition("-")[0]
        ways = {one.what: one for row in self.shop.pickup.pickup(number).lines
                if row.line.id == name for one in row.ways}  # fmt: skip
        try:
            after = self.shop.pickup.choose(name, way, "she agreed", **self.key())
        except CollopError:
            assert way not in ways or not self.shop.booking(number).state.holds
            return
        assert after.total == ways[way].total

    @rule(name=LINES)
    def release(self, name):
        """Release a booking, or be told why not."""
        try:
            self.shop.release(name.partition("-")[0], why="off", **self.key())
        except CollopError:
            return

    @rule(name=LINES)
    def undo(self, name):
        """Undo a last step, or be told why not."""
        try:
            self.shop.undo(name.partition("-")[0], **self.key())
        except CollopError:
            return

    @rule(name=LINES)
    def hand_over(self, name):
        """Hand a booking over as it is held; bone taken out is paid for, what is short is not."""
        booking = self.shop.booking(name.partition("-")[0])
        weights = {one.id: one.held for one in booking.standing}
        told = self.shop.pickup.pickup(booking.id).total
        try:
            slip = self.shop.hand_over(booking.id, weights, **self.key())
        except CollopError:
            return
        self.in_shop -= sum(one.count for one in weights.values())
        if all(one.pieces is None or one.ready is None for one in booking.standing):
            assert slip.total == told

    @invariant()
    def the_ledger_holds(self):
        """Check the ledger, what is in the shop, and the total of each booking."""
        assert self.shop.check() == []
        assert self.whole() == self.in_shop
        for number in ("H1", "H2", "H8", "H9"):
            booking = self.shop.booking(number)
            standing = sum(one.line_total.minor for one in booking.lines if not one.off)
            assert booking.total.minor == standing
            assert not any(one.held for one in booking.lines if one.off)


@pytest.mark.filterwarnings("error")
def test_any_sequence_of_steps_keeps_balance_and_total(places, demos):
    """Work, weigh, choose, release, undo, hand over: no pound is lost, no total moves unseen."""
    Week.places, Week.source = places, demos("tuesday")
    run_state_machine_as_test(
        Week,
        settings=settings(
            max_examples=6, stateful_step_count=12, deadline=None, derandomize=True,
            database=None, suppress_health_check=list(HealthCheck),
            phases=(Phase.explicit, Phase.generate),
        ),
    )  # fmt: skip
