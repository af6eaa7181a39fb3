"""What is over of a cut in a farm call, and the ways it goes: they add up to it as they are shown.

What is over is what does not sell at the board price: what is ground, what is left, and of what
sells at a share r of the price, the part 1 - r^elasticity, which would not have sold at the whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.bench.farm_problem import FarmCut
from collop.bench.farm_program import reach
from collop.bench.farm_saying import Pen
from collop.bench.farm_weights import LEAST, Account
from collop.measures import Rounding, decimal_of

__all__ = ["Way", "end_sentence", "ends_json", "parted", "ways_of"]

_MOST_ENDS = 5
_PLACES = 3
_SAYS = {
    "marked_down": "{weight} more sold by a lower price, {money} more than at the board price",
    "ground": "{weight} ground, {money}",
    "salvage": "{weight} left for salvage, {money}",
}


@dataclass(frozen=True, slots=True)
class Way:
    """One way that what is over goes: ``marked_down``, ``ground`` or ``salvage``.

    Parameters
    ----------
    way : str
        Which.
    weight : Fraction
        Part of what is over that goes so.
    money : str
        What it brings; of what is marked down, what it brings beyond the board price's sale.
    """

    way: str
    weight: Fraction
    money: str


def parted(
    parts: Sequence[Fraction], places: int, rounding: Rounding = Rounding.HALF_UP
) -> list[Decimal]:
    """Return parts rounded so that they add up to their rounded sum.

    Each is rounded down, and what is missing goes to those that lost the most.

    Parameters
    ----------
    parts : sequence of Fraction, none below zero
    places : int
        Decimals.
    rounding : Rounding
        For the sum.

    Examples
    --------
    >>> [str(one) for one in parted([Fraction(1, 3), Fraction(1, 3), Fraction(1, 3)], 1)]
    ['0.4', '0.3', '0.3']
    """
    scale = 10**places
    found = [int(part * scale) for part in parts]
    total = int(decimal_of(sum(parts, Fraction(0)), places, rounding) * scale)
    lost = sorted(range(len(parts)), key=lambda at: found[at] - parts[at] * scale)
    for at in lost[: total - sum(found)]:
        found[at] += 1
    return [Decimal(one).scaleb(-places) for one in found]


def end_sentence(
    name: str, ways: Sequence[Way], unit: str, rounding: Rounding = Rounding.HALF_UP
) -> str:
    """Return what is over of a cut and where it goes; the weights that are said add up.

    Parameters
    ----------
    name : str
        Of the cut.
    ways : sequence of Way
        Weights in `unit`.
    unit : str
        Unit of the weights, as it is written.
    rounding : Rounding
        For the whole.

    Examples
    --------
    >>> end_sentence("Shin", [Way("ground", Fraction(5, 2), "4.00")], "lb")
    'Shin: 2.5 lb more than sells at the board price in a usual week. Plan: 2.5 lb ground, 4.00.'
    """
    total = sum((one.weight for one in ways), Fraction(0))
    places = 1 if total >= 1 else 2
    weights = parted([one.weight for one in ways], places, rounding)
    said = [
        _SAYS[one.way].format(weight=f"{_short(weight)} {unit}", money=one.money)
        for one, weight in zip(ways, weights, strict=True) if weight
    ]  # fmt: skip
    over = _short(decimal_of(total, places, rounding))
    return (
        f"{name}: {over} {unit} more than sells at the board price in a usual week. "
        f"Plan: {'; '.join(said)}."
    )


def _short(number: Decimal) -> str:
    """Return a number without closing zeros."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def ends_json(pen: Pen, mean: Account) -> list[dict[str, Any]]:
    """Return the cuts of which most is over, each with the ways it goes; these sum to `weight`."""
    over = sorted(
        (cut for cut in pen.problem.cuts.values() if mean.surplus[cut.id] > LEAST),
        key=lambda cut: -mean.surplus[cut.id],
    )
    return [_end(pen, cut, mean) for cut in over[:_MOST_ENDS]]


def _end(pen: Pen, cut: FarmCut, mean: Account) -> dict[str, Any]:
    rounding = pen.problem.rounding
    ways = [one for one in _ways(pen, cut, mean) if one.weight]
    weights = parted([one.weight for one in ways], _PLACES, rounding)
    return {
        "cut": cut.id,
        "name": cut.name,
        "weight": _short(sum(weights, Decimal(0))),
        "ways": [{"way": one.way, "weight": _short(weight), "money": one.money}
                 for one, weight in zip(ways, weights, strict=True) if weight],
        "say": end_sentence(cut.name, ways, pen.problem.unit, rounding),
    }  # fmt: skip


def _ways(pen: Pen, cut: FarmCut, mean: Account) -> Iterable[Way]:
    moved = gained = Fraction(0)
    for step in cut.steps:
        if step < 1:
            weight, times = mean.sold[cut.id, step], reach(cut, step)
            moved += weight * (1 - 1 / times)
            gained += weight * (step - 1 / times) * cut.price
    yield Way("marked_down", moved, pen.money(gained))
    if cut.ground is not None:
        weight = mean.ground.get(cut.id, Fraction(0))
        per = cut.ground.gives * pen.problem.bins[cut.ground.bin].worth
        yield Way("ground", weight, pen.money(weight * per))
    left = mean.salvage[cut.id]
    yield Way("salvage", left, pen.money(left * cut.salvage))


def ways_of(end: Mapping[str, Any], per: Fraction) -> list[Way]:
    """Return the ways of a line of ``ends``, its weights times `per` (of another unit)."""
    return [Way(one["way"], Fraction(one["weight"]) * per, one["money"]) for one in end["ways"]]
