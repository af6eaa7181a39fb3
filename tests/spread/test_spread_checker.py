"""The independent check catches each broken rule: a good plan is spoiled in one way at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from functools import cache

import pytest

from collop.errors import PlanRejected
from collop.measures import Money
from collop.spread import make_plan
from collop.spread.checker import broken_rules, check_spread
from collop.spread.problem import Avoid, Pin, SlotWish, Zone
from spread.asked import NOW, SATURDAY, ask, full_ask, group, offer, read, rules


@cache
def good():
    """Return (problem, spread) with lines by weight and by piece, on grill and in pot."""
    birds = offer("bird", "5.30", species="chicken", pieces_lb=["4.10", "4.10", "3.95"],
                  free_lb="12.15", boneless_fraction=0.68, grill_sq_in_per_lb=34,
                  minutes=[45, 75], method="direct grill", days_left=4)  # fmt: skip
    steak = offer("steak", "14.00", boneless_fraction=0.95, grill_sq_in_per_lb=40,
                  minutes=[10, 20], method="direct grill", slots=["centre"], days_left=4,
                  eating={"plate": 0.9})  # fmt: skip
    shin = offer("shin", "6.60", species="lamb", boneless_fraction=0.6, styles=["stew"],
                 eating={"stew": 0.9}, minutes=[180, 210], method="braise",
                 days_left=4)  # fmt: skip
    problem = read(
        ask(
            birds, steak, shin,
            groups=[group(8), group(4, "species:pork")],
            need_oz={"plate": 7, "stew": 4},
            budget_total="150.00",
            fire={"zones": [{"name": "direct", "area_sq_in": 500}], "minutes": 120, "pots": 2},
            rules=rules(min_items=3, max_items=3, max_share=0.6, slots=["centre"]),
            pinned=[{"id": "steak", "weight_lb": "2.00", "style": "plate"}],
            now=NOW, use_at=SATURDAY,
        )
    )  # fmt: skip
    return problem, make_plan(problem).spreads[0]


def index_of(spread, offer_id):
    return next(i for i, line in enumerate(spread.lines) if line.option.offer.id == offer_id)


def with_line(spread, offer_id, **change):
    """Return the spread with one line changed."""
    at = index_of(spread, offer_id)
    lines = list(spread.lines)
    lines[at] = replace(lines[at], **change)
    return replace(spread, lines=tuple(lines))


def with_option(spread, offer_id, **change):
    line = spread.lines[index_of(spread, offer_id)]
    return with_line(spread, offer_id, option=replace(line.option, **change))


def with_offer(problem, offer_id, **change):
    """Return the problem with one offer changed."""
    offers = [replace(o, **change) if o.id == offer_id else o for o in problem.offers]
    return replace(problem, offers=tuple(offers))


def both(problem, spread, offer_id, **change):
    """Change an offer in the problem and on its line."""
    changed = with_offer(problem, offer_id, **change)
    return changed, with_option(spread, offer_id, offer=changed.offer(offer_id))


def with_rules(problem, **change):
    return replace(problem, rules=replace(problem.rules, **change))


def test_a_good_plan_passes():
    """The plan that is spoiled below breaks nothing, and holds every kind of line."""
    problem, spread = good()
    assert list(broken_rules(problem, spread)) == []
    check_spread(problem, spread)
    assert {line.option.offer.id for line in spread.lines} == {"bird", "steak", "shin"}
    assert {load.offer_id for load in spread.loads} == {"bird", "steak"}


ONE_CENT = Money(1, "USD")


def spoil_total(problem, spread):
    return problem, replace(spread, total=spread.total + ONE_CENT)


def spoil_line_total(problem, spread):
    total = spread.lines[index_of(spread, "shin")].total + ONE_CENT
    return problem, with_line(spread, "shin", total=total)


def spoil_budget(problem, spread):
    return replace(problem, budget=spread.total - ONE_CENT), spread


def spoil_over_by(problem, spread):
    soft = replace(problem, budget=spread.total - ONE_CENT, over_budget=True)
    return soft, replace(spread, over_by=ONE_CENT * 2)


def spoil_offer(problem, spread):
    return with_offer(problem, "shin", name="Another shin"), spread


def spoil_style(problem, spread):
    return problem, with_option(spread, "shin", style="wrap")


def spoil_free(problem, spread):
    return both(problem, spread, "shin", free_mlb=100)


def spoil_frozen(problem, spread):
    changed, frozen = both(problem, spread, "shin", frozen_mlb=10_000)
    return replace(changed, use_at=changed.now + timedelta(hours=20)), frozen


def spoil_step(problem, spread):
    line = spread.lines[index_of(spread, "shin")]
    return problem, with_line(spread, "shin", mlb=line.mlb + 3)


def spoil_pieces(problem, spread):
    return problem, with_line(spread, "bird", pieces_mlb=(4000,))


def spoil_diet(problem, spread):
    groups = tuple(replace(g, avoids=g.avoids | {Avoid("species", "lamb")}) for g in problem.groups)
    return replace(problem, groups=groups), spread


def spoil_days(problem, spread):
    return both(problem, spread, "shin", days_left=3)


def spoil_days_without_hour(problem, spread):
    changed, old = both(problem, spread, "shin", days_left=-1)
    return replace(changed, use_at=None), old


def spoil_time(problem, spread):
    return replace(problem, use_at=problem.now + timedelta(minutes=209)), spread


def spoil_need(problem, spread):
    groups = tuple(replace(g, count=2 * g.count) for g in problem.groups)
    return replace(problem, groups=groups), spread


def spoil_need_of_some(problem, spread):
    first, second = problem.groups
    narrow = replace(second, count=10, avoids=frozenset({Avoid("species", "chicken"),
                                                         Avoid("species", "lamb")}))  # fmt: skip
    return replace(problem, groups=(replace(first, count=2), narrow)), spread


def spoil_chance(problem, spread):
    return replace(problem, appetite_cv=1.0, enough_chance=0.99), spread


def spoil_few(problem, spread):
    return with_rules(problem, min_items=4, max_items=5), spread


def spoil_many(problem, spread):
    return with_rules(problem, min_items=1, max_items=2), spread


def spoil_twice(problem, spread):
    return problem, replace(spread, lines=(*spread.lines, spread.lines[0]))


def spoil_share(problem, spread):
    return with_rules(problem, max_share=Fraction(34, 100)), spread


def spoil_style_share(problem, spread):
    return with_rules(problem, max_style_share=Fraction(40, 100)), spread


def spoil_slot(problem, spread):
    return with_rules(problem, slots=(SlotWish("centre", "lamb"),)), spread


def spoil_slot_times(problem, spread):
    return with_rules(problem, slots=(SlotWish("centre"), SlotWish("centre"))), spread


def spoil_minutes(problem, spread):
    return replace(problem, fire=replace(problem.fire, minutes=70)), spread


def spoil_start(problem, spread):
    loads = (replace(spread.loads[0], at_min=-5), *spread.loads[1:])
    return problem, replace(spread, loads=loads)


def spoil_area(problem, spread):
    return replace(
        problem, fire=replace(problem.fire, zones=(Zone("direct", Fraction(90)),))
    ), spread


def spoil_zone(problem, spread):
    loads = tuple(replace(load, zone="moon") for load in spread.loads)
    return problem, replace(spread, loads=loads)


def spoil_loads(problem, spread):
    loads = tuple(load for load in spread.loads if load.offer_id != "bird")
    return problem, replace(spread, loads=loads)


def spoil_load_size(problem, spread):
    loads = tuple(replace(load, area_sq_in=load.area_sq_in / 2) for load in spread.loads)
    return problem, replace(spread, loads=loads)


def with_load(spread, offer_id, **change):
    """Return the spread with the loads of one cut changed."""
    loads = tuple(
        replace(load, **change) if load.offer_id == offer_id else load for load in spread.loads
    )
    return replace(spread, loads=loads)


def spoil_rest(problem, spread):
    (steak,) = (load for load in spread.loads if load.offer_id == "steak")
    return problem, with_load(spread, "steak", ready_min=steak.at_min + steak.minutes + 2)


def spoil_ready(problem, spread):
    (steak,) = (load for load in spread.loads if load.offer_id == "steak")
    return problem, with_load(spread, "steak", eat_min=steak.ready_min - 1)


def spoil_rounds(problem, spread):
    (steak,) = (load for load in spread.loads if load.offer_id == "steak")
    later = replace(steak, wave=2, eat_min=steak.eat_min + 10)
    return problem, replace(spread, loads=(*spread.loads, later))


def spoil_minimum(problem, spread):
    told = spread.lines[index_of(spread, "bird")].cook_to | {"f": 160}
    return problem, with_line(spread, "bird", cook_to=told)


def spoil_pot(problem, spread):
    changed, old = both(problem, spread, "shin", sq_in_per_lb=Fraction(30))
    return replace(changed, fire=replace(changed.fire, pots=0)), old


def spoil_pin(problem, spread):
    lines = tuple(line for line in spread.lines if line.option.offer.id != "steak")
    return problem, replace(spread, lines=lines)


def spoil_pin_weight(problem, spread):
    return replace(problem, pinned=(Pin("steak", 2010),)), spread


def spoil_pin_style(problem, spread):
    return replace(problem, pinned=(Pin("steak", None, "stew"),)), spread


SPOILED = {
    spoil_total: "the total is not the sum",
    spoil_line_total: "not weight times price",
    spoil_budget: "0.01 over the budget",
    spoil_over_by: "does not say how much",
    spoil_offer: "shin is not on offer",
    spoil_style: "shin cannot be eaten as wrap",
    spoil_free: "of 0.1 free",
    spoil_frozen: "of 0.0 free",
    spoil_step: "not in steps of 0.01 lb",
    spoil_pieces: "pieces that are not there",
    spoil_diet: "nobody at the table may eat shin",
    spoil_days: "shin is past its last day",
    spoil_days_without_hour: "shin is past its last day",
    spoil_time: "shin cannot be cooked in time",
    spoil_need: "meals of 24.000",
    spoil_need_of_some: "meals of 10.000",
    spoil_chance: "meals of",
    spoil_few: "3 items are not within 4 to 5",
    spoil_many: "3 items are not within 1 to 2",
    spoil_twice: "an item stands on two lines",
    spoil_share: "is over 34% of the food",
    spoil_style_share: "is over 40% of the meals",
    spoil_slot: "the slot centre is not filled",
    spoil_slot_times: "the slot centre is not filled",
    spoil_minutes: "does not fit the 70 minutes",
    spoil_start: "does not fit the 120 minutes",
    spoil_area: "direct holds",
    spoil_zone: "moon holds",
    spoil_loads: "bird is not wholly cooked",
    spoil_load_size: "is not wholly cooked",
    spoil_rest: "steak is eaten before it has rested",
    spoil_ready: "steak is eaten before it has rested",
    spoil_rounds: "eaten in rounds, which is not said",
    spoil_minimum: "bird is told less than its published minimum",
    spoil_pot: "shin is not wholly cooked",
    spoil_pin: "the pinned steak is missing",
    spoil_pin_weight: "changed its weight",
    spoil_pin_style: "changed its style",
}


@pytest.mark.parametrize("spoil", SPOILED, ids=lambda one: one.__name__)
def test_each_broken_rule_is_named(spoil):
    """One thing spoiled: the rule is named and the plan is held back."""
    problem, spread = spoil(*good())
    words = "; ".join(broken_rules(problem, spread))
    assert SPOILED[spoil] in words
    with pytest.raises(PlanRejected, match="was held back"):
        check_spread(problem, spread)


def test_every_alternative_of_a_full_ask_passes_the_check():
    """All five aims of an ask with every key pass."""
    problem = read(full_ask(want=5))
    plan = make_plan(problem)
    assert len(plan.spreads) >= 3
    for spread in plan.spreads:
        assert list(broken_rules(problem, spread)) == []


@pytest.mark.parametrize("method", ["Braise", "pot roast", "BRAISED slowly"])
def test_what_cooks_in_a_pot_needs_no_grill(method):
    """A braise of any spelling with an area a pound passes where there is a pot."""
    problem = read(ask(offer("A", method=method, grill_sq_in_per_lb=30, minutes=[60, 90]),
                       fire={"zones": [], "minutes": 60, "pots": 1}))  # fmt: skip
    (spread,) = make_plan(problem).spreads
    assert spread.loads == ()


def test_one_way_of_eating_only_is_no_breach_of_a_mixed_meal():
    """Where nothing but stew can be had, a cap on each style does not hold the plan back."""
    stew = offer("S", styles=["stew"], eating={"stew": 0.6})
    frozen = offer("F", frozen_lb="10.00")
    problem = read(ask(stew, frozen, need_oz={"plate": 7, "stew": 4},
                       rules=rules(max_style_share=0.6)))  # fmt: skip
    (spread,) = make_plan(problem).spreads
    assert [line.option.style for line in spread.lines] == ["stew"]
