"""What every answer must satisfy, recomputed from the ask and the plan alone.

Nothing here is taken from the kernel: the rules are written a second time, as plainly as can be.
Each function raises `AssertionError` where a plan breaks its rule.
"""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from datetime import datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

Ask = dict[str, Any]
Plan = dict[str, Any]

NEED_OZ = {"plate": 7, "shared": 6, "hand": 6, "wrap": 5, "stew": 4}
APPETITE = {"adult": "1", "child": "0.5", "crew": "1.3", "meat-free": "1"}
CASING_OF = {"hog": {"pork"}, "sheep": {"lamb"}, "lamb": {"lamb"}, "goat": {"goat"},
             "beef": {"beef"}, "collagen": {"beef", "pork"}}  # fmt: skip
#: Published minimum for the coldest point [degF, rest min].
MINIMUM = {"whole": (145, 3), "ground": (160, 0), "poultry": (165, 0)}
BIRDS = {"chicken", "duck", "goose", "turkey"}
CENT = Decimal("0.01")


def cuts_of(ask: Ask) -> dict[str, dict[str, Any]]:
    """Return the offers by id."""
    return {cut["id"]: cut for cut in ask["offers"]}


def each_line(ask: Ask, plan: Plan):
    """Yield (spread, line, offer)."""
    cuts = cuts_of(ask)
    for spread in plan["spreads"]:
        for line in spread["lines"]:
            yield spread, line, cuts[line["id"]]


def _complete(group: dict[str, Any]) -> dict[str, Any]:
    """Return a group with appetite and avoids filled in."""
    avoids = set(group.get("avoids") or [])
    kind = group.get("kind") or "adult"
    if kind == "meat-free":
        avoids.add("meat")
    appetite = group.get("appetite")
    appetite = Fraction(APPETITE[kind] if appetite is None else str(appetite))
    return {**group, "avoids": avoids, "appetite": appetite}


def groups_of(ask: Ask) -> list[dict[str, Any]]:
    """Return the groups that have eaters, with appetite and avoids filled in."""
    return [_complete(group) for group in ask["groups"] if group["count"]]


def eats(group: dict[str, Any], cut: dict[str, Any]) -> bool:
    """Tell whether a cut feeds a group as it stands in an ask."""
    return may_eat(_complete(group), cut)


def need(groups: list[dict[str, Any]]) -> Fraction:
    """Return the mean need of groups as they stand in an ask [meals]."""
    return sum((g["count"] * g["appetite"] for g in map(_complete, groups)), Fraction(0))


def _words(content: Any) -> set[str]:
    """Return every word of a batch, at any depth."""
    if isinstance(content, str):
        return {content}
    words = {str(content[key]) for key in ("name", "species") if content.get(key)}
    words |= CASING_OF.get(content.get("casing") or "", set())
    return words.union(*(_words(part) for part in content.get("contains") or []))


def tags_of(cut: dict[str, Any]) -> set[str]:
    """Return species, casing and allergens of a cut as ``kind:name``, and ``meat``."""
    words = set().union(*(_words(part) for part in cut.get("contains") or []))
    animals = {cut["species"]} if cut.get("species") not in (None, "none") else set()
    if cut.get("casing"):
        animals |= CASING_OF.get(cut["casing"], set())
    tags = {f"species:{name}" for name in animals | words} | {f"allergen:{word}" for word in words}
    if cut.get("casing"):
        tags.add(f"casing:{cut['casing']}")
    return tags | ({"meat"} if animals else set())


def may_eat(group: dict[str, Any], cut: dict[str, Any]) -> bool:
    """Tell whether a cut feeds a group: meat-free food feeds those alone who eat no meat."""
    tags = tags_of(cut)
    if ("meat" in group["avoids"]) == ("meat" in tags):
        return False
    return not group["avoids"] & tags


def meals_of(ask: Ask, line: dict[str, Any], cut: dict[str, Any]) -> Fraction:
    """Return the usual adult meals of a line."""
    per_meal = ask.get("need_oz") or {"plate": NEED_OZ["plate"]}
    ounces = Fraction(line["weight_lb"]) * 16 * Fraction(str(cut["boneless_fraction"]))
    return ounces / Fraction(str(per_meal[line["style"]]))


def need_of(ask: Ask) -> Fraction:
    """Return the mean need of the table [meals]."""
    return need(ask["groups"])


def _hours(ask: Ask) -> timedelta | None:
    if not ask.get("use_at") or not ask.get("now"):
        return None
    return datetime.fromisoformat(ask["use_at"]) - datetime.fromisoformat(ask["now"])


def _thaws(ask: Ask, cut: dict[str, Any]) -> bool:
    """Tell whether 24 h for each 4 lb in the refrigerator, and the cooking, fit."""
    hours = _hours(ask)
    if hours is None:
        return False
    block = max((Decimal(piece) for piece in cut.get("pieces_lb") or []), default=None)
    if block is None:
        block = Decimal(cut["frozen_lb"])
    thaw = max(24.0, float(block) * 6)
    return hours >= timedelta(hours=thaw, minutes=(cut.get("minutes") or [0, 0])[1])


def no_more_than_free(ask: Ask, plan: Plan) -> None:
    """G1, G2: never over the free weight, whole pieces only, nothing frozen that cannot thaw."""
    for _, line, cut in each_line(ask, plan):
        weight, frozen = Decimal(line["weight_lb"]), Decimal(cut.get("frozen_lb") or "0")
        if cut.get("pieces_lb") is None:
            free = Decimal(cut["free_lb"])
            assert line["pieces"] is None
            assert weight == weight.quantize(CENT)
        else:
            pieces = Counter(Decimal(piece) for piece in cut["pieces_lb"])
            taken = Counter(Decimal(piece) for piece in line["pieces"])
            free = sum(pieces.elements(), Decimal(0))
            assert not taken - pieces, line["id"]
            assert sum(taken.elements()) == weight
        if frozen and not _thaws(ask, cut):
            free -= frozen
        assert 0 < weight <= free, line["id"]


def in_time(ask: Ask, plan: Plan) -> None:
    """G2: nothing after its last day, and nothing that takes longer to cook than there is time."""
    hours = _hours(ask)
    if hours is None:
        return
    use_at, now = (datetime.fromisoformat(ask[key]) for key in ("use_at", "now"))
    for _, line, cut in each_line(ask, plan):
        if cut.get("days_left") is not None:
            assert (use_at.date() - now.date()).days <= cut["days_left"], line["id"]
        assert timedelta(minutes=(cut.get("minutes") or [0, 0])[1]) <= hours, line["id"]


def nobody_gets_what_they_avoid(ask: Ask, plan: Plan) -> None:
    """G3: `not_for` names exactly the groups a line is not for, and somebody eats each line."""
    groups = groups_of(ask)
    for _, line, cut in each_line(ask, plan):
        kept_off = [group["name"] for group in groups if not may_eat(group, cut)]
        assert sorted(line["not_for"]) == sorted(kept_off), line["id"]
        assert len(kept_off) < len(groups), line["id"]


def everybody_is_fed(ask: Ask, plan: Plan) -> None:
    """G3, G4: for every union of groups, what it may eat covers its mean need."""
    groups, cuts = groups_of(ask), cuts_of(ask)
    for spread in plan["spreads"]:
        for size in range(1, len(groups) + 1):
            for some in itertools.combinations(groups, size):
                supply = sum(
                    (
                        meals_of(ask, line, cuts[line["id"]])
                        for line in spread["lines"]
                        if any(may_eat(group, cuts[line["id"]]) for group in some)
                    ),
                    Fraction(0),
                )
                assert supply >= sum(g["count"] * g["appetite"] for g in some), spread["aim"]


def enough_and_not_too_much(ask: Ask, plan: Plan) -> None:
    """G4: from nine tenths to five quarters of the need, or an assumption says why not."""
    mean = need_of(ask)
    assert abs(Fraction(str(plan["need"]["meals"])) - mean) <= Fraction(1, 1000)
    for spread in plan["spreads"]:
        meals = sum(
            (meals_of(ask, line, cuts_of(ask)[line["id"]]) for line in spread["lines"]), Fraction(0)
        )
        assert meals >= Fraction(9, 10) * mean
        if meals > Fraction(5, 4) * mean:
            told = " ".join(plan["assumptions"]).lower()
            assert "more than a quarter over" in told or "appetites even out less" in told
        assert spread["chance_enough"] >= ask.get("enough_chance", 0.95) - 1e-4


def within_the_money(ask: Ask, plan: Plan) -> None:
    """G5: within the budget with what is left, or over it by a stated sum where that is allowed."""
    heads = sum(group["count"] for group in ask["groups"])
    budget = ask.get("budget_total")
    if ask.get("budget_per_head") is not None:
        budget = str(Decimal(ask["budget_per_head"]) * heads)
    for spread in plan["spreads"]:
        total = Decimal(spread["total"])
        if budget is None:
            assert spread["left"] is spread["over_by"] is None
        elif total <= Decimal(budget):
            assert Decimal(spread["left"]) == Decimal(budget) - total
            assert spread["over_by"] is None
        else:
            assert ask.get("over_budget") is True
            assert Decimal(spread["over_by"]) == total - Decimal(budget)
            assert spread["left"] is None


def lines_add_up(ask: Ask, plan: Plan) -> None:
    """G6, G7: weight x price rounded once, an exact half up; the total is the sum of its lines."""
    for spread in plan["spreads"]:
        total = Decimal(0)
        for line in spread["lines"]:
            price = Decimal(cuts_of(ask)[line["id"]]["price_per_lb"])
            assert Decimal(line["price_per_lb"]) == price
            exact = Decimal(line["weight_lb"]) * price
            assert Decimal(line["line_total"]) == exact.quantize(CENT, ROUND_HALF_UP)
            total += Decimal(line["line_total"])
        assert Decimal(spread["total"]) == total
        heads = sum(group["count"] for group in ask["groups"])
        per_head = (total / heads).quantize(CENT, ROUND_HALF_UP)
        assert Decimal(spread["per_head"]) == per_head


def three_counts(ask: Ask, plan: Plan) -> None:
    """G8: light, usual and hungry, from the meals, rounded down; never one bare number."""
    for spread in plan["spreads"]:
        meals = sum(
            (meals_of(ask, line, cuts_of(ask)[line["id"]]) for line in spread["lines"]), Fraction(0)
        )
        assert spread["feeds"] == {
            "light": math.floor(meals * 7 / 5),
            "usual": math.floor(meals),
            "hungry": math.floor(meals * 7 / 8),
        }


def cooked_to_the_minimum(ask: Ask, plan: Plan) -> None:
    """G9: each meat has a published minimum with its source; none is lower."""
    for _, line, cut in each_line(ask, plan):
        if "meat" not in tags_of(cut):
            assert line["cook_to"] is None
            continue
        kind = cut.get("cook_as") or "whole"
        if cut["species"] in BIRDS:
            kind = "poultry"
        elif cut.get("casing"):
            kind = "ground"
        fahrenheit, rest = MINIMUM[kind]
        assert line["cook_to"]["f"] >= fahrenheit, line["id"]
        assert line["cook_to"]["rest_min"] >= rest, line["id"]
        assert line["cook_to"]["c"] >= (fahrenheit - 32) / 1.8 - 0.5
        assert line["cook_to"]["source"].strip()


def fits_the_fire(ask: Ask, plan: Plan) -> None:
    """G10: at no moment more than a zone holds, inside the minutes; all of it is cooked."""
    fire = ask.get("fire")
    if fire is None:
        assert all(spread["loads"] == [] for spread in plan["spreads"])
        return
    usable = Fraction(str(fire.get("usable_fraction", 1)))
    area = {z["name"]: Fraction(str(z["area_sq_in"])) * usable for z in fire.get("zones", [])}
    for spread in plan["spreads"]:
        for load in spread["loads"]:
            assert load["minutes"] >= 1
            assert 0 <= load["at_min"] <= load["at_min"] + load["minutes"] <= fire["minutes"]
        for moment in {load["at_min"] for load in spread["loads"]}:
            for zone, room in area.items():
                taken = sum(
                    Fraction(str(load["area_sq_in"]))
                    for load in spread["loads"]
                    if load["zone"] == zone
                    and load["at_min"] <= moment < load["at_min"] + load["minutes"]
                )
                assert taken <= room + Fraction(3, 10), (spread["aim"], zone, moment)
        assert {load["zone"] for load in spread["loads"]} <= set(area)
        for line in spread["lines"]:
            # a load that moves over another heat is cooked once
            loads = {load["wave"]: load for load in spread["loads"] if load["id"] == line["id"]}
            laid = sum((Fraction(str(load["area_sq_in"])) for load in loads.values()), Fraction(0))
            _is_cooked(fire, line, cuts_of(ask)[line["id"]], laid)


def rested_and_on_time(ask: Ask, plan: Plan) -> None:
    """G9, G10: each load has its published rest and is eaten at the meal, or rounds are said."""
    for spread in plan["spreads"]:
        for line in spread["lines"]:
            rest = line["cook_to"]["rest_min"] if line["cook_to"] else 0
            mine = [load for load in spread["loads"] if load["id"] == line["id"]]
            lasts = [
                max((load for load in mine if load["wave"] == wave), key=lambda one: one["at_min"])
                for wave in sorted({load["wave"] for load in mine})
            ]
            for last in lasts:
                off = last["at_min"] + last["minutes"]
                assert off + rest <= last["ready_min"] <= last["eat_min"], line["id"]
            # each zone counts from its own lighting: only loads of one zone share a clock
            for one, other in itertools.combinations(lasts, 2):
                if one["zone"] == other["zone"] and one["eat_min"] != other["eat_min"]:
                    assert "rounds" in spread["binds"], line["id"]
                    assert abs(one["eat_min"] - other["eat_min"]) <= 45, line["id"]
        said = "in rounds" in spread["say"]
        assert said == ("rounds" in spread["binds"])
        if said:
            assert "further round" in " ".join(plan["assumptions"])


def _is_cooked(fire: dict[str, Any], line: Any, cut: dict[str, Any], laid: Fraction) -> None:
    wanted = Fraction(line["weight_lb"]) * Fraction(str(cut.get("grill_sq_in_per_lb") or 0))
    if laid:
        # areas in a plan are rounded to a tenth of a square inch, load by load
        assert laid >= wanted - Fraction(4, 10), line["id"]
    elif wanted:
        method = (cut.get("method") or "").lower()
        potted = fire.get("pots") and (line["style"] == "stew" or re.search("brais|pot", method))
        assert fire.get("oven") or potted, line["id"]


def meat_free_comes_first(ask: Ask, plan: Plan) -> None:
    """G11: meat-free food has its own clean part, goes first and has its own tool.

    On a zone that meat lies on too, it is off before any meat comes on, or on its own tray.
    """
    for spread in plan["spreads"]:
        free = {line["id"] for line in spread["lines"] if line["meat_free"]}
        for load in spread["loads"]:
            first = min(
                (o["at_min"] for o in spread["loads"]
                 if o["zone"] == load["zone"] and o["id"] not in free),
                default=math.inf,
            )  # fmt: skip
            if load["id"] in free:
                off = load["at_min"] + load["minutes"]
                assert load["own_tray"] or off <= first, (spread["aim"], load)
            else:
                assert not load["own_tray"]
                assert {"meat", "free"} - set(re.findall("[a-z]+", load["zone"].lower()))
    if plan["answer"] == "no" or not any("meat" in g["avoids"] for g in groups_of(ask)):
        return
    told = " ".join(plan["assumptions"])
    assert all(word in told for word in ("clean", "first", "own tool"))


def varied(ask: Ask, plan: Plan) -> None:
    """G12: from ten heads three to five lines, none over half of the food, unless asked or told."""
    rules = ask.get("rules") or {}
    heads = sum(group["count"] for group in ask["groups"])
    told = any("Fewer items" in text for text in plan["assumptions"])
    house = heads >= 10 and not rules.get("only") and not told
    for spread in plan["spreads"]:
        count = len(spread["lines"])
        assert len({line["id"] for line in spread["lines"]}) == count
        assert count <= rules.get("max_items", 5)
        if not told:
            assert count >= rules.get("min_items", 3 if house else 1)
        ounces = [
            Fraction(line["weight_lb"])
            * Fraction(str(cuts_of(ask)[line["id"]]["boneless_fraction"]))
            for line in spread["lines"]
        ]
        for line, ounce in zip(spread["lines"], ounces, strict=True):
            share = ounce / sum(ounces)
            assert abs(share - Fraction(str(line["share"]))) <= Fraction(1, 1000)
            if house or "max_share" in rules:
                most = Fraction(str(rules.get("max_share", 0.5)))
                assert told or share <= most * Fraction(51, 50)


def reasoned(ask: Ask, plan: Plan) -> None:
    """G13: one sentence of reason with a figure for each line."""
    for _, line, _ in each_line(ask, plan):
        text = line["reason"]
        assert re.search(r"\d", text), text
        assert text.endswith("."), text
        assert not re.search(r"[.!?] [A-Z]", text), text


def is_slow(cut: dict[str, Any]) -> bool:
    """Tell whether the free stock of a cut lasts longer than it keeps."""
    if cut.get("cover_days") is None or cut.get("days_left") is None:
        return False
    return cut["cover_days"] > max(cut["days_left"], 1)


def slow_cuts_are_marked(ask: Ask, plan: Plan) -> None:
    """G14: a line is marked slow exactly where its stock lasts longer than it keeps."""
    for _, line, cut in each_line(ask, plan):
        assert line["slow"] == is_slow(cut), line["id"]


def a_no_says_what_it_takes(ask: Ask, plan: Plan) -> None:
    """G15: a no has no spread, says what stands in the way, and lists each nearest yes with why."""
    if plan["answer"] == "yes":
        assert plan["spreads"]
        assert plan["nearest_yes"] is None
        return
    assert plan["spreads"] == []
    assert isinstance(plan["nearest_yes"], list)
    assert re.search(r"\d", plan["why_no"])
    for yes in plan["nearest_yes"]:
        assert yes["change"] in {"budget_total", "use_at", "style", "count", "rules", "fire"}
        assert yes["why"].endswith(".")
        assert isinstance(yes["patch"], dict)


def said_in_legal_units(ask: Ask, plan: Plan) -> None:
    """G17: weights are pounds with at least two decimals, money has two."""
    for spread, line, _ in each_line(ask, plan):
        assert re.fullmatch(r"\d+\.\d{2,3}", line["weight_lb"])
        for money in (line["line_total"], line["serving_cost"], spread["total"]):
            assert re.fullmatch(r"\d+\.\d{2}", money)


def what_is_missing_is_said(ask: Ask, plan: Plan) -> None:
    """G19: an unknown fire, an unknown hour and fixed appetites stand among the assumptions."""
    told = " ".join(plan["assumptions"])
    assert (ask.get("fire") is None) == ("fire is not known" in told)
    assert (ask.get("use_at") is None) == ("hour of the meal is not known" in told)
    assert (ask.get("appetite_cv", 0.25) == 0) == ("as hungry as planned" in told)


def sayable(ask: Ask, plan: Plan) -> None:
    """G20: the line to say has at most 25 words and the money a head."""
    for spread in plan["spreads"]:
        assert len(spread["say"].split()) <= 25, spread["say"]
        assert spread["per_head"] in spread["say"]
        assert "a head" in spread["say"]


def differs_between(one: Plan, two: Plan) -> Fraction:
    """Return the share of the food that is of other cuts: half the summed gaps of shares."""

    def shares(spread: Plan) -> dict[str, Fraction]:
        return {line["id"]: Fraction(str(line["share"])) for line in spread["lines"]}

    left, right = shares(one), shares(two)
    keys = left.keys() | right.keys()
    return sum((abs(left.get(key, 0) - right.get(key, 0)) for key in keys), Fraction(0)) / 2


def in_order(ask: Ask, plan: Plan) -> None:
    """Best value comes first, aims come once, and the curve rises in both."""
    if plan["answer"] == "no":
        return
    aims = [spread["aim"] for spread in plan["spreads"]]
    assert aims[0] == "best-value"
    assert len(set(aims)) == len(aims) <= ask.get("want", 5)
    for spread in plan["spreads"]:
        assert spread["proof"]["status"] in {"optimal", "gap"}
        measured = differs_between(plan["spreads"][0], spread)
        assert abs(Fraction(str(spread["differs"])) - measured) <= Fraction(1, 100)
    curve = [(Decimal(point["total"]), point["eating"]) for point in plan["curve"]]
    for (money, eating), (more, better) in itertools.pairwise(curve):
        assert money < more
        assert eating < better


INVARIANTS = (
    no_more_than_free,
    in_time,
    nobody_gets_what_they_avoid,
    everybody_is_fed,
    enough_and_not_too_much,
    within_the_money,
    lines_add_up,
    three_counts,
    cooked_to_the_minimum,
    fits_the_fire,
    rested_and_on_time,
    meat_free_comes_first,
    varied,
    reasoned,
    slow_cuts_are_marked,
    a_no_says_what_it_takes,
    said_in_legal_units,
    what_is_missing_is_said,
    sayable,
    in_order,
)


def check_answer(ask: Ask, plan: Plan) -> None:
    """Check a plan against every invariant."""
    for invariant in INVARIANTS:
        invariant(ask, plan)
