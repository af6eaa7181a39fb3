"""The three worked Category A lots (WM130, WM131, WM132), and the t quantile behind the factors.

The lots are made-up figures on a rule from memory (source id CALC, "Computed from the stated rule
by script"), so they show that the sums are right, not that the tables are. What is checked from
outside is Student's t: the factors against `scipy.stats.t` (the plan itself uses `scipy.special`)
and against a numerical integral of the density, as printed in any handbook of statistics.
"""

from __future__ import annotations

import re
from decimal import Decimal
from math import gamma, pi, sqrt

import jsonschema
import pytest
from scipy import integrate, stats

from collop.reference import rule_row
from collop.rules.netweight import netweight
from collop.rules.netweight_schema import SCHEMAS
from collop.rules.netweight_tables import recomputed_factor, sampling_plan

SIZES = [(number, f"WM{67 + number - 1:03d}") for number in range(2, 12)] + [
    (12, "WM078"), (24, "WM079"), (48, "WM080"),
]  # fmt: skip


def judged(errors):
    """Return the plan of 12 packages labelled 1.00 lb out of 40, both sides by their schemas."""
    problem = {
        "schema": "collop.netweight/1", "lot_size": 40, "unit": "lb", "category": "A",
        "label": "1.00", "division": "0.001",
        "packages": [{"net": str(1 + Decimal(error))} for error in errors],
    }  # fmt: skip
    jsonschema.validate(problem, SCHEMAS["netweight"])
    plan = netweight(problem)
    jsonschema.validate(plan, SCHEMAS["netweight.plan"])
    return plan


def errors_of(name):
    return re.findall(r"-?\d+\.\d+", rule_row(name).worked_inputs)


def test_lot_a_passes_by_a_hair():
    """WM130: mean -0.0040, s 0.006325, SEL 0.004016: passes by 0.000016 lb."""
    assert rule_row("WM130").value == "pass"
    plan = judged(errors_of("WM130"))
    assert (plan["mean_error"], plan["s"], plan["sel"]) == ("-0.004", "0.006325", "0.004016")
    assert (plan["verdict"], plan["average"], plan["beyond"]["count"]) == ("passes", "passes", 0)
    assert plan["say"].startswith("The lot passes by 0.000016 lb:")
    assert {package["allowance"] for package in plan["packages"]} == {"0.044"}


def test_lot_b_fails_with_every_package_a_thousandth_lighter():
    """WM131: the same lot, each 0.001 lb lighter: mean -0.0050 is over SEL 0.004016."""
    assert rule_row("WM131").value == "fail (average)"
    a, b = (list(map(Decimal, errors_of(name))) for name in ("WM130", "WM131"))
    assert [one - Decimal("0.001") for one in a] == b
    plan = judged(b)
    assert (plan["mean_error"], plan["s"], plan["sel"]) == ("-0.005", "0.006325", "0.004016")
    assert (plan["verdict"], plan["average"], plan["beyond"]["count"]) == ("fails", "fails", 0)
    assert plan["say"].startswith("The lot fails on the average by 0.000984 lb:")


def test_lot_c_fails_on_one_package():
    """WM132: mean -0.0040 within SEL 0.0121, one error of -0.046 lb where 0.044 lb is allowed."""
    row = rule_row("WM132")
    assert "SEL 0.0121" in row.worked_result
    # only the one error is given; the eleven others are ours, to the mean and SEL of the row
    others = [-2, *[14, -14] * 4, 16, -16]
    plan = judged(["-0.046", *(str(Decimal(one).scaleb(-3)) for one in others)])
    assert plan["mean_error"] == "-0.004"
    assert round(Decimal(plan["sel"]), 4) == Decimal("0.0121")
    assert (plan["verdict"], plan["average"]) == ("fails", "passes")
    assert plan["beyond"] == {"count": 1, "allowed": 0}
    assert plan["packages"][0]["found"] == "beyond"
    assert plan["say"] == (
        "The lot fails on one package: package 1 is 0.046 lb short, where 0.044 lb is allowed."
    )


def _share_under(t, df):
    """Return the share of Student's t under `t`, from its density by quadrature."""
    norm = gamma((df + 1) / 2) / (sqrt(df * pi) * gamma(df / 2))
    found, _ = integrate.quad(lambda x: norm * (1 + x * x / df) ** (-(df + 1) / 2), 0, t)
    return 0.5 + found


@pytest.mark.parametrize(("size", "name"), SIZES)
def test_factors_are_the_t_quantile_over_the_root(size, name):
    """Each factor, worked out anew, is t(0.975, n-1)/sqrt(n); the recalled one is within 0.0007."""
    row = rule_row(name)
    anew = recomputed_factor(size)
    assert float(anew) == pytest.approx(stats.t.ppf(0.975, size - 1) / sqrt(size), abs=1e-6)
    assert _share_under(float(anew) * sqrt(size), size - 1) == pytest.approx(0.975, abs=1e-6)
    recalled = Decimal(re.search(r"SCF ([\d.]+)", row.value)[1])
    assert abs(anew - recalled) < Decimal("0.0007")
    assert abs(Decimal(row.worked_result) - anew) < Decimal("0.0006")
    assert sampling_plan("A", size if size < 13 else {24: 251, 48: 3201}[size]).factor == recalled
    assert not row.is_cited
