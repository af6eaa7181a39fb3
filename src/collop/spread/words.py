"""The sentences of an answer: the line to say, the reasons, what was given up."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from collop.measures import Money, decimal_of
from collop.reference import cook_minimum
from collop.spread.cooking import cook_as
from collop.spread.cousins import bird_against_parts, serving_cost
from collop.spread.diet import may_eat
from collop.spread.options import is_slow
from collop.spread.picks import Pick
from collop.spread.plan import Cousin, Line, Spread
from collop.spread.problem import Avoid, Offer, SpreadProblem

__all__ = ["AIM_TITLES", "cook_to", "gave_up", "reason", "say_line"]

AIM_TITLES = {
    "best-value": "Best value",
    "least-money": "Least money",
    "showpiece": "Showpiece",
    "variety": "Most variety",
    "helps-the-animal": "Helps the animal",
}
MOST_WORDS = 25
#: A saving under this is not worth a word at the counter [%].
_WORTH_SAYING = 4


def cook_to(offer: Offer) -> dict[str, object] | None:
    """Return the published minimum for the coldest point, or None for meat-free food."""
    kind = cook_as(offer)
    if kind == "none":
        return None
    rule = cook_minimum(kind)
    return {
        "f": rule.whole_fahrenheit,
        "c": rule.whole_celsius,
        "rest_min": rule.rest_min,
        "rule": rule.rule,
        "source": rule.source,
    }


_IN_STYLE = {
    "plate": "on a plate", "shared": "sliced to share", "hand": "in the hand",
    "wrap": "in a wrap", "stew": "in a stew",
}  # fmt: skip


def _short(name: str) -> str:
    short, _, rest = name.partition("(")[0].partition(",")
    # "Chicken, whole" is said as "whole chicken"
    if rest.split(",")[0].strip() == "whole":
        return f"Whole {short.strip().lower()}"
    return short.strip() or name.strip(" ,()")


def _said_names(offers: Sequence[Offer]) -> list[str]:
    """Return names to say; what it holds, or what tells two apart, is not left out."""
    shorts = [_short(offer.name) for offer in offers]
    names = []
    for offer, short in zip(offers, shorts, strict=True):
        rest = offer.name.partition("(")[0].partition(",")[2].strip()
        needed = offer.allergens or shorts.count(short) > 1
        if needed and rest and not short.startswith("Whole"):
            short = f"{rest[:1].upper()}{rest[1:]} {_lower(short)}"  # noqa: PLW2901
        names.append(short)
    return names


def _lower(name: str) -> str:
    return name[:1].lower() + name[1:]


def say_line(
    problem: SpreadProblem,
    lines: Sequence[Line],
    per_head: Money,
    left: Money | None,
    late: int = 0,
) -> str:
    """Return the sentence to read aloud: at most 25 words, with the money a head.

    `late` is how long after the first the last round is eaten [min].
    """
    names = _said_names([line.option.offer for line in lines])
    names = [names[0], *(_lower(name) for name in names[1:])]
    tail = f"{per_head} a head for {problem.heads}"
    if left is not None:
        tail += f", {left} left"
    if late:
        tail += f", in rounds over {late} minutes"
    for most in range(len(names), 0, -1):
        shown = names[:most]
        more = len(names) - most
        if more:
            shown = [*shown, f"{more} more"]
        listed = ", ".join(shown[:-1]) + (" and " if len(shown) > 1 else "") + shown[-1]
        text = f"{listed}: {tail}."
        if len(text.split()) <= MOST_WORDS:
            return text
    return f"{tail}."


def reason(problem: SpreadProblem, pick: Pick, cousins: Sequence[Cousin]) -> str:
    """Return one sentence with a figure: why this line is in the spread."""
    option = pick.option
    offer = option.offer
    cost = serving_cost(problem, offer, option.style)
    if offer.is_meat_free:
        heads = sum(g.count for g in problem.groups if may_eat(g, offer))
        return f"Feeds the {heads} who eat no meat, at {cost} a serving."
    dearer = next((c for c in cousins if c.percent >= _WORTH_SAYING), None)
    bird = _bird_reason(problem, offer)
    if bird is not None and (dearer is None or offer.pieces_mlb):
        return bird
    if dearer is not None:
        return (
            f"A serving {_IN_STYLE[option.style]} costs {cost}, {dearer.percent} % less than "
            f"{_lower(dearer.name)} {_IN_STYLE[dearer.style]} at {dearer.serving_cost}."
        )
    if is_slow(offer) and offer.cover_days is not None:
        return (
            f"At the usual pace it lasts {decimal_of(offer.cover_days, 0)} days and keeps "
            f"{offer.days_left}, so now is its time; {cost} a serving."
        )
    score = decimal_of(100 * option.eating, 0)
    return f"Eats well, {score} of 100 by the shop's score, at {cost} a serving."


def _bird_reason(problem: SpreadProblem, offer: Offer) -> str | None:
    """Compare a whole chicken with the thighs in the same case."""
    if offer.pieces_mlb is None or Avoid("species", "chicken") not in offer.tags:
        return None
    thighs = [
        other
        for other in problem.offers
        if other.species == "chicken" and "thigh" in other.name.lower()
        and other.pieces_mlb is None and other.boneless < Fraction(9, 10)
    ]  # fmt: skip
    if not thighs:
        return None
    bird = bird_against_parts(
        Fraction(max(offer.pieces_mlb), 1000),
        offer.price.minor,
        [("thigh", thighs[0].price.minor)],
        currency=problem.currency,
    )
    return (
        f"Whole and opened flat: bought as parts, its thighs alone are {bird.parts} of the "
        f"{bird.bird} the bird costs, and the rest comes at {bird.rest_per_lb} a pound."
    )


def gave_up(spread: Spread, others: Sequence[Spread]) -> str:
    """Return what this aim gave up against the others, in one sentence."""
    eating = max(others, key=lambda other: other.eating)
    money = min(others, key=lambda other: other.total.minor)
    parts = []
    points = round(100 * float(eating.eating - spread.eating))
    if points >= 1:
        parts.append(f"{points} points of eating against {eating.title.lower()}")
    dearer = spread.total - money.total
    if dearer.minor > 0:
        parts.append(f"{dearer} against {money.title.lower()}")
    if not parts:
        return "Gives up nothing that another spread here has in eating or money."
    return f"Gives up {' and '.join(parts)}."
