"""The sentences of an answer, and the keys of the plan."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collop.reference import cook_minimum
from collop.spread.cooking import cook_as
from collop.spread.words import cook_to
from spread.asked import ask, first, full_ask, group, line_of, offer, plan, read, rules

PLAN_KEYS = {"schema", "answer", "currency", "heads", "need", "assumptions", "spreads", "curve",
             "more_money", "blocked_by", "nearest_yes"}  # fmt: skip
LOAD_KEYS = {
    "at_min", "minutes", "zone", "area_sq_in", "id", "heat", "wave", "ready_min", "eat_min",
    "own_tray",
}  # fmt: skip
SPREAD_KEYS = {"aim", "title", "proof", "lines", "total", "per_head", "left", "over_by",
               "boneless_oz", "eating", "feeds", "chance_enough", "chance_each", "chance_everyone",
               "loads", "binds", "say", "gave_up", "differs", "help"}  # fmt: skip
LINE_KEYS = {"id", "name", "weight_lb", "pieces", "style", "slot", "price_per_lb", "line_total",
             "serving_cost", "portion_oz", "share", "meals", "slow", "pinned", "meat_free",
             "not_for", "contains", "cook_to", "reason", "cousins"}  # fmt: skip
COUSIN_KEYS = {"id", "name", "price_per_lb", "serving_cost", "less_per_lb", "less_per_serving",
               "percent"}  # fmt: skip


def test_a_yes_has_all_keys_of_the_contract():
    """Plan, spreads, lines, neighbours and loads hold every key that is promised."""
    found = plan(full_ask(want=5))
    assert found["schema"] == "collop.spread.plan/1"
    assert set(found) >= PLAN_KEYS
    assert set(found["need"]) == {"meals", "planned_meals", "boneless_oz"}
    assert found["nearest_yes"] is None
    for spread in found["spreads"]:
        assert set(spread) >= SPREAD_KEYS
        assert set(spread["proof"]) >= {"status", "gap"}
        assert set(spread["feeds"]) == {"light", "usual", "hungry"}
        for line in spread["lines"]:
            assert set(line) >= LINE_KEYS
            assert all(set(cousin) >= COUSIN_KEYS for cousin in line["cousins"])
            assert line["cook_to"] is None or set(line["cook_to"]) >= {
                "f",
                "c",
                "rest_min",
                "source",
            }
        for load in spread["loads"]:
            assert set(load) == LOAD_KEYS
        assert all(set(each) == {"groups", "chance"} for each in spread["chance_each"])
    assert all(set(point) >= {"total", "eating"} for point in found["curve"])
    assert set(found["more_money"]) == {"by", "total", "eating", "buys"}


def test_a_no_has_all_keys_of_the_contract():
    """No spreads, what blocks, and each nearest yes with change, to, why and patch."""
    found = plan(ask(offer("A"), budget_total="5.00"))
    assert set(found) >= PLAN_KEYS
    assert (found["answer"], found["spreads"], found["curve"]) == ("no", [], [])
    assert found["blocked_by"] == ["budget"]
    assert found["nearest_yes"]
    assert all(set(yes) >= {"change", "to", "why", "patch"} for yes in found["nearest_yes"])


@pytest.mark.parametrize(
    ("more", "kind"),
    [
        ({}, "whole"),
        ({"species": "duck"}, "poultry"),
        ({"species": "duck", "cook_as": "ground"}, "poultry"),
        ({"cook_as": "poultry"}, "poultry"),
        ({"cook_as": "ground"}, "ground"),
        ({"casing": "sheep"}, "ground"),
        ({"name": "Beef mince, 20 % fat"}, "ground"),
        ({"name": "Breakfast patties"}, "ground"),
        ({"species": "lamb", "contains": ["chicken"]}, "poultry"),
        ({"species": "none"}, "none"),
        ({"species": "none", "casing": "hog"}, "ground"),
    ],
)
def test_the_strictest_minimum_that_fits_is_shown(more, kind):
    """Birds at any depth are poultry, mince and links are ground, the rest is whole."""
    (found,) = read(ask(offer("A", **more), groups=[group(1), group(1, "meat")])).offers
    assert cook_as(found) == kind
    shown = cook_to(found)
    if kind == "none":
        assert shown is None
        return
    published = cook_minimum(kind)
    assert (shown["f"], shown["rest_min"]) == (published.whole_fahrenheit, published.rest_min)
    assert shown["f"] == {"whole": 145, "ground": 160, "poultry": 165}[kind]
    assert shown["source"]


@pytest.mark.parametrize(
    "name",
    ["(x)", ", x", "Ribs", "Lamb leg, bone in", "Chicken, whole (15 birds)", "é, ü", "\u00a0x"],
)
def test_any_name_can_be_said(name):
    """Names in brackets, after commas or in capitals make a sentence of at most 25 words."""
    cuts = [offer(str(n), name=f"{name}") for n in range(4)]
    for spread in plan(ask(*cuts, rules=rules(min_items=3, max_share=0.4)))["spreads"]:
        assert len(spread["say"].split()) <= 25
        assert f"{spread['per_head']} a head" in spread["say"]
        assert not spread["say"].startswith((" ", ",", ":"))
    whole = first(ask(offer("A", name="Chicken, whole (15 birds)")))
    assert whole["say"].startswith("Whole chicken: ")


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.text("abcdefgh é,()", min_size=1, max_size=80).filter(str.strip),
                min_size=4, max_size=4))  # fmt: skip
def test_the_line_to_say_is_never_over_twenty_five_words(names):
    """However long the names, the money a head is in it."""
    cuts = [offer(str(n), name=name) for n, name in enumerate(names)]
    spread = first(ask(*cuts, budget_total="99.00", want=1, rules=rules(min_items=4, max_items=4)))
    assert len(spread["say"].split()) <= 25
    assert spread["per_head"] in spread["say"]


def test_reasons_hold_the_figure_they_argue_with():
    """A saving, a slow cut, a meat-free line, and the shop's score, each with its figure."""
    slow = offer("S", days_left=3, cover_days=8, species="goat")
    cheese = offer("C", "12.80", species="none")
    lamb = offer("L", species="lamb", eating={"plate": 0.81})
    spread = first(ask(slow, cheese, lamb, groups=[group(8), group(3, "meat")],
                       rules=rules(min_items=3)))  # fmt: skip
    assert line_of(spread, "S")["reason"] == (
        "At the usual pace it lasts 8 days and keeps 3, so now is its time; 4.38 a serving."
    )
    assert line_of(spread, "C")["reason"] == "Feeds the 3 who eat no meat, at 5.60 a serving."
    assert line_of(spread, "L")["reason"] == (
        "Eats well, 81 of 100 by the shop's score, at 4.38 a serving."
    )


def test_what_an_aim_gave_up_is_told_against_the_others():
    """The least money gives up points of eating, the best value money."""
    cuts = [offer(f"D{n}", f"{4 + n}.00", species=s, eating={"plate": 0.3 + n / 20})
            for n, s in enumerate(("beef", "lamb", "pork", "goat", "duck", "rabbit"))]  # fmt: skip
    spreads = {s["aim"]: s for s in plan(ask(*cuts, budget_total="60.00"))["spreads"]}
    assert "points of eating against best value" in spreads["least-money"]["gave_up"]
    assert "against least money" in spreads["best-value"]["gave_up"]
    assert all(spread["gave_up"].endswith(".") for spread in spreads.values())


def test_each_line_gets_one_of_its_roles_and_roles_are_spread_out():
    """Two cuts that can both be the centre: one is the centre, the other goes far."""
    cuts = [offer("A", slots=["centre"]), offer("B", slots=["centre", "goes-far"]), offer("C")]
    spread = first(ask(*cuts, rules=rules(min_items=3)))
    assert {line["id"]: line["slot"] for line in spread["lines"]} == {
        "A": "centre", "B": "goes-far", "C": None}  # fmt: skip


def test_meat_free_lines_come_last_and_the_largest_first():
    """The order on the slip: meat by weight, then what is meat-free."""
    cuts = [
        offer("A", pieces_lb=["1"], free_lb="1"),
        offer("C", species="none", free_lb="9"),
        offer("B"),
    ]
    spread = first(ask(*cuts, groups=[group(6), group(6, "meat")], rules=rules(min_items=3)))
    assert [line["id"] for line in spread["lines"]] == ["B", "A", "C"]


def test_being_over_the_money_is_said_where_it_is_allowed():
    """A soft budget: over by how much, never more than a tenth over the least."""
    soft = plan(ask(offer("A"), offer("B", "12.00", eating={"plate": 0.95}),
                    budget_total="10.00", over_budget=True))  # fmt: skip
    for spread in soft["spreads"]:
        assert spread["left"] is None
        assert float(spread["over_by"]) == pytest.approx(float(spread["total"]) - 10)
        assert float(spread["total"]) <= 17.50 * 1.1 + 0.01
    hard = plan(ask(offer("A"), budget_total="10.00"))
    assert hard["answer"] == "no"


def test_what_is_taken_for_granted_is_said():
    """Fire, oven, hour, appetites, small tables, meat-free and allergic eaters."""
    told = " ".join(plan(ask(offer("A")))["assumptions"])
    for words in ("fire is not known", "hour of the meal is not known", "as hungry as planned"):
        assert words in told
    cuts = [offer("A"), offer("C", species="none")]
    fire = {"zones": [], "oven": True, "minutes": 60}
    groups = [group(4, "allergen:sesame"), group(2, "meat")]
    careful = " ".join(plan(ask(*cuts, groups=groups, fire=fire, rules=rules()))["assumptions"])
    for words in ("oven is taken to be large enough", "own tool", "call nothing free of it"):
        assert words in careful
