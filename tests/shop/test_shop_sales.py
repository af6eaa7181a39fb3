"""What lines sold, by week, added up from the slips; and what a price does to a line's sale."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal

import jsonschema
import pytest
from by_hand import raw
from hypothesis import given
from hypothesis import strategies as st
from wished import lb, line, order, per_lb

from collop.chalk.demand_schema import SCHEMAS
from collop.errors import BadValue, NotFound
from collop.measures import Money
from collop.shop import NewPrice, Settings
from collop.shop.sales import DaySale, Line, open_days, pace_of, weeks_of

MONDAY = date(2026, 6, 8)


def sell(shop, lines, key, weighed=None, collect_at=None):
    """Book and hand over `lines` now; `weighed` are the scale's weights where they differ."""
    booked = shop.book(order(*lines, collect_at=collect_at or shop.now()), key=f"{key}-book")
    scale = weighed or [one.weight for one in booked.lines]
    told = {one.id: weight for one, weight in zip(booked.lines, scale, strict=True)}
    return shop.hand_over(booked.id, told, by="dot", key=f"{key}-go")


def test_nothing_sold_is_no_week(shop):
    """A line without a slip has no sales; a line that is none is told."""
    assert shop.chalk.sales("C09") == ()
    with pytest.raises(NotFound):
        shop.chalk.sales("C99")
    for weeks in (0, -3, 521):
        with pytest.raises(BadValue):
            shop.chalk.sales("C09", weeks)


def test_a_week_is_the_sum_of_its_slips(shop, clock):
    """3 lb and 1.5 lb at 8.90 in one week: 4.5 lb, 40.05, at 8.90."""
    sell(shop, [line("C09", "3"), line("C16", "2")], "a")
    clock.put(clock.now() + timedelta(days=2))
    sell(shop, [line("C09", "1.5")], "b")
    (week,) = shop.chalk.sales("C09")
    assert (week.monday, week.weight, week.money) == (MONDAY, lb("4.5"), Money.of("40.05"))
    assert week.price == Decimal("8.9")


def test_what_the_scale_said_counts_and_what_was_left_does_not(shop):
    """2.4 lb of 2.5 booked is 2.4 sold; a line left at the counter sold nothing."""
    sell(shop, [line("C09", "2.5"), line("C15", "2")], "a", weighed=[lb("2.4"), lb("0")])
    assert shop.chalk.sales("C09")[0].weight == lb("2.4")
    assert shop.chalk.sales("C15") == ()


def test_weeks_are_told_from_the_oldest_and_only_so_many(shop, clock):
    """A sale four weeks ago is in five weeks and not in four; empty weeks are left out."""
    sell(shop, [line("C28", "7", pieces=["7"])], "a")
    clock.put(clock.now() + timedelta(weeks=4))
    sell(shop, [line("C28", "7", pieces=["7"])], "b")
    found = [week.monday for week in shop.chalk.sales("C28")]
    assert found == [MONDAY, MONDAY + timedelta(weeks=4)]
    assert len(shop.chalk.sales("C28", weeks=5)) == 2
    assert len(shop.chalk.sales("C28", weeks=4)) == 1


def test_sales_are_the_slips_money_to_the_cent(shop, url, clock):
    """Summed over all lines, sales are the totals of all slips, read by a connection of our own."""
    days = [
        [line("C09", "1.37"), line("C16", "3.11")],
        [line("C31", "0.73")],
        [line("C15", "2.22"), line("C09", "0.41")],
    ]
    for day, lines in enumerate(days):
        clock.put(clock.now() + timedelta(days=day))
        sell(shop, lines, f"d{day}")
    told = sum(week.money.minor for one in shop.case() for week in shop.chalk.sales(one.id))
    with raw(url) as conn:
        assert told == conn.execute("SELECT sum(total) FROM slips").fetchone()[0]


def test_without_sales_demand_is_the_published_one_at_the_usual_pace(shop):
    """Short ribs: 1.5 lb a day on five open days; the middle of the published grades of beef.

    Source: E01 (own-price elasticities of beef by grade, wholesale): Prime 2.33, Select 1.24;
    their middle 1.785 is the project's rule for one counter.
    """
    plan = shop.chalk.demand("C09")
    assert plan["basis"] == "published"
    assert plan["elasticity"] == pytest.approx((2.33 + 1.24) / 2)
    assert Decimal(plan["quantity"]) == Decimal("7.5")
    assert Decimal(plan["price"]) == Decimal("8.9")
    assert any("usual daily pace" in one for one in plan["assumptions"])


def test_the_week_under_way_is_no_week_of_demand(shop, clock):
    """A sale of this week counts only when the week is over."""
    sell(shop, [line("C09", "3")], "a")
    assert shop.chalk.demand("C09")["points"] == 0
    clock.put(clock.now() + timedelta(weeks=1))
    plan = shop.chalk.demand("C09")
    assert plan["points"] == 1
    assert Decimal(plan["quantity"]) == 3
    jsonschema.validate(plan, SCHEMAS["demand.plan"])


def test_own_sales_at_other_prices_take_part(shop, clock):
    """Frozen legs, one at 10.40 a week and two at 8.00: the more of the own weeks, the more weight.

    By hand: log 2 / log (10.4 / 8.0) = 2.642 is the slope of the own weeks.
    """
    start = clock.now()
    for week, (price, legs) in enumerate([("10.40", 1), ("8.00", 2), ("10.40", 1)]):
        clock.put(start + timedelta(weeks=week))
        shop.chalk.put([NewPrice("C28", per_lb(price))], by="ines", why="tried", key=f"p{week}")
        pieces = ["7"] * legs
        sell(shop, [line("C28", str(7 * legs), pieces=pieces)], f"w{week}")
    clock.put(start + timedelta(weeks=3))
    plan = shop.chalk.demand("C28")
    assert plan["own"]["elasticity"] == pytest.approx(2.6419, abs=1e-3)
    assert plan["basis"] == "shrunk"
    assert 0 < plan["own_weight"] < 1


def test_an_animal_without_a_published_figure_is_no_trouble(shop):
    """Every line of the case has a demand: cheese, mushrooms and goat too."""
    for one in shop.case():
        assert shop.chalk.demand(one.id)["elasticity"] > 0


# pure parts

LINE = Line("C1", "Chops", "lamb", "fresh", Decimal(1), (), None, by_piece=False, usual=None)


@given(st.lists(st.tuples(st.integers(0, 400), st.integers(1, 10**12), st.integers(0, 10**6)),
                max_size=40))  # fmt: skip
def test_weeks_lose_nothing_of_the_days(days):
    """Weight and money of all weeks are those of all days, and every week starts on a Monday."""
    sold = [DaySale(date(2026, 1, 1) + timedelta(days=n), count, minor) for n, count, minor in days]
    weeks = weeks_of(sold, Settings("x"))
    assert sum(week.weight.count for week in weeks) == sum(one.count for one in sold)
    assert sum(week.money.minor for week in weeks) == sum(one.minor for one in sold)
    assert all(week.monday.weekday() == 0 for week in weeks)
    assert [week.monday for week in weeks] == sorted({week.monday for week in weeks})


def test_open_days_leave_out_shut_ones():
    """Tuesday to Saturday are open; a closed date is not."""
    chosen = Settings("x", closed_dates=(date(2026, 6, 10),))
    assert open_days(MONDAY, MONDAY + timedelta(days=7), chosen) == 4
    assert open_days(MONDAY, MONDAY, chosen) == 0


def test_a_line_without_a_pace_sells_what_it_sold():
    """6 counts on the Tuesday, none on the next four open days: 6 / 5 a day; today is not over."""
    sold = [DaySale(date(2026, 6, 9), 6, 100), DaySale(date(2026, 6, 16), 50, 100)]
    assert pace_of(LINE, sold, date(2026, 6, 16), Settings("x")) * 5 == 6
    assert pace_of(LINE, [], date(2026, 6, 16), Settings("x")) is None


def test_sales_at_midnight_belong_to_their_own_day(shop, clock):
    """A slip of Sunday 23:59 is of the week before the Monday that follows."""
    later = datetime(2026, 6, 16, 9, 0)  # noqa: DTZ001 -- shop-local
    clock.put(datetime(2026, 6, 14, 23, 59))  # noqa: DTZ001 -- shop-local
    sell(shop, [line("C33", "0.5", pieces=["0.5"])], "a", collect_at=later)
    clock.put(datetime(2026, 6, 15, 0, 0))  # noqa: DTZ001 -- shop-local
    sell(shop, [line("C33", "0.5", pieces=["0.5"])], "b", collect_at=later)
    assert [week.monday for week in shop.chalk.sales("C33")] == [
        MONDAY, MONDAY + timedelta(weeks=1),
    ]  # fmt: skip
