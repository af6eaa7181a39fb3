"""Published yields and own tests combined: means, worth, spread, zeros."""

from __future__ import annotations

import json
import math
import random
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.carcass import combine_yields
from collop.carcass.combining_schema import SCHEMAS
from collop.errors import ProblemError

DOCS = Path(__file__).parents[2] / "docs"
PARTS = ("steaks", "roasts", "ground", "bone and trim")
OWN = ((0.262, 0.228, 0.276, 0.234), (0.255, 0.239, 0.268, 0.238), (0.270, 0.221, 0.262, 0.247))


def shares(values, names=PARTS):
    return dict(zip(names, values, strict=True))


def thumb(*, published=None, **more):
    """Return the rule of thumb of four quarters, worth four, with three own tests."""
    return {
        "schema": "collop.yields/1",
        "published": {"shares": shares([0.25] * 4), "worth": 4, "sd": 0.03} | (published or {}),
        "tests": [{"shares": shares(own)} for own in OWN],
    } | more


def column(plan, key):
    return [part[key] for part in plan["parts"]]


def test_the_documented_problem_gives_the_documented_plan():
    """docs/examples/yields.json runs into its plan, and both keep their schemas."""
    problem, plan = (
        json.loads((DOCS / f"examples/yields{kind}.json").read_text(encoding="utf-8"))
        for kind in ("", ".plan")
    )
    assert combine_yields(problem) == plan
    for name, value in (("yields", problem), ("yields.plan", plan)):
        jsonschema.Draft202012Validator.check_schema(SCHEMAS[name])
        jsonschema.validate(value, SCHEMAS[name])


def test_every_key_of_the_yields_is_described():
    """docs/yields.md names each key of the problem."""
    text = (DOCS / "yields.md").read_text(encoding="utf-8")
    for key in SCHEMAS["yields"]["properties"]:
        known = key in {"schema", "name", "unit"}
        assert known or f"`{key}" in text or f"`{key}." in text, key


def test_the_worked_dirichlet_mean():
    """Rule of thumb worth four and three illustrative tests (computed): .2553 .2411 .2580 .2456."""
    assert column(combine_yields(thumb()), "share") == [0.2553, 0.2411, 0.258, 0.2456]


def test_the_worked_log_ratio_mean():
    """The same inputs (computed): .2553 .2410 .2580 .2456 by log-ratio, each rounded alone.

    Rounded alone they sum to .9999; the shares to be used close, so one of them is a digit up.
    """
    plan = combine_yields(thumb(method="log-ratio"))
    assert [round(mean, 4) for mean in column(plan, "mean")] == [0.2553, 0.241, 0.258, 0.2456]
    assert sum(Decimal(str(share)) for share in column(plan, "share")) == 1


def test_the_worked_concentration_and_spread():
    """Mean .25, standard deviation .03 (computed): A = 207.3, the next carcass about .030."""
    plan = combine_yields(thumb())
    assert plan["concentration"] == 207.3
    assert [round(sd, 2) for sd in column(plan, "sd")] == [0.03] * 4
    mean, dense = column(plan, "mean")[0], 0.25 * 0.75 / 0.03**2 - 1
    assert column(plan, "sd")[0] == round(math.sqrt(mean * (1 - mean) / (dense + 1)), 4)


def test_worth_and_concentration_are_two_numbers():
    """What the mean is worth moves the mean, not the concentration."""
    plans = [combine_yields(thumb(published={"worth": worth})) for worth in (2, 40)]
    assert plans[0]["concentration"] == plans[1]["concentration"]
    assert column(plans[0], "share") != column(plans[1], "share")


def test_without_tests_the_published_mean_stays():
    """No own test: the published shares, closed."""
    plan = combine_yields(thumb(tests=[]))
    assert column(plan, "share") == [0.25] * 4
    assert plan["own_weight"] == 0.0


def test_a_mean_worth_nothing_leaves_the_own_tests():
    """Worth zero: the plain mean of the tests."""
    plan = combine_yields(thumb(published={"worth": 0}))
    assert column(plan, "mean") == pytest.approx(np.mean(OWN, axis=0), abs=1e-6)


def test_percent_is_read_as_shares():
    """The same figures in percent give the same plan."""
    percent = thumb(published={"shares": shares([25] * 4)})
    assert combine_yields(percent) == combine_yields(thumb())


def test_printed_rounding_is_closed_and_said():
    """Shares that sum to 99.9 are closed in proportion, and the plan says so."""
    plan = combine_yields(thumb(published={"shares": shares([25, 25, 25, 24.9])}, tests=[]))
    assert sum(Decimal(str(share)) for share in column(plan, "share")) == 1
    assert any("sums to 99.9 instead of 100" in note for note in plan["assumptions"])


def test_weighed_parts_are_shares():
    """A test given in pounds is the test given in shares."""
    weighed = [{"weights": shares([f"{x * 300:.1f}" for x in own])} for own in OWN]
    assert column(combine_yields(thumb(tests=weighed)), "share") == column(
        combine_yields(thumb()), "share"
    )


def test_an_old_test_counts_half_at_its_half_life():
    """A test one half-life old counts half, two old a quarter, exactly."""
    tests = [{"shares": shares(OWN[0]), "age_days": days} for days in (0, 90, 180)]
    plan = combine_yields(thumb(tests=tests, half_life_days=90))
    assert [one["weight"] for one in plan["tests"]] == [1.0, 0.5, 0.25]
    weights = [4, 1.75]
    expected = np.average([[0.25] * 4, OWN[0]], axis=0, weights=weights)
    assert column(plan, "mean") == pytest.approx(expected, abs=1e-6)


def test_a_heavy_carcass_counts_more_if_asked():
    """Carcass weight over the mean weight is the weight of a test."""
    tests = [{"shares": shares(OWN[0]), "carcass_weight": "200"},
             {"shares": shares(OWN[1]), "carcass_weight": "300", "unit": "lb"}]  # fmt: skip
    plan = combine_yields(thumb(tests=tests, weigh_by_carcass=True))
    assert [one["weight"] for one in plan["tests"]] == [0.8, 1.2]


def test_a_zero_part_is_half_a_step_of_the_scale_in_the_log_ratio():
    """Zero pounds of ground on a 4 lb scale count as 2 lb of 100, and the plan says so."""
    weights = {"steaks": "30", "roasts": "40", "ground": "0", "bone and trim": "30"}
    plan = combine_yields(
        thumb(method="log-ratio", tests=[{"weights": weights}], resolution="4",
              published={"worth": 1})
    )  # fmt: skip
    (note,) = (one for one in plan["assumptions"] if "replaced" in one)
    assert "zero for ground replaced by half the scale's step (2 % of the whole)" in note
    small = 2 / 100
    own = np.array([0.3, 0.4, 0, 0.3]) * (1 - small) + np.array([0, 0, small, 0])
    raw = np.exp(np.mean(np.log([np.full(4, 0.25), own]), axis=0))
    assert column(plan, "mean") == pytest.approx(raw / raw.sum(), abs=1e-6)


def test_the_dirichlet_takes_zeros_as_they_are():
    """A zero part needs no stand-in there."""
    own = {"shares": shares([0.3, 0.4, 0, 0.3])}
    plan = combine_yields(thumb(tests=[own], published={"worth": 1}))
    assert column(plan, "share") == [0.275, 0.325, 0.125, 0.275]


def test_the_next_carcass_is_divided_exactly():
    """The expected weights of the next carcass sum to it."""
    plan = combine_yields(thumb(next_weight="312.503"))
    assert sum(Decimal(weight) for weight in column(plan, "next_weight")) == Decimal("312.503")


def test_the_worth_of_known_spreads():
    """Within .03 and between .015: worth four."""
    plan = combine_yields(thumb(published={"worth": {"within_sd": 0.03, "between_sd": 0.015}}))
    assert (plan["worth"], plan["worth_method"]) == (4.0, "from known spreads")


def test_the_usual_worth_is_said_to_be_common_practice():
    """With nothing said the mean counts as four, and the plan says on what ground."""
    problem = thumb()
    del problem["published"]["worth"]
    plan = combine_yields(problem)
    assert (plan["worth"], plan["worth_method"]) == (4.0, "usual")
    assert any("common practice, no published source" in note for note in plan["assumptions"])


def _simulated(seed, between, within, shops, tests):
    """Return tests of shops about the quarters: concentrations of shops and of carcasses."""
    rng = np.random.default_rng(seed)
    means = rng.dirichlet(np.full(4, 0.25) * between, size=shops)
    return [
        {"shop": f"shop {n}", "tests": [
            {"shares": shares([round(float(x), 9) for x in row])}
            for row in rng.dirichlet(mean * within, size=tests)]}
        for n, mean in enumerate(means)
    ]  # fmt: skip


def test_the_worth_is_estimated_from_shops():
    """Simulated shops: the estimate finds the worth that made them, within a quarter."""
    between, within = 400.0, 100.0
    problem = thumb(tests=[], other_shops=_simulated(7, between, within, 240, 2))
    problem["published"]["worth"] = "estimate"
    plan = combine_yields(problem)
    # variance of a shop p(1-p)/(B+1); of a carcass in it p(1-p)(1-1/(B+1))/(W+1)
    true = (1 - 1 / (between + 1)) / (within + 1) * (between + 1)
    assert plan["worth_method"] == "estimated"
    assert plan["worth"] == pytest.approx(true, rel=0.25)


def test_shops_that_do_not_differ_make_the_mean_worth_the_most():
    """Where shops spread no more than their carcasses the worth is capped, and said so."""
    same = [
        {"shop": name, "tests": [{"shares": shares(own)} for own in OWN]} for name in ("a", "b")
    ]
    published = {"shares": shares([float(x) for x in np.round(np.mean(OWN, axis=0), 6)])}
    problem = thumb(other_shops=same, published=published)
    problem["published"]["worth"] = None
    plan = combine_yields(problem)
    assert plan["worth"] == 50.0
    assert any("capped at 50" in note for note in plan["assumptions"])


def test_the_spread_of_own_tests_stands_in():
    """Without a published spread three own tests give it; two give none."""
    problem = thumb()
    problem["published"]["sd"] = None
    plan = combine_yields(problem)
    own = np.array(OWN)
    mean = own.mean(axis=0)
    dense = (mean * (1 - mean)).sum() / own.var(axis=0, ddof=1).sum() - 1
    assert plan["concentration_from"] == "own tests"
    assert plan["concentration"] == pytest.approx(dense, abs=0.06)
    fewer = combine_yields(problem | {"tests": problem["tests"][:2]})
    assert fewer["concentration"] is None
    assert column(fewer, "sd") == [None] * 4


def _bad(**more):
    return thumb(**more)


BAD = {
    "not whole": (_bad(published={"shares": shares([0.25, 0.25, 0.25, 0.2])}),
                  "$.published.shares"),
    "another part": (_bad(tests=[{"shares": {**shares(OWN[0]), "tail": 0}}]),
                     "$.tests[0].shares.tail"),
    "a part missing": (_bad(tests=[{"shares": {"steaks": 1}}]), "$.tests[0].shares.roasts"),
    "neither": (_bad(tests=[{}]), "$.tests[0].shares"),
    "both": (_bad(tests=[{"shares": shares(OWN[0]), "weights": {}}]), "$.tests[0].weights"),
    "all zero": (_bad(tests=[{"weights": shares(["0"] * 4)}]), "$.tests[0].weights"),
    "a part of it": (
        _bad(tests=[{"weights": shares(["10"] * 4), "carcass_weight": "50"}]),
        "$.tests[0].weights",
    ),
    "one part": (_bad(published={"shares": {"all": 1}}), "$.published.shares"),
    "text for a share": (_bad(published={"shares": shares(["0.25"] * 4)}),
                         "$.published.shares.steaks"),
    "worth in words": (_bad(published={"worth": "much"}), "$.published.worth"),
    "nothing counts": (_bad(tests=[], published={"worth": 0}), "$.published.worth"),
    "spread in percent": (_bad(published={"sd": 3}), "$.published.sd"),
    "spread too wide": (_bad(published={"sd": 0.49}), "$.published.sd"),
    "zero published": (
        _bad(method="log-ratio", published={"shares": shares([0.5, 0.5, 0, 0])}),
        "$.published.shares.ground",
    ),
    "zero without a weight": (
        _bad(method="log-ratio", tests=[{"shares": shares([0.5, 0.5, 0, 0])}]),
        "$.tests[0].carcass_weight",
    ),
    "no carcass weight": (_bad(weigh_by_carcass=True), "$.tests[0].carcass_weight"),
    "too few shops": (
        _bad(tests=[], published={"worth": None},
             other_shops=[{"shop": "a", "tests": [{"shares": shares(OWN[0])}]}]),
        "$.other_shops",
    ),
    "an empty shop": (_bad(other_shops=[{"shop": "a", "tests": []}]), "$.other_shops[0].tests"),
    "too fine": (_bad(next_weight="10.00001"), "$.next_weight"),
}  # fmt: skip


@pytest.mark.parametrize("how", BAD)
def test_wrong_yields_get_one_sentence_with_their_path(how):
    """Each wrong problem is refused in one sentence that names the place."""
    problem, where = BAD[how]
    with pytest.raises(ProblemError) as caught:
        combine_yields(problem)
    assert caught.value.where == where
    assert caught.value.message.endswith(".")
    assert "\n" not in caught.value.message


def _random_shares(rng, count):
    cuts = sorted(rng.sample(range(1, 1000), count - 1))
    return [(b - a) / 1000 for a, b in zip([0, *cuts], [*cuts, 1000], strict=True)]


def _random_problem(seed, count, tests):
    rng = random.Random(seed)
    names = [f"part {n}" for n in range(count)]
    return {
        "schema": "collop.yields/1",
        "published": {"shares": shares(_random_shares(rng, count), names),
                      "worth": rng.randint(1, 9), "sd": 0.02},
        "tests": [{"shares": shares(_random_shares(rng, count), names),
                   "age_days": rng.randint(0, 400)} for _ in range(tests)],
        "half_life_days": 200,
        "places": rng.randint(2, 6),
    }  # fmt: skip


SEEDS = {"seed": st.integers(0, 10_000), "count": st.integers(2, 9), "tests": st.integers(0, 6)}


@given(**SEEDS, method=st.sampled_from(["dirichlet", "log-ratio"]))
def test_the_printed_shares_always_sum_to_one(seed, count, tests, method):
    """Whatever is combined, the digits sum to 1 and stay within a step of the mean."""
    problem = _random_problem(seed, count, tests)
    plan = combine_yields(problem | {"method": method})
    assert sum(Decimal(str(share)) for share in column(plan, "share")) == 1
    for part in plan["parts"]:
        assert abs(part["share"] - part["mean"]) < 1.01 * 10 ** -problem["places"]


@given(**SEEDS)
def test_the_mean_is_the_weighted_average(seed, count, tests):
    """The Dirichlet mean is what an independent weighted average gives."""
    problem = _random_problem(seed, count, tests)
    rows = [list(problem["published"]["shares"].values())]
    rows += [list(test["shares"].values()) for test in problem["tests"]]
    weights = [problem["published"]["worth"]]
    weights += [0.5 ** (test["age_days"] / 200) for test in problem["tests"]]
    expected = np.average(rows, axis=0, weights=weights)
    assert column(combine_yields(problem), "mean") == pytest.approx(expected, abs=1e-6)


@given(**SEEDS, method=st.sampled_from(["dirichlet", "log-ratio"]))
def test_the_order_of_the_tests_does_not_matter(seed, count, tests, method):
    """Turned round, the tests give the same yields."""
    problem = _random_problem(seed, count, tests) | {"method": method}
    turned = problem | {"tests": problem["tests"][::-1]}
    assert combine_yields(problem)["parts"] == combine_yields(turned)["parts"]


@given(**SEEDS, method=st.sampled_from(["dirichlet", "log-ratio"]))
def test_the_order_of_the_parts_does_not_matter(seed, count, tests, method):
    """Named in another order, each part keeps its mean."""
    problem = _random_problem(seed, count, tests) | {"method": method}
    given_ = problem["published"]
    turned = given_ | {"shares": dict(reversed(given_["shares"].items()))}
    means = {part["part"]: part["mean"] for part in combine_yields(problem)["parts"]}
    other = combine_yields(problem | {"published": turned})["parts"]
    assert {part["part"]: part["mean"] for part in other} == pytest.approx(means, abs=2e-6)


def test_the_mean_is_exact_before_it_is_rounded():
    """A third stays a third: closing gives the first part the last digit."""
    problem = {
        "schema": "collop.yields/1",
        "published": {"shares": {"a": 0.5, "b": 0.25, "c": 0.25}, "worth": 1},
        "tests": [{"shares": {"a": 0.25, "b": 0.5, "c": 0.25}},
                  {"shares": {"a": 0.25, "b": 0.25, "c": 0.5}}],
    }  # fmt: skip
    plan = combine_yields(problem)
    assert column(plan, "mean") == [float(round(Fraction(1, 3), 6))] * 3
    assert column(plan, "share") == [0.3334, 0.3333, 0.3333]
