"""eXtension, Ask an Expert answer 190648, 2014 (EXTCHK)."""

from __future__ import annotations

from collop.reference import chicken_parts


def test_breast_meat_of_the_carcass_and_of_the_live_bird_agree():
    """Ask an Expert 190648 (seen): 34 % of a 70 % carcass is 23.8 %, within 23-25 % of live."""
    rows = {(row.base, row.part): row.pct_of_base for row in chicken_parts("CHICKEN_EXT")}
    of_bird = rows["whole bird without giblets", "breast meat"].low
    carcass = rows["live weight", "carcass, broiler"].low
    of_live = rows["live weight", "breast meat"]
    assert of_live.low <= of_bird * carcass / 100 <= of_live.high
