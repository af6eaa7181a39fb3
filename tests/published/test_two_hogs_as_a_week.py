"""The worked example of the two hogs, with whole pieces and a ladder of prices.

The continuous plan of ``docs/examples/clearing.json`` brings 371.77 (checked in
`published.test_two_hog_plan`): primal weights from Hog carcass breakdown, National Pork Producers
Council, as told by the University of Kentucky (source id S20, rows CT18, seen); demand figures
illustrative, ours.  Here the loins and the butts are twenty pieces each, sold on one day at twelve
prices whose days may be mixed.  Revenue is concave in the weight sold, so whole pieces and few
prices can only bring less: the plan comes near from below.
"""

from __future__ import annotations

import json
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from collop.bench import bench
from collop.bench.checker import check_plan
from collop.bench.reading import read_problem
from collop.chalk import clearing

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
HOGS = json.loads((EXAMPLES / "clearing.json").read_text(encoding="utf-8"))
BEST = clearing(HOGS)
PIECES = 20
FINE = [f"{1.45 - 0.05 * step:.2f}" for step in range(12)]
COARSE = FINE[::3]
TRIM = "links"


def output(cut, share):
    """Return one output; what goes to links goes into the trim bin first."""
    return {"bin" if cut == TRIM else "cut": cut, "share": str(share)}


def style(way, weight):
    """Return a way to cut as a style: labour is money a pound, and a minute is paid 1.00."""
    gives = {cut: Fraction(str(share)) for cut, share in way["gives"].items()}
    outputs = [output(cut, float(share)) for cut, share in gives.items()]
    rest = 1 - sum(gives.values())
    outputs.append({"worth": "0", "name": "loss", "share": f"{float(rest):.4f}"})
    minutes = Fraction(way["labour_per_unit"]) * weight
    return {"id": way["name"], "name": way["name"], "minutes": f"{float(minutes):.6f}",
            "outputs": outputs}  # fmt: skip


def cut_row(cut, steps):
    """Return a line of the case, its usual sales those of the example."""
    return {"id": cut["id"], "name": cut["name"], "price": cut["price"], "keeps_days": 0,
            "usual": [cut["quantity"]],
            "elasticity": cut["elasticity"], "steps": steps}  # fmt: skip


def asked(steps):
    """Return the two hogs as one day at the block."""
    kinds, rail = [], []
    for supply in HOGS["supply"]:
        name, weight = supply["name"], Fraction(supply["weight"]) / PIECES
        ways = [style(one, weight) for one in HOGS["activities"] if one["from"] == name]
        kinds.append({"id": name, "name": name, "species": "pork", "styles": ways})
        rail += [{"tag": f"{name} {piece:02d}", "kind": name, "weight": f"{float(weight):.3f}"}
                 for piece in range(PIECES)]  # fmt: skip
    (links,) = [cut for cut in HOGS["cuts"] if cut["id"] == TRIM]
    return {
        "schema": "collop.bench/1", "name": "two hogs", "unit": "lb", "reasons": False,
        "days": [{"day": "2026-06-09"}],
        "hands": [{"name": "the block", "minutes": ["600"], "per_hour": "60.00"}],
        "kinds": kinds, "rail": rail, "cuts": [cut_row(cut, steps) for cut in HOGS["cuts"]],
        "bins": [{"id": TRIM, "name": "trim", "fat": "0.3", "keeps_days": 0}],
        "makes": [{"cut": TRIM, "name": "Links", "bins": [TRIM],
                   "cost_per_unit": links["making_cost"]}],
    }  # fmt: skip


@cache
def planned(*, fine=True):
    """Return the plan with twelve prices, or with four."""
    return bench(asked(FINE if fine else COARSE))


def test_the_ladder_of_prices_comes_near_from_below():
    """Two hogs (S20): within a thousandth of the continuous 371.77, and never above it."""
    assert BEST["contribution"] == "371.77"
    found = float(planned()["contribution"])
    assert 0.999 * 371.77 <= found <= 371.77
    assert not check_plan(read_problem(asked(FINE)), planned())


def test_fewer_prices_come_less_near():
    """Four of the twelve prices bring less than the twelve, and more than 98 % of the best."""
    coarse = float(planned(fine=False)["contribution"])
    assert 0.98 * 371.77 <= coarse < float(planned()["contribution"])


@pytest.mark.parametrize("way", BEST["activities"], ids=lambda way: way["name"])
def test_each_way_to_cut_has_its_weight_to_one_piece(way):
    """Whole pieces in each style weigh what the continuous plan cuts that way, to one piece."""
    rows = [row for row in planned()["breaks"] if row["style"] == way["name"]]
    (supply,) = [one for one in HOGS["supply"] if one["name"] == rows[0]["kind"]]
    cut = sum(Fraction(row["weight"]) for row in rows)
    assert abs(cut - Fraction(way["weight"])) <= Fraction(supply["weight"]) / PIECES


@pytest.mark.parametrize("cut", BEST["cuts"], ids=lambda cut: cut["id"])
def test_each_worth_is_near_the_continuous_one(cut):
    """One more pound of a cut is worth the marginal revenue, as near as steps of 5 % tell it.

    The continuous plan takes the making of links off; the week's worth is of links as made.
    """
    (found,) = [row["worth"][0] for row in planned()["cuts"] if row["id"] == cut["id"]]
    making = next(float(one.get("making_cost", "0")) for one in HOGS["cuts"]
                  if one["id"] == cut["id"])  # fmt: skip
    assert float(found) - making == pytest.approx(float(cut["worth"]), rel=0.06)


@pytest.mark.parametrize("supply", BEST["supply"], ids=lambda supply: supply["name"])
def test_a_pound_more_of_a_supply_is_worth_as_much(supply):
    """One more pound of loin or butt is worth what the continuous plan says, within 6 %."""
    (found,) = [row for row in planned()["kinds"] if row["id"] == supply["name"]]
    assert float(found["worth_per_unit"]) == pytest.approx(float(supply["worth"]), rel=0.06)
