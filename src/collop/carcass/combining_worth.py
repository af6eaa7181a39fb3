"""How much a published mean counts beside the shop's own tests, and how far carcasses spread.

Two numbers that are often confused:

- the *worth* n0: how many own carcasses the published mean is worth.  Small (2 to 5) where breed,
  trim or style differ; it is not the sample size of the study;
- the *concentration* A of one carcass about its mean: A = p (1 - p) / s^2 - 1, for several parts
  sum p (1 - p) / sum s^2 - 1.

References
----------
.. [1] Variances between and within groups, method of moments; standard, quoted from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.carcass.combining_reading import Pool, Shares
from collop.carcass.cuttingtest_amounts import plain
from collop.errors import BadValue

__all__ = ["Worth", "concentration", "worth_of"]

#: Without anything said; common practice, no published source.
USUAL_WORTH = Fraction(4)
#: Shops that do not differ measurably would make it endless.
MOST_WORTH = Fraction(50)
FEWEST_SHOPS = 3
FEWEST_FREE = 3


@dataclass(frozen=True, slots=True)
class Worth:
    """How many own carcasses the published mean is worth, and how that was found."""

    carcasses: Fraction
    method: str
    say: str


def worth_of(pool: Pool) -> Worth:
    """Return the worth: set, from known spreads, estimated from shops, or the usual one.

    Raises
    ------
    BadValue
        If there are shops to estimate it from, but too few.
    """
    if pool.worth is not None:
        return Worth(pool.worth, "set", f"The published mean is worth {plain(pool.worth)} (set).")
    if pool.within_sd is not None and pool.between_sd is not None:
        found = pool.within_sd**2 / pool.between_sd**2
        return Worth(
            found,
            "from known spreads",
            f"Worth = within^2 / between^2 = {plain(found, 2)} own carcasses.",
        )
    if pool.other_shops:
        return _estimated(pool)
    return Worth(
        USUAL_WORTH,
        "usual",
        f"Nothing is said of its worth, so the published mean counts as {USUAL_WORTH} own "
        "carcasses (common practice, no published source).",
    )


def _mean(tests: Sequence[Shares]) -> Shares:
    return tuple(sum(column, Fraction(0)) / len(tests) for column in zip(*tests, strict=True))


def _square(one: Shares, other: Shares) -> Fraction:
    return sum(((a - b) ** 2 for a, b in zip(one, other, strict=True)), Fraction(0))


def _estimated(pool: Pool) -> Worth:
    """Return s^2 / tau^2, both summed over the parts.

    s^2 is pooled within shops; the mean square of the shops' means about the published mean is
    tau^2 + s^2 mean(1/n), if the published mean is that of all shops.
    """
    shops = [*pool.other_shops]
    if pool.tests:
        shops.append(tuple(test.shares for test in pool.tests))
    free = sum(len(tests) - 1 for tests in shops)
    if len(shops) < FEWEST_SHOPS or free < FEWEST_FREE:
        raise BadValue(
            f"$.other_shops gives {len(shops)} shops with {free} repeated tests; an estimate needs "
            f"{FEWEST_SHOPS} shops and {FEWEST_FREE} repeats, so set $.published.worth (2 to 5).",
            where="$.other_shops",
        )
    means = [_mean(tests) for tests in shops]
    within = (
        sum(
            (
                _square(test, mean)
                for tests, mean in zip(shops, means, strict=True)
                for test in tests
            ),
            Fraction(0),
        )
        / free
    )
    between = sum((_square(mean, pool.published) for mean in means), Fraction(0)) / len(shops)
    between -= within * sum((Fraction(1, len(tests)) for tests in shops), Fraction(0)) / len(shops)
    far = between <= 0 or within / between > MOST_WORTH
    found = MOST_WORTH if far else within / between
    told = f"capped at {MOST_WORTH}" if far else plain(found, 2)
    return Worth(
        found,
        "estimated",
        f"Worth estimated as s^2 / tau^2 = {told} from {len(shops)} shops; assumes that the "
        "published mean is the mean of all shops and that each test is one carcass.",
    )


def concentration(pool: Pool) -> tuple[Fraction | None, str]:
    """Return the concentration of one carcass about its mean, and where it comes from.

    Returns
    -------
    tuple of (Fraction or None, str)
        None where nothing tells how far carcasses spread.

    Raises
    ------
    BadValue
        If the published spread is wider than shares can be.
    """
    if pool.sd is not None:
        base, spread, told = pool.published, sum((s * s for s in pool.sd), Fraction(0)), "published"
    elif len(pool.tests) >= FEWEST_FREE:
        own = [test.shares for test in pool.tests]
        base = _mean(own)
        spread = sum((_square(x, base) for x in own), Fraction(0)) / (len(own) - 1)
        told = "own tests"
    else:
        return None, "not known"
    if not spread:
        return None, "not known"
    found = sum((p * (1 - p) for p in base), Fraction(0)) / spread - 1
    if found <= 0:
        raise BadValue(
            "$.published.sd is wider than shares of one whole can spread; check whether it is in "
            "percent.",
            where="$.published.sd",
        )
    return found, told
