"""Shares times prices of the large cuts give the published value of the carcass.

Sources: USDA Boxed Beef Cutout prices, daily tables of March 2012, 2013 and 2014 (P11, seen);
National Daily Pork Report FOB Plant LM_PK602 / LM_PK600 of 2019 (P12, seen). The shares were
computed from the same reports (status computed), so meeting them is weaker than it looks; leaving
each day out and finding the shares from the other days is the stronger check. The pork cut-out
holds other parts beside the six large cuts; their value is a constant of the fit.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

import numpy as np
import pytest

from collop.chalk import chalk
from collop.reference import cutout_weight_rows, price_rows
from collop.reference.sources import Status

#: One cent a pound is one dollar a hundredweight.
CENT = Decimal(1)
WHOLE = {"beef": "cutout", "pork": "carcass"}


def days():
    """Return (species, series, date) with the printed prices by part [USD/cwt]."""
    found = defaultdict(dict)
    for row in price_rows():
        if row.level == "primal cutout" and row.unit == "USD/cwt":
            found[row.species, row.series, row.date][row.cut] = row.price
    return dict(found)


DAYS = days()
SHARES = {
    species: {row.primal: row.weight for row in cutout_weight_rows(species) if row.is_share}
    for species in WHOLE
}
OTHER = {
    species: sum(row.weight for row in cutout_weight_rows(species) if not row.is_share)
    for species in WHOLE
}
CASES = [pytest.param(*day, id=f"{day[0]}-{day[1].split()[3]}-{day[2]}") for day in sorted(DAYS)]


def test_the_days_and_the_shares_are_there():
    """Cutout reports (P11, P12, prices seen, shares computed): 16 grade-days and 18 days."""
    assert sum(species == "beef" for species, _, _ in DAYS) == 16
    assert sum(species == "pork" for species, _, _ in DAYS) == 18
    assert {row.status for row in cutout_weight_rows()} == {Status.COMPUTED}
    for (species, _, _), prices in DAYS.items():
        assert set(prices) == {WHOLE[species], *SHARES[species]}


@pytest.mark.parametrize(("species", "series", "date"), CASES)
def test_shares_times_prices_give_the_printed_value(species, series, date):
    """Cutout reports (P11, P12): within a cent a pound on every printed grade-day."""
    prices = DAYS[species, series, date]
    value = sum(share * prices[cut] for cut, share in SHARES[species].items()) + OTHER[species]
    assert abs(value - prices[WHOLE[species]]) < CENT


@pytest.mark.parametrize(("species", "series", "date"), CASES)
def test_a_day_left_out_is_told_by_the_others(species, series, date):
    """Cutout reports (P11, P12, seen): shares fitted without a day give its value to a cent."""
    cuts = sorted(SHARES[species])

    def line(prices):
        constant = [1.0] if species == "pork" else []
        return [float(prices[cut]) for cut in cuts] + constant

    # the midday table of a day is left out with it
    rest = [p for day, p in DAYS.items() if day[0] == species and day[2][:10] != date[:10]]
    known = np.array([line(prices) for prices in rest])
    values = np.array([float(prices[WHOLE[species]]) for prices in rest])
    fitted, *_ = np.linalg.lstsq(known, values, rcond=None)
    left_out = DAYS[species, series, date]
    assert abs(np.dot(line(left_out), fitted) - float(left_out[WHOLE[species]])) < float(CENT)


@pytest.mark.parametrize(("species", "series", "date"), CASES)
def test_the_equation_finds_a_base_of_one(species, series, date):
    """Cutout reports (P11, P12): cost the cutout, no margin, market prices as ratios: base 1."""
    prices = DAYS[species, series, date]
    problem = {
        "schema": "collop.chalk/1",
        "cost": {"bought": str(prices[WHOLE[species]])},
        "margin": 0,
        "cuts": [
            {"name": cut, "weight": str(share), "relative": float(prices[cut])}
            for cut, share in SHARES[species].items()
        ],
        "pulls": [],
    }
    if species == "pork":
        problem["credits"] = [
            {"name": "other parts", "weight": "1", "value_per_unit": str(OTHER[species])}
        ]
    plan = chalk(problem)
    # off by no more than the cent a pound that the identity is off
    assert abs(Decimal(plan["base"]) - 1) < CENT / prices[WHOLE[species]]
    for cut in plan["cuts"]:
        assert abs(Decimal(cut["exact"]) / prices[cut["name"]] - 1) < CENT / prices[WHOLE[species]]
