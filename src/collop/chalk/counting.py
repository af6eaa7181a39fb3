"""Which lines to count tonight: those with the most money at risk.

Not everything is counted each night; what is counted is chosen. Of each line there is at risk

    price x (weight that usually goes astray + weight that is past its day before it can be sold)

What goes astray is a share of what was handled since the last count: what went out of the case, and
what lay in it once for each day. The share is learned from the shop's own counts and pulled towards
a starting share as long as these are few (a mean with a prior that counts as so much weight):

    shop = (prior share x prior weight + gaps) / (prior weight + handled)
    line = (shop x line weight + gaps of the line) / (line weight + handled by the line)

Counting a chosen few often, by what their errors cost, is known as cycle counting (from memory, not
checked). A line that was skipped the last time comes first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import plain, rounded
from collop.chalk.counting_reading import LINE_WEIGHT, Counting, CountLine, read_counting

__all__ = ["PLAN_ID", "counting"]

PLAN_ID = "collop.counting.plan/1"
_PLACES = 3
_SHARE_PLACES = 6
_FEW = 20


@dataclass(frozen=True, slots=True)
class _Risk:
    """A line with its share, and the money at risk, exact."""

    line: CountLine
    share: Fraction

    @property
    def astray(self) -> Fraction:
        """Return what usually goes astray [unit] of what does not pass its day anyway."""
        return min(self.line.on_hand - self.line.passes, self.share * self.line.handled)

    @property
    def money(self) -> Fraction:
        """Return the money at risk; what passes its day is lost once, counted or not."""
        return self.line.price * (self.astray + self.line.passes)


def counting(problem: object) -> dict[str, Any]:
    """Choose the lines to count, given as parsed JSON; see `docs/counting.md`.

    Parameters
    ----------
    problem : object
        The ``collop.counting/1`` object.

    Returns
    -------
    dict
        The ``collop.counting.plan/1`` object: money and weights as decimal texts, shares as
        numbers; the chosen lines in the order they are to be counted.

    Raises
    ------
    ProblemError
        If it cannot be read.
    """
    asked = read_counting(problem)
    shop, counts = _shop_share(asked)
    risks = [_Risk(line, _line_share(asked, line, shop)) for line in asked.lines]
    # what is not there by the book, and was not skipped, has nothing to be counted
    worth = [one for one in risks if one.money or one.line.is_skipped]
    worth.sort(key=lambda one: (not one.line.is_skipped, -one.money, one.line.id))
    chosen, rest = worth[: asked.most], worth[asked.most :]
    frame = asked.frame
    return {
        "schema": PLAN_ID,
        **frame.json(),
        "share": rounded(shop, _SHARE_PLACES),
        "counts": counts,
        "lines": [_told(asked, one) for one in chosen],
        "rest": [{"id": one.line.id, "at_risk": frame.money(one.money)} for one in rest],
        "at_risk": frame.money(sum((one.money for one in worth), Fraction(0))),
        "covered": frame.money(sum((one.money for one in chosen), Fraction(0))),
        "assumptions": list(_assumptions(asked, counts)),
    }


def _shop_share(asked: Counting) -> tuple[Fraction, int]:
    """Return the share that goes astray in the whole shop, and the counts behind it."""
    gaps = [one for line in asked.lines for one in line.gaps]
    lost = asked.prior_share * asked.prior_weight + sum((one.gap for one in gaps), Fraction(0))
    handled = asked.prior_weight + sum((one.handled for one in gaps), Fraction(0))
    return (lost / handled if handled else asked.prior_share), len(gaps)


def _line_share(asked: Counting, line: CountLine, shop: Fraction) -> Fraction:
    weight = LINE_WEIGHT[asked.frame.unit]
    lost = shop * weight + sum((one.gap for one in line.gaps), Fraction(0))
    return lost / (weight + sum((one.handled for one in line.gaps), Fraction(0)))


def _told(asked: Counting, one: _Risk) -> dict[str, Any]:
    line, frame = one.line, asked.frame
    return {
        "id": line.id,
        "name": line.name,
        "on_hand": plain(line.on_hand, _PLACES),
        "skipped": line.is_skipped,
        "share": rounded(one.share, _SHARE_PLACES),
        "handled": plain(line.handled, _PLACES),
        "astray": plain(one.astray, _PLACES),
        "passes": plain(line.passes, _PLACES),
        "at_risk": frame.money(one.money),
        "say": _say(asked, one),
    }


def _say(asked: Counting, one: _Risk) -> str:
    """Return one sentence with the figures the money at risk is made of."""
    line, frame = one.line, asked.frame
    parts = [f"{plain(one.share * 100, 2)} % of {plain(line.handled, 2)} {frame.unit} handled"]
    if line.passes:
        parts.append(f"{plain(line.passes, 2)} {frame.unit} past its day before it can be sold")
    start = "Skipped the last time. " if line.is_skipped else ""
    return (
        f"{start}At risk {frame.money(one.money)}: {' and '.join(parts)}, at "
        f"{frame.price(line.price)} a {frame.unit}."
    )


def _assumptions(asked: Counting, counts: int) -> Iterator[str]:
    if counts < _FEW:
        yield (
            f"{counts} {'count' if counts == 1 else 'counts'} so far: the share that goes astray "
            f"leans on a starting figure of {plain(asked.prior_share * 100, 2)} % "
            "(common practice, no published source)."
        )
    yield "What goes astray grows with what is handled: what went out, and what lay there each day."
