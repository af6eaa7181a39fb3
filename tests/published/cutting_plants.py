"""Invented weeks of cutting published sections of lamb and pork: what there is to choose from.

Yields are published rows of the package's tables, all seen, with their sources beside them: a
60-lb lamb carcass on slides (SLIDELAMB), the army's lamb cutting test (ARMYLAMB, "Handbook on
Cutting Lamb"), an Australian lamb rack (AULAMB), boning trials on lamb legs (LORLAMB97) and pork
loins (LORPORK96), and a hog breakdown (NPPC184).  Each pattern is of one source and closes by
itself; that they start from the same trim is not claimed.  Prices, demand, hours, shelf lives, and
minutes not cited are invented.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction
from functools import cache

from published.cutting_patterns import (
    Batch,
    Pattern,
    Plant,
    Product,
    closing_shares,
    published,
    share_of,
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
