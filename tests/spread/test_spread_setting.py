"""What gives way and what does not: slow cuts, plenty, house variety; money, pins, want, no."""

from __future__ import annotations

import copy
import itertools

import pytest

from collop.spread import answer
from spread.asked import ask, first, full_ask, group, line_of, offer, plan, rules
from talks.invariants import check_answer


def weights(spread):
    return {line["id"]: line["weight_lb"] for line in spread["lines"]}


def test_the_ask_is_not_changed_by_answering_it():
    """The problem handed in is the same afterwards."""
    problem = full_ask()
    before = copy.deepcopy(problem)
    plan(problem)
    assert problem == before


def test_the_full_ask_keeps_every_rule():
    """The ask with every key, through every invariant."""
    problem = full_ask(want=5)
    check_answer(problem, plan(problem))


def test_no_more_than_a_quarter_over_the_need_unless_said():
    """By weight never over; a single bird for two is over, and the answer says so."""
    cuts = [offer("A", "10.00"), offer("B", "9.00", eating={"plate": 0.9})]
    for spread in plan(ask(*cuts, heads=8))["spreads"]:
        assert 8 <= sum(line["meals"] for line in spread["lines"]) <= 10
    bird = plan(ask(offer("bird", pieces_lb=["4.1"], free_lb="4.1"), heads=2))
    assert bird["spreads"][0]["feeds"]["usual"] == 9
    assert any("More than a quarter over" in text for text in bird["assumptions"])


def test_plenty_gives_way_to_the_money():
    """Where only a whole cheap bird is within the money, it is offered, with why it is so much."""
    cuts = [offer("bird", "2.00", pieces_lb=["4.10"], free_lb="4.10"), offer("A", "20.00")]
    rich = plan(ask(*cuts, heads=2))
    assert {line["id"] for s in rich["spreads"] for line in s["lines"]} == {"A"}
    poor = plan(ask(*cuts, heads=2, budget_total="9.00"))
    assert weights(poor["spreads"][0]) == {"bird": "4.10"}
    assert any("More than a quarter over" in text for text in poor["assumptions"])


def test_house_rules_of_variety_give_way_to_an_empty_case_and_it_is_said():
    """Twelve heads and one cut free: fewer items than three, with a word."""
    found = plan(ask(offer("A"), heads=12, rules={}))
    assert weights(found["spreads"][0]) == {"A": "5.25"}
    assert any(text.startswith("Fewer items") for text in found["assumptions"])


def test_rules_that_were_asked_for_never_give_way():
    """Three items wanted and one cut free is a no, with the rules as what blocks."""
    found = plan(ask(offer("A"), heads=12, rules={"min_items": 3}))
    assert found["answer"] == "no"
    assert "rules" in found["blocked_by"]
    (change,) = (yes for yes in found["nearest_yes"] if yes["change"] == "rules")
    assert change["patch"] == {"rules": {"min_items": 1, "max_share": 1.0, "max_style_share": 1.0}}


@pytest.mark.parametrize("items", [2, 3, 4, 5])
def test_equal_parts_are_cut_within_a_fiftieth_and_quickly(items):
    """A half each, a quarter each: parts of unlike cuts cannot be equal to the ounce."""
    boneless = (0.683, 0.927, 0.72, 0.811, 0.559)
    cuts = [offer(f"C{n}", boneless_fraction=boneless[n]) for n in range(items)]
    share = rules(max_items=items, max_share=1 / items if items != 3 else 0.3334)
    spread = first(ask(*cuts, heads=12, want=1, rules=share))
    assert len(spread["lines"]) == items
    assert max(line["share"] for line in spread["lines"]) <= 1.0201 / items


def test_half_in_wraps_and_half_on_plates_is_possible():
    """Two styles of half the meals each."""
    both = {"styles": ["plate", "wrap"], "eating": {"plate": 0.5, "wrap": 0.6}}
    cuts = [
        offer("A", boneless_fraction=0.683, **both),
        offer("B", boneless_fraction=0.927, **both),
    ]
    spread = first(ask(*cuts, heads=12, need_oz={"plate": 7, "wrap": 5}, want=1,
                       rules=rules(max_style_share=0.5)))  # fmt: skip
    meals = {line["style"]: line["meals"] for line in spread["lines"]}
    assert set(meals) == {"plate", "wrap"}
    assert max(meals.values()) <= 0.511 * sum(meals.values())


def test_a_pinned_weight_stands_and_the_rest_rebalances():
    """Two pounds of A stay; B makes up what is missing."""
    cuts = [offer("A", "20.00"), offer("B", "8.00")]
    free = first(ask(*cuts, heads=8, want=1))
    assert weights(free) == {"B": "3.50"}
    pinned = first(ask(*cuts, heads=8, want=1, pinned=[{"id": "A", "weight_lb": "2.00"}]))
    assert weights(pinned) == {"A": "2.00", "B": "1.50"}
    assert line_of(pinned, "A")["pinned"]
    assert not line_of(pinned, "B")["pinned"]


def test_a_pinned_weight_that_is_not_free_is_a_no():
    """Fifty pounds of ten: the pin is named among what blocks."""
    found = plan(ask(offer("A"), pinned=[{"id": "A", "weight_lb": "50.00"}]))
    assert found["answer"] == "no"
    assert "pinned" in found["blocked_by"]


def test_a_pinned_style_is_kept():
    """Pinned to the plate although it eats better in a wrap."""
    both = offer("A", styles=["plate", "wrap"], eating={"plate": 0.3, "wrap": 0.9})
    need = {"plate": 7, "wrap": 5}
    assert first(ask(both, need_oz=need))["lines"][0]["style"] == "wrap"
    pinned = first(ask(both, need_oz=need, pinned=[{"id": "A", "style": "plate"}]))
    assert pinned["lines"][0]["style"] == "plate"


def test_a_small_line_is_a_portion_for_one_in_ten():
    """Forty eaters: no line under four plates of seven ounces, or all that is free of it."""
    cuts = [offer("A"), offer("B"), offer("C", "30.00"), offer("D", "31.00", free_lb="0.60")]
    problem = ask(*cuts, heads=16, rules={"one_in": 4, "min_items": 4, "max_share": 0.8})
    for spread in plan(problem)["spreads"]:
        for line in spread["lines"]:
            assert float(line["weight_lb"]) >= min(4 * 7 / 16, 0.6 if line["id"] == "D" else 9)


def test_roles_that_are_wanted_are_filled():
    """A bird and two centre cuts, one of them lamb."""
    cuts = [
        offer("bird", "20.00", species="chicken", slots=["bird"]),
        offer("leg", "21.00", species="lamb", slots=["centre"]),
        offer("rump", "22.00", slots=["centre"]),
        offer("mince", "5.00"),
    ]
    wishes = ["bird", "centre", {"slot": "centre", "species": "lamb"}]
    for spread in plan(ask(*cuts, heads=12, rules=rules(slots=wishes)))["spreads"]:
        assert {"bird", "leg"} <= set(weights(spread))
    two = first(ask(*cuts, heads=12, want=1, rules=rules(slots=["centre", "centre"])))
    assert {"leg", "rump"} <= set(weights(two))


@pytest.mark.parametrize("want", [1, 2, 3, 4, 5])
def test_as_many_alternatives_as_wanted(want):
    """With many cuts there are enough that differ; the best value is always the first."""
    species = itertools.cycle(("beef", "lamb", "pork", "goat"))
    cuts = [
        offer(f"C{n}", f"{6 + n}.00", species=next(species), eating={"plate": 0.4 + n / 40},
              slots=["centre"] if n % 2 else [], days_left=2, cover_days=n)
        for n in range(14)
    ]  # fmt: skip
    spreads = plan(ask(*cuts, heads=12, rules={}, want=want, budget_total="90.00"))["spreads"]
    assert len(spreads) == want
    assert spreads[0]["aim"] == "best-value"
    assert spreads[0]["differs"] == 0


def test_two_wishes_that_differ_by_one_cent_of_money():
    """Exactly the least money is a yes, a cent less is a no that offers it."""
    cut = offer("A", "7.77")
    least = plan(ask(cut, budget_total="1.00"))["nearest_yes"][0]
    assert least["change"] == "budget_total"
    assert plan(ask(cut, budget_total=least["to"]))["answer"] == "yes"
    less = f"{float(least['to']) - 0.01:.2f}"
    assert plan(ask(cut, budget_total=less))["answer"] == "no"


def test_money_a_head_shrinks_with_the_heads():
    """With money by the head, fewer heads are no way out of too little money."""
    found = plan(ask(offer("A"), budget_per_head="3.00"))
    assert found["answer"] == "no"
    changes = {yes["change"] for yes in found["nearest_yes"]}
    assert "budget_total" in changes
    assert "count" not in changes
    short = plan(ask(offer("A", free_lb="1.00"), budget_per_head="9.00"))
    (fewer,) = (yes for yes in short["nearest_yes"] if yes["change"] == "count")
    assert fewer["to"] == 2
    patched = ask(offer("A", free_lb="1.00"), budget_per_head="9.00") | fewer["patch"]
    assert answer(patched)["answer"] == "yes"
    assert (
        answer(ask(offer("A", free_lb="1.00"), budget_per_head="9.00", heads=2))["answer"] == "yes"
    )
    assert (
        answer(ask(offer("A", free_lb="1.00"), budget_per_head="9.00", heads=3))["answer"] == "no"
    )


def test_another_hour_is_offered_where_it_helps():
    """Frozen only and tonight: from when it has thawed and is cooked."""
    frozen = offer(
        "A", free_lb="8.00", pieces_lb=["4.00", "4.00"], frozen_lb="8.00", minutes=[60, 90]
    )
    problem = ask(frozen, now="2026-06-09T08:00", use_at="2026-06-09T19:00")
    found = plan(problem)
    assert "use_at" in found["blocked_by"]
    (later,) = (yes for yes in found["nearest_yes"] if yes["change"] == "use_at")
    # 24 h in the refrigerator, an hour and a half on the fire, and the rest of a roast
    assert later["to"] == "2026-06-10T09:45"
    assert plan(problem | {"use_at": later["to"]})["answer"] == "yes"


def test_another_style_stretches_the_food():
    """A pound and a half for four is no plate, but a stew."""
    cut = offer("A", free_lb="1.10", styles=["plate", "stew"], eating={"plate": 0.5, "stew": 0.5})
    found = plan(ask(cut))
    styles = [yes["to"] for yes in found["nearest_yes"] if yes["change"] == "style"]
    assert styles == ["stew"]
    assert "style" in found["blocked_by"]


def test_nobody_is_planned_for_with_nothing():
    """Meat-free eaters and no meat-free food: no, however much meat is free."""
    found = plan(ask(offer("A"), groups=[group(4), group(1, "meat")], rules=rules()))
    assert (found["answer"], found["spreads"]) == ("no", [])


def test_what_binds_is_named():
    """The budget to the cent, a cut sold out, a share at its cap."""
    sold = first(ask(offer("A", "5.00", free_lb="1.00"), offer("B"), heads=8, want=1))
    assert "stock:A" in sold["binds"]
    assert "need" in sold["binds"]
    capped = first(ask(offer("A", "5.00"), offer("B"), heads=8, want=1, rules=rules(max_share=0.6)))
    assert "share:A" in capped["binds"]
    best = offer("B", "20.00", eating={"plate": 0.99})
    tight = first(ask(offer("A", "5.00"), best, heads=8, want=1, budget_total="40.00"))
    assert "budget" in tight["binds"]
    assert float(tight["total"]) <= 40


def test_more_money_says_what_it_buys():
    """Twenty more lifts the eating, and names the cut that grows."""
    best = offer("B", "20.00", eating={"plate": 0.99})
    found = plan(ask(offer("A", "5.00"), best, heads=8, budget_total="30.00"))
    more = found["more_money"]
    assert more["by"] == "20.00"
    assert more["eating"] > found["spreads"][0]["eating"]
    assert "Cut B" in more["buys"]
    assert plan(ask(offer("A")))["more_money"] is None


def test_the_curve_rises_from_the_least_money_to_the_best_eating():
    """Two cuts: from all A to all B, five points or more."""
    best = offer("B", "20.00", eating={"plate": 0.99})
    curve = plan(ask(offer("A", "5.00"), best, heads=8))["curve"]
    assert 5 <= len(curve) <= 7
    assert (curve[0]["total"], curve[0]["eating"]) == ("17.50", 0.5)
    assert (curve[-1]["total"], curve[-1]["eating"]) == ("70.00", 0.99)
    for one, two in itertools.pairwise(curve):
        assert float(one["total"]) < float(two["total"])
        assert one["eating"] < two["eating"]


def test_the_best_value_is_the_best_of_all_also_beside_alternatives():
    """A dear cut that eats no better is never forced in, only to differ from the least money."""
    plain, dear = offer("A", "6.00"), offer("B", "20.00")
    spreads = plan(ask(plain, dear, heads=8, rules=rules(one_in=10)))["spreads"]
    assert [(s["aim"], weights(s)) for s in spreads] == [("best-value", {"A": "3.50"})]
    assert spreads[0]["proof"]["among"] == "all spreads that keep the rules"


def test_the_least_money_stands_beside_a_best_value_that_differs():
    """Where paying more eats better, both are shown, each the best of all for its aim."""
    fine = offer("B", "9.00", eating={"plate": 0.95})
    spreads = plan(ask(offer("A", "6.00"), fine, heads=8, rules=rules(one_in=10)))["spreads"]
    assert [(s["aim"], weights(s)) for s in spreads[:2]] == [
        ("best-value", {"B": "3.50"}),
        ("least-money", {"A": "3.50"}),
    ]


@pytest.mark.parametrize(("share", "items"), [(0.25, 5), (0.3, 4), (0.34, 3), (0.5, 3)])
def test_no_aim_is_looser_than_the_share_that_was_asked_for(share, items):
    """The variety aim has caps of its own; the stricter of the two holds."""
    species = itertools.cycle(("beef", "lamb", "pork", "goat"))
    cuts = [
        offer(f"C{n}", f"{6 + n}.00", species=next(species), eating={"plate": 0.4 + n / 40},
              boneless_fraction=(1.0, 0.72, 0.9)[n % 3])
        for n in range(14)
    ]  # fmt: skip
    problem = ask(*cuts, heads=14, rules={"max_share": share, "max_items": items})
    spreads = plan(problem)["spreads"]
    assert len(spreads) >= 3
    for spread in spreads:
        assert max(line["share"] for line in spread["lines"]) <= share * 1.021
