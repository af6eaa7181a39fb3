"""Prices and compositions quoted from a 1966 manual on linear programming in meat blending.

Bull meat 8 % fat, 20 % protein at 0.47 a lb; cow meat 15 % and 18 % at 0.45; pork trimmings 50 %
and 10 % at 0.30; fat pork 70 % and 5 % at 0.11.  The limits are ours; so is the weight of 100 lb.
"""

from __future__ import annotations

import pytest

from bench.blend_cases import by_scipy, kept_exactly
from collop.bench.blend import blend

BINS = [
    {"id": "bull", "species": "beef", "fat": 0.08, "protein": 0.20, "price": "0.47"},
    {"id": "cow", "species": "beef", "fat": 0.15, "protein": 0.18, "price": "0.45"},
    {"id": "trimmings", "species": "pork", "fat": 0.50, "protein": 0.10, "price": "0.30"},
    {"id": "fat pork", "species": "pork", "fat": 0.70, "protein": 0.05, "price": "0.11"},
]


def asked(recipe, **available):
    """Return 100 lb of a blend of the four meats."""
    bins = [one | ({"available": available[one["id"]]} if one["id"] in available else {})
            for one in BINS]  # fmt: skip
    return {"schema": "collop.blend/1", "bins": bins,
            "recipes": [{"id": "blend", "make": "100", **recipe}]}  # fmt: skip


@pytest.mark.parametrize(
    ("recipe", "available"),
    [
        ({"fat": {"max": 0.30}}, {}),
        ({"fat": {"max": 0.30}, "protein": {"min": 0.15}}, {}),
        ({"fat": {"max": 0.25}, "protein": {"min": 0.15}}, {"bull": "40"}),
        ({"fat": {"min": 0.20, "max": 0.22}}, {"bull": "30", "fat pork": "15"}),
        ({"fat": {"max": 0.35}, "protein": {"min": 0.12},
          "bin_limits": [{"bin": "bull", "max": 0.25}, {"bin": "trimmings", "min": 0.10}]}, {}),
        ({"protein": {"min": 0.17, "max": 0.18}}, {"bull": "60"}),
    ],
)  # fmt: skip
def test_another_solver_finds_the_same_cost(recipe, available):
    """1966 manual (prices and compositions; limits ours): SciPy's least cost to 1e-6."""
    problem = asked(recipe, **available)
    plan = blend(problem)
    assert abs(float(plan["proof"]["objective"]) - by_scipy(problem)) < 1e-6
    assert plan["proof"]["gap"] == "0.0000"
    assert kept_exactly(problem, plan) == []


def test_thirty_percent_fat_by_hand():
    """1966 manual (prices and compositions; limit ours): bull and fat pork as 40 to 22.

    0.08 x + 0.70 (1 - x) = 0.30 gives x = 40/62; 100 lb cost 100 (40 x 0.47 + 22 x 0.11) / 62.
    """
    plan = blend(asked({"fat": {"max": 0.30}}))
    (recipe,) = plan["recipes"]
    assert {one["bin"]: one["weight"] for one in recipe["bins"]} == {
        "bull": "64.517", "fat pork": "35.483"}  # fmt: skip
    assert abs(float(plan["proof"]["objective"]) - 100 * (40 * 0.47 + 22 * 0.11) / 62) < 1e-6
    # a point more fat swaps 1/62 of the weight: (0.47 - 0.11) / 62 a lb
    assert recipe["limits"][0]["saves_per_unit"] == f"{0.36 / 62:.4f}"
    # cow meat has to fall to the price of the same fat in bull and fat pork: 0.47 - 7 x 0.36 / 62
    assert plan["bins"][1]["enters_at"] == f"{0.47 - 7 * 0.36 / 62:.4f}"


def test_more_protein_than_the_leanest_meat_has_is_a_no():
    """1966 manual (compositions; limit ours): 21 % protein cannot be; 20 % of bull meat can."""
    plan = blend(asked({"protein": {"min": 0.21}}))
    assert plan["answer"] == "no"
    change = plan["no"]["nearest"][0]["changes"][0]
    assert (change["change"], change["to"]) == ("protein min", 0.2)
