"""What hangs: shrink, plans and the bookings that hang on a piece."""

from __future__ import annotations

from datetime import date

import pytest
from wished import lb

from collop.errors import BadValue, NotFound, WrongState


def piece(shop, tag):
    return next(one for one in shop.rail() if one.tag == tag)


def test_weighing_again_writes_the_shrink(shop):
    """146.2 lb hung, 145.6 lb hang: 0.6 lb more went to air."""
    now = shop.cutting.hang("B-41H", lb("145.6"), by="marek", key="w")
    assert (now.weight_now, now.lost) == (lb("145.6"), lb("6.4"))


def test_a_little_more_is_found_by_the_scale_and_much_more_is_refused(shop):
    """Meat gains nothing on the rail: over a hundredth more is a wrong weighing."""
    now = shop.cutting.hang("B-41H", lb("146.3"), by="marek", key="w")
    assert now.weight_now == lb("146.3")
    with pytest.raises(BadValue, match="meat gains nothing"):
        shop.cutting.hang("B-41H", lb("150"), by="marek", key="x")


def test_what_does_not_hang_cannot_be_weighed(shop):
    """A cut piece and a tag nobody gave are told apart."""
    with pytest.raises(WrongState, match="does not hang"):
        shop.cutting.hang("B-41F", lb("1"), by="marek", key="w")
    with pytest.raises(NotFound, match="no lot"):
        shop.cutting.hang("B-99", lb("1"), by="marek", key="x")
    with pytest.raises(BadValue, match="weighs nothing"):
        shop.cutting.hang("B-41H", lb("0"), by="marek", key="y")


def test_a_planned_day_that_is_over_is_late(shop, clock):
    """L-207 was planned for Tuesday; on Wednesday it is late until it is planned anew."""
    assert not piece(shop, "L-207").is_late
    clock.put(clock.now().replace(day=10))
    assert piece(shop, "L-207").is_late
    shop.cutting.plan_break("L-207", date(2026, 6, 11), by="ines", key="p")
    now = piece(shop, "L-207")
    assert (now.is_late, now.break_on, now.planned_break) == (False, date(2026, 6, 11), "Thu")


def test_a_booking_hangs_on_a_piece_until_it_is_off(shop):
    """H3 wants half of L-209; released, nothing hangs on it any more."""
    (one,) = piece(shop, "L-209").claims
    assert (one.booking_id, one.weight, one.note) == ("H3", lb("23.8"), "half of it")
    shop.cutting.claim("H9", "L-207", lb("3"), by="ines", key="c", note="loin")
    assert [c.booking_id for c in piece(shop, "L-207").claims] == ["H9"]
    shop.release("H3", by="ines", key="r", why="off")
    assert piece(shop, "L-209").claims == ()
    with pytest.raises(BadValue, match="how much"):
        shop.cutting.claim("H9", "L-207", lb("0"), by="ines", key="d")
    with pytest.raises(NotFound, match="no booking"):
        shop.cutting.claim("H99", "L-207", lb("1"), by="ines", key="e")
