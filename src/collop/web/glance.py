"""How large a letter must be to be read from where one stands."""

from __future__ import annotations

from fractions import Fraction

from collop.errors import BadValue

__all__ = ["MINUTES_LEAST", "MINUTES_READ", "cap_height_mm"]

#: Minutes of arc a capital takes: the least (ISO 9241-3, as quoted), and what is preferred.
MINUTES_LEAST = 16
MINUTES_READ = (20, 22)


def cap_height_mm(distance_mm: int, minutes: int) -> Fraction:
    """Return the height of a capital that is seen under an angle from a distance.

    Parameters
    ----------
    distance_mm : int
        From the eye to the screen [mm], 1 to 100,000.
    minutes : int
        Angle the capital takes up [minutes of arc], 1 to 600.

    Returns
    -------
    Fraction
        Height of the capital [mm], exact.

    Raises
    ------
    BadValue
        If a figure is out of its range or not whole.

    Notes
    -----
    height = 6.283 x distance x minutes / 21600: the arc as a part of the whole circle, which has
    360 x 60 minutes.

    References
    ----------
    .. [1] U.S. Nuclear Regulatory Commission, NUREG-0700, Human-System Interface Design Review
       Guidelines, character height.

    Examples
    --------
    >>> round(float(cap_height_mm(3000, 20)), 2)
    17.45
    """
    for name, value, most in (("distance_mm", distance_mm, 100_000), ("minutes", minutes, 600)):
        if type(value) is not int or not 1 <= value <= most:
            raise BadValue(
                f"{name}: {value!r:.40} is not a whole number; give 1 to {most}.", where=name
            )
    return Fraction("6.283") * distance_mm * minutes / 21_600
