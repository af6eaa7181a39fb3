"""How much is enough: the closed form against eaters drawn one by one, and unions against flow."""

from __future__ import annotations

import itertools
import random
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collop.spread.need import chance_enough, mean_and_sd, need_meals, unions
from collop.spread.problem import Group
from spread.asked import ask, first, group, offer, plan, read, rules

TABLES = [
    ((40, 1.0),),
    ((18, 1.0), (16, 1.3)),
    ((8, 1.0), (6, 0.5)),
    ((20, 1.0), (15, 0.5), (10, 1.3)),
]


def table(*parts):
    return [
        Group(f"g{index}", count, Fraction(str(appetite)), frozenset())
        for index, (count, appetite) in enumerate(parts)
    ]


def drawn(parts, cv, shape, *, evenings=20_000):
    """Return what a table eats on many evenings [meals], each eater drawn for himself."""
    rng = np.random.default_rng(2026)
    total = np.zeros(evenings)
    for count, appetite in parts:
        if shape == "normal":
            eaten = rng.normal(appetite, cv * appetite, (evenings, count))
        else:
            eaten = rng.gamma(1 / cv**2, appetite * cv**2, (evenings, count))
        total += eaten.sum(axis=1)
    return total


@pytest.mark.parametrize("shape", ["normal", "gamma"])
@pytest.mark.parametrize("parts", TABLES, ids=str)
def test_the_chance_of_enough_is_that_of_eaters_drawn_one_by_one(parts, shape):
    """Twenty thousand evenings, normal and skewed appetites: within a hundredth and a half."""
    groups = table(*parts)
    eaten = drawn(parts, 0.25, shape)
    for chance in (0.8, 0.9, 0.95, 0.99):
        planned = need_meals(groups, 0.25, chance)
        assert abs((eaten <= float(planned)).mean() - chance) < 0.015
        assert chance_enough(planned, groups, 0.25) == pytest.approx(chance, abs=1e-5)


def test_mean_and_spread_are_those_of_independent_eaters():
    """Sum of n a, and cv times the root of the sum of n a squared."""
    mean, spread = mean_and_sd(table((18, 1.0), (16, 1.3)), 0.25)
    assert float(mean) == pytest.approx(38.8)
    assert spread == pytest.approx(0.25 * (18 + 16 * 1.69) ** 0.5)


def test_with_fixed_appetites_enough_is_the_mean_itself():
    """No variation: exactly the need, and the chance is all or nothing."""
    groups = table((4, 1.0))
    assert need_meals(groups, 0.0, 0.99) == 4
    assert chance_enough(Fraction(4), groups, 0.0) == 1
    assert chance_enough(Fraction(399, 100), groups, 0.0) == 0


@given(count=st.integers(1, 500), cv=st.floats(0, 1), chance=st.floats(0.5, 0.9999))
def test_more_certainty_and_more_eaters_never_need_less(count, cv, chance):
    """The planned need rises with the chance and with the table, and is never under the mean."""
    groups = table((count, 1.0))
    planned = need_meals(groups, cv, chance)
    assert planned >= count
    assert planned <= need_meals(groups, cv, min(0.9999, chance + 0.01))
    assert planned <= need_meals(table((count + 1, 1.0)), cv, chance)
    assert chance_enough(planned, groups, cv) >= chance - 1e-6


def test_a_large_table_needs_less_for_each_eater():
    """Appetites even out: the spare a head shrinks with the root of the heads."""
    one, many = (need_meals(table((n, 1.0)), 0.25, 0.95) / n for n in (4, 100))
    assert float(one) == pytest.approx(1.2056, abs=1e-3)
    assert float(many) == pytest.approx(1.0411, abs=1e-3)


def max_flow(supplies, reaches, needs):
    """Return whether every group can be fed, by augmenting paths in whole units."""
    given_out = [[0] * len(needs) for _ in supplies]

    def feed(eater, seen):
        for source, reach in enumerate(reaches):
            if eater not in reach or source in seen:
                continue
            seen.add(source)
            if sum(given_out[source]) < supplies[source]:
                given_out[source][eater] += 1
                return True
            for other in range(len(needs)):
                if given_out[source][other] and feed(other, seen):
                    given_out[source][other] -= 1
                    given_out[source][eater] += 1
                    return True
        return False

    return all(feed(eater, set()) for eater, need in enumerate(needs) for _ in range(need))


AVOIDABLE = ("beef", "pork", "lamb", "goat")


def random_table(seed):
    """Return groups that avoid animals at random, and whole supplies of each animal."""
    rng = random.Random(seed)
    tables = [
        group(rng.randint(1, 3),
              *(f"species:{a}" for a in rng.sample(AVOIDABLE, rng.randint(0, 3))),
              name=f"g{index}")
        for index in range(rng.randint(1, 4))
    ]  # fmt: skip
    return tables, {animal: rng.randint(0, 4) for animal in AVOIDABLE}


@pytest.mark.parametrize("block", range(4))
def test_unions_of_groups_say_yes_exactly_where_a_flow_feeds_all(block):
    """A hundred random tables and supplies: the rows of need against max flow."""
    for seed in range(25 * block, 25 * block + 25):
        tables, supply = random_table(seed)
        found = read(ask(*(offer(a, species=a) for a in AVOIDABLE), groups=tables))
        rows = unions(found, found.offers)
        kept = all(sum(supply[a] for a in row.offers) >= row.meals for row in rows)
        reaches = [
            {i for i, one in enumerate(tables) if f"species:{a}" not in one["avoids"]}
            for a in AVOIDABLE
        ]
        needs = [one["count"] for one in tables]
        assert kept == max_flow([supply[a] for a in AVOIDABLE], reaches, needs), seed


@pytest.mark.parametrize("seed", range(12))
def test_a_spread_is_found_exactly_where_a_flow_feeds_all(seed):
    """The same with the whole kernel: stock of so many meals of each animal."""
    tables, supply = random_table(seed)
    cuts = [offer(a, species=a, free_lb=f"{n * 0.5:.2f}") for a, n in supply.items()]
    reaches = [
        {i for i, one in enumerate(tables) if f"species:{a}" not in one["avoids"]}
        for a in AVOIDABLE
    ]
    fed = max_flow(list(supply.values()), reaches, [one["count"] for one in tables])
    found = plan(ask(*cuts, groups=tables, need_oz={"plate": 8}, want=1))
    assert found["answer"] == ("yes" if fed else "no")


def test_only_the_largest_set_of_groups_is_kept_for_each_reach():
    """Two tables that eat all alike are one row, not three."""
    found = read(ask(offer("A"), offer("B", species="pork"),
                     groups=[group(3, name="a"), group(2, name="b"),
                             group(1, "species:pork")]))  # fmt: skip
    rows = {row.name: (sorted(row.offers), row.mean) for row in unions(found, found.offers)}
    assert rows == {"a + b + species:pork": (["A", "B"], 6), "species:pork": (["A"], 1)}


def test_parts_of_a_table_that_share_no_food_keep_the_chance_together():
    """Meat-eaters and those without: each part to the square root of the chance."""
    spread = first(ask(offer("A"), offer("C", species="none"), appetite_cv=0.25,
                       groups=[group(16), group(2, "meat")], rules=rules()))  # fmt: skip
    root = 0.95**0.5
    chances = [each["chance"] for each in spread["chance_each"]]
    assert len(chances) == 2
    assert all(root <= chance < root + 0.02 for chance in chances)
    assert spread["chance_everyone"] == pytest.approx(chances[0] * chances[1], abs=1e-3)
    assert spread["chance_everyone"] >= 0.95


def test_chances_are_told_for_each_union_that_matters():
    """No pork among forty: the whole table and the seven, each with its chance."""
    groups = [group(33), group(7, "species:pork")]
    spread = first(ask(offer("A"), offer("P", "6.00", species="pork"), groups=groups,
                       appetite_cv=0.25))  # fmt: skip
    named = {tuple(each["groups"]): each["chance"] for each in spread["chance_each"]}
    assert set(named) == {("all", "species:pork"), ("species:pork",)}
    assert all(chance >= 0.95 for chance in named.values())
    assert spread["chance_enough"] == named["all", "species:pork"]
    short = sum(1 - chance for chance in named.values())
    assert spread["chance_everyone"] == pytest.approx(1 - short, abs=2e-4)


def test_every_pair_of_tables_is_covered_not_each_table_alone():
    """Three tables share two cuts pairwise; each alone is fed, all together are not."""
    tables = [group(2, *(f"species:{a}" for a in some), name=str(some))
              for some in itertools.combinations(("beef", "pork", "lamb"), 2)]  # fmt: skip
    cuts = [offer(a, species=a, free_lb="0.90") for a in ("beef", "pork", "lamb")]
    assert plan(ask(*cuts, groups=tables, want=1))["answer"] == "yes"
    together = [*tables, group(1, name="all")]
    assert plan(ask(*cuts, groups=together, want=1))["answer"] == "no"
