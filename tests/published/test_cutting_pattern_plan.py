"""Cutting patterns of carcass sections over a week, against a published method written out again.

Method: O01, Albornoz, Gonzalez-Araya, Gripe, Rodriguez, "A mixed integer linear program for
operational planning in a meat packing plant", 2015: classes of carcass, patterns by section, days,
product indexed by its age, demand, hours.  From memory, ideas only; the data of that paper are not
at hand, so no figure of it is checked.  Patterns by section that combine: O02, Whitaker and
Cammell, "A partitioned cutting-stock problem applied in the meat industry", 1990, as O01 tells it.
What it adds up to is checked against a program of its own (`published.cutting_patterns`), solved by
PuLP with CBC.

Yields are published: a 60-lb lamb carcass on slides (SLIDELAMB), the army's lamb cutting test
(ARMYLAMB, "Handbook on Cutting Lamb"), an Australian lamb rack (AULAMB), boning trials on lamb legs
(LORLAMB97) and pork loins (LORPORK96), and a hog breakdown (NPPC184), all rows seen.  Each pattern
is of one source and closes by itself; that they start from the same trim is not claimed.  Prices,
demand, hours, shelf lives, and minutes not cited are invented.
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
    Batch,
    Pattern,
    Plant,
    Product,
    Program,
    ages,
    asked,
    chosen,
    closing_shares,
    grain,
    outputs_of,
    published,
    share_of,
    style_of,
    text,
    trial,
)


def exact(*numbers):
    """Return decimals in texts as exact numbers."""
    return tuple(Fraction(one) for one in numbers)


def product(price, keeps, *demand):
    """Return a product, its price and demand given as texts."""
    return Product(Fraction(price), keeps, exact(*demand))


def pattern(minutes, at_once=(), **gives):
    """Return a pattern; `gives` names products with _ for a blank."""
    named = {name.replace("_", " "): Fraction(share) for name, share in gives.items()}
    return Pattern(Fraction(minutes), named, tuple(at_once))


def lamb_patterns():
    """Return the ways to cut rack, shoulder and breast: SLIDELAMB, ARMYLAMB and AULAMB, seen."""
    slides = {
        section: closing_shares("LAMB_120_60", section, "SLIDELAMB")
        for section in ("rack", "shoulder", "breast")
    }
    army = {
        word: share_of("LAMB_ARMY_BONELESS", item, "ARMYLAMB")
        for word, item in {
            "rack": "rack -> boneless roasts",
            "shoulder": "square-cut shoulder -> boneless roasts or stew",
            "breast": "breasts, shanks and necks -> boneless lean meat",
        }.items()
    }
    frenched = share_of("LAMB_AU_RACK", "cap on, frenched to 50 mm tail", "AULAMB")
    return {
        "rack": {
            "chops": Pattern(Fraction(9), slides["rack"]),
            "boneless": pattern(12, rack_roast=army["rack"]),
            "frenched": pattern(16, frenched_rack=frenched),
        },
        "shoulder": {
            "chops and rolled": Pattern(Fraction(18), slides["shoulder"]),
            "boneless": pattern(14, shoulder_stew=army["shoulder"]),
        },
        "breast": {
            "rolled": Pattern(Fraction(6), slides["breast"]),
            "lean": pattern(5, breast_lean=army["breast"]),
        },
    }


def lamb_products():
    """Return what those patterns give; invented."""
    return {
        "rack chops": product("15.90", 1, "3", "2", "3", "4", "6"),
        "riblets": product("4.90", 1, "1", "1", "1", "1", "1"),
        "rack roast": product("19.50", 2, "0", "1", "1.5", "4", "5"),
        "frenched rack": product("21.00", 1, "1", "0", "2", "3", "6"),
        "blade chops": product("8.90", 1, "1", "0.5", "1", "1", "1"),
        "arm chops": product("8.40", 1, "1", "0.5", "1", "1", "1"),
        "ground lamb": product("7.90", 1, "1.5", "1.5", "1.5", "1.5", "1.5"),
        "rolled shoulder": product("10.40", 2, "2", "2", "4", "8", "10"),
        "shoulder stew": product("9.80", 1, "5", "4", "6", "5", "3"),
        "boneless rolled breast": product("6.90", 2, "0.5", "0.5", "0.5", "1", "2"),
        "breast lean": product("7.40", 0, "1", "0.5", "1", "0.5", "0.5"),
    }


def of_trial(row, gives, minutes="low"):
    """Return a pattern of one boning trial; `gives` names the end of the span of its product."""
    shares = {what: Fraction(getattr(row.pct, end)) / 100 for what, end in gives.items()}
    return Pattern(Fraction(getattr(row.minutes, minutes)), shares)


@cache
def short_lived():
    """Return a week of four lambs in two deliveries, where the days they keep hold the shop back.

    The sections weigh what SLIDELAMB printed: rack 8 lb, shoulder 16, breast 4.
    """
    patterns = lamb_patterns()
    weights = {section: weight_of_section(section) for section in patterns}
    batches = tuple(
        Batch(section, 2, weights[section], arrives, arrives + 1)
        for arrives in (0, 2) for section in patterns
    )  # fmt: skip
    minutes = exact("90", "90", "90", "90", "90")
    return Plant("four lambs", patterns, batches, lamb_products(), minutes, exact(*"00000"),
                 Fraction(24), Fraction(36))  # fmt: skip


def weight_of_section(section):
    """Return the printed weight of a section of SLIDELAMB's 60-lb carcass."""
    rows = published("LAMB_120_60", section, "SLIDELAMB")
    return Fraction(next(iter(rows.values())).primal_lb.low)


@cache
def short_of_hands():
    """Return a week of twelve lamb legs and few minutes.

    LORLAMB97: bone-in 85.3 % saleable in 2.1 minutes a leg, boneless 68.0 % in 9.0.
    """
    legs = {}
    for name, style in {"bone-in": "bone-in retail", "boneless": "boneless retail"}.items():
        legs[name] = of_trial(trial("L-LEG", style, "LORLAMB97"), {f"leg, {name}": "low"})
    products = {
        "leg, bone-in": product("9.40", 2, "10", "10", "12", "12"),
        "leg, boneless": product("15.90", 2, "8", "8", "14", "20"),
    }
    batches = (Batch("leg", 7, Fraction(9), 0, 2), Batch("leg", 5, Fraction(8), 1, 3))
    return Plant("twelve legs", {"leg": legs}, batches, products, exact("14", "12", "14", "16"),
                 exact("0", "5", "5", "5"), Fraction(24), Fraction(36))  # fmt: skip


@cache
def two_classes():
    """Return a week of pork loins of two classes, which are worth cutting differently.

    LORPORK96 gives spans over four suppliers: bone-in 92.80 to 95.28 %, boneless 71.12 to 77.92 %,
    3.7 to 5.3 and 7.6 to 10.5 minutes.  The first class has the low end of each yield and the long
    time, the second the high end and the short time: a way to have two classes, not a finding of
    that trial.  The third pattern is NPPC184's, the same for both; fat and bone close it.
    """
    printed = published("PORK_250_184", "loin", "NPPC184")
    split = {
        item: Fraction(row.pct_of_primal) / 100
        for item, row in printed.items() if item not in {"fat and bone", "trimmings"}
    }  # fmt: skip
    trim = (Fraction(printed["trimmings"].pct_of_primal) / 100, Fraction("2.10"))
    chops = trial("P-LOIN", "mostly bone-in chops", "LORPORK96")
    boneless = trial("P-LOIN", "mostly boneless", "LORPORK96")
    kinds = {
        f"loin, class {grade}": {
            "chops": of_trial(chops, {"bone-in chops": low}, slow),
            "boneless": of_trial(boneless, {"boneless cuts": low}, slow),
            "split": Pattern(Fraction(9), split, (trim,)),
        }
        for grade, low, slow in (("I", "low", "high"), ("II", "high", "low"))
    }
    products = {
        "bone-in chops": product("5.20", 2, "24", "18", "30", "30"),
        "boneless cuts": product("6.70", 2, "12", "12", "24", "24"),
        "back ribs": product("6.90", 3, "2", "2", "2", "2"),
        "boneless loin": product("7.90", 2, "3", "3", "4", "6"),
        "country-style ribs": product("5.10", 2, "4", "4", "4", "4"),
        "sirloin roast": product("4.70", 3, "3", "3", "3", "3"),
        "tenderloin": product("11.90", 2, "1", "1", "1", "2"),
    }
    batches = (Batch("loin, class I", 8, Fraction(15), 0, 2),
               Batch("loin, class II", 6, Fraction(20), 1, 3))  # fmt: skip
    return Plant("fourteen loins", kinds, batches, products, exact("24", "24", "30", "30"),
                 exact("0", "0", "0", "0"), Fraction(27), Fraction("40.5"))  # fmt: skip


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
    for row in plan["breaks"]:
        for cover in row["covers"]:
            assert cover["last_day"] - row["day"] <= plant.products[cover["cut"]].keeps


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
    """O01 (method): one pattern for all pieces of a section and class earns a fifth less or worse.

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


ARMY_SECTIONS = {
    "leg": "legs (including sirloin)",
    "loin": "loin (untrimmed)",
    "rack": "rack (eight ribs)",
    "shoulder": "shoulders (five ribs)",
    "breast": "breasts, shanks and neck",
}


def army_shares():
    """Return the share of each section: pounds of 100 lb of lamb (ARMYLAMB, seen)."""
    shares = {}
    for word, section in ARMY_SECTIONS.items():
        (row,) = published("LAMB_ARMY_100", section, "ARMYLAMB").values()
        shares[word] = Fraction(row.lb) / 100
    assert sum(shares.values()) == 1
    return shares


def army_patterns():
    """Return the patterns of each section: as above, two legs a carcass, a loin whole as well."""
    legs = {
        name: Pattern(2 * one.minutes, one.gives)
        for name, one in short_of_hands().kinds["leg"].items()
    }
    rolled = share_of("LAMB_ARMY_BONELESS", "loin, untrimmed -> boneless roasts", "ARMYLAMB")
    loins = {"whole": pattern(1, whole_loin=1), "boneless": pattern(8, loin_roast=rolled)}
    lamb = lamb_patterns()
    return {"leg": legs, "loin": loins, "rack": lamb["rack"], "shoulder": lamb["shoulder"],
            "breast": {"lean": lamb["breast"]["lean"]}}  # fmt: skip


def together(parts, shares):
    """Return one pattern of the whole carcass: a pattern for each section, and parting them."""
    gives = {}
    for section, one in parts.items():
        for what, share in one.gives.items():
            gives[what] = gives.get(what, Fraction(0)) + shares[section] * share
    return Pattern(Fraction(12) + sum(one.minutes for one in parts.values()), gives)


@cache
def whole_carcasses():
    """Return three lambs, each cut in one of 24 patterns: all that the sections' combine to."""
    shares, patterns = army_shares(), army_patterns()
    combined = {}
    for names in itertools.product(*patterns.values()):
        parts = {at: patterns[at][one] for at, one in zip(patterns, names, strict=True)}
        combined[" + ".join(names)] = together(parts, shares)
    products = {
        "leg, bone-in": product("9.40", 3, "9", "8", "9", "10"),
        "leg, boneless": product("13.90", 3, "5", "3", "4", "9"),
        "whole loin": product("9.80", 2, "4", "3", "3", "3"),
        "loin roast": product("21.50", 2, "2", "1", "2", "3"),
        **{name: replace(one, demand=one.demand[:4]) for name, one in lamb_products().items()},
    }
    minutes = exact("110", "70", "70", "60")
    return Plant("three lambs", {"lamb": combined}, (Batch("lamb", 3, Fraction(60), 0, 3),),
                 products, minutes, exact(*"0000"), Fraction(24), Fraction(36))  # fmt: skip


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
