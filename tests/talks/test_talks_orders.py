"""Conversations 7, 8 and 9 with the shop's own services, and that each of the rules is held.

What must hold is told beside each; the conversations are invented, as is all of their data.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from invariants import INVARIANTS, check_answer
from orders import WHERE, check_shop, the_same_again

from collop.errors import QuoteLapsed
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop import NewBooking, NewLine
from collop.spread import answer

LB, KG = WeightUnit.LB, WeightUnit.KG


def lb(amount):
    return Weight.of(amount, LB)


def per_lb(amount):
    return UnitPrice.of(amount, LB)


def at(day, hour, minute=0):
    """Return a shop-local time of the demo's June."""
    return datetime(2026, 6, day, hour, minute)  # noqa: DTZ001 -- shop-local


def all_of(shop):
    """Return every booking of the week."""
    day = shop.now().date()
    return shop.bookings(day - timedelta(days=2), day + timedelta(days=14))


def order(name, day, *lines, by="dot", **more):
    return NewBooking(name=name, collect_at=day, by=by, lines=lines, **more)


def test_each_of_the_twenty_rules_is_held_by_the_shared_checks():
    """G1 to G20 each name what holds them, and no check of a plan is left over."""
    assert list(WHERE) == [f"G{n}" for n in range(1, 21)]
    assert all(WHERE.values())
    used = {one for held in WHERE.values() for one in held}
    assert set(INVARIANTS) <= used


def test_7_metric_customer_pays_by_the_pound_on_the_label(shop, ask):
    """2.2 kg of C02 at 8.40 a pound: 4.85 lb, 18.52 a kilogram, 40.74 either way; 187 g a head."""
    price = next(line.price for line in shop.case() if line.id == "C02")
    two_kilos = Weight.of("2.2", KG)
    assert str(two_kilos.decimal(LB, 2)) == "4.85"
    assert str(price.shown_per(KG)) == "18.52"
    assert str(price.line(lb("4.85"))) == str(price.line(two_kilos)) == "40.74"
    # never from the rounded figure: 13.7 kg x 18.52 is 253.72, and 30.20 lb x 8.40 is 253.68
    heavy = Weight.of("13.7", KG)
    assert Decimal("13.7") * Decimal("18.52") == Decimal("253.7240")
    assert str(price.line(lb("30.20"))) == "253.68"
    assert str(price.line(heavy)) != "253.72"
    booked = shop.book(
        order("Metric supper", at(12, 12), NewLine("C02", two_kilos), heads=8),
        key="metric",
    )
    assert str(booked.total) == "40.74"
    boneless = Fraction(two_kilos.count * 68, 100) / 8 / Weight.of("0.001", KG).count
    assert round(boneless) == 187
    # the temperature of whole cuts in both scales, with its rest
    problem = ask({"name": "all", "count": 8}, pinned=[{"id": "C02", "weight_lb": "4.85"}],
                  rules={"only": ["C02"], "min_items": 1}, want=1, appetite_cv=0.0,
                  need_oz={"shared": 6}, use_at="2026-06-12T18:00")  # fmt: skip
    plan = answer(problem)
    check_answer(problem, plan)
    cook = plan["spreads"][0]["lines"][0]["cook_to"]
    assert (cook["f"], round(cook["c"]), cook["rest_min"]) == (145, 63, 3)
    check_shop(shop, all_of(shop))


def test_8_nothing_thaws_until_tomorrow_and_the_fresh_way_is_a_yes(ask):
    """Wednesday at four, lunch on Thursday: no frozen bird, but fresh ones feed the sixteen."""
    problem = ask({"name": "all", "count": 16}, now="2026-06-10T16:00", use_at="2026-06-11T13:00",
                  appetite_cv=0.0)  # fmt: skip
    problem["offers"] = [
        one | {"days_left": one["days_left"] - 1} for one in problem["offers"] if one["days_left"]
    ]
    plan = answer(problem)
    check_answer(problem, plan)
    assert plan["answer"] == "yes"
    frozen = {one["id"] for one in problem["offers"] if float(one["frozen_lb"])}
    assert frozen == {"C28", "C29", "C30"}
    assert not frozen & {line["id"] for s in plan["spreads"] for line in s["lines"]}
    why = {one["id"]: one["why"] for one in plan["unusable"]}
    assert "thaw" in why["C29"]


@pytest.fixture
def garden_lunch(shop, clock):
    """Quote 9.0 lb of C11 and 4.0 lb of C13 at 09:40; the mince goes up at 10:00."""
    clock.put(at(10, 9, 40))
    lines = (NewLine("C11", lb("9.0"), unit_price=per_lb("7.80")),
             NewLine("C13", lb("4.0"), unit_price=per_lb("16.40")))  # fmt: skip
    quote = shop.quote(lines, ask={}, key="quote", by="dot")
    clock.put(at(10, 10))
    shop.board_price("C11", per_lb("8.60"), by="ines", why="farm price", key="up")
    return quote


def test_9_a_price_that_moves_keeps_what_was_quoted_and_asks_for_the_rest(
    shop, clock, garden_lunch
):
    """135.80 stays within the hour; 2.0 lb more are 17.20 at 8.60: 153.00, both lines shown."""
    assert garden_lunch.total == Money.of("135.80")
    clock.put(at(10, 10, 5))
    new = order("Garden lunch", at(10, 12))
    booked = shop.book(new, quote_id=garden_lunch.id, key="yes")
    assert str(booked.total) == "135.80"
    clock.put(at(10, 10, 20))
    added = NewLine("C11", lb("2.0"), unit_price=per_lb("8.60"))
    grown = shop.add_lines(booked.id, [added], by="dot", key="more")
    prices = [(line.case_id, str(line.unit_price.amount)) for line in grown.lines]
    assert prices == [("C11", "7.80"), ("C13", "16.40"), ("C11", "8.60")]
    assert str(grown.total) == "153.00"
    assert "153.00 instead of 135.80" in grown.events[-1].why
    change = shop.board_changes("C11")[-1]
    assert (change.by, f"{change.from_at:%H:%M}") == ("ines", "10:00")
    check_shop(shop, all_of(shop))


def test_9_after_the_hour_the_new_total_is_said_and_must_be_accepted(shop, clock, garden_lunch):
    """At 10:45 the same lines are 143.00: refused with that figure until it is accepted."""
    clock.put(at(10, 10, 45))
    new = order("Garden lunch", at(10, 12))
    with pytest.raises(QuoteLapsed, match=r"143\.00.*135\.80"):
        shop.book(new, quote_id=garden_lunch.id, key="late")
    booked = shop.book(new, quote_id=garden_lunch.id, key="accepted", accept_new_price=True)
    assert str(booked.total) == "143.00"
    check_shop(shop, all_of(shop))


def test_the_same_ask_is_answered_the_same_in_any_order_of_offers(ask):
    """G18 by the shared check, on the ask of the tiny grill."""
    problem = ask({"name": "all", "count": 12}, budget_total="140.00")
    the_same_again(problem, answer(problem))
