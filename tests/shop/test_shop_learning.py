"""What the shop learns: how orders ate, cutting tests, paces of sale; each shown and taken back."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from wished import case_line, lb, line, order

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import WeightUnit
from collop.shop import Fed, NewFeedback, StillClock, open_shop
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
