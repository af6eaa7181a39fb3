"""Past days of the demo week, replayed from its own books: breaks, ledger, slips."""

from __future__ import annotations

import shutil
import sqlite3
from datetime import date
from decimal import Decimal

import jsonschema
import pytest
from whole_week import Week, at

from collop.bench.replaying import replay
from collop.bench.replaying_schema import SCHEMAS
from collop.errors import BadValue, CollopError
from collop.measures import WeightUnit
from collop.shop import DEMO_MONDAY, NewSale, StillClock, open_shop

MONDAY, TUESDAY, WEDNESDAY = date(2026, 6, 8), date(2026, 6, 9), date(2026, 6, 10)
ON_SLIPS = """
SELECT l.case_id, sum(s.line_total) FROM slip_lines s
JOIN booking_lines l ON l.id = s.booking_line_id JOIN slips p ON p.number = s.slip_number
WHERE date(p.at) BETWEEN ? AND ? GROUP BY l.case_id
"""


@pytest.fixture(scope="module")
def week(monday_file, tmp_path_factory):
    """Return the shop on Thursday morning, three days traded."""
    path = shutil.copy(monday_file, tmp_path_factory.mktemp("replay") / "week.db")
    clock = StillClock(DEMO_MONDAY)
    with open_shop(f"sqlite:///{path}", clock) as shop:
        week = Week(shop, clock)
        for name in ("monday", "tuesday", "wednesday"):
            getattr(week, name)()
        week.night(10)
        week.to(11, 7)
        week.path = path
        yield week
        assert shop.check() == []


def _plan(week, first, days, changes=()):
    plan = week.shop.replaying.what_if(first, changes, days=days)
    jsonschema.validate(plan, SCHEMAS["replay.plan"])
    return plan


@pytest.mark.parametrize(
    ("first", "days"), [(MONDAY, 1), (TUESDAY, 1), (WEDNESDAY, 1), (MONDAY, 3)]
)
def test_the_plan_as_it_was_is_what_the_books_say(week, first, days):
    """Without a change the money is that of the slips, to the cent, in every figure."""
    problem = week.shop.replaying.last(first, days=days)
    jsonschema.validate(problem, SCHEMAS["replay"])
    plan = _plan(week, first, days)
    assert plan["is_same"]
    assert plan["seen"] == plan["actual"]
    assert plan["estimated"]["money"] == plan["actual"]["money"]
    last = date.fromordinal(first.toordinal() + days - 1)
    with sqlite3.connect(week.path) as conn:
        slips = dict(conn.execute(ON_SLIPS, (first.isoformat(), last.isoformat())))
    cuts = {cut["id"] for cut in problem["cuts"]}
    told = sum(Decimal(plan["actual"]["money"][name]) for name in ("sales", "bookings"))
    assert told * 100 == sum(minor for key, minor in slips.items() if key in cuts)
    if first > MONDAY:
        assert told > 100


def test_what_is_left_is_what_the_case_holds(week):
    """After three days each cut's weight is that of the case, free, booked and past its day."""
    left = {cut["id"]: Decimal(cut["actual"]["left"]) for cut in _plan(week, MONDAY, 3)["cuts"]}
    for line in week.shop.case():
        if line.id in left:
            assert left[line.id] == line.on_hand.decimal(WeightUnit.LB, 3), line.name


def test_what_was_broken_stands_with_the_weights_of_the_scale(week):
    """Monday's forequarter, Tuesday's lambs: style, day, start and parts are those of the knife."""
    problem = week.shop.replaying.last(MONDAY, days=3)
    done = {one["tag"]: one["actual"] for one in problem["pieces"]}
    assert (done["B-41F"]["style"], done["B-41F"]["day"]) == ("fore", 0)
    assert done["L-207"]["day"] == 1
    assert done["B-42"] is None
    for made in week.shop.cutting.closed_breaks():
        weighed = sum(Decimal(part["weight"]) for part in done[made.tag]["parts"])
        assert weighed == made.weighed.decimal(WeightUnit.LB, 3)
    hung = {one["tag"]: one["weights"] for one in problem["pieces"]}
    assert hung["B-41F"][0] == "166.700"


def test_another_style_moves_only_what_it_touches(week):
    """A lamb with shoulder and breast to mince: less of those two, more trim, sums that add up."""
    plan = _plan(week, TUESDAY, 2, [{"tag": "L-207", "style": "lamb-boned", "day": 0}])
    (piece,) = (one for one in plan["pieces"] if one["changed"])
    assert piece["tag"] == "L-207"
    moved = {one["id"]: Decimal(one["more"]) for one in plan["lines"]["seen"]}
    assert moved["C02"] < 0
    assert moved["L-207"] > 0
    assert sum(moved.values()) == Decimal(plan["more"]["seen"])
    shoulder = next(cut for cut in plan["cuts"] if cut["id"] == "C02")
    assert Decimal(shoulder["seen"]["came"]) < Decimal(shoulder["actual"]["came"])


def test_not_cut_and_another_day_can_be_asked(week):
    """A pig half a day sooner has its own weights in proportion; one not cut counts its cost."""
    sooner = _plan(week, TUESDAY, 2, [{"tag": "P-118", "style": "pig", "day": 0}])
    now = next(one["now"] for one in sooner["pieces"] if one["tag"] == "P-118")
    assert now["day"] == 0
    kept = _plan(week, TUESDAY, 2, [{"tag": "P-118", "style": None, "day": None}])
    more = Decimal(kept["seen"]["money"]["kept"]) - Decimal(kept["actual"]["money"]["kept"])
    paid = week.shop.cutting.price_paid("P-118")
    weight = next(one["weights"][-1] for one in week.shop.replaying.last(TUESDAY, days=2)["pieces"]
                  if one["tag"] == "P-118")  # fmt: skip
    assert abs(more - paid.amount * Decimal(weight)) <= Decimal("0.005")


def test_it_only_reads(week):
    """Looking back writes nothing: the newest entry and act stay the same."""

    def newest():
        with sqlite3.connect(week.path) as conn:
            return [conn.execute(f"SELECT count(*) FROM {table}").fetchone()  # noqa: S608
                    for table in ("acts", "ledger_entries", "bench_plans")]  # fmt: skip

    before = newest()
    _plan(week, MONDAY, 3)
    assert newest() == before


def test_the_last_day_is_the_newest_that_is_over(week):
    """On Thursday morning the last day is Wednesday."""
    assert week.shop.replaying.last_day() == WEDNESDAY
    assert week.shop.replaying.last()["days"][0]["day"] == "2026-06-10"


def test_what_cannot_be_looked_at_is_said(week):
    """A day to come, no days, a piece or style that is not there: one sentence each."""
    replaying = week.shop.replaying
    for first, days in ((date(2026, 6, 12), 1), (WEDNESDAY, 3), (MONDAY, 0), (MONDAY, 8)):
        with pytest.raises(BadValue):
            replaying.last(first, days=days)
    for change in ({"tag": "X-1"}, {"tag": "L-207", "style": "none"}, {"tag": "L-207", "day": 0}):
        with pytest.raises(CollopError):
            replaying.what_if(TUESDAY, [change])


def test_an_hour_of_selling_out_is_a_share_of_the_day(shop, clock):
    """All that is free of a cut goes at noon: it sold out after two fifths of the opening hours."""
    clock.put(at(9, 12))
    line = next(one for one in shop.case() if one.id == "C17")
    shop.selling.sell([NewSale(line.id, line.free)], None, by="dot", key="all of it")
    clock.put(at(9, 19))
    problem = shop.replaying.last(TUESDAY)
    cut = next(one for one in problem["cuts"] if one["id"] == "C17")
    assert cut["days"][0]["sold_out"] == 0.4
    plan = replay(problem)
    told = next(one for one in plan["cuts"] if one["id"] == "C17")
    sold = line.free.decimal(WeightUnit.LB, 3)
    assert Decimal(told["demand"]["estimated"][0]) == sold / Decimal("0.4")
