"""What a fire sheet takes for granted where nobody told: every guess is printed with its figure.

The figures are common practice, no published source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal
from math import ceil

from collop.fire.lighting import RIDE_MIN
from collop.fire.plan_measures import area_words
from collop.measures import Weight, WeightUnit
from collop.reference import thaw_hours
from collop.shop.fire_model import FIRE_KINDS, Assumption, FireFacts
from collop.shop.model import Booking

__all__ = [
    "GRILL_IN",
    "GRILL_SQ_IN",
    "RIDE",
    "RIDE_MIN",
    "Hearth",
    "guess_hearth",
    "guess_meal",
    "largest_piece",
    "pounds",
]

#: A grill nobody measured: 22 in across, and its area, 3.1416 x 11 x 11, rounded down.
GRILL_IN, GRILL_SQ_IN = 22, Decimal(380)
USABLE_PCT = 80
COALS_MIN = 180
POTS = 1
#: What is said of a ride home nobody told.
RIDE = Assumption(f"The ride home takes {RIDE_MIN} min at the most.", "Ride home")
#: A meal nobody gave the hour of: so long after collecting, at the earliest.
MEAL_AFTER = timedelta(hours=2)
# the ride home, half an hour for the fire to get hot, and as long for rest and table
_HOME_TO_TABLE = timedelta(minutes=RIDE_MIN + 60)
_STEP_MIN = 30
_EARLIEST, _LATEST, _USUAL = time(11, 0), time(21, 0), time(18, 30)


@dataclass(frozen=True, slots=True)
class Hearth:
    """The fire as it is planned with: every figure told or guessed.

    `area_sq_in` is what of the grill is used [sq in].
    """

    name: str
    area_sq_in: Decimal
    coals_min: int
    covered: bool
    oven: bool
    pots: int
    hands: int


def guess_hearth(facts: FireFacts) -> tuple[Hearth, list[Assumption]]:
    """Return the fire to plan with, and what of it was guessed.

    An oven and pots are guessed without a word: they are told where something goes in them.
    """
    found: list[Assumption] = []
    kind = FIRE_KINDS.get(facts.kind or "")
    name = kind.label.capitalize() if kind and kind.area_sq_in else "Grill"
    gross = facts.gross_sq_in
    usable = USABLE_PCT if facts.usable_pct is None else facts.usable_pct
    area = (GRILL_SQ_IN if gross is None else gross) * usable / 100
    if gross is None:
        used, used_cm = (area_words(float(area), unit) for unit in "FC")
        found.append(Assumption(
            f"Grill not told: planned for one {GRILL_IN} in (56 cm) across, {used} of it used.",
            f"Size of: {name}",
            f"Grill not told: planned for one 56 cm ({GRILL_IN} in) across, {used_cm} of it used.",
        ))  # fmt: skip
    elif facts.usable_pct is None:
        words, words_cm = (
            f"{name}: {usable} % of {area_words(float(gross), unit)} holds food:"
            f" {area_words(float(area), unit)}."
            for unit in "FC"
        )
        found.append(Assumption(words, f"Size of: {name}", words_cm))
    coals = COALS_MIN if facts.coals_min is None else facts.coals_min
    if facts.coals_min is None:
        found.append(Assumption(f"The coals last {coals} min, more put on in time.", "Coals"))
    if facts.covered is None:
        found.append(Assumption("The grill has a lid.", "Lid"))
    return Hearth(
        name=name, area_sq_in=area, coals_min=coals, covered=facts.covered is not False,
        oven=facts.oven is not False, pots=POTS if facts.pots is None else facts.pots,
        hands=facts.hands or 1,
    ), found  # fmt: skip


def guess_meal(
    booking: Booking, longest_min: int, frozen: Iterable[Weight]
) -> tuple[datetime, Assumption]:
    """Return when it is eaten if nobody said, and the sentence that says so.

    Two hours after collecting, or as late as the longest dish and the thaw need: on a half hour
    between 11:00 and 21:00, else at the next half past six in the evening.

    Parameters
    ----------
    booking : Booking
        When it is collected.
    longest_min : int
        Longest time on the fire [min].
    frozen : iterable of Weight
        Each frozen piece.
    """
    thaw = max((thaw_hours(piece).planned for piece in frozen if piece), default=Decimal(0))
    need = timedelta(minutes=longest_min + ceil(thaw * 60)) + _HOME_TO_TABLE
    at = _half_hour(booking.collect_at + max(MEAL_AFTER, need))
    if not _EARLIEST <= at.time() <= _LATEST:
        day = at if at.time() <= _USUAL else at + timedelta(days=1)
        at = datetime.combine(day.date(), _USUAL)
    say = f"Nobody told when you eat: planned for {at:%A}, {at:%H:%M}."
    return at, Assumption(say, "You eat at")


def _half_hour(at: datetime) -> datetime:
    over = timedelta(minutes=at.minute % _STEP_MIN, seconds=at.second, microseconds=at.microsecond)
    return at - over + (timedelta(minutes=_STEP_MIN) if over else timedelta(0))


def largest_piece(weight: Weight, pieces: tuple[Weight, ...] | None) -> Weight:
    """Return the largest piece of a line; of one cut to weight, all of it."""
    return max(pieces, default=weight) if pieces else weight


def pounds(weight: Weight) -> str:
    """Return pounds to a thousandth, rounded up: thaw and fire follow the weight."""
    thousandths = Decimal(ceil(weight.exact(WeightUnit.LB) * 1000))
    return f"{thousandths.scaleb(-3).normalize():f}"
