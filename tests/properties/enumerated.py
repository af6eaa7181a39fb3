"""Small asks answered by trying everything, in exact fractions and without the kernel."""

from __future__ import annotations

import itertools
import math
import random
import statistics
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist
from typing import Any

ZERO = Fraction(0)
PORTIONS = {"plate": Fraction(7), "wrap": Fraction(5, 2)}
WAVES, CHANGE_MIN = 3, 2
#: Longest wait after the rest, by our own table of the fire, and how late a further round is [min].
HOLD_MIN, BIRD_HOLD_MIN, ROUND_MIN = 10, 30, 45


@dataclass(frozen=True, slots=True)
class Choice:
    """One way to take one cut: a style and a weight [lb], with the weights of its pieces."""

    cut: dict[str, Any]
    style: str
    pounds: Fraction
    pieces: tuple[Fraction, ...]


@dataclass(frozen=True, slots=True)
class Found:
    """One spread that keeps the hard rules: exact money, money by rounded lines, worth."""

    money: Fraction
    rounded: int
    worth: Fraction
    at_once: bool
    plenty: bool
    slow: bool
    lines: tuple[Choice, ...]


def eats(group: dict[str, Any], cut: dict[str, Any]) -> bool:
    """Tell whether a cut feeds a group."""
    avoids = set(group["avoids"])
    if ("meat" in avoids) != (cut["species"] == "none"):
        return False
    made_of = {f"species:{cut['species']}"} | {f"allergen:{word}" for word in cut["contains"]}
    return not avoids & made_of


def _per_meal(ask: dict[str, Any], style: str) -> Fraction:
    return Fraction(str(ask["need_oz"][style]))


def meals(ask: dict[str, Any], choice: Choice) -> Fraction:
    """Return W / need_oz."""
    boneless = Fraction(str(choice.cut["boneless_fraction"]))
    return choice.pounds * 16 * boneless / _per_meal(ask, choice.style)


def cents(choice: Choice) -> Fraction:
    """Return weight x price, not rounded [minor units]."""
    return choice.pounds * Fraction(choice.cut["price_per_lb"]) * 100


def half_up(exact: Fraction) -> int:
    """Round to a whole cent, an exact half up."""
    return math.floor(exact + Fraction(1, 2))


def _free(cut: dict[str, Any]) -> Fraction:
    if cut.get("pieces_lb") is not None:
        return sum((Fraction(piece) for piece in cut["pieces_lb"]), ZERO)
    return Fraction(cut["free_lb"])


def _least(ask: dict[str, Any], cut: dict[str, Any], style: str) -> Fraction:
    """Return the least useful weight of a line [lb], on the scale of 0.001 lb."""
    one_in = ask["rules"]["one_in"]
    if not one_in:
        return ZERO
    eaters = sum(group["count"] for group in ask["groups"] if eats(group, cut))
    portion = min(PORTIONS[style], _per_meal(ask, style))
    ounces = portion * max(Fraction(eaters, one_in), Fraction(1, 2))
    pounds = ounces / (16 * Fraction(str(cut["boneless_fraction"])))
    return min(Fraction(math.ceil(pounds * 1000), 1000), _free(cut))


def choices(ask: dict[str, Any], cut: dict[str, Any]) -> list[Choice]:
    """Return every way to take a cut, besides leaving it."""
    found = []
    for style in cut["styles"]:
        if style not in ask["need_oz"]:
            continue
        least = _least(ask, cut, style)
        if cut.get("pieces_lb") is None:
            steps = range(1, int(Fraction(cut["free_lb"]) * 100) + 1)
            taken = [(Fraction(step, 100), ()) for step in steps]
        else:
            pieces = [Fraction(piece) for piece in cut["pieces_lb"]]
            some = {
                tuple(sorted(part))
                for size in range(1, len(pieces) + 1)
                for part in itertools.combinations(pieces, size)
            }
            taken = [(sum(part, ZERO), part) for part in sorted(some)]
        found += [Choice(cut, style, lb, part) for lb, part in taken if lb >= least]
    return found


def strip(ask: dict[str, Any], choice: Choice, *, rounds: bool) -> Fraction:
    """Return the part of the grill a line holds through the whole fire [sq in].

    Loads follow each other while the coals last, and while the first is good; in further rounds
    it is eaten by then.
    """
    per_lb = Fraction(str(choice.cut["grill_sq_in_per_lb"]))
    step = choice.cut["minutes"][1] + CHANGE_MIN
    wait = BIRD_HOLD_MIN if choice.cut["species"] == "chicken" else HOLD_MIN
    wait += ROUND_MIN if rounds else 0
    waves = min(WAVES, (ask["fire"]["minutes"] + CHANGE_MIN) // step, 1 + wait // step)
    if not choice.pieces or waves == 1:
        return per_lb * choice.pounds / waves
    largest = max(Fraction(piece) for piece in choice.cut["pieces_lb"])
    return per_lb * largest * math.ceil(Fraction(len(choice.pieces), waves))


def needed(ask: dict[str, Any], groups: tuple[dict[str, Any], ...], chance: float) -> Fraction:
    """Return the meals that are enough, the spare rounded up to a millionth."""
    mean = sum((g["count"] * Fraction(str(g["appetite"])) for g in groups), ZERO)
    square = sum(g["count"] * float(g["appetite"]) ** 2 for g in groups)
    spread = ask["appetite_cv"] * math.sqrt(square)
    if not spread:
        return mean
    spare = NormalDist().inv_cdf(chance) * spread
    return mean + Fraction(math.ceil(spare * 1_000_000), 1_000_000)


def parts(groups: list[dict[str, Any]], cuts: list[dict[str, Any]]) -> list[set[int]]:
    """Return the groups that hang together through food they share, as sets of indices."""
    found: list[set[int]] = [{index} for index in range(len(groups))]
    for cut in cuts:
        mine = {index for index, group in enumerate(groups) if eats(group, cut)}
        touching = [part for part in found if part & mine]
        if len(touching) > 1:
            found = [part for part in found if not part & mine] + [set().union(*touching)]
    return found


def _cap(ask: dict[str, Any], groups: list[dict[str, Any]], chance: float) -> Fraction:
    mean = sum((g["count"] * Fraction(str(g["appetite"])) for g in groups), ZERO)
    return max(mean * Fraction(5, 4), needed(ask, tuple(groups), chance) * Fraction(11, 10))


def usable(ask: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the cuts that somebody here eats in a style that is allowed."""
    return [
        cut
        for cut in ask["offers"]
        if any(eats(group, cut) for group in ask["groups"])
        and any(style in ask["need_oz"] for style in cut["styles"])
    ]


def eating_worth(ask: dict[str, Any]) -> float:
    """Return the worth of one point of eating in one meal [minor units], as documented."""
    if ask.get("budget_total") is not None:
        mean = sum(g["count"] * Fraction(str(g["appetite"])) for g in ask["groups"])
        return 4 * float(Fraction(ask["budget_total"]) * 100 / mean)
    pound = Fraction(1)
    costs = [
        float(cents(one) / meals(ask, one))
        for cut in usable(ask)
        for style in cut["styles"]
        if style in ask["need_oz"]
        for one in [Choice(cut, style, pound, ())]
    ]
    return 5 * statistics.median(costs)


def is_slow(cut: dict[str, Any]) -> bool:
    """Tell whether the free stock lasts longer than it keeps."""
    return cut["cover_days"] > max(cut["days_left"], 1)


def worth(ask: dict[str, Any], lines: tuple[Choice, ...], value: float) -> Fraction:
    """Return the best-value aim: sum p + V (1-e) m + V m/2 - h/4."""
    total = ZERO
    for line in lines:
        money, fed = cents(line), meals(ask, line)
        eating = Fraction(str(line.cut["eating"][line.style]))
        kept = Fraction(max(line.cut["days_left"], 1)) / Fraction(str(line.cut["cover_days"]))
        helped = money * max(ZERO, 1 - kept)
        total += money + Fraction(value) * fed * (1 - eating + Fraction(1, 2)) - helped / 4
    return total


def _fits(ask: dict[str, Any], lines: tuple[Choice, ...], *, rounds: bool) -> bool:
    """Tell whether the lines fit the fire side by side."""
    if ask.get("fire") is None:
        return True
    area = Fraction(str(ask["fire"]["zones"][0]["area_sq_in"]))
    return sum((strip(ask, line, rounds=rounds) for line in lines), ZERO) <= area


def _holds(ask: dict[str, Any], lines: tuple[Choice, ...]) -> bool:
    """Tell whether variety, roles and fire are kept, in rounds if need be."""
    rules = ask["rules"]
    if not rules["min_items"] <= len(lines) <= rules["max_items"]:
        return False
    ounces = [line.pounds * Fraction(str(line.cut["boneless_fraction"])) for line in lines]
    if max(ounces) > Fraction(str(rules["max_share"])) * sum(ounces):
        return False
    for slot, times in Counter(rules["slots"]).items():
        if sum(slot in line.cut["slots"] for line in lines) < times:
            return False
    return _fits(ask, lines, rounds=True)


class Count:
    """Every spread of a small ask that keeps the hard rules, whatever the budget."""

    def __init__(self, ask: dict[str, Any]) -> None:
        self.ask = ask
        self.groups = [group for group in ask["groups"] if group["count"]]
        cuts = usable(ask)
        self.parts = parts(self.groups, cuts)
        self.chance = ask["enough_chance"] ** (1 / len(self.parts))
        self.needs = [
            (some, needed(ask, tuple(self.groups[i] for i in some), self.chance))
            for part in self.parts
            for size in range(1, len(part) + 1)
            for some in itertools.combinations(sorted(part), size)
        ]
        self.caps: dict[bool, Fraction] = {}
        for part in self.parts:
            mine = [self.groups[index] for index in sorted(part)]
            free = "meat" in mine[0]["avoids"]
            self.caps[free] = self.caps.get(free, ZERO) + _cap(ask, mine, self.chance)
        value = eating_worth(ask) if cuts else 0.0
        self.found = [self._found(lines, value) for lines in self._lines(cuts)]

    def _lines(self, cuts: list[dict[str, Any]]) -> Iterator[tuple[Choice, ...]]:
        ways = [[None, *choices(self.ask, cut)] for cut in cuts]
        for some in itertools.product(*ways):
            lines = tuple(choice for choice in some if choice is not None)
            if lines and self._feeds(lines) and _holds(self.ask, lines):
                yield lines

    def _feeds(self, lines: tuple[Choice, ...]) -> bool:
        supplies = [
            ({i for i, group in enumerate(self.groups) if eats(group, line.cut)},
             meals(self.ask, line))
            for line in lines
        ]  # fmt: skip
        return all(
            sum((fed for eaters, fed in supplies if eaters & set(some)), ZERO) >= need
            for some, need in self.needs
        )

    def _found(self, lines: tuple[Choice, ...], value: float) -> Found:
        fed = dict.fromkeys(self.caps, ZERO)
        for line in lines:
            fed[line.cut["species"] == "none"] += meals(self.ask, line)
        return Found(
            money=sum((cents(line) for line in lines), ZERO),
            rounded=sum(half_up(cents(line)) for line in lines),
            worth=worth(self.ask, lines, value),
            at_once=_fits(self.ask, lines, rounds=False),
            plenty=any(fed[free] > cap for free, cap in self.caps.items()),
            slow=any(is_slow(line.cut) for line in lines),
            lines=lines,
        )

    def settled(self) -> list[Found]:
        """Return the spreads of the first setting that has one within the money.

        A slow cut gives way first, then plenty, then that all is eaten at once; without any within
        the money, the least dear.
        """
        settings = []
        for some in ([one for one in self.found if one.at_once], self.found):
            plain = [one for one in some if not one.plenty]
            if self.ask["rules"]["help_animal"]:
                settings.append([one for one in plain if one.slow])
            settings += [plain, some]
        for found in settings:
            if any(self.is_paid(one) for one in found):
                return found
        return min(filter(None, settings), key=lambda f: min(one.rounded for one in f), default=[])

    def is_paid(self, found: Found) -> bool:
        """Tell whether a spread is within the budget, line by line rounded."""
        budget = self.ask.get("budget_total")
        return budget is None or found.rounded <= Fraction(budget) * 100


MOST_WAYS = 4000
_AVOIDS = ([], [], ["species:pork"], ["species:lamb"], ["allergen:milk"], ["meat"],
           ["species:beef", "species:pork"])  # fmt: skip


def _cut(rng: random.Random, number: int) -> dict[str, Any]:
    styles = rng.choice((["plate"], ["plate"], ["wrap"], ["plate", "wrap"]))
    cut: dict[str, Any] = {
        "id": f"K{number}",
        "name": f"Cut {number}",
        "species": rng.choice(("beef", "pork", "lamb", "lamb", "chicken", "none")),
        "contains": rng.choice(([], [], ["milk"])),
        "price_per_lb": f"{rng.randint(6000, 90000) / 100:.2f}",
        "boneless_fraction": rng.choice((1.0, 0.9, 0.72, 0.55)),
        "styles": styles,
        "eating": {style: rng.randint(30, 95) / 100 for style in styles},
        "slots": rng.sample(("centre", "goes-far"), rng.randint(0, 2)),
        "grill_sq_in_per_lb": rng.choice((24, 34, 44)),
        "minutes": rng.choice(([8, 12], [45, 75])),
        "method": "direct grill",
        "days_left": rng.randint(0, 5),
        "cover_days": rng.choice((0.5, 2.0, 9.0)),
    }
    if rng.random() < 0.4:
        pieces = [rng.randint(10, 120) for _ in range(rng.randint(1, 3))]
        cut["pieces_lb"] = [f"{piece / 1000:.3f}" for piece in pieces]
    else:
        cut["free_lb"] = f"{rng.randint(2, 12) / 100:.2f}"
    return cut


def small_ask(seed: int) -> dict[str, Any]:
    """Return a random ask of three to six cuts, small enough to try everything."""
    rng = random.Random(seed)
    groups = [
        {"name": f"g{index}", "count": rng.randint(1, 2), "kind": "adult",
         "appetite": rng.randint(5, 45) / 100, "avoids": rng.choice(_AVOIDS)}
        for index in range(rng.choice((1, 1, 2, 3)))
    ]  # fmt: skip
    ask: dict[str, Any] = {
        "schema": "collop.spread/1",
        "groups": groups,
        "need_oz": rng.choice(({"plate": 1.0}, {"plate": 1.0, "wrap": 0.7})),
        "appetite_cv": rng.choice((0.0, 0.25)),
        "enough_chance": rng.choice((0.9, 0.95)),
        "rules": {
            "min_items": rng.choice((1, 1, 2)),
            "max_items": rng.choice((3, 4, 5)),
            "max_share": rng.choice((1.0, 1.0, 0.7, 0.6)),
            "slots": rng.choice(([], [], ["centre"])),
            "one_in": rng.choice((0, 0, 10)),
            "help_animal": rng.random() < 0.4,
        },
        "offers": [_cut(rng, number) for number in range(rng.randint(3, 6))],
        "want": 1,
    }
    while math.prod(1 + len(choices(ask, cut)) for cut in ask["offers"]) > MOST_WAYS:
        ask["offers"].pop()
    if rng.random() < 0.4:
        zone = {"name": "direct", "area_sq_in": rng.choice((3, 5, 8))}
        ask["fire"] = {"zones": [zone], "minutes": rng.choice((80, 160)), "oven": False}
    if rng.random() < 0.6:
        ask["budget_total"] = f"{rng.uniform(10, 70):.2f}"
    return ask
