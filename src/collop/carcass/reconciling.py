"""Weights that must close: the most likely true weights, or what was probably forgotten.

The reading of a scale has a spread; a whole must equal its parts and its loss.  Within that spread
the weights are moved as little as possible so that they close exactly; beyond it they are refused
and the likely slip is named.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.carcass.cuttingtest_amounts import exact, largest_remainder, nearest_steps, plain
from collop.carcass.reconciling_causes import causes
from collop.carcass.reconciling_chance import chance_above, limit_of
from collop.carcass.reconciling_likelihood import Cause
from collop.carcass.reconciling_reading import read_balance
from collop.carcass.reconciling_solving import Solved, Sums, solve, sums_of
from collop.carcass.reconciling_tree import (
    LOSS_SD_SHARE,
    LOSS_SHARE,
    SCALE_SD,
    SIGNIFICANCE,
    STEPS,
    USUAL_PARTS,
    Balance,
    Loss,
    Piece,
    Tare,
    Usual,
)
from collop.errors import BadValue
from collop.measures import Weight

__all__ = ["PLAN_ID", "Likely", "Part", "Verdict", "reconcile", "weigh_up"]

PLAN_ID = "collop.balance.plan/1"


@dataclass(frozen=True, slots=True)
class Part:
    """One weighed part, with the spread of its scale if it is not the usual one."""

    name: str
    weight: Weight
    sd: Weight | None = None


@dataclass(frozen=True, slots=True)
class Likely:
    """A likely slip: its kind, one sentence for the bench, its size."""

    kind: str
    sentence: str
    weight: Weight


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """Whether a piece and its parts close.

    Parameters
    ----------
    closes : bool
        Whether the gap is within what scale and loss explain.
    gap : Weight
        Start less parts less the usual loss; more than zero: something is missing.
    unaccounted : Weight
        Start less parts.
    chi_square, limit : float
        Test figure, and what it may reach.
    likely : tuple of Likely
        What was probably forgotten, the likeliest first; empty if it closes.
    whole, loss : Weight or None
        Reconciled; None if it does not close.
    reconciled : tuple of Part
        In the order given; with `loss` they sum to `whole` exactly. Empty if it does not close.
    """

    closes: bool
    gap: Weight
    unaccounted: Weight
    chi_square: float
    limit: float
    likely: tuple[Likely, ...]
    whole: Weight | None
    loss: Weight | None
    reconciled: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class _Judged:
    """A balance with its solution and its closing weights [steps] by number."""

    balance: Balance
    sums: Sums
    solved: Solved
    limit: float
    steps: dict[int, int]

    @property
    def closes(self) -> bool:
        return self.solved.chi_square <= self.limit

    def weight(self, number: int) -> Fraction:
        return self.steps[number] * self.balance.step


def reconcile(problem: object) -> dict[str, Any]:
    """Balance a tree of weights given as parsed JSON; see `docs/balance.md`.

    Parameters
    ----------
    problem : object
        The ``collop.balance/1`` object.

    Returns
    -------
    dict
        The ``collop.balance.plan/1`` object: ``verdict`` accepted with weights that close exactly,
        or refused with what is likely.

    Raises
    ------
    ProblemError
        If it cannot be read, or what was not weighed cannot be worked out.
    """
    judged = _judge(read_balance(problem))
    balance, solved = judged.balance, judged.solved
    return {
        "schema": PLAN_ID,
        "name": balance.name,
        "unit": balance.unit.value,
        "verdict": "accepted" if judged.closes else "refused",
        "closes": judged.closes,
        "chi_square": round(solved.chi_square, 4),
        "freedom": solved.freedom,
        "limit": round(judged.limit, 4),
        "chance": round(chance_above(solved.chi_square, solved.freedom), 6)
        if solved.freedom
        else 1.0,
        "significance": balance.significance,
        "sums": list(_sums_json(judged.sums)),
        "whole": _piece_json(judged, 0) if judged.closes else None,
        "likely": [_cause_json(one) for one in _causes(judged)],
        "assumptions": [*balance.notes, *_untested(solved)],
    }


def weigh_up(
    start: Weight,
    parts: Sequence[Part],
    *,
    scale_sd: Weight | None = None,
    loss_share: float | Fraction = LOSS_SHARE,
    loss_sd: Weight | None = None,
    significance: float = SIGNIFICANCE,
    tares: Sequence[tuple[str, Weight]] = (),
    usual_parts: Sequence[str | tuple[str, Weight]] = USUAL_PARTS,
    name: str = "piece",
) -> Verdict:
    """Tell whether a piece closes with its weighed parts and the usual loss.

    Parameters
    ----------
    start : Weight
        Of the piece before the knife; its unit is that of the answer.
    parts : sequence of Part
        Weighed so far, in any unit.
    scale_sd : Weight, optional
        Standard deviation of one reading; 0.02 lb or the like by default.
    loss_share : float or Fraction
        Usual loss as a share of `start`; 0 carries no loss line.
    loss_sd : Weight, optional
        Its standard deviation; half of the loss by default.
    significance : float
        Chance of refusing weights that are true.
    tares : sequence of (str, Weight)
        Tubs and pans of the shop.
    usual_parts : sequence of str or (str, Weight)
        What is left out most often, with what it usually weighs if that is known.
    name : str
        What the piece is called in the sentences.

    Raises
    ------
    BadValue
        If `start` or a spread is not more than zero, a part is negative, the loss share is outside
        0 to 0.9 or the significance outside 0.0001 to 0.5.

    Examples
    --------
    >>> from collop.measures import WeightUnit
    >>> start = Weight.of("18.625", WeightUnit.LB)
    >>> parts = [Part("steak", Weight.of("15.5", WeightUnit.LB)),
    ...          Part("fat", Weight.of("1.75", WeightUnit.LB))]
    >>> verdict = weigh_up(start, parts)
    >>> verdict.closes, verdict.likely[0].kind, verdict.likely[0].weight.text()
    (False, 'missing', '1.19 lb')
    """
    unit = start.unit
    share = _checked(start, parts, loss_share, significance)
    sd = SCALE_SD[unit] if scale_sd is None else scale_sd.exact(unit)
    whole = start.exact(unit)
    wide = whole * share * LOSS_SD_SHARE / LOSS_SHARE if loss_sd is None else loss_sd.exact(unit)
    if sd <= 0 or (share and wide <= 0):
        raise BadValue("The spread of a scale or of the loss is more than zero; give it again.")
    pieces = tuple(
        Piece(
            name=part.name,
            path=f"$.parts[{index}]",
            weight=part.weight.exact(unit),
            sd=sd if part.sd is None else part.sd.exact(unit),
        )
        for index, part in enumerate(parts)
    )
    loss = Loss(whole * share, wide) if share else None
    root = Piece(name=name, path="$.start", weight=whole, sd=sd, parts=pieces, loss=loss)
    balance = Balance(
        name=name,
        unit=unit,
        step=STEPS[unit],
        significance=significance,
        root=root,
        tares=tuple(Tare(tub, weight.exact(unit)) for tub, weight in tares),
        usual_parts=tuple(
            Usual(one) if isinstance(one, str) else Usual(one[0], one[1].exact(unit))
            for one in usual_parts
        ),
    )
    return _verdict(_judge(balance), parts)


def _checked(
    start: Weight,
    parts: Sequence[Part],
    loss_share: float | Fraction,
    significance: float,
) -> Fraction:
    if start.count <= 0:
        raise BadValue("The start weight is not more than zero; weigh the piece.")
    if not parts:
        raise BadValue("No part is weighed yet; put the first one on the scale.")
    for part in parts:
        if part.weight.count < 0 or (part.sd is not None and part.sd.count <= 0):
            raise BadValue(f"The weight of the {part.name} is below zero; tare and weigh it again.")
    if not 0 <= loss_share <= Fraction(9, 10):  # a NaN is in no range
        raise BadValue(f"A loss share of {loss_share} is none; give from 0 to 0.9.")
    if not 0.0001 <= significance <= 0.5:
        raise BadValue(f"A significance of {significance} is none; give from 0.0001 to 0.5.")
    return loss_share if isinstance(loss_share, Fraction) else exact(loss_share)


def _judge(balance: Balance) -> _Judged:
    sums = sums_of(balance.root)
    solved = solve(sums)
    limit = limit_of(balance.significance, solved.freedom) if solved.freedom else 0.0
    return _Judged(balance, sums, solved, limit, _closing(balance.step, sums, solved))


def _closing(step: Fraction, sums: Sums, solved: Solved) -> dict[int, int]:
    """Round the estimates to steps from the top down, so that every sum closes exactly."""
    found = {0: nearest_steps(Fraction(solved.estimates[0]), step)}
    for row, whole in zip(sums.rows, sums.wholes, strict=True):
        below = [n for n in sorted(row) if n != whole and n < len(solved.estimates)]
        shares = [Fraction(solved.estimates[n]) / step for n in below]
        found |= dict(zip(below, largest_remainder(shares, found[whole]), strict=True))
    return found


def _causes(judged: _Judged) -> tuple[Cause, ...]:
    return () if judged.closes else causes(judged.balance, judged.sums, judged.solved)


def _untested(solved: Solved) -> Iterator[str]:
    if not solved.freedom:
        yield "With so much not weighed nothing could be tested: what is missing was worked out."


def _sums_json(sums: Sums) -> Iterator[dict[str, Any]]:
    """Yield, for each whole, by how much it misses its parts and usual loss."""
    for number in sums.wholes:
        whole = sums.pieces[number]
        below = _from_parts(whole)
        gap = z = None
        if below is not None and whole.weight is not None:
            miss = whole.weight - below[0]
            gap = plain(miss)
            z = round(float(miss) / float(below[1] + whole.sd * whole.sd) ** 0.5, 2)
        yield {"whole": whole.name, "where": whole.path, "gap_weight": gap, "z": z}


def _from_parts(whole: Piece) -> tuple[Fraction, Fraction] | None:
    """Return parts and usual loss as one weight and its variance; None if one is not known."""
    weight, variance = Fraction(0), Fraction(0)
    if whole.loss is not None:
        weight, variance = whole.loss.weight, whole.loss.sd * whole.loss.sd
    for part in whole.parts:
        if part.weight is not None:
            weight, variance = weight + part.weight, variance + part.sd * part.sd
            continue
        below = _from_parts(part) if part.parts else None
        if below is None:
            return None
        weight, variance = weight + below[0], variance + below[1]
    return weight, variance


def _piece_json(judged: _Judged, number: int) -> dict[str, Any]:
    piece, sums = judged.sums.pieces[number], judged.sums
    found: dict[str, Any] = {
        "name": piece.name,
        "reading": None if piece.weight is None else plain(piece.weight),
        "weight": plain(judged.weight(number)),
        "estimate": round(judged.solved.estimates[number], 6),
    }
    if not piece.parts:
        return found
    place = sums.wholes.index(number)
    below = [n for n in sorted(sums.rows[place]) if n < len(sums.pieces) and n != number]
    found["loss"] = None
    if piece.loss is not None:
        loss = sums.loss(place)
        found["loss"] = {
            "usual": plain(piece.loss.weight),
            "weight": plain(judged.weight(loss)),
            "estimate": round(judged.solved.estimates[loss], 6),
        }
    return found | {"parts": [_piece_json(judged, n) for n in below]}


def _cause_json(cause: Cause) -> dict[str, Any]:
    return {
        "kind": cause.kind,
        "say": cause.say,
        "weight": plain(cause.size),
        "where": cause.path,
        "chi_square_then": round(cause.left, 4),
    }


def _verdict(judged: _Judged, parts: Sequence[Part]) -> Verdict:
    root, unit, step = judged.balance.root, judged.balance.unit, judged.balance.step

    def made(value: Fraction) -> Weight:
        return Weight.of(nearest_steps(value, step) * step, unit)

    assert root.weight is not None
    over = root.weight - sum((part.weight or Fraction(0) for part in root.parts), Fraction(0))
    usual = root.loss.weight if root.loss else Fraction(0)
    closes = judged.closes
    loss = judged.weight(judged.sums.loss(0)) if root.loss else Fraction(0)
    return Verdict(
        closes=closes,
        gap=made(over - usual),
        unaccounted=made(over),
        chi_square=judged.solved.chi_square,
        limit=judged.limit,
        likely=tuple(Likely(one.kind, one.say, made(one.size)) for one in _causes(judged)),
        whole=made(judged.weight(0)) if closes else None,
        loss=made(loss) if closes else None,
        reconciled=tuple(
            Part(part.name, made(judged.weight(number)), part.sd)
            for number, part in enumerate(parts, start=1)
        )
        if closes
        else (),
    )
