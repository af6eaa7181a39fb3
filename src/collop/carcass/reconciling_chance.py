"""The chi-square distribution, for whole degrees of freedom, in closed form.

References
----------
.. [1] Upper tail: exp(-x/2) sum (x/2)^j / j! for even degrees, erfc(sqrt(x/2)) and the like sum
   over halves for odd ones; standard, quoted from memory, tested against another library.
"""

from __future__ import annotations

import math

__all__ = ["chance_above", "limit_of"]


def chance_above(value: float, freedom: int) -> float:
    """Return the chance that a chi-square figure passes `value`.

    Parameters
    ----------
    value : float
        Zero or more.
    freedom : int
        Degrees of freedom, one or more.
    """
    if value <= 0:
        return 1.0
    half = value / 2
    start = 0.5 if freedom % 2 else 0.0
    total = math.erfc(math.sqrt(half)) if freedom % 2 else 0.0
    steps = range(freedom // 2)
    powers = (start + step for step in steps)
    log_half = math.log(half)
    total += math.fsum(math.exp(k * log_half - half - math.lgamma(k + 1)) for k in powers)
    return min(1.0, total)


def limit_of(significance: float, freedom: int) -> float:
    """Return the figure that is passed by chance with the probability `significance`.

    Examples
    --------
    >>> round(limit_of(0.01, 1), 2)
    6.63
    """
    low, high = 0.0, 1.0
    while chance_above(high, freedom) > significance:
        high *= 2
    for _ in range(200):
        middle = (low + high) / 2
        if chance_above(middle, freedom) > significance:
            low = middle
        else:
            high = middle
    return high
