"""The sum behind a promise, against a solver and every way of small cases."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, product

from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from collop.shop.promising_flow import most_for, serve, served
from collop.shop.promising_model import Coming

START = date(2026, 6, 8)
DAYS = 5


def day(number):
    return START + timedelta(days=number)


def coming(count, first, last=None, part="case"):
    return Coming(part, count, day(first), None if last is None else day(last), f"L{first}", "")


SUPPLY = st.builds(
    lambda count, first, length, ends: coming(count, first, first + length if ends else None),
    st.integers(1, 6), st.integers(0, DAYS - 1), st.integers(0, 3), st.booleans(),
)  # fmt: skip
SUPPLIES = st.lists(SUPPLY, max_size=5)
DEMANDS = st.lists(st.tuples(st.integers(0, DAYS - 1).map(day), st.integers(1, 6)), max_size=5)


def by_solver(supplies, demands):
    """Return the most that can be served, as a linear program solved by HiGHS (scipy)."""
    ways = [
        (one, at) for one in range(len(supplies)) for at in range(len(demands))
        if supplies[one].is_there(demands[at][0])
    ]  # fmt: skip
    if not ways:
        return 0
    rows = [[1 if way[0] == one else 0 for way in ways] for one in range(len(supplies))]
    rows += [[1 if way[1] == at else 0 for way in ways] for at in range(len(demands))]
    limits = [one.count for one in supplies] + [count for _, count in demands]
    found = linprog([-1] * len(ways), A_ub=rows, b_ub=limits, method="highs")
    return round(-found.fun)


@given(SUPPLIES, DEMANDS)
@settings(max_examples=60)
def test_no_other_way_serves_more(supplies, demands):
    """The sum served is that of a linear program solved by HiGHS, an outside solver."""
    assert served(supplies, demands) == by_solver(supplies, demands)


@given(SUPPLIES, DEMANDS, st.integers(0, DAYS - 1))
@settings(max_examples=60)
def test_a_promise_leaves_every_other_as_it_was(supplies, demands, number):
    """With what may be promised added, all get together exactly that much more, and no more can."""
    most = most_for(supplies, demands, day(number))
    more = [*demands, (day(number), most)] if most else demands
    assert by_solver(supplies, more) == by_solver(supplies, demands) + most
    over = [*demands, (day(number), most + 1)]
    assert by_solver(supplies, over) == by_solver(supplies, demands) + most


@given(SUPPLIES, DEMANDS, st.integers(0, DAYS - 1))
@settings(max_examples=60)
def test_what_is_served_is_there_on_its_day_and_once(supplies, demands, number):
    """No supply gives more than it has, nor outside its days; no demand gets more than it asks."""
    demands = [*demands, (day(number), 3)]
    given_out = serve(supplies, demands)
    used = [0] * len(supplies)
    for (on, wanted), shares in zip(demands, given_out, strict=True):
        assert sum(count for _, count in shares) <= wanted
        for one, count in shares:
            assert one.is_there(on)
            used[[id(other) for other in supplies].index(id(one))] += count
    assert all(taken <= one.count for taken, one in zip(used, supplies, strict=True))


def every_way(supplies, demands):
    """Return the most that is served, by trying every way to give out single counts."""
    units = [one for one in supplies for _ in range(one.count)]
    best = 0
    for ways in product(range(-1, len(demands)), repeat=len(units)):
        fits = all(at < 0 or one.is_there(demands[at][0])
                   for one, at in zip(units, ways, strict=True))  # fmt: skip
        if fits and all(ways.count(at) <= demands[at][1] for at in range(len(demands))):
            best = max(best, sum(at >= 0 for at in ways))
    return best


def test_small_cases_one_by_one():
    """Of two lots and two promises, all windows of three days: every way of giving out is tried."""
    windows = [(first, last) for first in range(3) for last in (*range(first, 3), None)]
    for one, other in combinations(windows, 2):
        supplies = [coming(2, *one), coming(1, *other)]
        for first, second in product(range(3), repeat=2):
            demands = [(day(first), 1), (day(second), 2)]
            assert served(supplies, demands) == every_way(supplies, demands)


@given(st.lists(st.tuples(st.integers(0, DAYS - 1), st.integers(1, 6)), max_size=5), DEMANDS)
@settings(max_examples=60)
def test_what_keeps_is_the_least_of_the_sums_of_later_days(arrivals, demands):
    """Cumulated available-to-promise, the textbook rule (from memory), where nothing spoils.

    For a day: the least, over that day and all later ones, of all that has come by then less all
    that is promised by then. It holds where the promises can be kept.
    """
    supplies = [coming(count, first) for first, count in arrivals]
    if served(supplies, demands) < sum(count for _, count in demands):
        return
    for number in range(DAYS):
        left = [
            sum(count for first, count in arrivals if first <= later)
            - sum(count for on, count in demands if on <= day(later))
            for later in range(number, DAYS)
        ]
        assert most_for(supplies, demands, day(number)) == min(left)


@given(SUPPLIES, st.lists(st.tuples(st.integers(0, DAYS - 1), st.integers(1, 6)), max_size=6),
       st.randoms(use_true_random=False))  # fmt: skip
@settings(max_examples=60)
def test_never_more_is_promised_than_is_there_in_whatever_order(supplies, wishes, chance):
    """Wishes taken in any order up to what may be promised can all be kept together."""
    chance.shuffle(wishes)
    promised = []
    for number, wish in wishes:
        taken = min(wish, most_for(supplies, promised, day(number)))
        if taken:
            promised.append((day(number), taken))
    assert by_solver(supplies, promised) == sum(count for _, count in promised)
    for first, last in combinations(range(DAYS + 1), 2):
        inside = sum(count for on, count in promised if day(first) <= on < day(last))
        reach = sum(one.count for one in supplies
                    if any(one.is_there(day(number)) for number in range(first, last)))  # fmt: skip
        assert inside <= reach


@given(SUPPLIES, DEMANDS, SUPPLY, st.integers(0, DAYS - 1), st.integers(1, 6))
@settings(max_examples=60)
def test_more_coming_never_means_less_and_more_promised_never_more(
    supplies, demands, another, number, wish
):
    """What may be promised rises with supply and falls with promises, by no more than each."""
    before = most_for(supplies, demands, day(number))
    richer = most_for([*supplies, another], demands, day(number))
    assert before <= richer <= before + another.count
    for other in range(DAYS):
        after = most_for(supplies, [*demands, (day(other), wish)], day(number))
        assert before - wish <= after <= before
    taken = min(wish, before)
    if taken:
        again = most_for(supplies, [*demands, (day(number), taken)], day(number))
        assert again == before - taken


@given(SUPPLIES.map(lambda found: [coming(one.count, (one.first - START).days) for one in found]),
       DEMANDS)  # fmt: skip
@settings(max_examples=60)
def test_a_later_day_has_no_less_where_nothing_spoils(supplies, demands):
    """Without last days, waiting never loses a promise."""
    found = [most_for(supplies, demands, day(number)) for number in range(DAYS)]
    assert found == sorted(found)


def test_a_promise_for_saturday_does_not_eat_friday_s():
    """Ten that keep till Saturday, six wanted on Friday: four for Saturday, four for Friday."""
    friday, saturday = day(4), day(5)
    lot = Coming("case", 10, START, saturday, "C", "")
    assert most_for([lot], [(friday, 6)], saturday) == 4
    assert most_for([lot], [(friday, 6)], friday) == 4
    late = Coming("rail", 3, saturday, None, "L", "")
    assert most_for([lot, late], [(friday, 6)], saturday) == 7
    # of a promise that cannot be kept anyway, Saturday's stock is no part
    assert most_for([late], [(friday, 6)], saturday) == 3
