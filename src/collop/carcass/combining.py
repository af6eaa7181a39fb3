"""Published yields and the shop's own cutting tests, combined.

With published shares p worth n0 carcasses and own tests x_t of weight w_t:

    Dirichlet    y = (n0 p + sum w_t x_t) / (n0 + sum w_t)
    log-ratio    y ~ exp((n0 log p + sum w_t log x_t) / (n0 + sum w_t)), closed to 1

w_t is 1, or carcass weight over the mean weight, times 2^(-age / half-life).  The predictive
standard deviation of the next carcass is sqrt(y (1 - y) / (A + 1)), the mean taken as known.

References
----------
.. [1] Dirichlet mean with a prior sample size: standard, quoted from memory.
.. [2] J. Aitchison, The Statistical Analysis of Compositional Data, 1986: log-ratio means; quoted
   from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from collop.carcass.combining_reading import Pool, Shares, Test, read_pool
from collop.carcass.combining_worth import concentration, worth_of
from collop.carcass.cuttingtest_amounts import largest_remainder, plain, rounded
from collop.errors import BadValue, Contradiction
from collop.measures import decimal_of, round_fraction

__all__ = ["PLAN_ID", "combine_yields"]

PLAN_ID = "collop.yields.plan/1"
_WEIGHT_STEP = Fraction(1, 1000)


def combine_yields(problem: object) -> dict[str, Any]:
    """Combine published yields with the shop's tests, given as parsed JSON; see `docs/yields.md`.

    Parameters
    ----------
    problem : object
        The ``collop.yields/1`` object.

    Returns
    -------
    dict
        The ``collop.yields.plan/1`` object; the printed shares sum to 1 exactly.

    Raises
    ------
    ProblemError
        If it cannot be read, or there is nothing to combine.
    """
    pool = read_pool(problem)
    worth = worth_of(pool)
    weights = _weights(pool)
    total = worth.carcasses + sum(weights, Fraction(0))
    if not total:
        raise Contradiction(
            "The published mean is worth nothing and no test counts; give one of them weight.",
            where="$.published.worth",
        )
    notes = [*pool.notes, worth.say]
    if pool.method == "dirichlet":
        mean = _dirichlet(pool, worth.carcasses, weights)
    else:
        mean = _log_ratio(pool, worth.carcasses, weights, notes)
    dense, dense_from = concentration(pool)
    notes.append(_spread_note(dense_from))
    return {
        "schema": PLAN_ID,
        "name": pool.name,
        "method": pool.method,
        "worth": rounded(worth.carcasses, 4),
        "worth_method": worth.method,
        "own_weight": rounded(total - worth.carcasses, 4),
        "published_share_of_answer": rounded(worth.carcasses / total, 4),
        "concentration": None if dense is None else rounded(dense, 1),
        "concentration_from": dense_from,
        "parts": list(_parts_json(pool, mean, dense)),
        "tests": [
            {"label": test.label, "weight": rounded(weight, 4)}
            for test, weight in zip(pool.tests, weights, strict=True)
        ],
        "source": pool.source,
        "assumptions": notes,
    }


def _weights(pool: Pool) -> list[Fraction]:
    """Return how much each test counts, in carcasses."""
    found = [Fraction(1)] * len(pool.tests)
    if pool.weigh_by_carcass:
        wholes = [_whole(test) for test in pool.tests]
        mean = sum(wholes, Fraction(0)) / len(wholes) if wholes else Fraction(1)
        found = [whole / mean for whole in wholes]
    if pool.half_life_days is not None:
        lives = [test.age_days / pool.half_life_days for test in pool.tests]
        found = [weight * _halved(life) for weight, life in zip(found, lives, strict=True)]
    return found


def _halved(lives: Fraction) -> Fraction:
    """Return 2^-lives: exact for whole half-lives, else the nearest binary number."""
    if lives > 1000:
        return Fraction(0)
    if lives.denominator == 1:
        return Fraction(1, 2 ** int(lives))
    return Fraction(2.0 ** -float(lives))


def _whole(test: Test) -> Fraction:
    if test.whole_lb is None:
        raise BadValue(
            f"{test.path}.carcass_weight is missing; $.weigh_by_carcass needs it in every test.",
            where=f"{test.path}.carcass_weight",
        )
    return test.whole_lb


def _dirichlet(pool: Pool, worth: Fraction, weights: Sequence[Fraction]) -> Shares:
    total = worth + sum(weights, Fraction(0))
    rows = [(worth, pool.published)]
    rows += [(w, test.shares) for w, test in zip(weights, pool.tests, strict=True)]
    columns = range(len(pool.parts))
    return tuple(sum((w * x[i] for w, x in rows), Fraction(0)) / total for i in columns)


def _log_ratio(
    pool: Pool, worth: Fraction, weights: Sequence[Fraction], notes: list[str]
) -> Shares:
    rows = [(worth, pool.published)] if worth else []
    for name, share in zip(pool.parts, pool.published, strict=True):
        if worth and not share:
            raise BadValue(
                f"$.published.shares.{name} is 0, which has no logarithm; use the method "
                "dirichlet, or leave the part out.",
                where=f"$.published.shares.{name}",
            )
    for weight, test in zip(weights, pool.tests, strict=True):
        if weight:
            rows.append((weight, _without_zeros(pool, test, notes)))
    total = float(sum((w for w, _ in rows), Fraction(0)))
    logs = [
        math.fsum(float(w) * math.log(x[i]) for w, x in rows) / total
        for i in range(len(pool.parts))
    ]
    raw = [Fraction(math.exp(value)) for value in logs]
    whole = sum(raw, Fraction(0))
    return tuple(value / whole for value in raw)


def _without_zeros(pool: Pool, test: Test, notes: list[str]) -> Shares:
    """Replace each zero by half the scale's step; the other parts give it up in proportion."""
    zeros = [name for name, x in zip(pool.parts, test.shares, strict=True) if not x]
    if not zeros:
        return test.shares
    if test.whole_lb is None:
        where = f"{test.path}.carcass_weight"
        raise BadValue(
            f"{where} is missing; {zeros[0]!r} is zero there, and the log-ratio puts half a step "
            "of the scale in its place.",
            where=where,
        )
    small = pool.resolution_lb / 2 / test.whole_lb
    if small * len(zeros) >= 1:
        raise BadValue(
            "$.resolution is as coarse as the whole carcass; give the step of the scale.",
            where="$.resolution",
        )
    notes.append(
        f"{test.label}: zero for {', '.join(zeros)} replaced by half the scale's step "
        f"({plain(small * 100, 4)} % of the whole)."
    )
    rest = 1 - small * len(zeros)
    return tuple(x * rest if x else small for x in test.shares)


def _spread_note(dense_from: str) -> str:
    if dense_from == "not known":
        return "Nothing tells how far carcasses spread, so no standard deviation is given."
    return (
        f"Spread of the next carcass from {dense_from} figures, the combined mean taken as known."
    )


def _parts_json(pool: Pool, mean: Shares, dense: Fraction | None) -> Iterator[dict[str, Any]]:
    steps = 10**pool.places
    closed = largest_remainder([share * steps for share in mean], steps)
    weights = _next_weights(pool, mean)
    for index, name in enumerate(pool.parts):
        found: dict[str, Any] = {
            "part": name,
            "share": float(decimal_of(Fraction(closed[index], steps), pool.places)),
            "mean": rounded(mean[index], 6),
            "published": rounded(pool.published[index], 6),
            "sd": None if dense is None else _predictive_sd(mean[index], dense),
        }
        if pool.next_weight is not None:
            found["next_weight"] = plain(weights[index])
        yield found


def _predictive_sd(share: Fraction, dense: Fraction) -> float:
    return round(math.sqrt(share * (1 - share) / (dense + 1)), 4)


def _next_weights(pool: Pool, mean: Shares) -> list[Fraction]:
    """Return the expected weights of the next carcass; they sum to it exactly."""
    if pool.next_weight is None:
        return []
    step = _WEIGHT_STEP
    if (pool.next_weight / step).denominator != 1:
        raise BadValue(
            f"$.next_weight is finer than {plain(step)} {pool.unit}; round it.",
            where="$.next_weight",
        )
    steps = round_fraction(pool.next_weight / step)
    return [one * step for one in largest_remainder([s * steps for s in mean], steps)]
