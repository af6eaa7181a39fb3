"""Monday to Saturday, all of it: orders end, the ledger balances each night, money agrees."""

from __future__ import annotations

import pytest
from whole_week import ORDERS, Week, at, lb

from collop.measures import Money
from collop.shop import DEMO_MONDAY, State, StillClock, open_shop

DAYS = {"monday": 8, "tuesday": 9, "wednesday": 10, "thursday": 11, "friday": 12, "saturday": 13}


@pytest.fixture(scope="module")
def week(places, demos):
    """Return the week after its last night, with what each night said."""
    clock = StillClock(DEMO_MONDAY)
    with open_shop(places.copy(demos("monday")), clock) as shop:
        week = Week(shop, clock)
        week.nights, week.faults = {}, {}
        for name, day in DAYS.items():
            getattr(week, name)()
            if name != "monday":
                week.nights[name] = week.night(day)
            week.faults[name] = shop.check()
        yield week


def test_the_ledger_balances_each_night(week):
    """After every day, Monday's breaking among them, nothing is out by a count."""
    assert week.faults == {name: [] for name in DAYS}


def test_every_order_ends_gone_or_off_and_shorts_have_a_reason(week):
    """The nine orders of the week: one off with its reason, eight gone; two of those short."""
    states = {name: week.shop.booking(week.names[name]).state for name in ORDERS}
    assert states.pop("H1") is State.OFF
    assert set(states.values()) == {State.GONE}
    off = week.shop.booking("H1").events[-1]
    assert off.why == "the wedding is off"
    for name in ("H4", "H8"):
        booking = week.shop.booking(week.names[name])
        said = booking.note + " ".join(event.why for event in booking.events)
        assert {"H4": "3.8 lb is all there is", "H8": "gave less"}[name] in said


@pytest.mark.parametrize("name", [name for name in DAYS if name != "monday"])
def test_money_on_slips_is_the_reckoning_to_the_cent(week, name):
    """What the slips of a day add up to is what its animals and the rest account for."""
    day = DAYS[name]
    slips = week.money_of(day)
    assert slips > Money(0)
    statement = week.shop.reckoning.day(at(day, 12).date())
    assert (statement.slips, statement.total, statement.closes) == (slips, slips, True)
    assert week.shop.money.takings(at(day, 12).date()).lines == slips


def test_the_wedding_gives_back_what_it_held_and_not_a_count_more(week):
    """Legs: 26.0 booked, 13.0 of them boned to 9.36: 13.0 back bone-in, 9.36 as their own item."""
    assert str(week.made["work"].price.amount) == "15.56"
    rehoming = week.made["rehoming"]
    assert str(rehoming.value) == "356.39"
    before = week.made["free before"]
    boned = week.made["work"].into_case
    now = {"C01": lb("13.0"), boned: lb("9.36"), "C23": lb("12.3"), "C33": lb("1.5"),
           "C34": lb("2.0")}  # fmt: skip
    for case_id, weight in now.items():
        freed = week.made["free after"][case_id].count - before.get(case_id, lb("0")).count
        assert freed == weight.count, case_id
    assert sum(len(one.moves) for one in rehoming.items if one.is_meat) >= 3
    for one in rehoming.items:
        money = [move.money for move in one.moves]
        assert money == sorted(money, reverse=True)


def test_the_short_ribs_are_charged_by_the_scale_with_the_rule_named(week):
    """4.15 x 8.90 is 36.935: 36.94 half up, less the deposit of 20.00."""
    slip = week.made["H8"]
    assert str(slip.total) == "36.94"
    assert str(slip.due) == "16.94"


def test_the_standing_order_of_friday_is_capped_and_says_so(week):
    """Six pounds of hanger are asked again; the order has what is there, and the message."""
    made = week.made["standing"]
    booking = week.shop.booking(made.booking_id)
    assert (booking.kind, booking.state) == ("standing", State.GONE)
    hanger = [line for line in booking.lines if line.case_id == "C14"]
    assert sum(line.weight.count for line in hanger) < lb("6.0").count
    assert any("6.0" in said and "anger" in said for said in made.said)


def test_what_came_in_is_sold_binned_lost_or_here(week):
    """Every piece of the rail that was broken: its weight is accounted for to the count."""
    for tag in ("B-41F", "B-41H", "L-207", "L-208", "L-209", "P-118", "P-119", "G-031"):
        flow = week.shop.cutting.flow(tag)
        assert flow.links
    assert {piece.tag for piece in week.shop.rail()} == {"B-42"}


def test_each_night_tells_what_was_counted_and_who_is_still_to_come(week):
    """Five nights are locked, once each; no order of the day is left without a word."""
    assert set(week.nights) == {name for name in DAYS if name != "monday"}
    for locked in week.nights.values():
        assert locked.by == "ines"
