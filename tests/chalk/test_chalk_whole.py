"""Whole or cut: break-even, what turns the answer, what the case goes without, refusals."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.chalk import most_loss, whole
from collop.chalk.whole_or_cut import break_even
from collop.chalk.whole_reading import read_piece
from collop.chalk.whole_schema import SCHEMAS
from collop.errors import BadValue, ProblemError
from ending import that_ends

DOCS = Path(__file__).parents[2] / "docs"
VALID = {name: jsonschema.Draft202012Validator(schema) for name, schema in SCHEMAS.items()}


def piece(**more):
    """Return a shoulder of two cuts; the figures are invented."""
    return {
        "schema": "collop.whole/1",
        "piece": {"name": "shoulder", "weight": "10", "price": "1.80"},
        "cuts": [
            {"id": "steak", "share": 0.5, "price": "3.00", "shrink": 0.04},
            {"id": "trim", "share": 0.25, "price": "2.00", "shrink": 0.0},
        ],
        "labour_per_unit": "0.30",
    } | more


def plan_of(problem):
    """Return the plan, once it keeps its schema."""
    found = whole(problem)
    VALID["whole"].validate(problem)
    VALID["whole.plan"].validate(found)
    return found


def test_the_documented_problem_gives_the_documented_plan():
    """docs/examples/whole.json runs into its plan, and both keep their schemas."""
    problem, plan = (
        json.loads((DOCS / f"examples/whole{kind}.json").read_text(encoding="utf-8"))
        for kind in ("", ".plan")
    )
    for schema in SCHEMAS.values():
        jsonschema.Draft202012Validator.check_schema(schema)
    assert plan_of(problem) == plan


def test_every_key_is_described():
    """docs/whole.md names each key of the problem, its piece and its cuts."""
    text = (DOCS / "whole.md").read_text(encoding="utf-8")
    top = SCHEMAS["whole"]["properties"]
    names = [key for key in top if key not in ("schema", "piece", "cuts")]
    names += [f"piece.{key}" for key in top["piece"]["properties"]]
    names += [f"cuts[].{key}" for key in top["cuts"]["items"]["properties"]]
    for name in names:
        assert f"`{name}`" in text, name


def test_break_even_is_what_the_cuts_bring_less_the_cutting():
    """10 lb: .5 x 3.00 x .96 + .25 x 2.00 - .30 = 1.64 a pound, by hand."""
    plan = plan_of(piece())
    assert plan["gross_per_unit"] == "1.9400"
    assert plan["break_even"] == plan["separated_per_unit"] == "1.6400"
    assert plan["separated"] == "16.40"
    assert plan["at"]["gain"] == "1.60"
    assert plan["at"]["better"] == "whole"
    assert plan["unsold_share"] == 0.25


def test_the_costs_of_the_whole_raise_its_break_even():
    """(1.64 + .05 + .03) / (1 - .02) = 1.7551, by hand."""
    plan = plan_of(piece(whole_labour_per_unit="0.05", whole_packaging_per_unit="0.03",
                         whole_shrink=0.02))  # fmt: skip
    assert plan["break_even"] == "1.7551"


def test_minutes_and_pay_are_labour_per_unit():
    """15 minutes at 24.00 for 10 lb are .60 a pound."""
    given_so = piece(labour_minutes="15", labour_per_hour="24")
    del given_so["labour_per_unit"]
    assert plan_of(given_so)["labour_per_unit"] == "0.6000"


def test_packaging_and_risk_lower_what_cutting_brings():
    """1.64 less .06 and .10."""
    plan = plan_of(piece(packaging_per_unit="0.06", risk_per_unit="0.10"))
    assert plan["break_even"] == "1.4800"


def test_the_turning_price_of_a_cut_makes_both_equal():
    """With one cut at its turning price, whole and cut earn the same to the last digit kept."""
    turns = plan_of(piece())["at"]["turns"]
    assert [turn["price"] for turn in turns] == ["3.3333", "2.6400"]
    for turn in turns:
        problem = piece()
        for cut in problem["cuts"]:
            if cut["id"] == turn["id"]:
                cut["price"] = turn["price"]
        assert abs(Fraction(plan_of(problem)["break_even"]) - Fraction("1.80")) < Fraction(1, 5000)


def test_no_price_turns_where_it_would_be_negative_or_the_cut_is_nothing():
    """A cut of no weight, or one that cannot fall far enough, has no turning price."""
    problem = piece(piece={"weight": "10", "price": "0.10"})
    problem["cuts"].append({"id": "none", "share": 0, "price": "9.00"})
    turns = {turn["id"]: turn["price"] for turn in plan_of(problem)["at"]["turns"]}
    assert turns == {"steak": None, "trim": None, "none": None}


def test_the_case_goes_without_what_is_not_made():
    """4.8 lb of steak less is 2.4 days of trade at 2 lb a day; 3 lb do not last two days."""
    problem = piece(days=2)
    problem["cuts"][0] |= {"case_free": "3", "sells_per_day": "2"}
    problem["cuts"][1] |= {"case_free": "9", "sells_per_day": "0"}
    steak, trim = plan_of(problem)["takes"]
    assert (steak["weight"], steak["days"], steak["cover_days"]) == ("4.8", 2.4, 1.5)
    assert (steak["short"], steak["short_weight"]) == (True, "1")
    assert (trim["days"], trim["cover_days"], trim["short"]) == (None, None, False)
    assert "2.4 days of trade" in plan_of(problem)["say"]
    assert "short by 1.0 lb" in plan_of(problem)["say"]


def test_what_runs_short_is_named_before_what_sells_slowly():
    """Trim, 2 lb of whose shortfall it fills, comes before steak that nobody waits for.

    Steak: 4.8 lb at 0.1 a day are 48 days of trade, and the case has enough. Trim: 2.5 lb would
    come; 3 a day for two days less 4 in the case are 2 lb short.
    """
    problem = piece(days=2)
    problem["cuts"][0] |= {"case_free": "3", "sells_per_day": "0.1"}
    problem["cuts"][1] |= {"case_free": "4", "sells_per_day": "3"}
    steak, trim = plan_of(problem)["takes"]
    assert (steak["days"], steak["short"], trim["short_weight"]) == (48, False, "2")
    say = plan_of(problem)["say"]
    assert "lb of trim, 0.8 days of trade; within 2 days the case is short by 2.0 lb." in say
    assert say.endswith("Then 4.8 lb of steak, 48 days of trade.")
    # short by more, of which the piece fills next to nothing: that comes later again
    problem["cuts"][0] |= {"case_free": "0", "sells_per_day": "20"}
    problem["cuts"][0]["share"] = 0.01
    say = plan_of(problem)["say"]
    assert say.index("of trim") < say.index("of steak")
    assert say.endswith("of steak, 0 days of trade, short by 40.0 lb.")


def test_cutting_that_costs_more_than_it_brings_is_said():
    """With labour above all sales the break-even is negative and the sentence says whole."""
    plan = plan_of(piece(labour_per_unit="3"))
    assert plan["break_even"] == "-1.0600"
    assert "bring less than the cutting costs" in plan["say"]


def test_both_may_earn_the_same():
    """At just the break-even neither is better."""
    plan = plan_of(piece(piece={"weight": "10", "price": "1.64"}))
    assert (plan["at"]["better"], plan["at"]["gain"]) == ("even", "0.00")
    assert "both earn the same" in plan["say"]


def test_a_rounding_of_shares_is_said_and_more_is_refused():
    """Shares may pass 1 by half a percent, which is said; beyond it is a contradiction."""
    cuts = [{"id": "a", "share": 0.6, "price": "3"}, {"id": "b", "share": 0.404, "price": "3"}]
    assert any("rounding" in note for note in plan_of(piece(cuts=cuts))["assumptions"])
    cuts[1]["share"] = 0.41
    with pytest.raises(ProblemError, match=r"\$\.cuts have shares that sum to 1.01"):
        whole(piece(cuts=cuts))


def test_most_loss_refuses_no_ratio():
    """A ratio of zero or less is refused; one under 1 leaves nothing to lose."""
    assert most_loss(Fraction(9, 10)) == 0
    with pytest.raises(BadValue, match="more than zero"):
        most_loss(Fraction(0))


money = st.integers(0, 5000).map(lambda cents: f"{cents / 100:.2f}")
cut = st.fixed_dictionaries(
    {"share": st.integers(0, 20).map(lambda n: n / 100), "price": money,
     "shrink": st.integers(0, 90).map(lambda n: n / 100)}
)  # fmt: skip
cut_lists = st.lists(cut, min_size=1, max_size=5).map(
    lambda cuts: [one | {"id": str(at)} for at, one in enumerate(cuts)]
)


@given(cut_lists, money, st.integers(1, 90))
def test_at_the_break_even_both_ways_earn_the_same_exactly(cuts, labour, shrink):
    """The break-even put in as the price leaves no gain at all, in exact fractions."""
    found = read_piece(piece(cuts=cuts, labour_per_unit=labour, whole_shrink=shrink / 100))
    even = break_even(found)
    separated = sum((c.share * c.price * (1 - c.shrink) for c in found.cuts), Fraction(0))
    assert even * (1 - Fraction(shrink, 100)) == separated - Fraction(labour)


@given(cut_lists, st.integers(0, 4), st.integers(1, 500))
def test_a_dearer_cut_never_lowers_the_break_even(cuts, at, more):
    """Raising one price raises the break-even or leaves it; the order of the cuts is nothing."""
    before = break_even(read_piece(piece(cuts=cuts)))
    assert break_even(read_piece(piece(cuts=cuts[::-1]))) == before
    at %= len(cuts)
    dearer = [*cuts]
    dearer[at] = cuts[at] | {"price": f"{float(cuts[at]['price']) + more / 100:.2f}"}
    assert break_even(read_piece(piece(cuts=dearer))) >= before


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"schema": "collop.whole/2"}, r"\$\.schema"),
        ({"piece": None}, r"\$\.piece"),
        ({"piece": {"weight": "0"}}, r"\$\.piece\.weight is zero"),
        ({"piece": {"weight": 10}}, r"in quotes"),
        ({"piece": {"weight": "NaN"}}, r"\$\.piece\.weight"),
        ({"piece": {"weight": "1e-999999"}}, r"\$\.piece\.weight"),
        ({"piece": {"weight": "1e30"}}, r"\$\.piece\.weight"),
        ({"piece": {"weight": "10", "colour": "red"}}, r"\$\.piece\.colour is not a known key"),
        ({"cuts": []}, r"\$\.cuts names nothing"),
        ({"cuts": None}, r"\$\.cuts"),
        ({"cuts": [3]}, r"\$\.cuts\[0\] must be an object"),
        ({"cuts": [{"id": "a", "share": 1.5, "price": "3"}]}, r"\$\.cuts\[0\]\.share"),
        ({"cuts": [{"id": "a", "share": float("nan"), "price": "3"}]}, r"\$\.cuts\[0\]\.share"),
        ({"cuts": [{"id": "a", "share": 0.5, "price": "-3"}]}, r"\$\.cuts\[0\]\.price"),
        ({"cuts": [{"id": "a", "share": 0.1, "price": "3"}] * 2}, r"a second time"),
        ({"cuts": [{"id": "a", "share": 0.1, "price": "3"}] * 10_000}, r"more than 200 lines"),
        ({"cuts": [{"id": "a", "share": 0.1, "price": "3", "shrink": 1}]}, r"shrink"),
        ({"labour_minutes": "5"}, r"labour"),
        ({"labour_minutes": "5", "labour_per_hour": "24"}, r"keep one of the two"),
        ({"currency": "dollars"}, r"\$\.currency is 'dollars'"),
        ({"unit": "stone"}, r"\$\.unit"),
        ({"whole_shrink": 1}, r"\$\.whole_shrink"),
        ({"days": -1}, r"\$\.days"),
    ],
)
def test_bad_input_gets_one_sentence(change, words):
    """Each bad value is refused in one sentence with its path, however long the value is."""
    with that_ends(), pytest.raises(ProblemError, match=words) as refused:
        whole(piece(**change))
    assert refused.value.message.endswith(".")
    assert "\n" not in refused.value.message


def test_half_of_the_labour_is_asked_for():
    """Minutes without the pay of an hour name what is missing."""
    problem = piece(labour_minutes="5")
    del problem["labour_per_unit"]
    with pytest.raises(ProblemError, match=r"\$\.labour_per_hour is missing"):
        whole(problem)


def test_extremes_still_give_a_plan():
    """The largest and smallest values that may be written run through."""
    cuts = [{"id": str(n), "share": 1e-300, "price": "1000000", "shrink": 0.99} for n in range(200)]
    plan_of(piece(cuts=cuts, piece={"weight": "0.000000000000000000001", "price": "1000000"}))
    plan_of(piece(piece={"weight": "1000000", "price": "0"}, unit="kg", currency="JPY"))
