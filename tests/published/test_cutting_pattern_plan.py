"""Cutting patterns of carcass sections over a week, against a published method written out again.

Method: O01, Albornoz, Gonzalez-Araya, Gripe, Rodriguez, "A mixed integer linear program for
operational planning in a meat packing plant", 2015: classes of carcass, patterns by section, days,
product indexed by its age, demand, hours.  From memory, ideas only; the data of that paper are not
at hand, so no figure of it is checked.  Patterns by section that combine: O02, Whitaker and
Cammell, "A partitioned cutting-stock problem applied in the meat industry", 1990, as O01 tells it.
What it adds up to is checked against a program of its own (`published.cutting_patterns`), solved by
PuLP with CBC.

The yields are published rows, named in `published.cutting_plants` (SLIDELAMB, ARMYLAMB, AULAMB,
LORLAMB97, LORPORK96, NPPC184); prices, demand, hours and shelf lives are invented.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest

from collop.bench import bench
from collop.bench.checker import check_plan
from collop.bench.reading import read_problem
from published.cutting_patterns import (
    Program,
    ages,
    asked,
    chosen,
    grain,
    outputs_of,
    style_of,
    text,
)
from published.cutting_plants import (
    army_patterns,
    army_shares,
    short_lived,
    short_of_hands,
    two_classes,
    whole_carcasses,
)

PLANTS = {"shelf life": short_lived, "labour": short_of_hands, "two classes": two_classes}
each_plant = pytest.mark.parametrize("make", PLANTS.values(), ids=PLANTS)


@cache
def planned(make):
    """Return an instance, the problem it is asked as, and its plan."""
    problem = asked(make())
    return make(), problem, bench(problem)


@cache
def best_of(make):
    """Return the most money of an instance by the program of its own."""
    return Program(make()).best()


def by_pattern(kind, name):
    """Count each pattern by itself."""
    return [(kind, name)]


@each_plant
def test_the_week_earns_what_the_age_indexed_program_earns(make):
    """O01 (method): the most money agrees to the cent, and no rule of the plan is broken."""
    _, problem, plan = planned(make)
    best = best_of(make)
    assert float(plan["contribution"]) == pytest.approx(best, abs=0.01 + grain(problem))
    assert plan["proof"]["status"] == "optimal"
    assert float(plan["proof"]["bound"]) >= best - 0.01
    assert not check_plan(read_problem(problem), plan)


@each_plant
def test_each_piece_has_its_pattern(make):
    """O01 (method): with any other numbers of pieces in its patterns a week earns less."""
    _, _, plan = planned(make)
    other = Program(make()).best_otherwise(chosen(plan), by_pattern)
    assert other < best_of(make) - 0.01


@each_plant
def test_nothing_is_sold_past_its_shelf_life(make):
    """O01 (method): product made on day t is sold on days t to t + its shelf life, and no later."""
    plant, _, plan = planned(make)
    for cut in plan["cuts"]:
        keeps = plant.products[cut["id"]].keeps
        oldest, spoilt = ages(cut, keeps)
        assert oldest <= keeps
        assert spoilt == Fraction(cut["spoilt"])


def test_no_break_covers_a_sale_past_its_shelf_life():
    """What each break is said to cover is sold within its days, and some of it on the last one."""
    plant, problem, _ = planned(short_lived)
    told = bench(problem | {"reasons": True})
    days_over = [
        plant.products[cover["cut"]].keeps - (cover["last_day"] - row["day"])
        for row in told["breaks"] for cover in row["covers"]
    ]  # fmt: skip
    assert min(days_over) == 0


@pytest.mark.parametrize(
    ("make", "planned_for", "alike"),
    [
        (short_lived, "821.32", 657.65),
        (short_of_hands, "942.23", 539.42),
        (two_classes, "1165.59", 899.64),
    ],
    ids=PLANTS,
)
def test_a_pattern_for_each_piece_is_worth_money(make, planned_for, alike):
    """O01 (method): one pattern for all pieces of a section and class earns far less.

    Four lambs 657.65 for 821.32, twelve legs 539.42 for 942.23, fourteen loins of two classes
    899.64 for 1165.59, each the best of all such plans; the prices and demand are invented.
    """
    plant, problem, plan = planned(make)
    found = {
        names: Program(plant.only(dict(zip(plant.kinds, names, strict=True)))).best()
        for names in itertools.product(*plant.kinds.values())
    }
    names, most = max(found.items(), key=lambda one: one[1])
    assert plan["contribution"] == planned_for
    assert most == pytest.approx(alike, abs=0.005)
    fixed = bench(asked(plant.only(dict(zip(plant.kinds, names, strict=True)))))
    assert float(fixed["contribution"]) == pytest.approx(most, abs=0.01 + grain(problem))


@each_plant
def test_parts_of_a_piece_would_earn_more(make):
    """O01 (method): were pieces divisible between patterns, a week would earn over 1 % more.

    So that pieces are whole is no idle condition: the relaxed program is a bound and no plan.
    """
    relaxed = Program(make(), relaxed=True).best()
    assert relaxed > 1.01 * best_of(make)


def test_the_shelf_life_holds_this_week_back():
    """Kept for the whole week, four lambs earn more: in both programs the same."""
    longer = short_lived().keeping(short_lived().days)
    best = Program(longer).best()
    assert best > best_of(short_lived) + 10
    problem = asked(longer)
    assert float(bench(problem)["contribution"]) == pytest.approx(best, abs=0.01 + grain(problem))


def test_the_hours_hold_this_week_back():
    """With hours to spare more legs are boned out, which takes four times as long (LORLAMB97)."""
    plant = short_of_hands()
    plenty = replace(plant, minutes=(Fraction(480),) * plant.days)
    best = Program(plenty).best()
    problem = asked(plenty)
    plan = bench(problem)
    assert best > best_of(short_of_hands) + 10
    assert float(plan["contribution"]) == pytest.approx(best, abs=0.01 + grain(problem))
    boned = ("leg", "boneless")
    assert chosen(plan)[boned] > chosen(planned(short_of_hands)[2])[boned]


def test_the_class_decides_the_pattern():
    """The class that bones out well is boned, and the other goes to chops (LORPORK96 spans)."""
    cut = chosen(planned(two_classes)[2])
    assert cut["loin, class II", "boneless"] > 0
    assert cut["loin, class I", "boneless"] == 0
    assert cut["loin, class I", "chops"] > cut["loin, class II", "chops"]


def in_sections(plant):
    """Return the same instance with the sections as large cuts, each in a style of its own."""
    problem = asked(plant)
    parted = [{"kind": name, "share": text(share)} for name, share in army_shares().items()]
    problem["kinds"] = [
        {"id": "lamb", "name": "lamb",
         "styles": [{"id": "lamb: parted", "minutes": "12", "outputs": parted}]},
        *({"id": section, "name": section,
           "styles": [{"id": style_of(section, name), "minutes": text(one.minutes),
                       "outputs": outputs_of(one)} for name, one in patterns.items()]}
          for section, patterns in army_patterns().items()),
    ]  # fmt: skip
    return problem


def by_section(_, name):
    """Count a pattern of the whole carcass as one of each section."""
    return list(zip(army_patterns(), name.split(" + "), strict=True))


def test_patterns_by_section_are_all_their_combinations():
    """O02 (as O01 tells it): 24 patterns of the whole lamb and 10 of its sections are one plan.

    Money and the number of sections in each pattern agree, with one another and with the program
    of its own; any other numbers would earn less.
    """
    plant = whole_carcasses()
    written_out, parted = asked(plant), in_sections(plant)
    assert len(written_out["kinds"][0]["styles"]) == math.prod(map(len, army_patterns().values()))
    one, other = bench(written_out), bench(parted)
    near = 0.01 + grain(written_out)
    best = Program(plant).best()
    assert float(one["contribution"]) == pytest.approx(best, abs=near)
    assert float(other["contribution"]) == pytest.approx(best, abs=near)
    assert not check_plan(read_problem(parted), other)
    counts = chosen(other)
    carcasses = counts.pop(("lamb", "parted"))
    said = [by_section(*row["style"].split(": ")) for row in one["breaks"]]
    assert len(said) == carcasses
    assert counts == {
        label: sum(label in row for row in said) for label in itertools.chain(*said)
    }  # fmt: skip
    assert Program(plant).best_otherwise(counts, by_section) < best - near
