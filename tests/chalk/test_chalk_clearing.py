"""Clearing prices: closed forms, conditions of the optimum, properties, refusals."""

from __future__ import annotations

import json
import math
import random
from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize

from collop.chalk import clearing, clearing_plan, clearing_program
from collop.chalk.clearing_curves import Curve
from collop.chalk.clearing_program import Answer, solve
from collop.chalk.clearing_proof import Amounts, prove, rounded_down, verify
from collop.chalk.clearing_reading import read_market
from collop.chalk.clearing_schema import SCHEMAS
from collop.errors import CollopError, PlanRejected, ProblemError
from ending import that_ends

EXAMPLE = json.loads(
    (Path(__file__).parents[2] / "docs/examples/clearing.json").read_text(encoding="utf-8")
)
QUICK = settings(max_examples=25)


def one_cut(elasticity, supply="30", **keys):
    """Return a problem of one supply, one way and one cut at 4.00 and 20 a week."""
    cut = {"id": "roast", "price": "4.00", "quantity": "20", "elasticity": elasticity}
    return {
        "schema": "collop.clearing/1",
        "supply": [{"name": "shoulder", "weight": supply}],
        "cuts": [cut | keys],
        "activities": [{"name": "bone", "from": "shoulder", "gives": {"roast": 0.8}}],
    }


def checked(problem):
    """Return the plan, its schema kept."""
    jsonschema.validate(problem, SCHEMAS["clearing"])
    plan = clearing(problem)
    jsonschema.validate(plan, SCHEMAS["clearing.plan"])
    return plan


def random_market(rng, *, takings=False):
    """Return a market of up to 5 supplies, 12 cuts and 20 ways."""
    cuts = []
    for index in range(rng.randint(1, 12)):
        price = rng.uniform(1, 20)
        low = 1.1 if takings else 0.2
        elasticity = rng.choice([rng.uniform(low, 1.6), rng.uniform(low, 6)])
        cut = {
            "id": f"c{index}",
            "price": f"{price:.2f}",
            "quantity": f"{rng.uniform(1, 60):.2f}",
            "elasticity": round(elasticity, 2),
        }
        if rng.random() < 0.3:
            cut["cap"] = f"{price * rng.uniform(0.9, 2):.2f}"
        if rng.random() < 0.3:
            cut["floor"] = f"{price * rng.uniform(0.1, 0.8):.2f}"
        if rng.random() < 0.2:
            cut["making_cost"] = f"{rng.uniform(0.1, 1):.2f}"
        if rng.random() < 0.2:
            cut["on_hand"] = f"{rng.uniform(0.1, 10):.2f}"
        cuts.append(cut)
    supply = [{"name": f"s{k}", "weight": f"{rng.uniform(1, 100):.1f}"}
              for k in range(rng.randint(1, 5))]  # fmt: skip
    ways = []
    for index in range(rng.randint(1, 20)):
        into = rng.sample(cuts, min(len(cuts), rng.randint(1, 3)))
        ways.append(
            {
                "name": f"a{index}",
                "from": rng.choice(supply)["name"],
                "gives": {cut["id"]: round(rng.uniform(0.05, 0.95 / len(into)), 3) for cut in into},
                "labour_per_unit": f"{rng.uniform(0, 0.8):.2f}",
            }
        )
    return {"schema": "collop.clearing/1", "supply": supply, "cuts": cuts, "activities": ways}


@pytest.mark.parametrize("elasticity", [0.3, 0.6, 0.9, 1, 1.3, 2, 5])
@pytest.mark.parametrize("supply", ["24", "25", "40"])
def test_one_cut_sells_at_the_inverse_demand(elasticity, supply):
    """A single cut with nothing else to do sells whole at p0 (q/q0)^(-1/e), capped where e <= 1."""
    plan = checked(one_cut(elasticity, supply))
    (cut,) = plan["cuts"]
    quantity = 0.8 * float(supply)
    price = 4 * (quantity / 20) ** (-1 / elasticity)
    if elasticity <= 1:
        price = min(5.0, price)
    assert float(cut["quantity"]) == pytest.approx(quantity)
    assert float(cut["exact"]) == pytest.approx(price, abs=1e-4)
    worth = price if elasticity <= 1 else price * (1 - 1 / elasticity)
    assert float(cut["worth"]) == pytest.approx(worth, abs=1e-4)
    assert float(plan["supply"][0]["worth"]) == pytest.approx(0.8 * worth, abs=1e-4)


def test_an_inelastic_cut_is_not_kept_back():
    """Where less meat would bring more money, all of it is sold all the same, at its price."""
    plan = checked(one_cut(0.5, "40"))
    (cut,) = plan["cuts"]
    assert (cut["quantity"], cut["unsold"], cut["binds"]) == ("32", "0", "cleared")
    assert float(cut["exact"]) == pytest.approx(4 * 1.6**-2, abs=1e-4)
    assert any("not above 1" in note for note in plan["assumptions"])


def test_a_scarce_inelastic_cut_stops_at_the_usual_cap():
    """With a quarter of the usual weight the price would be 16 times; the cap of 1.25 holds it."""
    (cut,) = checked(one_cut(0.5, "6.25"))["cuts"]
    assert (cut["price"], cut["binds"], cut["worth"]) == ("5.00", "cap", "5.0000")


def test_a_floor_leaves_meat_unsold_and_worth_nothing():
    """Under a floor of 3.00 only D(3.00) sells; what is left is worth nothing more."""
    plan = checked(one_cut(2.0, "100", floor="3.00"))
    (cut,) = plan["cuts"]
    sells = 20 * (3 / 4) ** -2
    assert cut["binds"] == "floor"
    assert cut["price"] == "3.00"
    assert float(cut["quantity"]) == pytest.approx(sells, abs=0.001)
    (supply,) = plan["supply"]
    left = float(supply["left"]) * 0.8 + float(cut["unsold"])
    assert left == pytest.approx(80 - sells, abs=0.002)
    assert float(supply["worth"]) == pytest.approx(0, abs=1e-3)


def test_a_cost_that_nobody_pays_leaves_the_supply_whole():
    """If cutting costs more than any buyer pays, nothing is cut and the cut stands at its cap."""
    problem = one_cut(2.0, cap="4.00")
    problem["activities"][0]["labour_per_unit"] = "9.00"
    plan = checked(problem)
    assert plan["supply"][0]["left"] == "30"
    assert plan["cuts"][0]["quantity"] == "0"
    assert plan["contribution"] in {"0.00", "-0.00"}


def test_what_is_on_hand_is_sold_without_any_supply():
    """Stock alone is priced too; a cut that nothing gives has no price and says so."""
    problem = one_cut(2.0, on_hand="20")
    problem["cuts"].append({"id": "ribs", "price": "5", "quantity": "4", "elasticity": 2})
    problem |= {"supply": [], "activities": []}
    plan = checked(problem)
    assert plan["cuts"][0]["price"] == "4.00"
    assert plan["cuts"][1]["price"] is None
    assert any(note.startswith("ribs: nothing") for note in plan["assumptions"])


def test_a_price_is_rounded_past_no_cap_and_no_floor():
    """A cap of 4.005 is written 4.00, a floor of 3.995 is written 4.00."""
    (cut,) = checked(one_cut(2.0, "1", cap="4.005"))["cuts"]
    assert (cut["price"], cut["exact"]) == ("4.00", "4.0050")
    (cut,) = checked(one_cut(2.0, "900", floor="3.992"))["cuts"]
    assert (cut["price"], cut["exact"]) == ("4.00", "3.9920")


def test_currency_and_rounding_are_kept():
    """Yen have no decimals, and kilograms stay kilograms."""
    problem = one_cut(2.0, "25") | {"currency": "JPY", "rounding": "half-even", "unit": "kg"}
    problem["cuts"][0] |= {"price": "450.7"}
    plan = checked(problem)
    assert plan["cuts"][0]["price"] == "451"
    assert (plan["currency"], plan["unit"], plan["contribution"]) == ("JPY", "kg", "9014")


@pytest.mark.parametrize("elasticity", [0.2, 0.5, 0.994, 1.0, 1.004, 1.01, 1.5, 4.0])
def test_the_value_of_a_curve_has_the_slope_its_price_says(elasticity):
    """By quadrature: an inelastic curve brings its area; an elastic one its takings."""
    curve = Curve(4.0, 20.0, elasticity, cap=5.0)
    for quantity in (1.0, 15.0, 20.0, 60.0):
        if curve.clears:
            points = [curve.at_cap] if curve.at_cap < quantity else None
            area, _ = quad(curve.price, 0, quantity, points=points)
            assert curve.brings(quantity) == pytest.approx(area, rel=1e-6)
        else:
            assert curve.brings(quantity) == pytest.approx(curve.price(quantity) * quantity)


@pytest.mark.parametrize("elasticity", [0.4, 1.0, 1.4, 3.0])
@pytest.mark.parametrize("cost", [0.3, 1.2, 3.0, 4.4, 5.5])
def test_the_best_quantity_at_a_cost_is_best(elasticity, cost):
    """No quantity on a fine grid brings more over its cost than the one that is named."""
    curve = Curve(4.0, 20.0, elasticity, cap=5.0, floor=1.5)
    best = curve.best(cost)
    top = curve.brings(best) - cost * best
    grid = [curve.most * step / 2000 for step in range(2001)]
    assert max(curve.brings(q) - cost * q for q in grid) <= top + 1e-9


@given(st.integers(0, 10**6))
@QUICK
def test_conditions_of_the_optimum_hold_on_any_market(seed):
    """Worth is marginal takings, every way pays at most its supply, and slack is worth nothing."""
    problem = random_market(random.Random(seed))
    plan = checked(problem)
    worth = {cut["id"]: float(cut["worth"] or 0) for cut in plan["cuts"]}
    supply = {one["name"]: one for one in plan["supply"]}
    used = {one["name"]: float(one["weight"]) for one in plan["activities"]}
    for cut, given_cut in zip(plan["cuts"], problem["cuts"], strict=True):
        price, e = float(cut["exact"] or 0), given_cut["elasticity"]
        if float(cut["quantity"]) > 0.1:
            making = float(given_cut.get("making_cost", 0))
            asks = price if e <= 1.005 else price * (1 - 1 / e)
            if cut["binds"] in {"none", "cleared"}:
                assert worth[cut["id"]] == pytest.approx(max(0.0, asks - making), abs=0.01)
            if cut["binds"] == "cap":
                assert asks - making - 0.01 <= worth[cut["id"]] <= price - making + 0.01
        if float(cut["unsold"]) > 0.1:
            assert worth[cut["id"]] == pytest.approx(0, abs=0.01)
    for way in problem["activities"]:
        pays = sum(share * worth[cut] for cut, share in way["gives"].items())
        pays -= float(way["labour_per_unit"])
        assert pays <= float(supply[way["from"]]["worth"]) + 0.001
        if used[way["name"]] > 0.1:
            assert pays == pytest.approx(float(supply[way["from"]]["worth"]), abs=0.01)
    for one in plan["supply"]:
        if float(one["left"]) > 0.1:
            assert float(one["worth"]) == pytest.approx(0, abs=0.01)


@given(st.integers(0, 10**6))
@QUICK
def test_the_weights_shown_fit_in_what_there_is(seed):
    """In exact sums: ways take no more than their supply, cuts sell no more than there is."""
    problem = random_market(random.Random(seed))
    plan = checked(problem)
    made = {cut["id"]: Fraction(cut.get("on_hand", "0")) for cut in problem["cuts"]}
    taken = {one["name"]: Fraction(0) for one in problem["supply"]}
    for way, shown in zip(problem["activities"], plan["activities"], strict=True):
        taken[way["from"]] += Fraction(shown["weight"])
        for cut, share in way["gives"].items():
            made[cut] += Fraction(str(share)) * Fraction(shown["weight"])
    for cut in plan["cuts"]:
        assert 0 <= Fraction(cut["quantity"]) <= made[cut["id"]]
    for one, given_one in zip(plan["supply"], problem["supply"], strict=True):
        assert Fraction(one["used"]) == taken[one["name"]] <= Fraction(given_one["weight"])
        assert Fraction(one["used"]) + Fraction(one["left"]) == Fraction(given_one["weight"])


@given(st.integers(0, 10**6))
@QUICK
def test_another_currency_changes_no_weight(seed):
    """All money a hundred times: the same weights, prices and worths a hundred times."""
    problem = random_market(random.Random(seed), takings=True)
    other = deepcopy(problem)
    for row in other["cuts"] + other["activities"]:
        for key in ("price", "cap", "floor", "making_cost", "labour_per_unit"):
            if key in row:
                row[key] = f"{Fraction(row[key]) * 100}"
    one, two = checked(problem), checked(other)
    assert float(two["proof"]["objective"]) == pytest.approx(
        100 * float(one["proof"]["objective"]), rel=1e-5, abs=0.02
    )
    for a, b in zip(one["cuts"], two["cuts"], strict=True):
        if a["exact"] and float(a["quantity"]) > 0.1:
            assert float(b["exact"]) == pytest.approx(100 * float(a["exact"]), rel=2e-3, abs=0.02)


@given(st.integers(0, 10**6))
@QUICK
def test_more_supply_never_brings_less_nor_is_worth_more(seed):
    """A tenth more of one supply: the objective does not fall, its worth does not rise."""
    rng = random.Random(seed)
    problem = random_market(rng)
    more, index = deepcopy(problem), rng.randrange(len(problem["supply"]))
    row = more["supply"][index]
    row["weight"] = f"{float(row['weight']) * 1.1:.3f}"
    one, two = checked(problem), checked(more)
    before, after = (float(plan["proof"]["objective"]) for plan in (one, two))
    assert after >= before - 1e-3 - 1e-5 * abs(before)
    worths = [float(plan["supply"][index]["worth"]) for plan in (one, two)]
    assert worths[1] <= worths[0] + 0.01
    by = float(row["weight"]) - float(problem["supply"][index]["weight"])
    slack = 0.01 * by + 1e-3 + 2e-5 * abs(before)
    assert worths[1] * by - slack <= after - before <= worths[0] * by + slack


@pytest.mark.parametrize("seed", range(8))
def test_a_general_optimiser_finds_nothing_better(seed):
    """SLSQP of scipy on the same smooth program reaches the same value and never a better one."""
    problem = random_market(random.Random(seed), takings=True)
    for cut in problem["cuts"]:
        for key in ("cap", "floor", "making_cost"):
            cut.pop(key, None)
        cut.setdefault("on_hand", "0.5")
    market = read_market(problem)
    gives = np.zeros((len(market.cuts), len(market.activities)))
    for a, one in enumerate(market.activities):
        for cut, share in one.gives:
            gives[cut, a] = float(share)
    taken = np.array([[one.source == k for one in market.activities]
                      for k in range(len(market.supplies))], dtype=float)  # fmt: skip
    there = np.array([float(one.weight) for one in market.supplies])
    on_hand, price, sold, e = (
        np.array([float(getattr(cut, key)) for cut in market.cuts])
        for key in ("on_hand", "price", "quantity", "elasticity")
    )
    labour = np.array([float(one.labour) for one in market.activities])

    # about one, or a fall of the loss near the end is lost in its rounding
    size = float(price @ sold)

    def loss(x):
        q = np.maximum(on_hand + gives @ x, 1e-9)
        return (labour @ x - np.sum(q * price * (q / sold) ** (-1 / e))) / size

    def slope(x):
        q = np.maximum(on_hand + gives @ x, 1e-9)
        return (labour - gives.T @ (price * (1 - 1 / e) * (q / sold) ** (-1 / e))) / size

    limit = {"type": "ineq", "fun": lambda x: there - taken @ x, "jac": lambda _: -taken}
    found = minimize(
        loss, np.full(len(labour), 0.01), jac=slope, method="SLSQP", constraints=[limit],
        bounds=[(0, None)] * len(labour), options={"maxiter": 2000, "ftol": 1e-12},
    )  # fmt: skip
    ours = float(checked(problem)["proof"]["objective"])
    # judged by where it ended: its own flag also tells of a last step too small to see
    assert (found.x >= -1e-9).all()
    assert (taken @ found.x <= there + 1e-6).all()
    assert -found.fun * size == pytest.approx(ours, rel=1e-5, abs=1e-3)


def test_a_plan_that_is_not_the_best_is_never_shown():
    """Amounts a little off, or worths a little off, are refused; so are figures that are none."""
    market = read_market(EXAMPLE)
    answer = solve(market)
    prove(market, answer)
    worse = [
        replace(answer, levels=tuple(level * 0.98 for level in answer.levels)),
        replace(answer, worths=tuple(worth * 1.05 for worth in answer.worths)),
        replace(answer, worths=tuple(worth * 0.95 for worth in answer.worths)),
        replace(answer, worths=(0.0,) * 6),
        Answer((math.nan,) * 6, answer.worths, answer.levels),
        Answer(answer.quantities, (math.inf,) * 6, answer.levels),
    ]
    for one in worse:
        with pytest.raises(PlanRejected, match=r"^No prices could be proven"):
            prove(market, one)


def test_too_much_from_the_solver_is_brought_within_what_there_is():
    """Levels over the supply by the solver's tolerance still make a feasible plan, exactly."""
    market = read_market(EXAMPLE)
    answer = solve(market)
    over = replace(answer, levels=tuple(level * (1 + 1e-9) for level in answer.levels))
    shown = rounded_down(market, prove(market, over).amounts)
    assert sum(shown.levels[:2]) <= market.supplies[0].weight


@pytest.mark.parametrize("by", [Fraction(1, 10), Fraction(-1, 10), Fraction(10)])
def test_shown_weights_that_do_not_fit_are_never_shown(by):
    """The check of the shown weights is its own: a weight changed afterwards is found."""
    market = read_market(EXAMPLE)
    proof = prove(market, solve(market))
    shown = rounded_down(market, proof.amounts)
    verify(market, shown, proof)
    for levels, sold in (
        ((shown.levels[0] + by, *shown.levels[1:]), shown.sold),
        (shown.levels, (shown.sold[0] + by, *shown.sold[1:])),
    ):
        with pytest.raises(PlanRejected):
            verify(market, Amounts(levels, shown.made, sold), proof)


def test_another_scale_is_tried_before_giving_up(monkeypatch):
    """If the first solve cannot be proven the next is, and only then is a plan refused."""
    seen = []

    def failing(market, stretch):
        seen.append(stretch)
        found = solve(market, stretch)
        return found if len(seen) == 3 else replace(found, worths=(0.0,) * 6)

    monkeypatch.setattr(clearing_plan, "solve", failing)
    assert clearing(EXAMPLE)["contribution"] == "371.77"
    assert len(seen) == len(set(seen)) == 3
    monkeypatch.setattr(
        clearing_plan, "solve", lambda m, s: replace(solve(m, s), worths=(0.0,) * 6)
    )
    with pytest.raises(PlanRejected):
        clearing(EXAMPLE)


def test_a_solver_that_finds_no_figures_shows_no_plan(monkeypatch):
    """Figures that are no numbers, from the solver itself, are refused and not read as zero."""
    monkeypatch.setattr(
        clearing_program, "_run", lambda *_: ([math.nan] * 99, [math.nan] * 99, 1.0)
    )
    with pytest.raises(PlanRejected):
        clearing(EXAMPLE)


WRONG = [None, True, 0, -1, 0.5, 1e308, 10**400, "", "x", "-1", "0", "1e9999999", "1e-999999",
         "NaN", math.nan, math.inf, "1000000", "9" * 300, [], {}, [[]], [None]]  # fmt: skip


def _places(value, path=()):
    steps = value.items() if isinstance(value, dict) else enumerate(value)
    for key, below in steps:
        yield (*path, key)
        if isinstance(below, (dict, list)):
            yield from _places(below, (*path, key))


FULL = EXAMPLE | {"cap_factor": 1.3, "unit": "lb", "currency": "USD", "rounding": "half-up"}
FULL["cuts"] = [EXAMPLE["cuts"][0] | {"cap": "6", "floor": "2", "on_hand": "1"},
                *EXAMPLE["cuts"][1:]]  # fmt: skip


@pytest.mark.parametrize("path", list(_places(FULL)), ids=lambda p: ".".join(map(str, p)))
def test_any_wrong_value_gives_a_plan_or_one_sentence(path):
    """No value of any kind, at any place, gives more than one sentence, and soon."""
    for wrong in WRONG:
        spoilt = deepcopy(FULL)
        at = spoilt
        for key in path[:-1]:
            at = at[key]
        at[path[-1]] = wrong
        try:
            plan = clearing(spoilt)
        except CollopError as error:
            assert error.message.endswith(".")
            assert "\n" not in error.message
            assert len(error.message) < 600
            assert error.where.startswith("$")
        else:
            jsonschema.validate(plan, SCHEMAS["clearing.plan"])
            json.dumps(plan, allow_nan=False)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"cuts": []}, "names nothing"),
        ({"supply": [{"name": "pork loin", "weight": "0"}], "activities": []}, "nothing to sell"),
        ({"supply": EXAMPLE["supply"] * 2}, "once more"),
        ({"cuts": [EXAMPLE["cuts"][0]] * 10_000}, "more than 300 lines"),
        ({"activities": [EXAMPLE["activities"][0] | {"from": "ham"}]}, "no supply"),
        ({"activities": [EXAMPLE["activities"][0] | {"gives": {}}]}, "is empty"),
        ({"activities": [EXAMPLE["activities"][0] | {"gives": {"chops": 1.5, "ribs": 1.5}}]},
         "more than twice"),
        ({"activities": [EXAMPLE["activities"][0] | {"gives": {"hock": 0.5}}]}, "known key"),
        ({"cuts": [EXAMPLE["cuts"][0] | {"cap": "3", "floor": "4"}]}, "over the cap"),
        ({"cuts": [EXAMPLE["cuts"][0] | {"elasticity": 0.01}]}, "from 0.1 to 20"),
        ({"supply": [{"name": " ", "weight": "1"}]}, "is empty; name it"),
        ({"supply": [{"name": "loin", "weight": "0.0005"}]}, "finer than a scale"),
        ({"cuts": [EXAMPLE["cuts"][0] | {"price": "0.00001"}]}, "0.0001 or more"),
        ({"moonstone": 1}, "known key"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_one_sentence(change, words):
    """Each slip is named with its place."""
    with pytest.raises(ProblemError, match=words) as caught:
        clearing(EXAMPLE | change)
    assert caught.value.where.startswith("$")


def test_a_full_counter_is_answered():
    """60 cuts, 8 supplies and 80 ways have their prices; how fast is measured in benchmarks."""
    rng = random.Random(1)
    cuts = [{"id": f"c{j}", "price": f"{rng.uniform(2, 20):.2f}", "quantity":
             f"{rng.uniform(2, 40):.1f}", "elasticity": round(rng.uniform(0.6, 3), 2)}
            for j in range(60)]  # fmt: skip
    supply = [{"name": f"s{k}", "weight": f"{rng.uniform(20, 150):.1f}"} for k in range(8)]
    ways = [{"name": f"a{a}", "from": f"s{a % 8}", "labour_per_unit": f"{rng.uniform(0, 0.6):.2f}",
             "gives": {f"c{j}": 0.3 for j in rng.sample(range(60), 3)}}
            for a in range(80)]  # fmt: skip
    problem = {"schema": "collop.clearing/1", "supply": supply, "cuts": cuts, "activities": ways}
    with that_ends():
        checked(problem)


def test_a_little_water_in_is_said():
    """Yields over 1 are taken, with a note."""
    problem = one_cut(2.0)
    problem["activities"][0]["gives"]["roast"] = 1.1
    assert any("more weight than it takes" in note for note in checked(problem)["assumptions"])
