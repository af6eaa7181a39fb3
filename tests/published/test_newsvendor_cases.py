"""Worked answers to how much to put out: O05, O06, O07 and O08."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

import jsonschema
import pytest
from scipy import stats

from collop.chalk import putout
from collop.chalk.putting_out_schema import SCHEMAS
from collop.reference import newsvendor_rows

HALF_CENT = Decimal("0.005")


def plan_of(row, **more):
    """Return the plan of one case, valid with its problem by their schemas."""
    names = ("mean", "sd") if row.distribution == "normal" else ("low", "high")
    demand = dict(zip(names, (str(row.a), str(row.b)), strict=True))
    problem = {
        "schema": "collop.putout/1", "price": str(row.price), "cost": str(row.cost),
        "salvage": str(row.salvage), "demand": {"kind": row.distribution, **demand}, **more,
    }  # fmt: skip
    jsonschema.validate(problem, SCHEMAS["putout"])
    plan = putout(problem)
    jsonschema.validate(plan, SCHEMAS["putout.plan"])
    return plan


def case(case_id):
    """Return one row of the table."""
    (row,) = [one for one in newsvendor_rows() if one.case_id == case_id]
    return row


@pytest.mark.parametrize("row", newsvendor_rows(), ids=lambda row: row.case_id)
def test_each_case_of_the_table(row):
    """Answers of O05 to O08 (seen or computed, as marked): costs, ratio, and the exact quantity."""
    plan = plan_of(row)
    assert Decimal(plan["underage"]) == row.underage
    assert Decimal(plan["overage"]) == row.overage
    assert Decimal(str(plan["critical_ratio"])) == pytest.approx(row.critical_ratio, abs=HALF_CENT)
    assert abs(Decimal(plan["quantity"]) - row.expected) <= HALF_CENT
    if row.is_misprinted:
        assert abs(Decimal(plan["quantity"]) - row.printed) > Decimal("0.05")
    assert row.is_cited


def test_a_ratio_that_is_printed_right_is_met():
    """Matching Supply with Demand, Q12.1 (O05, seen): 8 of 12 is 0.6667, table z 0.44."""
    row = case("NV01")
    plan = plan_of(row)
    assert Decimal(str(plan["critical_ratio"])) == row.printed_ratio
    # the printed 235.2 is the mean and 0.44 standard deviations: the next step of a printed table
    assert row.a + Decimal("0.44") * row.b == row.printed
    assert 0.43 < plan["z"] < 0.44


def test_a_loss_taken_for_a_salvage_value_is_another_problem():
    """Answer page (O06, seen, wrong): 30 read as salvage gives its 0.35, and no way to its 92.6."""
    row = case("NV02")
    slip = plan_of(row, salvage="30")
    assert Decimal(str(slip["critical_ratio"])).quantize(Decimal("0.01")) == row.printed_ratio
    assert slip["quantity"] == "68.6782"
    sign_dropped = 2 * row.a - Decimal(slip["quantity"])
    assert abs(sign_dropped - row.printed) > 1


@pytest.mark.parametrize(("case_id", "up", "best"), [("NV03", 1169, 1168), ("NV04", 1051, 1051)])
def test_whole_pieces_are_not_simply_rounded_up(case_id, up, best):
    """Problems of O07 (seen, answers computed): rounded up 1169 and 1051, but 1168 earns more."""
    row = case(case_id)
    plan = plan_of(row, step="1")
    assert Decimal(plan["quantity"]).to_integral_value(ROUND_CEILING) == up
    assert Decimal(plan["put_out"]) == best
    demand = stats.norm(float(row.a), float(row.b))

    def profit(stock):
        short = demand.expect(lambda seen: stock - seen, lb=0, ub=stock) + stock * demand.cdf(0)
        return float(row.underage) * stock - float(row.underage + row.overage) * short

    assert max(range(best - 3, best + 4), key=profit) == best


def test_a_smaller_spread_pulls_the_quantity_to_the_mean():
    """Assignment (O08, text seen, answers computed): the same mean, a third of the spread."""
    wide, narrow = (Decimal(plan_of(case(name))["quantity"]) for name in ("NV06", "NV07"))
    assert abs(narrow - 115) < abs(wide - 115)
