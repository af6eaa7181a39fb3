"""Many shops: gains worked out by hand, days and loads kept, plans that stand, one answer always.

Maximum flow: scipy.sparse.csgraph.maximum_flow, an independent implementation.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from fractions import Fraction

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from many_shops import between, cut, empty, full, random_shops, shop, with_vans
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_flow

from collop.bench import bench, many
from collop.bench.checker import check_plan
from collop.bench.many import plan_many
from collop.bench.many_schema import SCHEMAS
from collop.bench.reading import read_problem
from collop.bench.transfers import Use, fits
from collop.errors import ProblemError


def _weights(plan):
    found = {}
    for trip in plan["transfers"]:
        for line in trip["lines"]:
            key = (trip["from"], trip["to"], line["day"])
            found[key] = found.get(key, 0) + Decimal(line["weight"])
    return found


def test_what_nobody_buys_here_is_sold_there():
    """Six pounds at 10.00 less 0.40 each: 57.60, as by hand."""
    plan = plan_many(between(full(), empty()))
    assert plan["alone"] == "0.00"
    assert plan["gain"] == plan["contribution"] == "57.60"
    assert plan["cost"] == "2.40"
    assert sum(_weights(plan).values()) == 6
    assert [one["contribution"] for one in plan["shops"]] == ["0.00", "60.00"]


def test_a_van_that_costs_what_the_meat_brings_stays():
    """At 10.00 a pound for the van nothing goes, and each shop is as it was alone."""
    plan = plan_many(between(full(), empty(), vans=({"cost_per_unit": "10.00"},)))
    assert plan["transfers"] == []
    assert plan["gain"] == "0.00"
    assert plan["assumptions"] == []


def test_a_van_takes_no_more_than_it_can_on_a_day():
    """With two pounds a day, what nine are wanted of is sent on the three days before: 57.60."""
    asked = between(full(), empty(("0", "0", "0", "9")), vans=({"most": "2"},))
    plan = plan_many(asked)
    assert _weights(plan) == {("A", "B", day): 2 for day in (0, 1, 2)}
    assert plan["gain"] == "57.60"


@pytest.mark.parametrize(
    ("days_left", "travel", "gain"),
    [(0, 0, "0.00"), (1, 1, "28.80"), (2, 1, "57.60"), (6, 2, "28.80"), (1, 2, "0.00")],
)
def test_nothing_is_sold_before_it_arrives_or_past_its_day(days_left, travel, gain):
    """Sales are on days 1 and 2, three pounds each: only days within travel and keeping count."""
    plan = plan_many(between(full(days_left=days_left), empty(), vans=({"days": travel},)))
    assert plan["gain"] == gain
    for trip in plan["transfers"]:
        for line in trip["lines"]:
            assert line["arrives"] - line["day"] == travel
            assert line["last_day"] == days_left >= line["arrives"]


def test_a_shorter_life_at_the_other_shop_does_not_count_from_arrival():
    """What may be sold to day 1 alone arrives on day 1 and is not kept for day 2."""
    asked = between(full(days_left=1), empty(("0", "1", "9", "0"), keeps_days=6))
    plan = plan_many(asked)
    days = plan["shops"][1]["plan"]["cuts"][0]["days"]
    assert [day["sold"] for day in days] == ["0", "1", "0", "0"]


def test_only_named_cuts_travel():
    """A van for chops takes no leg."""
    both = shop(
        cut(stock=[{"weight": "9", "days_left": 6}]),
        cut(id="chops", name="Chops", stock=[{"weight": "9", "days_left": 6}]),
    )
    other = shop(cut(usual=["0", "3", "0", "0"]), cut(id="chops", name="Chops",
                                                      usual=["0", "2", "0", "0"]))  # fmt: skip
    plan = plan_many(between(both, other, vans=({"cuts": ["chops"]},)))
    assert [line["cut"] for trip in plan["transfers"] for line in trip["lines"]] == ["chops"]
    assert plan["gain"] == "19.20"


def test_a_booking_is_made_whole_even_at_a_loss():
    """Two pounds promised at 1.00 are sent though the van costs 3.00 a pound: bookings first."""
    promised = {"id": "H1", "name": "supper", "due": 2,
                "lines": [{"cut": "leg", "weight": "2", "price": "1.00"}]}  # fmt: skip
    asked = between(full(), empty(("0",) * 4, [promised]), vans=({"cost_per_unit": "3.00"},))
    plan = plan_many(asked)
    assert plan["shops"][1]["plan"]["answer"] == "all"
    assert plan["gain"] == "-4.00"


def test_what_the_shop_itself_needs_is_not_sent():
    """The sender's own booking and dearer sales are kept; one pound of eleven is free."""
    promised = {"id": "H1", "name": "supper", "due": 3, "lines": [{"cut": "leg", "weight": "6"}]}
    mine = cut(usual=["4", "0", "0", "0"], price="12.00", stock=[{"weight": "11", "days_left": 6}])
    plan = plan_many(between(shop(mine, bookings=[promised]), empty()))
    assert plan["shops"][0]["plan"]["answer"] == "all"
    assert sum(_weights(plan).values()) == 1
    assert plan["gain"] == "9.60"


def test_one_shop_alone_has_its_own_plan():
    """A single shop gives its bench plan and nothing to send."""
    plan = plan_many(between(full(), vans=()))
    assert len(plan["shops"]) == 1
    assert plan["shops"][0]["plan"]["schema"] == "collop.bench.plan/1"
    assert plan["transfers"] == plan["dropped"] == []


def test_who_plans_does_not_change_the_answer():
    """With threads or one after the other, and twice, the plan is the same."""
    asked = random_shops(3)
    with ThreadPoolExecutor(2) as executor:
        assert plan_many(asked, executor) == plan_many(asked) == plan_many(asked)


def test_reasons_are_asked_of_the_plan_that_is_told(monkeypatch):
    """Trials do without reasons; the plan with the vans is asked with them; the money stays."""
    asked = random_shops(5)
    before = plan_many(asked)
    assert before["transfers"]
    for one in asked["shops"]:
        one["problem"]["reasons"] = True
    seen = []

    def noted(problem):
        plan = bench(problem)
        seen.append((problem["reasons"], plan))
        return plan

    monkeypatch.setattr(many, "bench", noted)
    after = plan_many(asked)
    assert (after["contribution"], after["cost"]) == (before["contribution"], before["cost"])
    assert False in [reasons for reasons, _ in seen]
    told = [plan for reasons, plan in seen if reasons]
    assert all(any(one["plan"] is plan for plan in told) for one in after["shops"])


def test_a_shop_that_cannot_be_planned_with_a_van_goes_without(monkeypatch):
    """Where a trial is refused, the van stays with an unknown gain, and each plan is as alone."""

    def refusing(problem):
        if problem.get("before"):
            raise ProblemError("$.rail has too many lines.", where="$.rail")
        if any("van" in one["id"] for one in problem.get("bookings", [])):
            raise ProblemError("$.bookings has too many lines.", where="$.bookings")
        return bench(problem)

    monkeypatch.setattr(many, "bench", refusing)
    plan = plan_many(between(full(), empty()))
    assert plan["transfers"] == []
    assert plan["dropped"]
    assert {trip["gain"] for trip in plan["dropped"]} == {None}
    assert plan["gain"] == "0.00"


def test_a_refusal_while_planning_names_the_shop(monkeypatch):
    """What one shop's planner refuses is told with that shop's path."""

    def refusing(problem):
        raise ProblemError("$.days[0].day is odd; write another.", where="$.days[0].day")

    monkeypatch.setattr(many, "bench", refusing)
    with pytest.raises(ProblemError) as told:
        plan_many(between(full(), empty()))
    assert told.value.where == "$.shops[0].problem.days[0].day"
    assert told.value.message.startswith("$.shops[0].problem.days[0].day is odd;")


@settings(max_examples=8)
@given(st.integers(0, 10_000))
def test_plans_with_vans_stand_the_independent_check(seed):
    """Each shop's plan keeps every rule; what leaves arrives; the money is the plans' own."""
    asked = random_shops(seed)
    plan = plan_many(asked)
    jsonschema.validate(plan, SCHEMAS["benches.plan"])
    for at, one in enumerate(plan["shops"]):
        problem = read_problem(with_vans(asked, plan, at))
        assert check_plan(problem, one["plan"]) == []
    arrived = [
        Decimal(line["weight"])
        for at, one in enumerate(plan["shops"])
        for line in one["plan"]["breaks"]
        if line["tag"] not in {p["tag"] for p in asked["shops"][at]["problem"]["rail"]}
    ]
    assert sum(arrived) == sum(Decimal(trip["weight"]) for trip in plan["transfers"])
    whole = sum(Decimal(one["plan"]["contribution"]) for one in plan["shops"])
    assert Decimal(plan["contribution"]) == whole - Decimal(plan["cost"])
    assert Decimal(plan["gain"]) == Decimal(plan["contribution"]) - Decimal(plan["alone"])
    alone = plan_many(asked | {"transfers": []})
    assert alone["contribution"] == plan["alone"]
    assert _short(plan) <= _short(alone)
    if _short(plan) == _short(alone):
        assert Decimal(plan["gain"]) >= 0
        assert all(Decimal(trip["gain"]) > 0 for trip in plan["transfers"])


def _short(plan):
    return sum(
        Decimal(line["short"]) for one in plan["shops"]
        for booking in one["plan"]["bookings"] for line in booking["lines"]
    )  # fmt: skip


_USE = st.tuples(st.integers(0, 4), st.integers(0, 4), st.integers(0, 9))


@given(st.lists(_USE, max_size=6), st.lists(_USE, max_size=6))
def test_fitting_is_a_maximum_flow(lots, uses):
    """Uses fit their lots exactly if the largest flow of scipy carries them all."""
    made = [Use(day, day + more, Fraction(weight)) for day, more, weight in lots]
    taken = [Use(day, day + more, Fraction(weight)) for day, more, weight in uses]
    size = len(made) + len(taken) + 2
    room = np.zeros((size, size), dtype=np.int32)
    for at, lot in enumerate(made):
        room[0, 1 + at] = int(lot.weight)
        for to, use in enumerate(taken):
            if lot.day <= use.day and lot.last >= use.last:
                room[1 + at, 1 + len(made) + to] = 1000
    for to, use in enumerate(taken):
        room[1 + len(made) + to, size - 1] = int(use.weight)
    flow = maximum_flow(csr_array(room), 0, size - 1).flow_value
    assert fits(made, taken) == (flow == sum(int(use.weight) for use in taken))
