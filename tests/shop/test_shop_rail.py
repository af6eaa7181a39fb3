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


def test_a_slip_at_the_rail_is_put_right_by_weighing_again(shop):
    """14.5 typed for 145.6 is asked about; said to be right, it is taken back out of the loss."""
    with pytest.raises(BadValue, match="say that it is right") as asked:
        shop.cutting.hang("B-41H", lb("14.5"), by="marek", key="w")
    assert asked.value.where == "sure"
    slip = shop.cutting.hang("B-41H", lb("14.5"), by="marek", key="x", sure=True)
    assert slip.lost == lb("137.5")
    now = shop.cutting.hang("B-41H", lb("145.6"), by="marek", key="y")
    assert (now.weight_now, now.lost) == (lb("145.6"), lb("6.4"))
    flow = shop.cutting.flow("B-41H")
    assert flow.into == lb("326")
    ways = {(one.source, one.target): one.weight for one in flow.links}
    assert ways["B-41H", "lost to air"] == lb("6.4")


def test_meat_gains_nothing_on_the_rail(shop):
    """Up to a hundredth over what came in is the scale's; more is refused, however often asked."""
    assert shop.cutting.hang("B-41H", lb("153"), by="marek", key="w").weight_now == lb("153")
    with pytest.raises(BadValue, match="meat gains nothing"):
        shop.cutting.hang("B-41H", lb("153.6"), by="marek", key="x")


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
    with pytest.raises(BadValue, match=r"up to 47\.50 lb, as the rest is claimed"):
        shop.cutting.claim("H8", "L-207", lb("48"), by="ines", key="f")
    with pytest.raises(WrongState, match="book from the case"):
        shop.cutting.claim("H8", "B-41F", lb("1"), by="ines", key="g")
    assert [c.booking_id for c in piece(shop, "L-207").claims] == ["H9"]
    shop.release("H3", by="ines", key="r", why="off")
    assert piece(shop, "L-209").claims == ()
    with pytest.raises(BadValue, match="how much"):
        shop.cutting.claim("H9", "L-207", lb("0"), by="ines", key="d")
    with pytest.raises(NotFound, match="no booking"):
        shop.cutting.claim("H99", "L-207", lb("1"), by="ines", key="e")
