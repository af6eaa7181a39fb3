"""What a piece loses in cooking: the published yield, moved with the end temperature.

The table says what is left; a water-holding curve says why, and is only a check: where the two
differ by more than six points the table is trusted and the gap is told.

References
----------
.. [1] USDA ARS, USDA Table of Cooking Yields for Meat and Poultry, Release 2, 2014. Source id
   ``USDA_CY2``.
.. [2] Feyissa, Gernaey, Adler-Nissen, Meat Science 93, 2013: water-holding curve. Source id
   ``FEYISSA``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.errors import BadValue
from collop.fire.problem import METHODS
from collop.measures.rounding import exact_fraction
from collop.reference import CookingYieldRow, cooking_yield, water_loss_pct

__all__ = ["MOST_GAP_POINTS", "POINTS_PER_K", "CookingLoss", "cooking_loss", "curve_loss_pct"]

#: Points of yield that go with each degree at the core; from memory, no published source.
POINTS_PER_K = Fraction(7, 10)
#: Core at which the table's pieces came off [degC]; from memory: the table states none.
_TABLE_END_C = {"grilled": 70, "roasted": 60, "braised": 85}
#: The slope holds for whole cuts between these [degC]; no move beyond them.
_MOVED_FROM_C, _MOVED_TO_C = 57, 77
#: A gap to the curve larger than this is told [percentage points].
MOST_GAP_POINTS = 6.0
_LEAST_PCT, _MOST_PCT = Fraction(2), Fraction(50)
_PREPARED = {
    "direct": "grilled", "indirect": "roasted", "plate": "grilled", "oven": "roasted",
    "pot": "braised",
}  # fmt: skip
_LAYERS = 200


@dataclass(frozen=True, slots=True)
class CookingLoss:
    """What is lost.

    Attributes
    ----------
    share : Fraction
        Of the raw weight, exact.
    rows : tuple of CookingYieldRow
        The published yields it rests on.
    notes : tuple of str
        What of it is from memory.
    """

    share: Fraction
    rows: tuple[CookingYieldRow, ...]
    notes: tuple[str, ...]


def cooking_loss(
    species: str,
    method: str,
    end_c: Decimal | str | int,
    *,
    words: str = "",
    mean_c: float | None = None,
) -> CookingLoss | None:
    """Return the loss of a kind of meat, cooked by a method to a core.

    Parameters
    ----------
    species : str
        As in the table of yields.
    method : str
        One of `collop.fire.problem.METHODS`; the first heat counts.
    end_c : Decimal, str or int
        Core when it comes off [degC], from 40 to 100.
    words : str
        Words that must occur in the cut; all cuts of the species where none fits.
    mean_c : float or None
        Mean over the volume when it comes off [degC], to hold the loss against the curve.

    Returns
    -------
    CookingLoss or None
        None where nothing is published for the species: none is made up from another.

    Raises
    ------
    BadValue
        If the method is not known or the core is no temperature of cooked meat.

    Examples
    --------
    >>> loss = cooking_loss("beef", "direct", 70, words="retail all cuts")
    >>> float(loss.share)
    0.22
    """
    if method not in METHODS:
        raise BadValue(f"{method!r} is no way to cook; use one of {', '.join(METHODS)}.")
    end = _core(end_c)
    prepared = _PREPARED[METHODS[method][0]]
    rows = cooking_yield(species, words, prepared, cited_only=True) or cooking_yield(
        species, "", prepared, cited_only=True
    )
    if not rows:
        return None
    # a row of many samples says more; a row without a count is one sample
    counts = [row.samples or 1 for row in rows]
    left = sum(
        (Fraction(row.yield_pct) * count for row, count in zip(rows, counts, strict=True)),
        Fraction(0),
    ) / sum(counts)
    kept_to = min(max(end, Fraction(_MOVED_FROM_C)), Fraction(_MOVED_TO_C))
    moved = (kept_to - _TABLE_END_C[prepared]) * POINTS_PER_K if prepared != "braised" else 0
    lost = min(max(100 - left + moved, _LEAST_PCT), _MOST_PCT)
    notes = (
        "Moved by 0.7 points a degree from the table's end; slope and end are from memory.",
    )  # fmt: skip
    told = (*(notes if moved else ()), *_gap(float(lost), float(end), mean_c))
    return CookingLoss(lost / 100, rows, told)


def _gap(lost_pct: float, core_c: float, mean_c: float | None) -> tuple[str, ...]:
    """Return one line where the curve and the table differ by too much."""
    if mean_c is None:
        return ()
    by_curve = curve_loss_pct(core_c, mean_c)
    if abs(by_curve - lost_pct) <= MOST_GAP_POINTS:
        return ()
    said = f"A water-holding curve gives {by_curve:.0f} %, the table {lost_pct:.0f} %"
    return (f"{said}: the table is trusted.",)


def _core(end_c: Decimal | str | int) -> Fraction:
    try:
        found: Fraction = exact_fraction(end_c)
    except ValueError:
        found = Fraction(0)
    if not 40 <= found <= 100:
        raise BadValue(f"{end_c!r} is no core of cooked meat; give 40 to 100 degrees Celsius.")
    return found


def curve_loss_pct(core_c: float, mean_c: float) -> float:
    """Return the water that a piece cannot hold, by the curve, in percent of its raw weight.

    Parameters
    ----------
    core_c, mean_c : float
        Core and mean over the volume when it comes off [degC]; between them the temperature is
        taken to rise as the square of the way out, in a flat piece.

    Returns
    -------
    float
        Without surface evaporation and rendered fat [%].
    """
    surface = core_c + 3 * (mean_c - core_c)
    layers = (((place + 0.5) / _LAYERS) ** 2 for place in range(_LAYERS))
    return sum(water_loss_pct(core_c + (surface - core_c) * way) for way in layers) / _LAYERS
