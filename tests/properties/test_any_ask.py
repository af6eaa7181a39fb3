"""Whatever is asked: a plan that keeps every rule, a no with what it takes, or one sentence."""

from __future__ import annotations

import itertools
from copy import deepcopy
from datetime import datetime
from functools import cache

import pytest

from collop.errors import ProblemError
from collop.fire import fire
from collop.spread import answer
from properties.fires import fire_problem
from properties.random_asks import random_ask
from talks.invariants import INVARIANTS, differs_between

SEEDS = range(150)
FULL = {"plate": 7, "shared": 6, "hand": 6, "wrap": 5, "stew": 4}


@cache
def answered(seed):
    """Return the plan, or the refusal."""
    try:
        return answer(random_ask(seed))
    except ProblemError as refusal:
        return refusal


def plans(word):
    """Yield (ask, plan) of every ask answered so."""
    for seed in SEEDS:
        plan = answered(seed)
        if isinstance(plan, dict) and plan["answer"] == word:
            yield random_ask(seed), plan


def merged(target, patch):
    """Apply a JSON merge patch (RFC 7396)."""
    if not isinstance(patch, dict):
        return deepcopy(patch)
    result = dict(target) if isinstance(target, dict) else {}
    for key, value in patch.items():
        if value is None:
            result.pop(key, None)
        else:
            result[key] = merged(result.get(key), value)
    return result


def changed(ask, yes):
    """Apply a nearest yes by its `change` and `to` alone; None where that does not say enough."""
    ask, (change, to) = deepcopy(ask), (yes["change"], yes["to"])
    if change == "budget_total":
        ask.pop("budget_per_head", None)
        ask["budget_total"] = to
    elif change == "use_at":
        ask["use_at"] = to
    elif change == "style":
        ask["need_oz"] = {to: FULL[to]}
    elif change == "count" and len(ask["groups"]) == 1:
        ask["groups"][0]["count"] = to
    else:
        return None
    return ask


@pytest.mark.parametrize("invariant", INVARIANTS, ids=lambda one: one.__name__)
def test_every_plan_keeps_every_rule(invariant):
    """Each rule, recomputed from ask and plan, on all plans of the random asks."""
    for word in ("yes", "no"):
        for ask, plan in plans(word):
            invariant(ask, plan)


def test_whatever_is_shown_the_fire_sheet_can_cook():
    """Each spread, written out as a fire of its own, is a yes of the fire; rounds are as said.

    A line that keeps to some zones only may lie on all of them here, so that a spread in rounds
    can go at once; never the other way.
    """
    told = []
    for ask, plan in plans("yes"):
        for spread in plan["spreads"] if ask.get("fire") else ():
            sheet = fire(fire_problem(ask, spread))["answer"]
            rounds = "rounds" in spread["binds"]
            assert sheet == "yes" or (rounds and sheet == "rounds"), (ask, spread)
            told.append(bool(spread["loads"]))
    assert sum(told) >= 25


def test_a_refusal_is_one_sentence_with_its_path():
    """A wish nobody can grant is refused in words."""
    refused = [found for seed in SEEDS if isinstance(found := answered(seed), ProblemError)]
    assert refused
    for refusal in refused:
        assert refusal.message.endswith(".")
        assert "\n" not in refusal.message
        assert refusal.where.startswith("$.")


def test_each_nearest_yes_alone_turns_no_into_yes():
    """Every change, applied as its merge patch, is answered yes."""
    tried = 0
    for ask, plan in plans("no"):
        for yes in plan["nearest_yes"]:
            tried += 1
            assert answer(merged(ask, yes["patch"]))["answer"] == "yes", (ask, yes)
    assert tried >= 30


def test_each_nearest_yes_is_told_by_its_change_as_well():
    """Budget, style, hour and a single group's count say all that is needed themselves."""
    tried = set()
    for ask, plan in plans("no"):
        for yes in plan["nearest_yes"]:
            applied = changed(ask, yes)
            if applied is not None:
                tried.add(yes["change"])
                assert answer(applied)["answer"] == "yes", (ask, yes)
    assert {"budget_total", "style", "use_at"} <= tried


def test_a_nearest_budget_is_no_more_than_the_least():
    """Three cents under the offered budget there is no spread: it is the nearest."""
    for ask, plan in plans("no"):
        for yes in plan["nearest_yes"]:
            if yes["change"] == "budget_total":
                less = f"{float(yes['to']) - 0.03:.2f}"
                lower = merged(ask, {**yes["patch"], "budget_total": less})
                assert answer(lower)["answer"] == "no"


def test_a_nearest_hour_is_in_the_future_and_keeps_the_wish_for_a_day():
    """The hour offered is after now."""
    for ask, plan in plans("no"):
        for yes in plan["nearest_yes"]:
            if yes["change"] == "use_at":
                assert datetime.fromisoformat(yes["to"]) > datetime.fromisoformat(ask["now"])


def test_alternatives_really_differ():
    """Of the meat not pinned, at most three quarters is of the cuts of any earlier spread.

    The least money may also stand beside the best value for saving three hundredths of the money.
    """
    pairs = 0
    for ask, plan in plans("yes"):
        pinned = set(ask.get("pinned") or [])
        solved = [s for s in plan["spreads"] if s["aim"] == "least-money"]
        solved += [s for s in plan["spreads"] if s["aim"] != "least-money"]
        for earlier, later in itertools.combinations(solved, 2):
            aims = {earlier["aim"], later["aim"]}
            saved = float(earlier["total"]) <= 0.97 * float(later["total"]) + 0.02
            if aims == {"best-value", "least-money"} and saved:
                continue
            meat = [line for line in earlier["lines"] if not line["meat_free"]]
            cuts = {line["id"] for line in meat} - pinned
            chosen = [s for s in later["lines"] if not s["meat_free"] and s["id"] not in pinned]
            whole = sum(line["share"] for line in chosen)
            assert sum(line["share"] for line in chosen if line["id"] in cuts) <= 0.751 * whole
            # a quarter of that meat is of other cuts, which are taken from none of the earlier
            assert differs_between(earlier, later) >= 0.12 * whole
            pairs += bool(cuts)
    assert pairs >= 60


def test_no_more_spreads_than_wanted_and_one_is_always_had():
    """`want` bounds the alternatives; wanting fewer never takes the best away."""
    for ask, plan in plans("yes"):
        assert 1 <= len(plan["spreads"]) <= ask.get("want", 5)
        (only,) = answer(ask | {"want": 1})["spreads"]
        best = plan["spreads"][0]
        assert only["aim"] == best["aim"] == "best-value"
        assert (only["total"], only["lines"]) == (best["total"], best["lines"])


def test_pinned_cuts_stay():
    """A pinned cut is in every spread and marked."""
    pinned = 0
    for ask, plan in plans("yes"):
        for offer_id in ask.get("pinned") or []:
            pinned += 1
            for spread in plan["spreads"]:
                assert [line["pinned"] for line in spread["lines"] if line["id"] == offer_id] == [
                    True
                ]
        marked = {line["id"] for s in plan["spreads"] for line in s["lines"] if line["pinned"]}
        assert marked == set(ask.get("pinned") or [])
    assert pinned >= 3


def test_more_money_never_eats_worse():
    """What a little more would buy eats at least as well as the curve at the budget."""
    told = 0
    for _, plan in plans("yes"):
        more = plan["more_money"]
        if more is None:
            continue
        told += 1
        assert more["by"] == "20.00"
        assert more["buys"].endswith(".")
        assert 0 <= more["eating"] <= 1
        assert float(more["total"]) >= float(plan["curve"][0]["total"])
    assert told >= 20


def test_the_curve_starts_at_the_least_money():
    """Its first point is what the least money spread costs, where that is shown."""
    shown = 0
    for _, plan in plans("yes"):
        assert plan["curve"]
        for spread in plan["spreads"]:
            if spread["aim"] == "least-money":
                shown += 1
                assert spread["total"] == plan["curve"][0]["total"]
    assert shown >= 15


def test_the_asks_are_of_every_kind():
    """The random asks hold plenty of yes, of no, and of each optional part."""
    yes, no = list(plans("yes")), list(plans("no"))
    assert len(yes) >= 50
    assert len(no) >= 30
    for key in ("fire", "rules", "use_at", "budget_total", "budget_per_head", "pinned", "want"):
        assert sum(key in ask for ask, _ in yes) >= 4, key
    cuts = [cut for ask, _ in yes for cut in ask["offers"]]
    for key in ("pieces_lb", "frozen_lb", "casing", "worth_per_lb", "neighbour", "cover_days"):
        assert sum(key in cut for cut in cuts) >= 10, key
