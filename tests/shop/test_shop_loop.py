"""What the bench has too much of comes up at the counter: worths of the plan in the offers."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from wished import lb

from collop.bench import bench
from collop.shop.bench_worth import worth_sold
from collop.spread import answer

LEG, SHOULDER = "C01", "C02"


def neutral_ask(shop):
    """Return the problem of 20 usual eaters on Friday, 180 to spend, no wish of any kind."""
    use_at = shop.now().replace(hour=18, minute=30) + timedelta(days=3)
    return {
        "schema": "collop.spread/1", "currency": "USD", "rounding": "half-up",
        "groups": [{"name": "usual", "count": 20, "kind": "adult", "avoids": []}],
        "need_oz": {"plate": 7, "shared": 6, "hand": 6, "wrap": 5}, "budget_total": "180.00",
        "fire": {"zones": [{"name": "grill", "area_sq_in": 1200}], "usable_fraction": 0.8,
                 "minutes": 180, "oven": True},
        "use_at": use_at.isoformat(timespec="minutes"),
        "now": shop.now().isoformat(timespec="minutes"),
        "offers": shop.offers(use_on=use_at.date()),
    }  # fmt: skip


def pounds_of(plan, case_id):
    """Return the weight of a line in each spread, by aim."""
    return {
        spread["aim"]: sum(
            Decimal(line["weight_lb"]) for line in spread["lines"] if line["id"] == case_id
        )
        for spread in plan["spreads"]
    }


def worth_of(problem, case_id):
    return next(Decimal(one["worth_per_lb"]) for one in problem["offers"] if one["id"] == case_id)


def test_what_the_bench_has_over_comes_up_in_the_spreads(shop):
    """The wedding is off and legs came in: 4.67 a lb elsewhere, and the same ask takes 6.11 lb.

    Before, all legs sell at the board's 11.20 and no pound of leg helps the animal. Held are the
    direction and half the price, so that a finer plan may move the figures.
    """
    before_plan = shop.bench.refresh()
    before = neutral_ask(shop)
    assert worth_of(before, LEG) == Decimal("11.20")
    spreads = answer(before)
    assert pounds_of(spreads, LEG)["helps-the-animal"] == 0

    shop.release("H1", by="ines", key="off", why="the wedding is called off")
    shop.cutting.count_case(LEG, lb("90.0"), by="ines", key="legs", why="legs came in", sure=True)
    after_plan = shop.bench.refresh()
    assert after_plan.number == before_plan.number + 1
    after = neutral_ask(shop)
    assert 0 < worth_of(after, LEG) < Decimal("5.60")
    moved = answer(after)
    assert pounds_of(moved, LEG)["helps-the-animal"] > 3
    # a customer who wants the best for the money is not sold what the shop has over
    assert pounds_of(moved, LEG)["best-value"] == pounds_of(spreads, LEG)["best-value"]
    told = [one for one in after_plan.changes if "Lamb leg, bone in" in one]
    assert told
    assert "was 11.20" in told[0]


def test_a_day_without_stock_costs_what_keeping_back_costs():
    """3 lb sell out on days 0 and 1; a pound promised for day 3 loses a sale at 10 before."""
    problem = {
        "schema": "collop.bench/1", "name": "", "currency": "USD", "unit": "lb",
        "days": [{"day": f"2026-06-{9 + day:02}", "open": True} for day in range(4)],
        "hands": [{"name": "m", "minutes": ["60"] * 4, "per_hour": "0"}],
        "kinds": [], "rail": [], "bins": [], "makes": [], "bookings": [], "locks": [],
        "cuts": [{"id": "a", "name": "A", "species": "beef", "price": "10", "keeps_days": 5,
                  "usual": ["2", "2", "0", "0"], "steps": ["1"], "salvage": "0",
                  "stock": [{"weight": "3", "days_left": 5, "lot": "a-1"}]}],
    }  # fmt: skip
    plan = bench(problem)
    # the kernel's own figure is of one more, which nobody would buy by then
    assert plan["cuts"][0]["worth"][3] == "0"
    assert [worth_sold(plan["cuts"][0], day) for day in range(4)] == [10, 10, 10, 10]
    line = {"cut": "a", "weight": "1", "price": "1"}
    booked = bench(problem | {"bookings": [{"id": "H", "name": "h", "due": 3, "lines": [line]}]})
    assert Decimal(plan["contribution"]) - Decimal(booked["contribution"]) == 10 - 1


def _cut(parting, there, worth=("7", "8")):
    days = [{"booked": "0", "sold": weight, "ground": "0", "spoilt": "0", "on_hand": "0"}
            for weight in there]  # fmt: skip
    return {"worth": list(worth), "days": days} | ({"parting": list(parting)} if parting else {})


@pytest.mark.parametrize(
    ("cut", "expected"),
    [
        (_cut(("5", "6"), ("1", "1")), ("5", "6")),
        (_cut(("5", "6"), ("1", "0")), ("5", "5")),
        (_cut(("5", "6"), ("0", "1")), ("7", "6")),
        (_cut(("5", "6"), ("0", "0")), ("7", "8")),
        (_cut((), ("1", "1")), ("7", "8")),
    ],
)
def test_the_worth_of_what_is_sold_by_what_is_there(cut, expected):
    """There: its parting; none that day: of the day before; none at all, or not told: of one in."""
    assert tuple(worth_sold(cut, day) for day in range(2)) == tuple(map(Decimal, expected))


def test_an_offer_may_stay_with_the_plan_it_was_made_by(shop):
    """By number the worths of a former plan come back; a number that is none is the newest."""
    first, friday = shop.bench.refresh(), shop.now().date() + timedelta(days=3)
    then = shop.offers(use_on=friday, by_plan=first.number)
    shop.cutting.count_case(LEG, lb("90.0"), by="ines", key="legs", why="legs came in", sure=True)
    shop.bench.refresh()
    by_first = shop.offers(use_on=friday, by_plan=first.number)
    newest = shop.offers(use_on=friday)

    def worths(offers):
        return {one["id"]: one["worth_per_lb"] for one in offers}

    assert worths(by_first) == worths(then) != worths(newest)
    assert shop.offers(use_on=friday, by_plan=99) == newest


def test_the_version_moves_with_the_shop_alone(shop):
    """It stands while nothing happens, and another after a booking is off; steps are told."""
    was, steps = shop.bench.version(), []
    assert shop.bench.version() == was
    shop.bench.refresh(step=steps.append)
    assert steps == ["reading", "planning", "keeping"]
    shop.bench.refresh(step=steps.append)
    assert len(steps) == 3
    assert shop.bench.version() == was
    shop.release("H1", by="ines", key="off", why="called off")
    assert shop.bench.version() != was


def test_a_step_that_ends_the_work_keeps_nothing(shop):
    """What a step raises comes out, and no plan is kept."""

    def stop(step):
        if step == "keeping":
            raise InterruptedError

    with pytest.raises(InterruptedError):
        shop.bench.refresh(step=stop)
    assert shop.bench.latest() is None
    assert shop.bench.refresh().number == 1
