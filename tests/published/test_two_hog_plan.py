"""Two hogs a week, loin and shoulder butt, priced to sell whole.

The primal weights are published: Hog carcass breakdown, National Pork Producers Council, as told by
the University of Kentucky (source id S20, rows CT18, seen).  The demand figures are illustrative,
invented by us, so the plan below is a worked example and no publication; it is checked against a
general-purpose optimiser (scipy, SLSQP), differences of the plan itself, and its own conditions.
"""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize

from collop.chalk import clearing
from collop.reference import yield_rows

EXAMPLES = Path(__file__).parents[2] / "docs/examples"
HOGS = json.loads((EXAMPLES / "clearing.json").read_text(encoding="utf-8"))
PLAN = clearing(HOGS)
CUTS = {cut["id"]: cut for cut in PLAN["cuts"]}
LOIN, SHOULDER = "pork loin", "pork shoulder butt"


def with_ways(activities):
    """Return the plan with other ways to cut."""
    return clearing(deepcopy(HOGS) | {"activities": activities})


def with_supply(name, by):
    """Return the contribution with so much more of one supply, unrounded."""
    problem = deepcopy(HOGS)
    for supply in problem["supply"]:
        if supply["name"] == name:
            supply["weight"] = f"{float(supply['weight']) + by:.3f}"
    return float(clearing(problem)["proof"]["objective"])


def way(name, source, labour, **gives):
    """Return one way to cut."""
    gives = {key.replace("_", "-"): share for key, share in gives.items()}
    return {"name": name, "from": source, "gives": gives, "labour_per_unit": labour}


def test_the_supply_is_two_published_hogs():
    """S20 (CT18, seen): loins of 33.8 lb and shoulder butts of 14.7 lb a hog, two hogs."""
    weights = {}
    for row in yield_rows("PORK_250_184"):
        if row.primal in {"loin", "Boston butt"}:
            weights[row.primal] = row.primal_lb.low
    found = {one["name"]: float(one["weight"]) for one in HOGS["supply"]}
    assert found == {LOIN: pytest.approx(2 * float(weights["loin"])),
                     SHOULDER: pytest.approx(2 * float(weights["Boston butt"]))}  # fmt: skip


@pytest.mark.parametrize(
    ("cut", "price", "quantity", "worth"),
    [
        ("chops", "4.20", 45.6, 2.29),
        ("loin-roast", "5.46", 10.1, 2.43),
        ("ribs", "6.40", 6.1, 3.20),
        ("shoulder-roast", "4.15", 9.5, 1.71),
        ("blade-steak", "4.05", 8.0, 1.92),
        ("links", "3.73", 11.6, 1.89),
    ],
)
def test_each_price_weight_and_worth(cut, price, quantity, worth):
    """Worked example (ours, illustrative demand): every price, weight and worth."""
    found = CUTS[cut]
    assert found["price"] == price
    assert float(found["quantity"]) == pytest.approx(quantity, abs=0.05)
    assert float(found["worth"]) == pytest.approx(worth, abs=0.005)


def test_how_each_supply_is_cut_and_what_it_brings():
    """Worked example (ours): 48.5 lb of loin to chops, 19.1 to roast; 371.77 in all."""
    weights = [float(one["weight"]) for one in PLAN["activities"]]
    assert weights == pytest.approx([48.5, 19.1, 9.7, 8.4, 11.3], abs=0.05)
    assert PLAN["contribution"] == "371.77"


@pytest.mark.parametrize(("supply", "worth"), [(LOIN, 1.954), (SHOULDER, 1.622)])
def test_worths_are_the_differences_of_the_plan_itself(supply, worth):
    """One pound more or less of a supply moves the contribution by its worth."""
    (found,) = (float(one["worth"]) for one in PLAN["supply"] if one["name"] == supply)
    assert found == pytest.approx(worth, abs=0.002)
    difference = (with_supply(supply, 0.5) - with_supply(supply, -0.5)) / 1.0
    assert difference == pytest.approx(found, abs=0.0015)


def test_another_hog_is_worth_its_supplies():
    """One more hog would bring sum s pi: the difference of a hundredth of a hog more and less."""
    shares = {LOIN: 33.8, SHOULDER: 14.7}
    found = {one["name"]: float(one["worth"]) for one in PLAN["supply"]}
    assert float(PLAN["one_more"]) == pytest.approx(
        sum(shares[name] * worth for name, worth in found.items()), abs=0.01
    )
    step = 0.05

    def at(hogs):
        problem = deepcopy(HOGS)
        for supply in problem["supply"]:
            supply["weight"] = f"{shares[supply['name']] * hogs:.3f}"
        return float(clearing(problem)["proof"]["objective"])

    difference = (at(2 + step) - at(2 - step)) / (2 * step)
    assert float(PLAN["one_more"]) == pytest.approx(difference, abs=0.05)


def test_only_chops_and_roasts_bring_less():
    """Worked example (ours): every loin to chops and every shoulder to roast brings 276.83."""
    ways = [one for one in HOGS["activities"] if one["name"] in
            {"loin to chops", "shoulder to roast"}]  # fmt: skip
    plan = with_ways(ways)
    assert plan["contribution"] == "276.83"
    assert [one["left"] for one in plan["supply"]] == ["0", "0"]
    assert {cut["id"]: cut["price"] for cut in plan["cuts"]}["ribs"] is None


def test_an_even_split_brings_less():
    """Worked example (ours): halves to chops and roast, to roast and steaks bring 354.80."""
    plan = with_ways(
        [
            way("loin, even", LOIN, "0.325", chops=0.47, loin_roast=0.265, ribs=0.16, links=0.025),
            way("shoulder, even", SHOULDER, "0.125", shoulder_roast=0.49, blade_steak=0.475),
        ]
    )
    assert plan["contribution"] == "354.80"
    assert [one["left"] for one in plan["supply"]] == ["0", "0"]


def test_a_general_optimiser_agrees():
    """The same program by scipy's SLSQP: contribution, weights cut and prices."""
    price = np.array([float(cut["price"]) for cut in HOGS["cuts"]])
    sold = np.array([float(cut["quantity"]) for cut in HOGS["cuts"]])
    e = np.array([cut["elasticity"] for cut in HOGS["cuts"]])
    making = np.array([float(cut.get("making_cost", "0")) for cut in HOGS["cuts"]])
    ids = [cut["id"] for cut in HOGS["cuts"]]
    gives = np.zeros((len(ids), len(HOGS["activities"])))
    for a, one in enumerate(HOGS["activities"]):
        for cut, share in one["gives"].items():
            gives[ids.index(cut), a] = share
    labour = np.array([float(one["labour_per_unit"]) for one in HOGS["activities"]])
    sources = [[0, 1], [2, 3, 4]]

    # about one, or a fall of the loss near the end is lost in its rounding
    size = float(price @ sold)

    def loss(x):
        q = gives @ x
        return (labour @ x + making @ q - np.sum(q * price * (q / sold) ** (-1 / e))) / size

    limits = [{"type": "ineq", "fun": lambda x, own=own, w=float(one["weight"]): w - sum(x[own])}
              for own, one in zip(sources, HOGS["supply"], strict=True)]  # fmt: skip
    found = minimize(
        loss, [30.0, 30.0, 9.0, 9.0, 9.0], method="SLSQP", bounds=[(0.01, None)] * 5,
        constraints=limits, options={"ftol": 1e-12, "maxiter": 500},
    )  # fmt: skip
    assert float(PLAN["proof"]["objective"]) == pytest.approx(-found.fun * size, abs=1e-3)
    assert [float(one["weight"]) for one in PLAN["activities"]] == pytest.approx(found.x, abs=0.01)
    prices = price * (gives @ found.x / sold) ** (-1 / e)
    assert [float(CUTS[one]["exact"]) for one in ids] == pytest.approx(prices, abs=1e-3)


def test_a_cap_on_ribs_makes_more_ribs_and_not_fewer():
    """Capped at 1.25 times, ribs sell at 6.25; 6.4 lb sell there, so more loin goes their way."""
    plan = clearing(HOGS | {"cap_factor": 1.25})
    ribs = next(cut for cut in plan["cuts"] if cut["id"] == "ribs")
    assert (ribs["price"], ribs["binds"]) == ("6.25", "cap")
    assert float(ribs["quantity"]) == pytest.approx(10 * 1.25**-2, abs=0.001)
    chops = float(plan["activities"][0]["weight"])
    assert chops == pytest.approx(67.6 - 6.4 / 0.32, abs=0.01)
    assert chops < float(PLAN["activities"][0]["weight"])
    assert float(plan["contribution"]) < float(PLAN["contribution"])
