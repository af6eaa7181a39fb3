"""What the shop learns: how orders ate, cutting tests, paces of sale; each shown and taken back."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from wished import case_line, lb, line, order

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import WeightUnit
from collop.shop import Fed, NewFeedback, StillClock, learning_pace, open_shop
from collop.shop.model import NewBooking
from collop.spread.problem import DISH_STYLES


def gone(shop, booking_id, by="dot"):
    """Hand a booking over at the weights it was booked with."""
    weights = {one.id: one.weight for one in shop.booking(booking_id).lines}
    return shop.hand_over(booking_id, weights, by=by, key=f"gone-{booking_id}")


def tell(shop, booking_id, left, *, usual=18, big=16, key=None):
    new = NewFeedback(Fed(usual, 0, big), left)
    return shop.learning.tell(booking_id, new, by="dot", key=key or f"ate-{booking_id}-{left}")


def test_an_order_tells_what_it_needed_and_had(shop):
    """The rowers: 18 usual and 16 big eaters need 38.8 meals; what they had is by the slip."""
    slip = gone(shop, "H2")
    found = tell(shop, "H2", Decimal("0.1"))
    assert found.needed_meals == Decimal("38.800")
    boneless = {one.id: one.boneless_fraction for one in shop.case()}
    pounds = sum(
        one.weighed.decimal(WeightUnit.LB, 3) * boneless[one.case_id] for one in slip.lines
    )
    want = pounds * 16 / Decimal(int(DISH_STYLES["plate"][0]))
    assert abs(found.supplied_meals - want) < Decimal("0.002")
    assert shop.learning.told("H2") == (found,)


def test_the_newest_word_on_an_order_counts(shop):
    """Told twice, the order counts once, with what was said last; both rows stay."""
    gone(shop, "H2")
    tell(shop, "H2", Decimal("0.33"))
    tell(shop, "H2", None)
    assert shop.learning.told()[0].left_over is None
    assert shop.learning.appetite()["orders"] == 1
    assert shop.learning.appetite()["each"][0]["at_least"] is True


def test_only_an_order_that_went_can_be_told(shop):
    """One on the hook is refused, nobody eating too, and a share out of range."""
    with pytest.raises(WrongState, match="only an order that went"):
        tell(shop, "H2", Decimal(0))
    gone(shop, "H2")
    with pytest.raises(BadValue, match="who ate"):
        tell(shop, "H2", Decimal(0), usual=0, big=0)
    with pytest.raises(BadValue, match="share"):
        tell(shop, "H2", Decimal("0.99"))
    assert shop.learning.told() == ()


def test_the_counter_plans_smaller_after_five_orders_that_left_food(shop):
    """Four change nothing; the fifth does, and never below 0.85."""
    for number in range(5):
        made = shop.book(order(line("C16", "0.5"), name=f"Order {number}"), key=f"b{number}")
        gone(shop, made.id)
        before = shop.learning.factor()
        assert before == 1
        shop.learning.tell(made.id, NewFeedback(Fed(1), Decimal("0.33")), by="dot",
                           key=f"ate{number}")  # fmt: skip
    assert Decimal("0.85") <= shop.learning.factor() < 1


def test_a_cutting_test_moves_the_boneless_share_slowly_and_can_be_taken_back(shop):
    """13.0 lb of leg boned to 9.00: 0.72 counts as four tests, so (4 x 0.72 + 0.6923) / 5."""
    assert case_line(shop, "C01").boneless_fraction == Decimal("0.72")
    made = shop.learning.test("C01", lb("13.0"), lb("9.0"), by="marek", key="t", words="two legs")
    want = (4 * Decimal("0.72") + Decimal(9) / 13) / 5
    learned = shop.learning.boneless("C01")
    assert abs(learned.learned - want) < Decimal("0.001")
    assert (learned.written, learned.tests) == (Decimal("0.72"), 1)
    assert case_line(shop, "C01").boneless_fraction == learned.learned
    offer = next(one for one in shop.offers() if one["id"] == "C01")
    assert offer["boneless_fraction"] == float(learned.learned)
    shop.learning.take_back(made.number, by="marek", key="back")
    assert case_line(shop, "C01").boneless_fraction == Decimal("0.72")
    assert shop.learning.tests()[0].is_taken_back is True
    with pytest.raises(NotFound, match="to take back"):
        shop.learning.take_back(made.number, by="marek", key="again")


@pytest.mark.parametrize(("before", "after", "case_id"), [
    ("9", "13", "C01"), ("9", "0", "C01"), ("13", "9", "C99"),
])  # fmt: skip
def test_a_test_that_cannot_be_is_refused(shop, before, after, case_id):
    """More after the knife than before, nothing left, no such line: one sentence, no row."""
    with pytest.raises((BadValue, NotFound)):
        shop.learning.test(case_id, lb(before), lb(after), by="marek", key="t")
    assert shop.learning.tests() == ()


def _sold_at_the_glass(shop, case_id, pounds, key):
    """Sell a weight as a sale at the glass does: a booking of that kind that goes at once."""
    made = shop.book(
        NewBooking(name="Counter", collect_at=shop.now().replace(hour=17), by="dot",
                   lines=(line(case_id, pounds),), kind="counter"),
        key=f"{key}-book",
    )  # fmt: skip
    shop.hand_over(made.id, {f"{made.id}-1": lb(pounds)}, by="dot", key=f"{key}-gone")


def test_sales_at_the_glass_move_the_pace_and_with_it_cover(url):
    """Legs at 12 lb a day by the book sell 2 lb on Tuesday: on Wednesday the pace is 146/13."""
    clock = StillClock()
    with open_shop(url, clock) as shop:
        before = case_line(shop, "C01").cover_days
        _sold_at_the_glass(shop, "C01", "2.0", "tue")
        assert shop.learning.pace("C01").plan["days"] == 0  # the day is not over
        clock.put(clock.now() + timedelta(days=1))
        pace = shop.learning.pace("C01").plan
        assert (pace["days"], pace["usual"]) == (1, "12.000")
        # (12 x 12 + 2) / 13
        assert pace["pace"] == "11.231"
        line_now = case_line(shop, "C01")
        assert line_now.cover_days == round(Decimal("6.0") * 13 / 146, 2)
        assert before == round(Decimal(8) / 12, 2)


def test_a_line_that_sold_out_does_not_lose_its_pace(url):
    """All free fillet goes on Tuesday: less than the pace, but no more was there."""
    clock = StillClock()
    with open_shop(url, clock) as shop:
        usual = Decimal(shop.learning.pace("C12").plan["pace"])
        _sold_at_the_glass(shop, "C12", "2.5", "tue")
        clock.put(clock.now() + timedelta(days=1))
        pace = shop.learning.pace("C12").plan
        assert pace["sold_out_days"] == 1
        assert Decimal(pace["pace"]) >= usual


def test_days_without_the_till_teach_nothing(url):
    """An order handed over is no day at the glass: paces stay those written down."""
    clock = StillClock()
    with open_shop(url, clock) as shop:
        gone(shop, "H2")
        clock.put(clock.now() + timedelta(days=1))
        assert all(one.plan["days"] == 0 for one in shop.learning.paces())


def _day_after(clock, days=1):
    clock.put(clock.now() + timedelta(days=days))


def test_what_was_promised_on_an_earlier_day_is_no_sale_at_the_glass(url):
    """The rowers' steaks went on Tuesday, booked before; one asked for and taken at once counts.

    Cover and the cutting plan count what is booked beside the usual sale: counted here too, it
    would be counted twice.
    """
    clock = StillClock()
    with open_shop(url, clock) as shop:
        _sold_at_the_glass(shop, "C01", "2.0", "tue")
        gone(shop, "H2")
        taken = shop.book(order(line("C16", "0.5")), key="today")
        gone(shop, taken.id)
        _day_after(clock)
        pace = shop.learning.pace("C16").plan
        assert (pace["days"], pace["mean_sold"]) == (1, "0.500")


def test_stock_past_its_day_is_none_that_could_have_been_sold(url):
    """Mince of the day lies in the case on Thursday still: it was sold out, and loses no pace."""
    clock = StillClock()
    with open_shop(url, clock) as shop:
        mince = case_line(shop, "C11")
        clock.put(clock.now() + timedelta(days=mince.days_left + 1))
        _sold_at_the_glass(shop, "C01", "2.0", "late")
        _day_after(clock)
        past = case_line(shop, "C11")
        assert (past.free, past.past > lb(1)) == (lb(0), True)
        pace = shop.learning.pace("C11").plan
        assert (pace["days"], pace["sold_out_days"], pace["pace"]) == (1, 1, pace["usual"])


def test_days_that_are_over_are_read_once_a_day_and_not_after_each_sale(url, monkeypatch):
    """A sale of today changes no day before it; what comes back of yesterday's sale does."""
    clock, reads = StillClock(), []
    real = learning_pace._days_seen
    monkeypatch.setattr(learning_pace, "_days_seen", lambda *told: reads.append(1) or real(*told))
    with open_shop(url, clock) as shop:
        _sold_at_the_glass(shop, "C01", "2.0", "tue")
        _day_after(clock)
        shop.case()
        reads.clear()
        for number in range(3):
            _sold_at_the_glass(shop, "C01", "0.5", f"wed{number}")
            shop.case()
        assert reads == []
        assert shop.learning.pace("C01").plan["mean_sold"] == "2.000"
        shop.selling.take_back("H11-1", lb("0.5"), why="tough", by="dot", key="back")
        assert shop.learning.pace("C01").plan["mean_sold"] == "1.500"


def test_a_backup_that_is_restored_is_not_told_with_the_days_of_another(tmp_path, demo_file):
    """Two shops, one after the other at one path, as many slips each: each has its own days."""
    told = []
    for case_id in ("C01", "C16"):
        path = shutil.copy(demo_file, tmp_path / "shop.db")
        clock = StillClock()
        with open_shop(f"sqlite:///{path}", clock) as shop:
            _sold_at_the_glass(shop, case_id, "2.0", case_id)
            _day_after(clock)
            told.append([shop.learning.pace(one).plan["mean_sold"] for one in ("C01", "C16")])
    assert told == [["2.000", "0.000"], ["0.000", "2.000"]]


def test_many_tests_of_one_line_do_not_push_out_those_of_another(shop):
    """After 61 tests of chops, the one test of legs is learned from as before."""
    shop.learning.test("C01", lb("13.0"), lb("9.0"), by="marek", key="leg")
    legs = shop.learning.boneless("C01").learned
    for number in range(61):
        shop.learning.test("C02", lb("5.0"), lb("4.0"), by="marek", key=f"t{number}")
    assert case_line(shop, "C01").boneless_fraction == legs != Decimal("0.72")
    assert [one.tests for one in shop.learning.cuts() if one.case_id == "C01"] == [1]


BONED = {"words": "boned and tied", "by": "marek"}


def test_work_that_bones_a_booked_leg_is_a_cutting_test_until_it_is_taken_back(shop):
    """13.0 lb to 9.00 under the wedding: one test, by who did it; gone from the share with it."""
    done = shop.pickup.work("H1-1", lb("13.0"), lb("9.0"), key="bone", **BONED)
    shop.pickup.work("H1-1", lb("13.0"), lb("9.0"), key="bone", **BONED)
    (test,) = shop.learning.tests()
    assert (test.case_id, test.before, test.after, test.by) == ("C01", lb(13), lb(9), "marek")
    want = (4 * Decimal("0.72") + Decimal(9) / 13) / 5
    assert abs(shop.learning.boneless("C01").learned - want) < Decimal("0.001")
    shop.pickup.take_work_back(done.number, by="ines", key="back")
    assert shop.learning.tests()[0].is_taken_back is True
    assert shop.learning.boneless("C01").tests == 0
    assert shop.check() == []


def test_a_good_yield_is_learned_as_well_as_a_poor_one(shop):
    """9.80 of 13.0 lb is more than was written down, and moves the share up."""
    shop.pickup.work("H1-1", lb("13.0"), lb("9.8"), key="bone", **BONED)
    assert shop.learning.boneless("C01").learned > Decimal("0.72")


@pytest.mark.parametrize("told", [
    {"words": "trimmed and tied", "by": "marek"},
    {"words": "part-boned and tied", "by": "marek"},
    BONED | {"rest": "trim"},
])  # fmt: skip
def test_work_that_leaves_bone_in_or_takes_other_things_off_is_no_cutting_test(shop, told):
    """Bone left in, or trim taken off, says nothing of the boneless share."""
    shop.pickup.work("H1-1", lb("13.0"), lb("9.0"), key="work", **told)
    assert shop.learning.tests() == ()


def test_a_test_that_was_taken_back_by_itself_does_not_stop_its_work_from_being(shop):
    """Taken back on the page before, there is nothing left to take back with the work."""
    done = shop.pickup.work("H1-1", lb("13.0"), lb("9.0"), key="bone", **BONED)
    shop.learning.take_back(shop.learning.tests()[0].number, by="ines", key="test back")
    shop.pickup.take_work_back(done.number, by="ines", key="back")
    assert len(shop.learning.tests()) == 1


def test_what_came_back_over_the_glass_was_not_eaten(shop):
    """Half of the rowers' pork comes back: it is off what was handed over to be eaten."""
    slip = gone(shop, "H2")
    (pork,) = [one for one in slip.lines if one.case_id == "C16"]
    whole = tell(shop, "H2", Decimal(0)).supplied_meals
    shop.selling.take_back(pork.line_id, lb("3.0"), why="too much", by="dot", key="back")
    less = tell(shop, "H2", Decimal(0), key="again").supplied_meals
    share = case_line(shop, "C16").boneless_fraction
    want = 3 * share * 16 / Decimal(int(DISH_STYLES["plate"][0]))
    assert abs(whole - less - want) < Decimal("0.002")


def test_a_box_for_a_week_teaches_nothing_of_appetites(shop):
    """One eater of the rowers' food is not one meal: refused, and not asked for on the page."""
    gone(shop, "H2")
    with pytest.raises(WrongState, match="not one meal"):
        tell(shop, "H2", Decimal(0), usual=2, big=0)
    assert [one.id for one in shop.learning.waiting(shop.now().date())] == ["H2"]
    made = shop.book(replace(order(line("C16", "3.0")), heads=1), key="box")
    gone(shop, made.id)
    assert [one.id for one in shop.learning.waiting(shop.now().date())] == ["H2"]
    tell(shop, "H2", Decimal(0))
    assert shop.learning.waiting(shop.now().date()) == ()


def test_a_sale_at_the_glass_is_no_order_to_be_told(shop):
    """Nobody knows who ate it."""
    _sold_at_the_glass(shop, "C01", "2.0", "tue")
    with pytest.raises(WrongState, match="a sale at the glass"):
        tell(shop, "H11", Decimal(0))
