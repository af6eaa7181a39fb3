"""A held line past its day before collection: fresh stock of the same line, at the same price."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from wished import case_line, free_lb, lb

from collop.errors import NotEnoughFree, NotFound, WrongState
from collop.measures import UnitPrice, WeightUnit
from freshly import THE_12TH, fresh

FRIDAY = datetime(2026, 6, 12, 9, 0)  # noqa: DTZ001 -- shop-local


def line_of(shop, name="H2-1"):
    """Return a booked line."""
    booking = shop.booking(name.partition("-")[0])
    return next(one for one in booking.lines if one.id == name)


def renew(shop, name="H2-1", **more):
    """Take fresh for a line."""
    return shop.pickup.renew(name, **({"by": "dot", "key": f"renew-{name}"} | more))


def test_ground_anew_the_line_holds_the_fresh_lot_at_its_old_price(shop, clock):
    """5.0 lb of Tuesday's mince go back, past their day; fresh 5.0 lb come at the same money."""
    was = line_of(shop)
    shop.board_price("C11", UnitPrice.of("9.99", WeightUnit.LB), why="dearer", by="ines", key="p")
    clock.put(FRIDAY)
    fresh(shop, "6.0")
    (offer,) = (one for one in shop.pickup.renewals("H2") if one.line_id == "H2-1")
    assert (offer.weight, offer.old, offer.fresh) == (lb("5.0"), was.lots, ("C11-fresh-12",))
    assert "Take the fresh 5.00 lb at the same price" in offer.words
    past = case_line(shop, "C11").past
    renew(shop)
    now = line_of(shop)
    assert (now.held, now.lots, now.use_by) == (lb("5.0"), ("C11-fresh-12",), THE_12TH)
    assert (now.unit_price, now.line_total) == (was.unit_price, was.line_total)
    assert free_lb(shop, "C11") == "1.00"
    assert (case_line(shop, "C11").past - past) == lb("5.0")
    assert shop.check() == []
    event = shop.booking("H2").events[-1]
    assert (event.what, event.by) == ("renew", "dot")
    assert "5.00 lb of lot C11-fresh-12 for C11-0609" in event.why
    assert not any(one.line_id == "H2-1" for one in shop.pickup.renewals("H2"))


def test_what_was_taken_fresh_may_be_handed_over(shop, clock):
    """Before, the line is refused for its day and fresh is named as a way; after, it goes."""
    clock.put(FRIDAY)
    fresh(shop, "5.0")
    weights = {one.id: lb(0) for one in shop.booking("H2").lines} | {"H2-1": lb("5.0")}
    with pytest.raises(WrongState, match="take fresh for it"):
        shop.hand_over("H2", weights, by="dot", key="old")
    renew(shop)
    slip = shop.hand_over("H2", weights, by="dot", key="new")
    assert slip.lines[0].weighed == lb("5.0")
    assert shop.check() == []


def test_it_is_renewed_before_its_day_when_it_would_not_keep(shop):
    """On Tuesday, Wednesday's mince is taken from what keeps until Friday; once is enough."""
    fresh(shop, "5.0")
    renew(shop)
    assert case_line(shop, "C11").past == lb(0)
    assert renew(shop).booking.id == "H2"  # the same key
    with pytest.raises(WrongState, match="nothing to renew"):
        renew(shop, key="again")


@pytest.mark.parametrize(("weight", "use_by"), [("4.99", THE_12TH), ("50", date(2026, 6, 11))])
def test_too_little_that_keeps_is_refused_and_nothing_moves(shop, weight, use_by):
    """4.99 lb is too little, and 50 lb to be used the day before are none at all."""
    fresh(shop, weight, use_by=use_by)
    was = line_of(shop)
    (offer,) = (one for one in shop.pickup.renewals("H2") if one.line_id == "H2-1")
    assert offer.fresh == ()
    assert "not enough that keeps longer" in offer.words
    with pytest.raises(NotEnoughFree, match=r"5\.00 lb that keeps until Fri 12 Jun"):
        renew(shop)
    assert line_of(shop) == was


def test_birds_come_as_birds_of_the_same_ticket(shop, clock):
    """Two birds of 4.1 lb for two of 4.1; one of another weight does not stand for them."""
    clock.put(datetime(2026, 6, 14, 9, 0))  # noqa: DTZ001
    late = date(2026, 6, 18)
    fresh(shop, "8.3", "C23", late, ("4.1", "4.2"), species="chicken")
    (offer,) = (one for one in shop.pickup.renewals("H2") if one.line_id == "H2-4")
    assert offer.fresh == ()
    with pytest.raises(NotEnoughFree):
        renew(shop, "H2-4")
    later = date(2026, 6, 19)
    fresh(shop, "4.1", "C23", later, ("4.1",), species="chicken")
    renew(shop, "H2-4", key="now")
    assert line_of(shop, "H2-4").lots == ("C23-fresh-18", "C23-fresh-19")
    assert shop.check() == []


def test_what_was_worked_on_for_it_is_not_made_up_from_other_stock(shop, clock):
    """A boned leg past its day is swapped or left out, and the offer says so."""
    shop.pickup.work("H1-1", lb("13.0"), lb("9.36"), words="boned", by="marek", key="w")
    clock.put(datetime(2026, 6, 14, 9, 0))  # noqa: DTZ001
    fresh(shop, "50", "C01", date(2026, 6, 20), species="lamb")
    (offer,) = (one for one in shop.pickup.renewals("H1") if one.line_id == "H1-1")
    assert (offer.fresh, "worked on for this booking" in offer.words) == ((), True)
    with pytest.raises(WrongState, match="worked on"):
        renew(shop, "H1-1")


def test_what_the_old_lot_lost_does_not_come_back_into_the_fresh_one(shop, clock):
    """Weighed 4.5 with 0.5 lost, renewed, weighed 5.0: the half pound is of the fresh lot."""
    shop.pickup.weigh("H2-1", lb("4.5"), "drip", by="dot", key="a")
    clock.put(FRIDAY)
    fresh(shop, "6.0")
    renew(shop)
    shop.pickup.weigh("H2-1", lb("5.0"), by="dot", key="b")
    assert (line_of(shop).held, line_of(shop).lots) == (lb("5.0"), ("C11-fresh-12",))
    assert free_lb(shop, "C11") == "1.00"
    assert shop.check() == []


def test_a_line_that_is_none_and_a_booking_that_is_off_are_told(shop):
    """One sentence each; a booking that is off has nothing to renew."""
    with pytest.raises(NotFound, match="no booked line"):
        renew(shop, "H2-9")
    shop.release("H2", why="off", by="dot", key="off")
    assert shop.pickup.renewals("H2") == ()
    with pytest.raises(WrongState, match="is off"):
        renew(shop)
