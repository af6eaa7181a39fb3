"""Offers worked out with published figures land on the published worked examples."""

from __future__ import annotations

from decimal import Decimal

import pytest

from collop.chalk.buying import buying
from collop.chalk.buying_figures import published_band
from collop.reference import carcass_rules


def _weights(weight, dressing, take_home, **more):
    """Return the weights of a live offer at one a pound."""
    one = {"id": "a", "basis": "live", "weight": str(weight), "price": "1.00",
           "dressing": {"pct": dressing}, "take_home": {"pct": take_home}} | more  # fmt: skip
    plan = buying({"schema": "collop.buying/1", "species": "beef", "offers": [one]})
    return {one["name"]: Decimal(one["usual"]) for one in plan["offers"][0]["weights"]}


#: source, live, dressing, carcass, take-home in per cent, printed take-home
EXAMPLES = [
    ("BB1300", 1300, 62, 806, 79.3, 639), ("BXCH", 1300, 62, 806, 79.2, 638),
    ("ATM1100", 1100, 62, 682, 75, 512), ("OK430", 1000, 61, 610, 70.5, 430),
    ("NYCP1200", 1200, 59, 708, 60, 424),
]  # fmt: skip


@pytest.mark.parametrize(("source", "live", "dressing", "carcass", "pct", "home"), EXAMPLES)
def test_a_steer_from_the_pen_to_the_parcel(source, live, dressing, carcass, pct, home):
    """Published examples (carcass_rules.csv, seen): carcass to the pound, take-home within one."""
    (row,) = [
        one for one in carcass_rules("worked_example_live_to_take_home", source_id=source)
        if str(live) in one.inputs
    ]  # fmt: skip
    assert row.is_cited
    assert row.figure == home
    found = _weights(live, dressing, pct)
    assert found["hot"] == carcass
    assert abs(found["to sell"] - home) <= 1


def test_a_1200_lb_steer_hangs_756():
    """Mississippi State P3489 (MSP3489, seen): 1200 lb at 63 % give a hot carcass of 756 lb."""
    (row,) = carcass_rules("worked_example_live_to_carcass", source_id="MSP3489")
    assert _weights(1200, 63, 70)["hot"] == row.figure == 756


def test_shrink_on_the_way_and_dressing():
    """NDSU (NDSUIMPS, seen): 1375 lb less 4 % is 1320; 805 of it is 61.0 %."""
    (row,) = carcass_rules("worked_example_live_to_carcass", source_id="NDSUIMPS")
    assert abs(_weights(1375, 61, 70, live_shrink_pct=4)["hot"] - row.figure) < 1


def test_the_first_chill_takes_two_to_five_per_cent():
    """Tennessee PB1822 (TNPB1822, seen): 750 lb hot chill to at most 730, in the band of P3489."""
    (row,) = carcass_rules("worked_example_hot_to_chilled", source_id="TNPB1822")
    band = published_band("shrink", "beef")
    assert 750 * (1 - band.high) <= row.figure <= 750 * (1 - band.low)


@pytest.mark.parametrize(
    ("species", "live", "source", "quantity"),
    [
        ("pork", 250, "NPPC184", "worked_example_live_to_take_home"),
        ("lamb", 120, "SLIDELAMB", "worked_example_live_to_take_home"),
    ],
)
def test_what_is_filled_in_gives_the_published_hog_and_lamb(species, live, source, quantity):
    """NPPC184: 250 lb, 184, 140. SLIDELAMB: 120 lb, 60, 42 (both seen): from the usual figures."""
    (row,) = carcass_rules(quantity, species=species, source_id=source)
    one = {"id": "a", "basis": "live", "weight": str(live), "price": "1.00"}
    plan = buying({"schema": "collop.buying/1", "species": species, "offers": [one]})
    weights = {one["name"]: one for one in plan["offers"][0]["weights"]}
    assert abs(Decimal(weights["to sell"]["usual"]) - row.figure) <= Decimal("0.5")
    assert Decimal(weights["hot"]["usual"]) == {"pork": 184, "lamb": 60}[species]


@pytest.mark.parametrize(
    ("species", "source", "words"),
    [("pork", "WISHOG", ""), ("lamb", "WISLAMB", "conventional"), ("beef", "TNPB1822", "")],
)
def test_the_dressing_band_holds_what_others_publish(species, source, words):
    """WISHOG 70-75, WISLAMB 44-56, TNPB1822 60-64 (seen): within the band that is filled in."""
    (row,) = carcass_rules("dressing_percent", species=species, source_id=source, words=words)
    band = published_band("dressing", species)
    assert band.is_cited
    assert band.low * 100 <= row.low <= row.high <= band.high * 100
