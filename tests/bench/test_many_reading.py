"""Many shops: every refusal is one sentence with the path of what is wrong."""

from __future__ import annotations

import copy

import pytest
from hypothesis import given
from hypothesis import strategies as st
from many_shops import between, cut, empty, full, shop

from collop.bench.many import plan_many
from collop.bench.many_reading import MOST_LINKS, MOST_SHOPS, read_shops
from collop.errors import Contradiction, ProblemError
from ending import that_ends

DAYS = shop(cut())["days"]
REFUSED = [
    (lambda p: p.update(schema="collop.bench/1"), "$.schema", "use one of collop.benches/1"),
    (lambda p: p.update(shops=[]), "$.shops", "is empty"),
    (lambda p: p.update(shops={}), "$.shops", "must be a list"),
    (lambda p: p.update(vans=[]), "$.vans", "not a known key"),
    (lambda p: p["shops"][1].update(id="A"), "$.shops[1].id", "once more"),
    (lambda p: p["shops"][1].update(id=" "), "$.shops[1].id", "is empty"),
    (lambda p: p["shops"][1].pop("problem"), "$.shops[1].problem", "must be an object"),
    (lambda p: p["shops"][1].update(problem=[]), "$.shops[1].problem", "must be an object"),
    (lambda p: p["shops"][1]["problem"].update(gap="x"), "$.shops[1].problem.gap", "a number"),
    (lambda p: p["shops"][1]["problem"]["cuts"][0].update(price="NaN"),
     "$.shops[1].problem.cuts[0].price", "write a decimal"),
    (lambda p: p["shops"][1]["problem"]["cuts"][0].update(price="1e-999999"),
     "$.shops[1].problem.cuts[0].price", "write a decimal"),
    (lambda p: p["shops"][1]["problem"].update(currency="EUR"),
     "$.shops[1].problem.currency", "is EUR, but USD in the first shop"),
    (lambda p: p["shops"][1]["problem"].update(unit="kg"),
     "$.shops[1].problem.unit", "is kg, but lb"),
    (lambda p: p["shops"][1]["problem"].update(rounding="half-even"),
     "$.shops[1].problem.rounding", "give all shops the same"),
    (lambda p: p["shops"][1]["problem"].update(
        days=[{"day": f"2026-07-{day:02}"} for day in (9, 10, 11, 12)]),
     "$.shops[1].problem.days", "2026-07-09"),
    (lambda p: p["transfers"][0].update({"from": "Z"}), "$.transfers[0].from", "no shop"),
    (lambda p: p["transfers"][0].update(to="A"), "$.transfers[0].to", "it comes from"),
    (lambda p: p["transfers"].append(p["transfers"][0]), "$.transfers[1].to", "given"),
    (lambda p: p["transfers"][0].update(cost_per_unit=0.4), "$.transfers[0].cost_per_unit",
     "in quotes"),
    (lambda p: p["transfers"][0].update(cost_per_unit="-1"), "$.transfers[0].cost_per_unit",
     "zero or more"),
    (lambda p: p["transfers"][0].update(most="0"), "$.transfers[0].most", "0.001 or more"),
    (lambda p: p["transfers"][0].update(days=-1), "$.transfers[0].days", "from 0 to 13"),
    (lambda p: p["transfers"][0].update(days=1.5), "$.transfers[0].days", "whole number"),
    (lambda p: p["transfers"][0].update(cuts=["ham"]), "$.transfers[0].cuts[0]", "does not have"),
    (lambda p: p["transfers"][0].update(cuts=[3]), "$.transfers[0].cuts[0]", "must be text"),
    (lambda p: p["transfers"][0].update(mos="3"), "$.transfers[0].mos", "not a known key"),
]  # fmt: skip


@pytest.mark.parametrize(("spoil", "where", "says"), REFUSED)
def test_what_is_wrong_is_told_with_its_path(spoil, where, says):
    """One sentence: what is wrong, where, what to do."""
    problem = copy.deepcopy(between(full(), empty()))
    spoil(problem)
    with pytest.raises(ProblemError) as told:
        plan_many(problem)
    assert told.value.where == where
    assert says in told.value.message
    assert told.value.message.startswith(where)
    assert "\n" not in told.value.message


@pytest.mark.parametrize("value", [None, [], "x", 3, float("nan")])
def test_a_problem_that_is_no_object_is_refused(value):
    """Anything but an object is refused at the top."""
    with pytest.raises(ProblemError, match=r"^\$ must be an object"):
        plan_many(value)


def test_too_many_are_refused():
    """Ten thousand shops or vans give a sentence."""
    problem = between(full(), empty())
    with that_ends(), pytest.raises(ProblemError, match=str(MOST_SHOPS)):
        plan_many(problem | {"shops": problem["shops"] * 5000})
    with that_ends(), pytest.raises(ProblemError, match=str(MOST_LINKS)):
        plan_many(problem | {"transfers": problem["transfers"] * 10_000})


def test_another_number_of_days_is_a_contradiction():
    """A shop with a day less cannot be added to the others."""
    problem = between(full(), empty())
    fewer = problem["shops"][1]["problem"]
    fewer["days"] = DAYS[:3]
    fewer["cuts"][0]["usual"] = ["1"] * 3
    fewer["hands"][0]["minutes"] = ["60"] * 3
    with pytest.raises(Contradiction, match="3 days"):
        read_shops(problem)


_ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner,
                                                                max_size=3),
    max_leaves=5,
)  # fmt: skip


@given(_ANY, st.sampled_from(["shops", "transfers"]), st.sampled_from(
    ["id", "name", "problem", "from", "to", "cost_per_unit", "most", "days", "cuts"]))  # fmt: skip
def test_any_value_is_read_or_refused_in_a_sentence(value, part, key):
    """No value of any key gives anything but a reading or a refusal with its path."""
    problem = copy.deepcopy(between(full(), empty()))
    problem[part][0][key] = value
    try:
        shops, _ = read_shops(problem)
    except ProblemError as error:
        assert error.message.startswith("$")
        assert error.where.startswith("$")
    else:
        assert len(shops) == len(problem["shops"])
