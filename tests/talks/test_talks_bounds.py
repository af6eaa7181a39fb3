"""The bounds of the conversations against the kernel with its house rules off, and G14 to G19."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction

import pytest
from invariants import check_answer, is_slow
from least import least_money

from collop.measures import UnitPrice, Weight, WeightUnit
from collop.shop import NewLine
from collop.spread import answer

#: Nothing but enough food: no portion for one in ten, no slow cut, any number of items.
PLAIN = {"min_items": 1, "max_items": 20, "one_in": 0, "help_animal": False}


def by_weight(offers):
    """Return the offers without pieces and thawed: what the continuous bounds were computed on."""
    return [cut | {"pieces_lb": None, "frozen_lb": "0"} for cut in offers]


def least(plan):
    """Return the total of the least money."""
    return next(
        (Decimal(s["total"]) for s in plan["spreads"] if s["aim"] == "least-money"),
        Decimal(plan["spreads"][0]["total"]),
    )


@pytest.mark.parametrize(
    ("talk", "key", "heads", "oz", "share", "day"),
    [
        (1, "min_cost_cap35", 40, 7, 0.35, "tuesday"),
        (3, "min_cost_plate", 26, 7, 1.0, "tuesday"),
        (3, "min_cost_4oz", 26, 4, 1.0, "tuesday"),
        (4, "min_cost_cap40", 16, 7, 0.4, "tuesday"),
        (10, "min_cost_cap40", 22, 7, 0.4, "friday"),
    ],
)
def test_the_kernel_reaches_each_bound_by_weight(
    talk, key, heads, oz, share, day, ask, bounds, request
):
    """Sold by weight and without house rules, the least money is the bound to a few cents."""
    offers = request.getfixturevalue(day)
    bound = Decimal(str(bounds[talk][key]))
    assert Decimal(str(least_money(offers, heads * oz / 16, share=share))) == bound
    if oz == 4:  # a dish of four ounces from anything that suits a plate
        offers = [cut | {"styles": ["stew"], "eating": {"stew": 0.5}} for cut in offers]
    problem = ask(
        {"name": "all", "count": heads},
        offers=[
            cut | {"styles": ["plate"], "eating": {"plate": 0.5}} if oz == 7 else cut
            for cut in by_weight(offers)
        ],
        need_oz={"plate": 7} if oz == 7 else {"stew": 4},
        appetite_cv=0.0,
        rules={**PLAIN, "max_share": share},
        use_at=None,
        want=2,
    )
    total = least(answer(problem))
    assert bound - Decimal("0.01") <= total <= bound + Decimal("0.10")


@pytest.mark.parametrize(("heads", "share"), [(8, 1.0), (14, 0.5), (30, 0.3), (60, 0.25)])
@pytest.mark.parametrize("day", ["tuesday", "friday"])
def test_the_kernel_reaches_the_bound_of_any_table(heads, share, day, ask, request):
    """Other counts and caps: the kernel against the other program on the same stock."""
    offers = [
        cut | {"styles": ["plate"], "eating": {"plate": 0.5}}
        for cut in by_weight(request.getfixturevalue(day))
    ]
    bound = Decimal(str(least_money(offers, heads * 7 / 16, share=share)))
    problem = ask(
        {"name": "all", "count": heads},
        offers=offers,
        appetite_cv=0.0,
        rules={**PLAIN, "max_share": share},
        use_at=None,
        want=2,
    )
    assert bound - Decimal("0.01") <= least(answer(problem)) <= bound + Decimal("0.10")


@pytest.mark.parametrize("heads", [4, 9, 12, 22, 40])
def test_house_rules_cost_something_but_never_more_than_half(heads, ask, tuesday):
    """Real answers with default settings are over the bound, and stay sensible."""
    bound = Decimal(str(least_money(tuesday, heads * 7 / 16)))
    problem = ask({"name": "all", "count": heads})
    plan = answer(problem)
    check_answer(problem, plan)
    assert bound <= least(plan) <= bound * Decimal("1.9")


def test_a_usual_answer_holds_a_cut_the_shop_would_like_to_move(ask, tuesday):
    """G14: on Tuesday there are slow cuts; each spread for twelve holds one."""
    assert any(is_slow(cut) for cut in tuesday)
    problem = ask({"name": "all", "count": 12}, budget_total="150.00")
    plan = answer(problem)
    assert plan["answer"] == "yes"
    for spread in plan["spreads"]:
        assert any(line["slow"] for line in spread["lines"]), spread["aim"]


def test_each_change_is_a_new_quote_and_the_earlier_one_is_kept(shop, ask):
    """G16: the same table with more heads is quoted anew; the first quote still stands."""
    quotes = []
    for heads in (8, 10):
        spread = answer(ask({"name": "all", "count": heads}, want=1))["spreads"][0]
        lines = [
            NewLine(
                line["id"],
                Weight.of(line["weight_lb"], WeightUnit.LB),
                pieces=line["pieces"]
                and tuple(Weight.of(p, WeightUnit.LB) for p in line["pieces"]),
                style=line["style"],
                unit_price=UnitPrice.of(line["price_per_lb"], WeightUnit.LB),
            )
            for line in spread["lines"]
        ]
        quotes.append(shop.quote(lines, ask={"heads": heads}, say=spread["say"], key=f"q{heads}"))
        assert str(quotes[-1].total) == spread["total"]
    first, second = quotes
    assert first.id != second.id
    assert shop.quote_by_id(first.id) == first
    assert first.total != second.total


def test_a_weight_of_the_plan_is_the_same_in_kilograms_and_back(ask):
    """G17: pounds of the plan to kilograms and back lose nothing at the scale's step."""
    for spread in answer(ask({"name": "all", "count": 12}))["spreads"]:
        for line in spread["lines"]:
            weight = Weight.of(line["weight_lb"], WeightUnit.LB)
            kilograms = Weight.of(weight.decimal(WeightUnit.KG, 6), WeightUnit.KG)
            assert str(kilograms.decimal(WeightUnit.LB, 2)) == f"{float(line['weight_lb']):.2f}"


def test_the_order_of_groups_changes_names_only(ask):
    """G18: the same groups in another order give the same lines and money."""
    groups = [{"name": "all", "count": 10}, {"name": "n", "count": 4, "avoids": ["species:pork"]}]
    one, two = (answer(ask(*some))["spreads"] for some in (groups, groups[::-1]))
    assert [s["total"] for s in one] == [s["total"] for s in two]
    lines = [[(line["id"], line["weight_lb"]) for s in some for line in s["lines"]]
             for some in (one, two)]  # fmt: skip
    assert lines[0] == lines[1]


def test_talk_5_what_stays_of_the_order_is_a_plan_without_sesame(ask, shop):
    """The lines that stay, pinned at their weights, feed the rowers; the plan takes them as is."""
    order = shop.booking("H2")
    stays = [line for line in order.lines if line.case_id != "C25"]
    offers = shop.offers(leaving_out="H2")
    pinned = [
        {"id": line.case_id, "weight_lb": str(line.weight.decimal(WeightUnit.LB, 2))}
        for line in stays
    ]
    problem = ask(
        {"name": "usual", "count": 18, "avoids": ["allergen:sesame"]},
        {"name": "crew", "count": 16, "kind": "crew", "avoids": ["allergen:sesame"]},
        offers=offers,
        appetite_cv=0.0,
        need_oz={"plate": 7, "hand": 7},
        pinned=pinned,
        use_at=None,
        want=1,
    )
    (spread,) = answer(problem)["spreads"]
    assert {line["id"]: line["weight_lb"] for line in spread["lines"]} == {
        pin["id"]: pin["weight_lb"] for pin in pinned
    }
    assert Decimal(spread["total"]) == sum(Decimal(str(line.line_total)) for line in stays)
    assert spread["boneless_oz"] == pytest.approx(17.976 * 16, abs=0.01)
    with_sesame = json.dumps(problem | {"pinned": [*pinned, "C25"]})
    with pytest.raises(ValueError, match="soy-sesame is pinned but nobody"):
        answer(json.loads(with_sesame))


def test_talk_6_a_taste_of_fillet_for_twenty_is_a_yes(ask):
    """Two ounces as the need: twenty are fed from the 2.5 lb that is free, not twenty-one."""
    taste = {"need_oz": {"plate": 2}, "appetite_cv": 0.0, "rules": {"only": ["C12"], "one_in": 0}}
    twenty = answer(ask({"name": "all", "count": 20}, **taste))
    assert [line["weight_lb"] for line in twenty["spreads"][0]["lines"]] == ["2.50"]
    assert answer(ask({"name": "all", "count": 21}, **taste))["answer"] == "no"


def test_talk_6_the_nearest_yes_beside_fillet_are_tried_alone(ask):
    """Each change offered to the sixty, merged into the ask, is answered yes."""
    problem = ask({"name": "all", "count": 60}, rules={"only": ["C12"]})
    for yes in answer(problem)["nearest_yes"]:
        patched = dict(problem)
        for key, value in yes["patch"].items():
            if isinstance(value, dict):
                merged = {**patched.get(key, {}), **value}
                patched[key] = {name: part for name, part in merged.items() if part is not None}
            else:
                patched[key] = value
        assert answer(patched)["answer"] == "yes", yes


def test_talk_8_ducks_for_tomorrow_cannot_thaw_but_for_saturday_they_can(ask, bounds):
    """Wednesday at four for Thursday at one: never C29; three days later it may be had."""
    wednesday = {"now": "2026-06-10T16:00"}
    tomorrow = answer(ask({"name": "all", "count": 16}, use_at="2026-06-11T13:00", **wednesday))
    assert not bounds[8]["feasible_fridge"]
    used = {line["id"] for s in tomorrow["spreads"] for line in s["lines"]}
    assert not used & {"C28", "C29", "C30"}
    assert {"C28", "C29", "C30"} <= {one["id"] for one in tomorrow["unusable"]}
    only = {"rules": {"only": ["C29"]}, "pinned": [{"id": "C29", "weight_lb": "15.60"}]}
    later = ask({"name": "all", "count": 16}, use_at="2026-06-13T13:00", appetite_cv=0.0,
                **only, **wednesday)  # fmt: skip
    (spread,) = answer(later | {"want": 1})["spreads"]
    assert spread["lines"][0]["pieces"] == ["5.20"] * 3
    each = Fraction(str(spread["boneless_oz"])) / 16
    assert float(each) == pytest.approx(bounds[8]["oz_per_head_if_thawed"], abs=0.01)
