"""Yields that are the shop's own: starting shares, moved by every break that closed."""

from __future__ import annotations

from fractions import Fraction

from wished import lb

from collop.carcass.combining import combine_yields


def share(found, name):
    return next(one.share for one in found.parts if one.name == name)


def test_one_break_moves_the_starting_share_by_a_fifth(shop):
    """Starting shares are worth four breaks: (4 x .084 + 14.0 / 166.7) / 5 for the brisket.

    The formula is the Dirichlet mean of docs/yields.md; the weights are the demo's, invented.
    """
    found = shop.cutting.own_yields("fore")
    assert found.tags == ("B-41F",)
    want = (4 * Fraction("0.084") + Fraction(140, 1667)) / 5
    assert abs(share(found, "Brisket") - want) < Fraction(1, 20_000)
    assert sum(one.share for one in found.parts) == 1
    assert combine_yields(found.problem)["own_weight"] == 1


def test_without_a_break_the_starting_shares_stand(shop):
    """No hindquarter was broken yet."""
    found = shop.cutting.own_yields("hind")
    assert found.tags == ()
    assert {one.name: one.share for one in found.parts} == {
        part.name: part.share for part in found.style.parts
    }


def test_a_break_that_closed_with_a_gap_is_left_out(monday):
    """What somebody took away unweighed says nothing about the animal."""
    cut = monday.cutting.start_break("B-41F", "fore", by="marek", key="a")
    trim = next(part for part in cut.style.parts if part.name == "Trim")
    monday.cutting.weigh_part(cut.number, trim.id, lb("100"), by="marek", key="b")
    monday.cutting.close_break(cut.number, by="marek", key="c", why="power cut")
    assert monday.cutting.own_yields("fore").tags == ()
    # opened again, the rest weighed, it counts
    monday.cutting.reopen_break(cut.number, by="marek", key="d", why="the rest")
    bone = next(part for part in cut.style.parts if part.name == "Bone")
    monday.cutting.weigh_part(cut.number, bone.id, lb("65.2"), by="marek", key="e")
    monday.cutting.close_break(cut.number, by="marek", key="f", why="no steaks today")
    found = monday.cutting.own_yields("fore")
    assert found.tags == ("B-41F",)
    assert share(found, "Brisket") < Fraction("0.084")


def test_a_saleable_pound_costs_what_the_shop_s_own_yield_makes_it(shop):
    """The draw price of a piece rests on the combined share, not on the starting one."""
    own = shop.cutting.own_yields("lamb").saleable
    piece = next(one for one in shop.rail() if one.tag == "L-207")
    assert piece.saleable_share == own


def test_a_side_gives_four_pounds_of_fillet(shop):
    """Hindquarter 146.2 x .028 and side 324.4 x .013, their mean: what an ask for sixty is told."""
    offer = next(one for one in shop.offers() if one["id"] == "C12")
    assert offer["side_lb"] == "4.15"
    # half of a lamb carcass: three hang, 151.5 lb, a third of it leg
    leg = next(one for one in shop.offers() if one["id"] == "C01")
    assert leg["side_lb"] == "8.33"
    assert next(one for one in shop.offers() if one["id"] == "C23")["side_lb"] is None
