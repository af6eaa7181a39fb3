"""Kept cutting plans, worths, what bookings want, and the settings of the cutting room."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from wished import lb, line

from collop.errors import BadValue, NotFound, StorageTrouble, WrongState
from collop.measures import WeightUnit
from collop.shop import (
    BenchHand,
    StillClock,
    offers_of,
    open_shop,
)
from collop.shop.bench_worth import worth_sold

TUESDAY = datetime(2026, 6, 9, 8, 0)  # noqa: DTZ001 -- shop-local


# kept plans


def test_a_plan_is_kept_and_made_anew_only_when_something_moved(shop, clock, url):
    """Asked twice it is one plan; after a weighing, a price, a want, or at midnight another."""
    assert shop.bench.latest() is None
    first = shop.bench.refresh()
    assert (first.number, first.is_current, first.changes) == (1, True, ())
    assert shop.bench.refresh() == first
    with open_shop(url, StillClock()) as again:
        assert again.bench.latest() == first
    moves = [
        lambda: shop.cutting.hang("L-207", lb("50.3"), by="ines", key="h"),
        lambda: shop.bench.want("H2", "C11", lb("1"), by="ines", key="w"),
        lambda: shop.change_settings({"labour_per_hour": 30}, by="ines", why="x", key="s"),
        lambda: clock.put(TUESDAY + timedelta(days=1)),
    ]
    for number, move in enumerate(moves, 2):
        move()
        kept = shop.bench.latest()
        assert (kept.number, kept.is_current) == (number - 1, False)
        found = shop.bench.refresh()
        assert (found.number, found.is_current) == (number, True)
    assert shop.bench.refresh(force=True).number == len(moves) + 2


def test_two_counters_that_plan_at_once_keep_one_plan(shop, url):
    """Both begin before either is done; the plan is kept once and both get it."""
    with open_shop(url, StillClock()) as other, ThreadPoolExecutor(2) as pool:
        found = list(pool.map(lambda one: one.bench.refresh(), (shop, other)))
    assert {one.number for one in found} == {1}
    assert found[0].plan == found[1].plan


def test_the_next_plan_starts_from_the_last(shop, clock):
    """What is still to come of the breaks before is handed over, days counted from today."""
    kept = shop.bench.refresh()
    clock.put(TUESDAY + timedelta(days=2))
    before = shop.bench.problem()["before"]
    want = {(one["tag"], one["style"], one["day"] - 2)
            for one in kept.plan["breaks"] if one["day"] >= 2}  # fmt: skip
    assert want
    assert {(row["tag"], row["style"], row["day"]) for row in before} == want


def test_what_changed_is_kept_with_the_plan(shop):
    """A booking that nothing covers is told when it comes, and told off when it goes."""
    shop.bench.refresh()
    shop.bench.want("H8", "C12", lb("60"), by="ines", key="w")
    said = shop.bench.refresh().changes
    assert any(one.startswith("H8 is short") and "Beef fillet" in one for one in said)
    shop.bench.want("H8", "C12", lb("0"), by="ines", key="w2")
    assert "H8 is covered: Beef fillet." in shop.bench.refresh().changes


def test_kept_plans_are_never_edited(shop, shop_file):
    """The database refuses to change or delete one, and a want too."""
    shop.bench.refresh()
    with closing(sqlite3.connect(shop_file)) as raw:
        for table in ("bench_plans", "booking_wants"):
            for verb in (f"DELETE FROM {table}", f"UPDATE {table} SET at = 0"):  # noqa: S608
                with pytest.raises(sqlite3.IntegrityError, match="never edited"):
                    raw.execute(verb)


def test_a_full_disk_is_one_sentence(shop, monkeypatch):
    """What cannot be kept is said; the shop stands as it was."""

    def refuse(*_, **__):
        raise StorageTrouble("The disk is full.")

    monkeypatch.setattr("collop.shop.bench_room.keep_plan", refuse)
    with pytest.raises(StorageTrouble, match="disk is full"):
        shop.bench.refresh()
    assert shop.bench.latest() is None


# worths


def test_worths_are_those_of_the_day_of_use(shop, clock):
    """Outside the plan its nearest day counts; a plan that is over tells nothing."""
    assert shop.bench.worths() == {}
    plan = shop.bench.refresh().plan
    want = [{one["id"]: worth_sold(one, day) for one in plan["cuts"]} for day in range(7)]
    assert want[0] != want[6]
    today = TUESDAY.date()
    assert shop.bench.worths() == want[0]
    assert shop.bench.worths(today + timedelta(days=3)) == want[3]
    assert shop.bench.worths(today + timedelta(days=40)) == want[6]
    clock.put(TUESDAY + timedelta(days=6))
    assert shop.bench.worths(today) == want[0]
    assert shop.bench.worths() == want[6]
    clock.put(TUESDAY + timedelta(days=7))
    assert shop.bench.worths() == {}


def test_offers_carry_the_worth_of_the_day_of_use(shop):
    """Before a plan 0, which is unknown; with one its worth; lines outside it stay unknown."""
    assert {one["worth_per_lb"] for one in shop.offers()} == {"0"}
    shop.bench.refresh()
    for day in (TUESDAY.date(), date(2026, 6, 13)):
        worths = shop.bench.worths(day)
        for one in shop.offers(use_on=day):
            if one["id"] in worths:
                known = max(worths[one["id"]], Decimal("0.01"))
                assert Decimal(one["worth_per_lb"]) == known
            else:
                assert one["worth_per_lb"] == "0"


def test_a_worth_per_kilogram_is_told_per_pound_exactly(shop):
    """10 a kg is 4.5359237 a lb; a known worth of nothing is 0.01, as 0 would be unknown."""
    worths = {"C01": Decimal(10), "C02": Decimal(0)}
    found = {one["id"]: one["worth_per_lb"]
             for one in offers_of(shop.case(), None, worths, WeightUnit.KG)}  # fmt: skip
    assert (found["C01"], found["C02"], found["C03"]) == ("4.5359237", "0.01", "0")


# what bookings want


def test_the_newest_want_counts_and_nothing_takes_it_back(shop):
    """Written twice the second stands; zero withdraws it; the same key does it once."""
    ask = {"by": "dot", "key": "w1", "note": "thick"}
    shop.bench.want("H2", "C16", lb("3.0"), **ask)
    shop.bench.want("H2", "C16", lb("3.0"), **ask)
    shop.bench.want("H2", "C16", lb("4.5"), by="dot", key="w2")
    found = next(one for one in shop.bench.wants() if one.booking_id == "H2")
    assert (found.case_name, found.weight, found.left) == (
        "Pork shoulder steaks", lb("4.5"), lb("4.5"),
    )  # fmt: skip
    lines = next(one["lines"] for one in shop.bench.problem()["bookings"] if one["id"] == "H2")
    # 6 lb are reserved: what is wanted beyond stands in the same line, at the same price
    assert {"cut": "C16", "weight": "10.500", "price": "6.4"} in lines
    shop.bench.want("H2", "C16", lb("0"), by="dot", key="w3")
    assert [one.booking_id for one in shop.bench.wants()] == ["H4", "H6"]


def test_what_is_reserved_afterwards_is_taken_off_a_want(shop, clock):
    """Once 5 lb of it are booked, 15 of the 20 lb are still to be made."""
    clock.put(TUESDAY + timedelta(hours=1))
    shop.add_lines("H6", [line("C19", "5.0")], by="dot", key="a")
    found = next(one for one in shop.bench.wants() if one.booking_id == "H6")
    assert (found.weight, found.left) == (lb("20"), lb("15"))


def test_a_want_of_a_line_that_nothing_gives_is_said(shop):
    """Chicken is bought in: the plan cannot make it, and says so."""
    shop.bench.want("H2", "C23", lb("8.2"), by="dot", key="w")
    said = shop.bench.plan(reasons=False)["assumptions"]
    assert any(one.startswith("H2 wants 8.20 lb of Chicken, whole") for one in said)


@pytest.mark.parametrize(("ask", "error", "says"), [
    (("H2", "C99", "1"), NotFound, "no case line"),
    (("H99", "C01", "1"), NotFound, "no booking"),
    (("zebra", "C01", "1"), NotFound, "zebra"),
    (("H2", "C01", "-1"), BadValue, "how much"),
    (("H2", "C01", "100000"), BadValue, "how much"),
])  # fmt: skip
def test_a_want_that_cannot_be_is_refused(shop, ask, error, says):
    """One sentence each, and nothing is written."""
    with pytest.raises(error, match=says):
        shop.bench.want(ask[0], ask[1], lb(ask[2]), by="dot", key="w")
    assert len(shop.bench.wants()) == 2


def test_a_booking_that_is_off_wants_nothing(shop):
    """Released, its wants are gone, and no more can be written."""
    shop.release("H6", by="ines", key="r", why="rain")
    assert [one.booking_id for one in shop.bench.wants()] == ["H4"]
    with pytest.raises(WrongState, match="nothing more is cut"):
        shop.bench.want("H6", "C19", lb("1"), by="dot", key="w")


# settings


def test_the_cutting_room_s_settings_change_with_a_reason(shop, url):
    """Hands, room of the case and warmth are kept, told, and there after opening again."""
    hands = [{"person": "Ines", "minutes": [240] * 7}, BenchHand("Marek", (480,) * 7, (30,) * 7)]
    changes = {"hands": hands, "case_room": "500 lb", "cut_room_f": "41"}
    found = shop.change_settings(changes, by="ines", why="summer hours", key="k")
    assert found.hands == (BenchHand("Ines", (240,) * 7, (0,) * 7), hands[1])
    assert (found.case_room, found.cut_room_f) == (lb("500"), Decimal(41))
    with open_shop(url, StillClock()) as again:
        assert again.settings() == found
    assert {one.name for one in shop.setting_changes()} == set(changes)
    assert shop.bench.problem()["hands"][1]["overtime"] == ["30"] * 7


@pytest.mark.parametrize(("name", "value"), [
    ("hands", "Ines"), ("hands", [1]), ("hands", [{"person": "", "minutes": [1] * 7}]),
    ("hands", [{"person": "A", "minutes": [1] * 6}]), ("hands", [{"person": "A"}]),
    ("hands", [{"person": "A", "minutes": [1.5] * 7}]),
    ("hands", [{"person": "A", "minutes": [1441] * 7}]),
    ("hands", [{"person": "A", "minutes": [1440] * 7, "overtime": [1] * 7}]),
    ("hands", [{"person": "A", "minutes": [True] * 7}]),
    ("hands", [{"person": "A", "minutes": [10**30] * 7}]),
    ("hands", [{"person": "A", "minutes": [0] * 7, "x": 1}]),
    ("hands", [{"person": "A", "minutes": [0] * 7}, {"person": "a", "minutes": [0] * 7}]),
    ("hands", [{"person": str(n), "minutes": [0] * 7} for n in range(21)]),
    ("case_room", "much"), ("case_room", 5), ("case_room", "0"), ("case_room", "-1 lb"),
    ("case_room", [1]), ("case_room", [True, "lb"]), ("case_room", [1, "stone"]),
    ("case_room", "200000 lb"), ("cut_room_f", "NaN"), ("cut_room_f", "1e-999999"),
    ("cut_room_f", 300), ("cut_room_f", 50.0),
])  # fmt: skip
def test_a_setting_out_of_range_is_refused(shop, name, value):
    """One sentence, nothing changed."""
    before = shop.settings()
    with pytest.raises(BadValue):
        shop.change_settings({name: value}, by="ines", why="x", key="k")
    assert shop.settings() == before
