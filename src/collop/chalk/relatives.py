"""Published ratios between cuts, for a shop that has no prices of its own yet.

They tell how cuts stood to one another in the shops of their date, not what to charge; a shop's own
prices come first as soon as there are any.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from collop.errors import BadValue
from collop.reference import price_ratio_rows
from collop.reference.sources import Row

__all__ = ["Relative", "published_relatives"]

# what these series report is charged at a counter; the rest of the table is wholesale
_RETAIL = ("BLS", "ERS", "USDA AMS National Retail Report", "retail feature")


@dataclass(frozen=True, slots=True, kw_only=True)
class Relative(Row):
    """What a cut cost at retail against another cut of the same species, series and date.

    Parameters
    ----------
    cut, against : str
        The two cuts, as published.
    relative : Fraction
        Price a pound of `cut` over price a pound of `against`.
    date, series : str
        When, and in which report.
    """

    cut: str
    against: str
    relative: Fraction
    date: str
    series: str


def published_relatives(species: str) -> tuple[Relative, ...]:
    """Return the retail ratios of one species, the newest first.

    Parameters
    ----------
    species : str
        ``beef``, ``pork`` or ``chicken``; the lamb in the table is wholesale only.

    Returns
    -------
    tuple of Relative
        With date, series, source and status. Ratios against different cuts, or of different
        dates, do not belong on one board.

    Raises
    ------
    BadValue
        If no retail ratio of the species is in the table.

    References
    ----------
    Source ids ``P01``, ``P02``, ``P03``, ``P04``, ``P05``, ``P07``, ``P08``, ``P09``, ``P16``,
    ``P18``: ratios computed from the prices seen there.
    """
    found = tuple(
        Relative(
            source=row.source,
            status=row.status,
            note=row.note,
            cut=row.numerator,
            against=row.denominator,
            relative=Fraction(row.ratio),
            date=row.date,
            series=row.series,
        )
        for row in price_ratio_rows(species)
        if row.series.startswith(_RETAIL)
    )
    if not found:
        raise BadValue(
            f"No published retail ratio is known for {species[:40]!r}; use beef, pork or chicken."
        )
    return tuple(sorted(found, key=lambda one: one.date, reverse=True))
