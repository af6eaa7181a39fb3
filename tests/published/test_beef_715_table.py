"""National beef-industry table, 1150-lb steer, 715-lb carcass, reproduced (BB715)."""

from __future__ import annotations

from fractions import Fraction

import pytest

from collop.carcass import closes, styles_of
from collop.reference import yield_rows

SEEN = yield_rows("BEEF_1150_715", cited_only=True)


def test_the_five_large_cuts_that_were_read_weigh_682_pounds():
    """715-lb table (seen): chuck, round, thin cuts, loin and rib are 682.2 lb."""
    whole = {row.primal: row.primal_lb.low for row in SEEN}
    assert len(whole) == 5
    assert sum(whole.values()) == Fraction("682.2")
    assert sum(row.lb for row in SEEN) == Fraction("682.2")


@pytest.mark.parametrize(
    ("primal", "pounds"),
    [("chuck", "209.5"), ("round", "155.8"), ("thin cuts", "134.6"), ("loin", "115.7"),
     ("rib", "66.6")],
)  # fmt: skip
def test_each_large_cut_closes(primal, pounds):
    """715-lb table (seen): the lines of each large cut sum to its printed weight."""
    (check,) = (one for one in closes("BEEF_1150_715").checks if one.what == primal)
    assert check.basis.is_cited
    assert check.printed == check.found == Fraction(pounds)


def test_the_whole_carcass_closes_only_with_a_remembered_line():
    """Structure, no published check: 715 lb needs the remembered line, and says so."""
    (check,) = (one for one in closes("BEEF_1150_715").checks if one.what == "carcass")
    assert check.closes
    assert not check.basis.is_cited


@pytest.mark.parametrize(
    ("large_cut", "part", "share"),
    [("chuck", "cross rib pot roast", "25.4/209.5"), ("round", "top round", "34.6/155.8"),
     ("rib", "rib roast", "23.9/66.6")],
)  # fmt: skip
def test_a_style_takes_its_shares_from_the_pounds(large_cut, part, share):
    """715-lb table (seen): a share is pounds over pounds, not the rounded per cent."""
    (style,) = (one for one in styles_of("beef", large_cut) if "715" in one.name)
    (found,) = (one for one in style.shares if one.part == part)
    over, under = map(Fraction, share.split("/"))
    assert found.fraction == over / under
    assert found.basis.standing == "computed"
