"""How much to put out: held against the distributions of scipy, or refused in words."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from scipy import stats

from collop.chalk import putout
from collop.chalk.putting_out_demand import Counted, Normal, Poisson, Uniform
from collop.chalk.putting_out_reading import KINDS
from collop.chalk.putting_out_schema import SCHEMAS
from collop.errors import Contradiction, ProblemError
from ending import that_ends

DOCS = Path(__file__).parents[2] / "docs"
EXAMPLE = json.loads((DOCS / "examples/putout.json").read_text(encoding="utf-8"))
DEMANDS = {
    "normal": {"kind": "normal", "mean": 14, "sd": 4},
    "uniform": {"kind": "uniform", "low": 80, "high": 150},
    "poisson": {"kind": "poisson", "mean": 6},
    "counts": {"kind": "counts", "seen": [3, 5, "4.5", 9, 7]},
}


def ask(demand, **more):
    """Return a problem: 20 a unit, worth 11 elsewhere and 5.20 as trim."""
    return {"schema": "collop.putout/1", "price": "20", "cost": "11", "salvage": "5.20",
            "demand": demand, **more}  # fmt: skip


def plan_of(problem):
    """Return the plan, both valid by their schemas."""
    jsonschema.validate(problem, SCHEMAS["putout"])
    plan = putout(problem)
    jsonschema.validate(plan, SCHEMAS["putout.plan"])
    return plan


def test_the_worked_example_gives_the_documented_plan():
    """docs/examples/putout.json runs into putout.plan.json."""
    text = (DOCS / "examples/putout.plan.json").read_text(encoding="utf-8")
    assert plan_of(EXAMPLE) == json.loads(text)


def test_every_key_of_a_problem_is_described():
    """docs/putout.md names each key and each demand, and its demands run."""
    text = (DOCS / "putout.md").read_text(encoding="utf-8")
    for key in SCHEMAS["putout"]["properties"].keys() - {"schema"}:
        assert f"`{key}`" in text, key
    shown = [
        json.loads(line.split("`")[1]) for line in text.splitlines() if line.startswith("- `{")
    ]
    assert {plan_of(ask(demand))["schema"] for demand in shown} == {"collop.putout.plan/1"}
    assert tuple(demand["kind"] for demand in shown) == KINDS


def test_a_ribeye_for_saturday():
    """Ratio 9 of 14.80, 15.1 lb; the inputs are invented."""
    plan = plan_of(ask(DEMANDS["normal"]))
    assert (plan["underage"], plan["overage"], plan["put_out"]) == ("9.00", "5.80", "15.1")
    assert plan["critical_ratio"] == 0.6081
    assert plan["say"] == (
        "Put out 15.1 lb: one lb too few costs 9.00, one too many 5.80; it is enough on 61 days "
        "of 100."
    )


FIGURE = st.integers(1, 40_000).map(lambda n: Fraction(n, 100))
RATIO = st.integers(1, 999).map(lambda n: Fraction(n, 1000))


@given(mean=FIGURE, sd=FIGURE, ratio=RATIO, stock=FIGURE)
@examples(max_examples=150)
def test_normal_demand_agrees_with_scipy(mean, sd, ratio, stock):
    """Quantile, chance and mean sold against scipy.stats.norm and its integral."""
    ours, theirs = Normal(mean, sd), stats.norm(float(mean), float(sd))
    assert float(ours.quantile(ratio)) == pytest.approx(max(0, theirs.ppf(float(ratio))), rel=1e-9)
    assert ours.enough(stock) == pytest.approx(theirs.cdf(float(stock)), abs=1e-12)
    # the integral of the survival function from 0, in closed form by a second route
    spread = stats.truncnorm(-float(mean / sd), float((stock - mean) / sd), float(mean), float(sd))
    inside = theirs.cdf(float(stock)) - theirs.cdf(0)
    expected = float(stock) * theirs.sf(float(stock)) + (inside and inside * spread.mean())
    assert float(ours.sold(stock)) == pytest.approx(expected, rel=1e-6, abs=1e-7)


@given(low=FIGURE, width=FIGURE, ratio=RATIO, stock=FIGURE)
@examples(max_examples=100)
def test_uniform_demand_agrees_with_scipy(low, width, ratio, stock):
    """Quantile, chance and the mean below the stock against scipy.stats.uniform."""
    ours = Uniform(low, low + width)
    theirs = stats.uniform(float(low), float(width))
    assert float(ours.quantile(ratio)) == pytest.approx(theirs.ppf(float(ratio)))
    assert ours.enough(stock) == pytest.approx(theirs.cdf(float(stock)))
    reach = float(min(max(stock - low, 0), width))
    below = stats.uniform(float(low), reach).mean() * theirs.cdf(float(stock)) if reach else 0.0
    expected = below + float(stock) * theirs.sf(float(stock))
    assert float(ours.sold(stock)) == pytest.approx(expected, rel=1e-9)


@given(mean=st.integers(1, 20_000).map(lambda n: Fraction(n, 100)), ratio=RATIO,
       stock=st.integers(0, 300))  # fmt: skip
@examples(max_examples=100)
def test_poisson_demand_agrees_with_scipy(mean, ratio, stock):
    """Quantile, chance and mean sold against scipy.stats.poisson."""
    ours, theirs = Poisson(mean), stats.poisson(float(mean))
    assert ours.quantile(ratio) == theirs.ppf(float(ratio))
    assert ours.enough(Fraction(stock)) == pytest.approx(theirs.cdf(stock), abs=1e-12)
    expected = sum(theirs.sf(k) for k in range(stock))
    assert float(ours.sold(Fraction(stock))) == pytest.approx(expected, rel=1e-9, abs=1e-9)


@given(st.lists(st.integers(0, 60), min_size=1, max_size=30), RATIO, st.integers(0, 70))
@examples(max_examples=150)
def test_counted_demand_is_exact(seen, ratio, stock):
    """The least day that is enough on that share of days, and the mean sold, by counting."""
    ours = Counted(tuple(sorted(Fraction(one) for one in seen)))
    enough = [one for one in sorted(seen) if sum(s <= one for s in seen) >= ratio * len(seen)]
    assert ours.quantile(ratio) == enough[0]
    assert ours.enough(Fraction(stock)) == sum(s <= stock for s in seen) / len(seen)
    assert ours.sold(Fraction(stock)) == Fraction(sum(min(s, stock) for s in seen), len(seen))


@pytest.mark.parametrize("kind", KINDS)
@given(cost=st.integers(521, 1999), step=st.sampled_from(["0.1", "0.5", "1", "2.5"]))
@examples(max_examples=40)
def test_no_other_multiple_of_the_step_earns_more(kind, cost, step):
    """What is put out is on the step, and its neighbours on either side earn no more."""
    from collop.chalk.putting_out_reading import read_stock

    problem = ask(DEMANDS[kind], cost=f"{cost / 100:.2f}", step=step)
    stock, best = read_stock(problem), Fraction(putout(problem)["put_out"])
    assert (best / stock.step).denominator == 1
    for steps in (-3, -2, -1, 1, 2, 3):
        other = best + steps * stock.step
        if other >= 0:
            assert stock.profit(other) <= stock.profit(best) + Fraction(1, 10**9)


@pytest.mark.parametrize("kind", KINDS)
def test_dearer_leftovers_mean_less_put_out(kind):
    """The more a unit is worth elsewhere, the less is put out; the more as trim, the more."""
    by_cost = [Fraction(plan_of(ask(DEMANDS[kind], cost=c))["put_out"]) for c in ("6", "11", "19")]
    assert by_cost == sorted(by_cost, reverse=True)
    assert by_cost[0] > by_cost[-1]
    by_trim = [
        Fraction(plan_of(ask(DEMANDS[kind], salvage=v))["put_out"]) for v in ("0", "5.20", "10.90")
    ]
    assert by_trim == sorted(by_trim)


@pytest.mark.parametrize("kind", KINDS)
def test_sold_and_left_are_all_that_was_put_out(kind):
    """The two means close, and the profit follows from them."""
    plan = plan_of(ask(DEMANDS[kind]))
    sold, left, out = (Decimal(plan[key]) for key in ("expected_sold", "expected_left", "put_out"))
    assert sold + left == out
    profit = Decimal("14.80") * sold - Decimal("5.80") * out
    assert abs(profit - Decimal(plan["expected_profit"])) <= Decimal("0.02")


def test_a_known_demand_is_put_out_whatever_it_costs():
    """No spread: the demand itself, and nothing is left."""
    for demand in ({"kind": "normal", "mean": "8.5", "sd": 0}, {"kind": "uniform", "low": 8.5,
                    "high": 8.5}):  # fmt: skip
        plan = plan_of(ask(demand))
        assert (plan["put_out"], plan["expected_left"], plan["z"]) == ("8.5", "0", None)
        assert "The demand is known." in plan["assumptions"]


def test_a_demand_below_zero_is_no_demand():
    """A wide curve is told as rough, and the least put out is nothing."""
    plan = plan_of(ask({"kind": "normal", "mean": 1, "sd": 4}, cost="19"))
    assert plan["put_out"] == "0"
    assert any("below zero" in note for note in plan["assumptions"])


def test_few_days_and_sold_out_days_are_told():
    """Counted demand says how many days it rests on, and what they hide."""
    notes = plan_of(ask(DEMANDS["counts"]))["assumptions"]
    assert any(note.startswith("5 days are few") for note in notes)
    assert any("all was sold" in note for note in notes)
    long = plan_of(ask({"kind": "counts", "seen": [3, 5] * 10}))["assumptions"]
    assert not any("are few" in note for note in long)


def test_pieces_are_whole():
    """Poisson demand is put out by the piece."""
    plan = plan_of(ask(DEMANDS["poisson"]))
    assert (plan["unit"], plan["put_out"], plan["quantity"]) == ("piece", "7", "7")


@pytest.mark.parametrize(
    ("more", "where", "said"),
    [
        ({"price": "11"}, "$.price", "not more than the cost of 11.00; put none out"),
        ({"salvage": "11"}, "$.salvage", "nothing is lost by putting all of it out"),
    ],
)
def test_a_case_without_a_risk_is_refused(more, where, said):
    """Where one side costs nothing there is no best quantity, and the sentence says what is."""
    with pytest.raises(Contradiction, match=said) as caught:
        putout(ask(DEMANDS["normal"], **more))
    assert caught.value.where == where


@pytest.mark.parametrize(
    ("problem", "where", "said"),
    [
        (ask(None), "$.demand", "must be an object"),
        (ask([]), "$.demand", "must be an object"),
        (ask({"kind": "bell"}), "$.demand.kind", "use one of normal"),
        (ask({"kind": "normal", "mean": 5}), "$.demand.sd", "is missing; normal demand needs it"),
        (ask({"kind": "poisson", "mean": 5, "sd": 1}), "$.demand.sd", "is not used by poisson"),
        (ask({"kind": "normal", "mean": True, "sd": 1}), "$.demand.mean", "must be a number"),
        (ask({"kind": "normal", "mean": float("nan"), "sd": 1}), "$.demand.mean", "must be from"),
        (ask({"kind": "normal", "mean": float("inf"), "sd": 1}), "$.demand.mean", "must be from"),
        (ask({"kind": "normal", "mean": 10**400, "sd": 1}), "$.demand.mean", "must be from"),
        (ask({"kind": "normal", "mean": 5, "sd": 1e-300}), "$.demand.sd", "a millionth"),
        (ask({"kind": "normal", "mean": 5, "sd": "1e-999999"}), "$.demand.sd", "write a decimal"),
        (ask({"kind": "uniform", "low": 5, "high": 4}), "$.demand.high", "is less than low"),
        (ask({"kind": "poisson", "mean": 0}), "$.demand.mean", "above 0"),
        (ask({"kind": "poisson", "mean": 10_001}), "$.demand.mean", "at most 10000"),
        (ask({"kind": "counts", "seen": []}), "$.demand.seen", "from 1 to"),
        (ask({"kind": "counts", "seen": 4}), "$.demand.seen", "must be a list"),
        (ask({"kind": "counts", "seen": [1, None]}), "$.demand.seen[1]", "must be a number"),
        (ask({"kind": "counts", "seen": [1, -1]}), "$.demand.seen[1]", "must be from"),
        (ask({"kind": "counts", "seen": [1, "x"]}), "$.demand.seen[1]", "write a decimal"),
        (ask(DEMANDS["normal"], step="0"), "$.step", "more than zero"),
        (ask(DEMANDS["normal"], price=20), "$.price", "decimal in quotes"),
        (ask(DEMANDS["normal"], price="NaN"), "$.price", "write a decimal"),
        (ask(DEMANDS["normal"], cost="1e-999999"), "$.cost", "write a decimal"),
        (ask(DEMANDS["normal"], unit=""), "$.unit", "write a unit"),
        (ask(DEMANDS["normal"], moonstone=1), "$.moonstone", "not a known key"),
    ],
)  # fmt: skip
def test_a_bad_problem_is_one_sentence_with_its_path(problem, where, said):
    """What is wrong, where, and what to do."""
    with pytest.raises(ProblemError) as caught:
        putout(problem)
    assert caught.value.where == where
    assert said in caught.value.message


@pytest.mark.parametrize(
    "more",
    [
        {"demand": {"kind": "poisson", "mean": 10_000}},
        {"demand": {"kind": "counts", "seen": [n % 97 for n in range(2000)]}},
        {"demand": DEMANDS["normal"], "price": "1000000", "cost": "0.000000000000000000001",
         "salvage": "0"},
        {"demand": {"kind": "poisson", "mean": 6}, "price": "1000000",
         "cost": "0.000000000000000000001", "salvage": "0"},
        {"demand": {"kind": "normal", "mean": 1_000_000, "sd": "0.000001"}},
        {"demand": {"kind": "normal", "mean": 0, "sd": 1_000_000}, "step": "0.000001"},
        {"demand": DEMANDS["poisson"], "step": "1000000"},
        {"demand": {"kind": "poisson", "mean": "0.000001"}},
    ],
)  # fmt: skip
def test_extreme_problems_are_answered(more):
    """The largest and the finest figures give a plan that keeps its schema, and end."""
    with that_ends():
        plan = plan_of(ask(None) | more)
    assert Decimal(plan["expected_sold"]) <= Decimal(plan["put_out"])


def test_ten_thousand_days_are_refused_at_once():
    """The limit is told before any day is read."""
    with pytest.raises(ProblemError, match="has 10000 days; give from 1 to 2000"):
        putout(ask({"kind": "counts", "seen": [1] * 10_000}))
