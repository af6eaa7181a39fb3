"""How likely each slip is: the order in which they are asked about.

Minus twice the logarithm of three chances, added up:

- how well the weights fit once the slip is put right: the test figure;
- how common that kind of slip is, shared among all the places where it could have happened;
- for a slip of any size, how usual that size is, integrated over the spread of the gap.

References
----------
.. [1] Bayes' rule with the marginal likelihood of a free size; standard, quoted from memory.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

__all__ = ["KINDS", "Cause", "free_size", "ranked"]

#: How common each kind of slip is; common practice, no published source.
KINDS = {
    "missing": 0.35,
    "tare": 0.25,
    "twice": 0.12,
    "digits": 0.08,
    "unit": 0.06,
    "point": 0.04,
    "too-much": 0.05,
    "reweigh": 0.05,
    "loss": 1.0,
}
#: Something of no known size is mostly small: this share of its whole on average.
_MEAN_SHARE = 0.05
#: A part weighs about as much as it usually does, give or take this share.
_PART_SPREAD = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One likely slip.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    say : str
        One sentence for the person at the bench.
    size : Fraction
        By how much a reading is wrong, or what is missing [unit of the balance]; more than zero.
    path : str
        The piece it is about.
    left : float
        Test figure if this is put right.
    against : float
        What speaks against it beside that: minus twice a logarithm of a chance.
    """

    kind: str
    say: str
    size: Fraction
    path: str
    left: float
    against: float = 0.0


def free_size(size: float, stiffness: float, whole: float, usual: Iterable[float] = ()) -> float:
    """Return what speaks against a slip of just this size.

    Parameters
    ----------
    size, whole : float
        Of the slip and of the piece it is under [one unit].
    stiffness : float
        Inverse variance of the size [1 / unit^2].
    usual : iterable of float
        What a part that may be missing usually weighs [same unit].
    """
    mean = _MEAN_SHARE * max(whole, size)
    chance = math.exp(-size / mean) / mean
    for weight in usual:
        variance = (_PART_SPREAD * weight) ** 2 + 1 / stiffness
        near = math.exp(-((size - weight) ** 2) / (2 * variance))
        chance = max(chance, near / math.sqrt(2 * math.pi * variance))
    return -math.log(2 * math.pi / stiffness) - 2 * math.log(chance)


def ranked(found: Sequence[Cause]) -> list[Cause]:
    """Return the slips, each once, the likeliest first."""
    unique: dict[tuple[str, str, Fraction], Cause] = {}
    for one in found:
        key = (one.kind, one.path, one.size)
        unique[key] = min(unique.get(key, one), one, key=lambda cause: cause.left)
    places = Counter(one.kind for one in unique.values())

    def score(one: Cause) -> tuple[float, str, str]:
        chance = KINDS[one.kind] / places[one.kind]
        return (one.left + one.against - 2 * math.log(chance), one.kind, one.path)

    return sorted(unique.values(), key=score)
