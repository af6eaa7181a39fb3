"""What a carcass loses while it hangs, and what a cut loses while it dry-ages.

References
----------
.. [1] Mississippi State University Extension, P3489: 2 to 5 % in the first 24 h, beef. ``MSP3489``.
.. [2] Beef Exchange, page 14: 4 to 6 % in 14 days, total loss from hot weight. ``BXCH``.
.. [3] Dry aging of beef; Review, Table 1, Journal of Animal Science and Technology 58, 2016.
   ``DRYREV``.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.carcass.species import species_named
from collop.carcass.standing import Basis, Standing
from collop.errors import BadValue
from collop.reference import RuleRow, carcass_rules

__all__ = [
    "AgedCut",
    "PercentRange",
    "dry_aged",
    "dry_aged_cuts",
    "hanging_loss",
    "published_range",
]

_WEEK = 7
_TWO_WEEKS = 14
_LONGEST = 120


@dataclass(frozen=True, slots=True)
class PercentRange:
    """A share in per cent with its two ends; a range stays a range.

    Parameters
    ----------
    low, high : Fraction
        Ends [%]; negative for a gain.
    basis : Basis
        What they rest on.
    """

    low: Fraction
    high: Fraction
    basis: Basis


@dataclass(frozen=True, slots=True)
class AgedCut:
    """What a beef cut gives after dry ageing, in per cent of its start weight.

    Parameters
    ----------
    cut, days : str, int
        As in the table.
    shrink, waste, steaks, saleable, wet_saleable : Decimal
        Cooler shrink; crust and other waste trim; steaks alone; all that is saleable; saleable of
        the paired wet-aged cut [%].
    basis : Basis
        The publication.
    """

    cut: str
    days: int
    shrink: Decimal
    waste: Decimal
    steaks: Decimal
    saleable: Decimal
    wet_saleable: Decimal
    basis: Basis


def published_range(quantity: str, species: str, words: str = "") -> PercentRange | None:
    """Return the widest published range of a share, None if nothing is published.

    Rows from memory count only where no other is there, and are marked.

    Parameters
    ----------
    quantity, species : str
        As in the table, e.g. ``dressing_percent``.
    words : str
        Must stand in what the figure holds for, e.g. ``grass-fed``.

    Examples
    --------
    >>> published_range("dressing_percent", "beef", "grass-fed").high
    Fraction(58, 1)
    """
    rows = carcass_rules(quantity, species=species, words=words, cited_only=True)
    rows = rows or carcass_rules(quantity, species=species, words=words)
    ends = [row.ends for row in rows if row.ends is not None]
    if not ends:
        return None
    low, high = min(end[0] for end in ends), max(end[1] for end in ends)
    return PercentRange(Fraction(low), Fraction(high), _basis(rows))


def _basis(rows: tuple[RuleRow, ...]) -> Basis:
    if len(rows) == 1:
        return Basis.of(rows[0])
    sources = "; ".join(dict.fromkeys(row.source.text() for row in rows))
    standing = Standing.COMPUTED if rows[0].is_cited else Standing.MEMORY
    return Basis(standing, sources, f"widest of {len(rows)} published figures")


def hanging_loss(species: str, days: int) -> PercentRange:
    """Return the loss of hot weight after some days of hanging.

    For beef the first day and the fourteenth are published; the days between lie on a line, and
    the weeks after rest on a rate from memory. For other animals only the first day is known.

    Parameters
    ----------
    species : str
        The animal.
    days : int
        Days since it was dressed; 0 is the hot weight.

    Raises
    ------
    BadValue
        If no figure is published for that animal and day.

    Examples
    --------
    >>> found = hanging_loss("beef", 14)
    >>> int(found.low), int(found.high)
    (4, 6)
    """
    name = species_named(species)
    if not 0 <= days <= _LONGEST:
        raise BadValue(
            f"{days} days of hanging is no such time; give from 0 to {_LONGEST}.",
            where="$.days_hung",
        )
    if days == 0:
        return PercentRange(Fraction(0), Fraction(0), Basis(Standing.GIVEN, note="hot weight"))
    first = published_range("cooler_shrink_24h", name)
    if first is None or (days > 1 and name != "beef"):
        raise BadValue(
            f"No loss is published for {name} after {days} days of hanging; give the shop's own.",
            where="$.days_hung",
        )
    return first if days == 1 else _beef_after(first, days)


def _beef_after(first: PercentRange, days: int) -> PercentRange:
    (row,) = carcass_rules("carcass_aging_loss", species="beef", cited_only=True)
    assert row.ends is not None
    low, high = map(Fraction, row.ends)
    if days <= _TWO_WEEKS:
        part = Fraction(days - 1, _TWO_WEEKS - 1)
        basis = Basis.of(row)
        if days != _TWO_WEEKS:
            note = "on a line between the first day and the fourteenth"
            sources = f"{first.basis.source}; {row.source.text()}"
            basis = Basis(Standing.COMPUTED, sources, note)
        return PercentRange(
            first.low + (low - first.low) * part, first.high + (high - first.high) * part, basis
        )
    (rate,) = carcass_rules("carcass_aging_loss_rate", species="beef")
    assert rate.ends is not None
    weeks = Fraction(days - _TWO_WEEKS, _WEEK)
    return PercentRange(
        low + weeks * Fraction(rate.ends[0]), high + weeks * Fraction(rate.ends[1]), Basis.of(rate)
    )


def dry_aged_cuts() -> tuple[tuple[str, int], ...]:
    """Return the cuts and days that the dry-ageing table holds."""
    found = []
    for row in carcass_rules("dry_age_steak_yield", species="beef", cited_only=True):
        cut, _, days = row.inputs.rpartition("; ")
        found.append((cut, int(days.removesuffix(" days"))))
    return tuple(found)


def dry_aged(cut: str, days: int) -> AgedCut:
    """Return one line of the dry-ageing table; days between its lines are not guessed.

    Raises
    ------
    BadValue
        If the table has no such cut or day.

    Examples
    --------
    >>> dry_aged("ribeye", 28).saleable
    Decimal('64.3')
    """
    if (cut, days) not in dry_aged_cuts():
        known = ", ".join(dict.fromkeys(name for name, _ in dry_aged_cuts()))
        raise BadValue(
            f"No dry-ageing figure for {cut[:40]!r} at {days} days; "
            f"the table has {known} at 14, 21, 28 and 35 days."
        )
    inputs = f"{cut}; {days} days"
    (row,) = carcass_rules("dry_age_cooler_shrink", words=inputs)
    return AgedCut(
        cut=cut,
        days=days,
        shrink=_figure("dry_age_cooler_shrink", inputs),
        waste=_figure("dry_age_waste_trim", inputs),
        steaks=_figure("dry_age_steak_yield", inputs),
        saleable=_figure("dry_age_total_saleable", inputs),
        wet_saleable=_figure("wet_age_total_saleable", inputs),
        basis=Basis.of(row),
    )


def _figure(quantity: str, inputs: str) -> Decimal:
    (row,) = carcass_rules(quantity, words=inputs)
    assert row.figure is not None
    return row.figure
