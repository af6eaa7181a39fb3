"""What a scale said: a weight or none, its state, and one sentence for the screen."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit

__all__ = ["Reading", "State", "exact_weight", "figure_of", "reading_of", "trouble"]

# far above a rail scale that takes a whole beast; what is over it is a bar code or a fault
_MOST = Weight.of(2000, WeightUnit.KG)
_PLACES_SHOWN = {WeightUnit.LB: 2, WeightUnit.OZ: 1, WeightUnit.KG: 3, WeightUnit.G: 0}
_MOST_PLACES = 6


class State(StrEnum):
    """How the scale stands."""

    ZERO = "zero"
    STABLE = "stable"
    MOVING = "moving"
    UNDER_ZERO = "under-zero"
    OVER_LIMIT = "over-limit"
    FAULT = "fault"
    NEEDS_CALIBRATION = "needs-calibration"
    NEEDS_ZERO = "needs-zero"
    GARBLED = "garbled"
    SILENT = "silent"
    UNPLUGGED = "unplugged"

    @property
    def weighs(self) -> bool:
        """Tell whether a reading in this state has a weight."""
        return self in {State.ZERO, State.STABLE, State.MOVING}


_SENTENCES = {
    State.UNDER_ZERO: "The scale reads under zero; empty the pan and zero it.",
    State.OVER_LIMIT: "More is on the scale than it can weigh; take some off.",
    State.FAULT: "The scale reports a fault; switch it off and on, or type the weight.",
    State.NEEDS_CALIBRATION: "The scale asks to be calibrated; weigh on another until it is.",
    State.NEEDS_ZERO: "The scale asks to be zeroed; empty the pan and zero it.",
    State.GARBLED: "What the scale sent could not be read; weigh again, or type the weight.",
    State.SILENT: "The scale has sent nothing yet; put something on it, or type the weight.",
    State.UNPLUGGED: "The scale is no longer there; check its cable, or type the weight.",
}


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a scale.

    Parameters
    ----------
    weight : Weight or None
        What lies on the pan, never negative; None unless the state weighs.
    state : State
        How the scale stands.
    stable : bool
        Whether the weight may be written down; False whenever `weight` is None.
    sentence : str
        The reading, or what is wrong and what to do, for the person at the scale.
    """

    weight: Weight | None
    state: State
    stable: bool
    sentence: str


def exact_weight(amount: Fraction, unit: WeightUnit) -> Weight:
    """Return `amount` in `unit`, zero or more, as an exact weight.

    Raises
    ------
    BadValue
        If it is over 2000 kg, or finer than a weight can hold.
    """
    if amount > _MOST.exact(unit):
        raise BadValue("The weight sent is over 2000 kg; that was no weight: weigh again.")
    try:
        return Weight.of(amount, unit)
    except BadValue:
        raise BadValue(
            f"The scale sends finer steps than 0.001 {unit}; set it to 0.001 {unit} or coarser."
        ) from None


def figure_of(weight: Weight, unit: WeightUnit | None = None) -> str:
    """Return the figure alone in `unit` (its own if None), up to six places, as a scale shows it.

    Examples
    --------
    >>> figure_of(Weight.of("9.94", WeightUnit.LB)), figure_of(Weight.of("1.25", WeightUnit.KG))
    ('9.94', '1.250')
    """
    shown = unit or weight.unit
    whole, decimals = f"{weight.decimal(shown, _MOST_PLACES):f}".split(".")
    decimals = decimals.rstrip("0").ljust(_PLACES_SHOWN[shown], "0")
    return f"{whole}.{decimals}" if decimals else whole


def reading_of(weight: Weight, *, moving: bool, note: str = "") -> Reading:
    """Return the reading of a weight: zero, stable or moving.

    Parameters
    ----------
    weight : Weight
        Zero or more.
    moving : bool
        Whether the scale says that it has not come to rest.
    note : str
        What follows the figure in the sentence, e.g. `` gross; take off the tare``.
    """
    figure = f"{figure_of(weight)} {weight.unit}"
    if moving:
        return Reading(weight, State.MOVING, stable=False, sentence=f"{figure}, still moving.")
    if not weight:
        return Reading(weight, State.ZERO, stable=True, sentence="The scale stands at zero.")
    return Reading(weight, State.STABLE, stable=True, sentence=f"{figure}{note}.")


def trouble(state: State, sentence: str = "") -> Reading:
    """Return a reading without a weight; the state's own sentence unless one is given."""
    assert not state.weighs
    return Reading(None, state, stable=False, sentence=sentence or _SENTENCES[state])
