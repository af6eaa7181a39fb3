"""Small asks: the kernel against trying every spread, in exact fractions."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import pytest

from collop.spread import answer
from properties.enumerated import Choice, Count, cents, eating_worth, small_ask, worth

SEEDS = range(110)
#: Two spreads count as equal when they differ by less than half a cent; the rest is float noise.
EQUAL = Fraction(51, 100)
#: Rounding line by line can lift or lower a total by half a cent a line, of five lines at most.
ROUNDING = 3


@cache
def counted(seed):
    return Count(small_ask(seed))


@cache
def answered(seed, want=1):
    return answer(small_ask(seed) | {"want": want})


def lines_of(ask, spread):
    cuts = {cut["id"]: cut for cut in ask["offers"]}
    return tuple(
        Choice(cuts[line["id"]], line["style"], Fraction(line["weight_lb"]), ())
        for line in spread["lines"]
    )


def fits(seed):
    """Return whether the cheapest spread is within the budget, and how far from it [cents]."""
    count = counted(seed)
    if not count.found:
        return False, None
    budget = count.ask.get("budget_total")
    if budget is None:
        return True, None
    room = int(Fraction(budget) * 100) - min(one.rounded for one in count.found)
    return room >= 0, abs(room)


@pytest.mark.parametrize("seed", SEEDS)
def test_yes_exactly_where_some_spread_keeps_every_rule(seed):
    """Yes and no as by enumeration, except to the last three cents of a budget."""
    expected, room = fits(seed)
    at_the_edge = room is not None and room <= ROUNDING
    assert (answered(seed)["answer"] == "yes") == expected or at_the_edge


@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_spread_is_the_best_value_of_all(seed):
    """No spread within the money has a better worth, recomputed from its formula, by a cent."""
    count, found = counted(seed), answered(seed)
    if found["answer"] == "no":
        assert found["spreads"] == []
        return
    (best,) = found["spreads"]
    assert (best["aim"], best["proof"]["status"]) == ("best-value", "optimal")
    got = worth(count.ask, lines_of(count.ask, best), eating_worth(count.ask))
    budget = Fraction(count.ask.get("budget_total", "1000000")) * 100
    paid = [one.worth for one in count.settled() if one.rounded <= budget]
    surely = [one.worth for one in count.settled() if one.money <= budget - ROUNDING]
    assert got >= min(paid) - Fraction(1, 1000)
    assert not surely or got <= min(surely) + EQUAL


@pytest.mark.parametrize("seed", SEEDS)
def test_the_least_money_is_the_least_of_all(seed):
    """Money before rounding is within half a cent of the least; the curve starts there too."""
    count, found = counted(seed), answered(seed, want=2)
    if found["answer"] == "no":
        assert found["curve"] == []
        return
    least = min(one.money for one in count.settled())
    start = Fraction(found["curve"][0]["total"]) * 100
    assert abs(start - least) <= ROUNDING
    for spread in found["spreads"]:
        if spread["aim"] == "least-money":
            money = sum(cents(line) for line in lines_of(count.ask, spread))
            assert least - Fraction(1, 1000) <= money <= least + EQUAL
            assert Fraction(spread["total"]) * 100 == start


def test_the_asks_are_of_every_kind():
    """Enough of them have an answer, none, a least money, a budget, a fire, meat-free eaters."""
    asks = [small_ask(seed) for seed in SEEDS]
    answers = [answered(seed)["answer"] for seed in SEEDS]
    assert answers.count("yes") >= 40
    assert answers.count("no") >= 40
    least = [
        s for seed in SEEDS for s in answered(seed, want=2)["spreads"] if s["aim"] == "least-money"
    ]
    assert len(least) >= 5
    assert sum("budget_total" in ask for ask in asks) >= 40
    assert sum("fire" in ask for ask in asks) >= 30
    assert sum(any("meat" in g["avoids"] for g in ask["groups"]) for ask in asks) >= 20
    assert sum(len(counted(seed).found) > 100 for seed in SEEDS) >= 20
