"""The invented shop of the two weeks: cuts, styles, rule of thumb, deliveries, prices.

All of it is ours: common practice of a small shop, no published source. Weights are whole
thousandths of a pound throughout, money whole cents.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from fractions import Fraction

__all__ = [
    "BONE_CENTS",
    "CUTS",
    "ENDS",
    "GRIND_GIVES",
    "GRIND_MINUTES",
    "KINDS",
    "LAST_DAY",
    "LEFT_SHARE",
    "MAKES",
    "OPEN_DAYS",
    "PACE",
    "PAY_PER_HOUR",
    "RULES",
    "SHRINK",
    "TRIM_KEEPS",
    "TRIM_OF",
    "Animal",
    "Cut",
    "Style",
    "deliveries",
    "next_open",
]


@dataclass(frozen=True, slots=True)
class Cut:
    """One line of the case.

    Parameters
    ----------
    name, species : str
    cents : int
        Board price of a pound.
    keeps : int
        Cut on day d, it is sold on days d to d + keeps.
    group : str
        Cuts of one group stand in for one another at the glass.
    appeal : float
        How many walk-ins ask for it, beside the others.
    takes : tuple of float
        Least and most a walk-in wants [lb].
    boneless : float
    styles : dict of float
        Dish styles with the shop's eating score.
    slots : tuple of str
    neighbour : str, optional
    grinds : bool
        Whether it may go to the trim of its species.
    """

    name: str
    species: str
    cents: int
    keeps: int
    group: str
    appeal: float
    takes: tuple[float, float]
    boneless: float
    styles: dict[str, float]
    slots: tuple[str, ...]
    neighbour: str | None = None
    grinds: bool = False


@dataclass(frozen=True, slots=True)
class Style:
    """A way to cut a kind: minutes, and shares by cut, bin ("trim"), large cut or "bone"."""

    id: str
    minutes: int
    shares: dict[str, str]


@dataclass(frozen=True, slots=True)
class Animal:
    """A piece that is delivered: its day, weight, cost, and what the rule of thumb does with it."""

    tag: str
    kind: str
    mlb: int
    cost: int
    comes: int
    until: int
    rule_day: int
    rule: tuple[str, ...]


STEW, WRAP = "stew", "wrap"
_L, _P = "lamb", "pork"
CUTS: dict[str, Cut] = {
    "L1": Cut("Lamb leg", _L, 1120, 5, "roast", 6.0, (3.0, 5.0), 0.72,
              {"plate": 0.74, "shared": 0.78}, ("centre",)),
    "L2": Cut("Lamb leg steaks", _L, 1500, 4, "quick", 8.0, (0.8, 2.0), 0.92,
              {"plate": 0.80, "shared": 0.76}, ("centre",), "L4", grinds=True),
    "L3": Cut("Lamb shoulder", _L, 840, 5, "roast", 3.0, (3.0, 4.5), 0.68,
              {"plate": 0.62, "shared": 0.72, STEW: 0.70}, ("centre", "goes-far"), "L1",
              grinds=True),
    "L4": Cut("Lamb loin and rib chops", _L, 1860, 4, "quick", 15.0, (0.8, 2.0), 0.75,
              {"plate": 0.92}, ("centre",)),
    "L5": Cut("Lamb neck", _L, 630, 4, "slow", 2.0, (1.0, 2.5), 0.60,
              {STEW: 0.70}, ("goes-far",), "L8", grinds=True),
    "L6": Cut("Lamb breast", _L, 510, 4, "slow", 2.0, (1.0, 2.5), 0.62,
              {"shared": 0.58, STEW: 0.60}, ("goes-far",), "L3", grinds=True),
    "L7": Cut("Lamb shanks", _L, 950, 5, "slow", 4.0, (1.0, 2.5), 0.58,
              {"plate": 0.72, STEW: 0.78}, ("goes-far",), "L3"),
    "L8": Cut("Lamb, diced", _L, 1140, 3, "slow", 9.0, (0.8, 2.0), 1.0,
              {WRAP: 0.74, STEW: 0.76}, ("in-the-hand", "goes-far"), grinds=True),
    "L9": Cut("Lamb mince", _L, 920, 2, "minced", 8.0, (0.8, 2.0), 1.0,
              {"plate": 0.64, WRAP: 0.66}, ("in-the-hand", "goes-far")),
    "P1": Cut("Pork loin chops", _P, 1010, 4, "quick", 17.0, (0.8, 2.5), 0.80,
              {"plate": 0.78}, ("centre",)),
    "P2": Cut("Pork loin roast", _P, 980, 5, "roast", 3.0, (3.0, 5.0), 0.96,
              {"plate": 0.74, "shared": 0.76}, ("centre",), "P1"),
    "P3": Cut("Pork belly slices", _P, 770, 4, "quick", 9.0, (0.8, 2.0), 0.90,
              {"plate": 0.70, "shared": 0.74}, ("in-the-hand",), "P1", grinds=True),
    "P4": Cut("Pork shoulder roast", _P, 560, 5, "roast", 2.0, (3.0, 5.0), 0.80,
              {"plate": 0.58, "shared": 0.72, WRAP: 0.74}, ("goes-far",), "P2", grinds=True),
    "P5": Cut("Pork shoulder steaks", _P, 640, 4, "quick", 9.0, (0.8, 2.5), 0.90,
              {"plate": 0.68, "shared": 0.68}, ("in-the-hand", "goes-far"), "P1", grinds=True),
    "P6": Cut("Pork leg roast", _P, 620, 5, "roast", 2.5, (3.0, 5.0), 0.82,
              {"plate": 0.62, "shared": 0.66}, ("centre",), "P2", grinds=True),
    "P7": Cut("Pork hocks", _P, 340, 5, "slow", 2.0, (1.0, 2.5), 0.50,
              {STEW: 0.64}, ("goes-far",), "L7"),
    "P8": Cut("Pork links", _P, 820, 3, "minced", 17.0, (0.8, 2.0), 1.0,
              {"plate": 0.70, WRAP: 0.66}, ("in-the-hand",)),
}  # fmt: skip
#: What counts as left over on Saturday evening, beside trim: the cuts that few ask for first.
ENDS = ("L3", "L5", "L6", "L7", "P4", "P5", "P7")

TRIM_OF = {_L: "lamb-trim", _P: "pork-trim"}
#: Days after the one it was cut on which trim is still made into something.
TRIM_KEEPS = 2
#: bin: (cut it becomes, minutes a pound, cents a pound for casing and the like)
MAKES = {"lamb-trim": ("L9", Fraction(1, 2), 0), "pork-trim": ("P8", Fraction(3), 40)}
GRIND_GIVES = {cut: Fraction("0.95") * Fraction(str(one.boneless)) for cut, one in CUTS.items()}
GRIND_MINUTES = Fraction(3, 2)
PAY_PER_HOUR = 2400
BONE_CENTS = 20
#: Share of the weight of a hanging piece that air takes in a day.
SHRINK = Fraction(3, 1000)
#: Sound stock at the end counts at this share of its price, up to what sells in half its days.
LEFT_SHARE = Fraction(1, 2)

KINDS: dict[str, tuple[int, tuple[Style, ...]]] = {
    "lamb carcass": (0, (
        Style("in large cuts", 18, {"lamb legs": ".345", "L4": ".185", "lamb shoulders": ".260",
                                    "L5": ".060", "L6": ".090", "lamb-trim": ".025",
                                    "bone": ".025"}),
    )),
    "lamb legs": (2, (
        Style("whole", 4, {"L1": ".960", "lamb-trim": ".015", "bone": ".015"}),
        Style("steaks and shanks", 18, {"L2": ".600", "L7": ".200", "lamb-trim": ".070",
                                        "bone": ".120"}),
    )),
    "lamb shoulders": (2, (
        Style("bone in", 5, {"L3": ".960", "lamb-trim": ".015", "bone": ".015"}),
        Style("diced and mince", 20, {"L8": ".480", "lamb-trim": ".270", "bone": ".240"}),
    )),
    "pig half": (0, (
        Style("in large cuts, pork", 22, {"pork leg": ".260", "pork loin": ".200",
                                          "pork shoulder": ".260", "P3": ".150", "P7": ".050",
                                          "pork-trim": ".045", "bone": ".025"}),
    )),
    "pork leg": (2, (
        Style("leg roasts", 7, {"P6": ".900", "pork-trim": ".035", "bone": ".055"}),
        Style("leg to trim", 16, {"pork-trim": ".800", "bone": ".190"}),
    )),
    "pork loin": (2, (
        Style("chops", 10, {"P1": ".930", "pork-trim": ".030", "bone": ".030"}),
        Style("boned roast", 14, {"P2": ".640", "pork-trim": ".110", "bone": ".240"}),
    )),
    "pork shoulder": (2, (
        Style("shoulder steaks", 10, {"P5": ".860", "pork-trim": ".060", "bone": ".070"}),
        Style("shoulder roast", 8, {"P4": ".880", "pork-trim": ".045", "bone": ".065"}),
        Style("shoulder to trim", 14, {"pork-trim": ".800", "bone": ".190"}),
    )),
}  # fmt: skip
#: What is cut of a large cut varies by so much of its share (standard deviation).
SPREAD_OF_SHARE = 0.04

#: Monday to Saturday, Sunday shut, twice; day 0 is a Monday.
OPEN_DAYS = (0, 1, 2, 3, 4, 5, 7, 8, 9, 10, 11, 12)
LAST_DAY = OPEN_DAYS[-1]
#: Share of a week's walk-ins by day of the week.
PACE = (0.10, 0.12, 0.14, 0.16, 0.22, 0.26, 0.0)


def next_open(day: int) -> int:
    """Return the next day on which customers are served."""
    return day + 2 if day % 7 == 5 else day + 1


#: A rule of thumb: letter, day of the week, kind, the style of each large cut in the order of
#: their names. "usual": each kind as it is always cut; "varied": as a practised hand varies it.
_WHOLE, _ROASTS = ("whole", "bone in"), ("leg roasts", "chops", "shoulder steaks")
RULES: dict[str, tuple[tuple[str, int, str, tuple[str, ...]], ...]] = {
    "usual": (
        ("A", 0, "lamb carcass", _WHOLE),
        ("B", 0, "pig half", _ROASTS),
        ("C", 2, "lamb carcass", _WHOLE),
        ("D", 3, "pig half", _ROASTS),
        ("E", 4, "lamb carcass", _WHOLE),
    ),
    "varied": (
        ("A", 0, "lamb carcass", _WHOLE),
        ("B", 0, "pig half", _ROASTS),
        ("C", 2, "lamb carcass", ("steaks and shanks", "diced and mince")),
        ("D", 3, "pig half", ("leg to trim", "chops", "shoulder roast")),
        ("E", 4, "lamb carcass", ("whole", "diced and mince")),
    ),
}
_COST = {"lamb carcass": 520, "pig half": 270}
_WEIGHS = {"lamb carcass": (47.0, 55.0), "pig half": (86.0, 96.0)}


def deliveries(seed: int, rule: str = "usual") -> tuple[Animal, ...]:
    """Return what comes on three Mondays: the third week is known by then, and is not traded.

    Parameters
    ----------
    seed : int
        The same seed gives the same weights.
    rule : str
        One of `RULES`; the animals are the same for each.
    """
    pick = random.Random(f"animals {seed}")
    found = []
    for week in range(3):
        for letter, day, kind, styles in RULES[rule]:
            low, high = _WEIGHS[kind]
            mlb = 100 * round(10 * pick.uniform(low, high))
            found.append(Animal(
                f"{kind[0].upper()}{week + 1}{letter}", kind, mlb, mlb * _COST[kind] // 1000,
                7 * week, 7 * week + 4, 7 * week + day, styles,
            ))  # fmt: skip
    return tuple(found)
