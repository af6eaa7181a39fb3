"""Lorenzen et al., Journal of Animal Science, pork 1996 and lamb 1997 (LORPORK96, LORLAMB97)."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from collop.measures import decimal_of
from collop.reference import carcass_rules, cut_style_rows


@pytest.mark.parametrize(
    ("group", "style", "pct", "minutes"),
    [("L-LEG", "bone-in retail", ("85.3", "85.3"), ("2.1", "2.1")),
     ("L-LEG", "boneless retail", ("68.0", "68.0"), ("9.0", "9.0")),
     ("P-LOIN", "mostly bone-in chops", ("92.80", "95.28"), ("3.7", "5.3")),
     ("P-LOIN", "mostly boneless", ("71.12", "77.92"), ("7.6", "10.5"))],
)  # fmt: skip
def test_saleable_share_and_labour_keep_their_ranges(group, style, pct, minutes):
    """Lorenzen 1996, 1997 (seen): saleable yield and minutes for a leg or loin."""
    (row,) = (one for one in cut_style_rows(group, kind="total") if one.style == style)
    assert (row.pct.low, row.pct.high) == tuple(map(Decimal, pct))
    assert (row.minutes.low, row.minutes.high) == tuple(map(Decimal, minutes))
    assert row.status == row.minutes_status == "seen"


@pytest.mark.parametrize(("words", "minutes"), [("bone-in", "2.1"), ("boneless", "9.0")])
def test_the_minutes_of_a_lamb_leg_are_the_printed_seconds(words, minutes):
    """Lorenzen 1997 (seen): 126.1 and 542.0 s a leg."""
    (row,) = carcass_rules("fabrication_time", species="lamb", words=words)
    assert decimal_of(Fraction(row.figure) / 60, 1) == Decimal(minutes)
