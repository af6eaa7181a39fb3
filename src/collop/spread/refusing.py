"""Why the answer is no, in one or two sentences with figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from collop.fire.schedule import Refusal, lay
from collop.measures import Money, decimal_of, round_fraction
from collop.spread.firing import fire_of
from collop.spread.need import mean_and_sd
from collop.spread.options import Option, usable_options
from collop.spread.problem import Offer, SpreadProblem
from collop.spread.setting import Setting, first_setting

__all__ = ["taste_heads", "why_no"]

#: A taste is two ounces raw; common practice, no published source.
TASTE_OZ = 2
#: The fire is tried so many times as large, to see what it would cook.
_LARGER = 100


def why_no(problem: SpreadProblem, setting: Setting | None, blocked: Sequence[str] = ()) -> str:
    """Return what is missing: money, fire, or food that can be had by then.

    `blocked` are the limits each of which, lifted alone, would make a spread possible.
    """
    options, _ = usable_options(problem)
    if setting is not None and problem.budget is not None:
        least = setting.least
        return (
            f"To feed the table as asked costs at least {least}, so {problem.budget} is "
            f"{least - problem.budget} short. {_reach(problem, options)}"
        )
    mean, _ = mean_and_sd(problem.groups, problem.appetite_cv)
    need = mean * max(problem.need_oz.values()) / 16
    free = sum((_most_lb(option) for option in _one_each(options)), Fraction(0))
    text = (
        f"The table needs about {decimal_of(need, 2)} lb boneless-equivalent; of what fits the "
        f"ask {decimal_of(free, 2)} lb is free."
    )
    if "fire" in blocked:
        text += _fire_says(problem)
    if len(problem.rules.only) == 1:
        text += _from_sides(problem, problem.offer(next(iter(problem.rules.only))), need)
    return text


def _reach(problem: SpreadProblem, options: tuple[Option, ...]) -> str:
    """Return how many ounces a head the money reaches at the most, from the cheapest cut."""
    assert problem.budget is not None
    oz_per_minor = max(option.oz_per_lb / option.cents_per_lb for option in options)
    each = problem.budget.minor * oz_per_minor / problem.heads
    return f"It reaches at most {float(each):.1f} oz a head, from the least dear cut alone."


def _fire_says(problem: SpreadProblem) -> str:
    """Return why the fire cannot cook what it would if it were larger; empty if that is not it."""
    assert problem.fire is not None
    zones = tuple(replace(z, area_sq_in=z.area_sq_in * _LARGER) for z in problem.fire.zones)
    wide = first_setting(replace(problem, fire=replace(problem.fire, zones=zones)))
    if wide is None:
        return ""
    found = lay(*fire_of(problem, wide.cheapest.picks, rounds=True))
    return f" {found.why[0].say}" if isinstance(found, Refusal) and found.why else ""


def _most_lb(option: Option) -> Fraction:
    return Fraction(option.free_mlb, 1000) * option.offer.boneless


def _one_each(options: tuple[Option, ...]) -> tuple[Option, ...]:
    return tuple({option.offer.id: option for option in options}.values())


def _from_sides(problem: SpreadProblem, offer: Offer, need: Fraction) -> str:
    weight = need / offer.boneless if offer.boneless else need
    money = Money(round_fraction(weight * offer.price.minor), problem.currency)
    text = f" {decimal_of(weight, 2)} lb of {offer.name} would be {money} at the board"
    if offer.side_mlb:
        sides = -(-weight * 1000 // offer.side_mlb)
        text += f", from {sides} sides"
    return f"{text}. As a taste of {TASTE_OZ} oz it reaches {taste_heads(offer)} now."


def taste_heads(offer: Offer) -> int:
    """Return how many can have a two-ounce taste of what is free."""
    return int(Fraction(offer.free_mlb, 1000) * offer.boneless * 16 / TASTE_OZ)
