"""Prices of cuts as published, their ratios, and the shares that a market report weighs by.

Prices are of their date and place: they tell how cuts stand to one another, not what to charge.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from collop.reference.figures import Kind
from collop.reference.sources import Row
from collop.reference.tables import Column, Table, read_table

__all__ = [
    "CUTOUT_WEIGHTS",
    "PRICES",
    "PRICE_RATIOS",
    "CutoutWeightRow",
    "PriceRatioRow",
    "PriceRow",
    "cutout_weight_rows",
    "price_ratio_rows",
    "price_rows",
]

_SPECIES = Column("species", required=True, choices=("beef", "pork", "lamb", "chicken"))
_LEVELS = (
    "retail",
    "retail feature",
    "primal cutout",
    "wholesale subprimal",
    "wholesale part",
    "equal value",
)

CUTOUT_WEIGHTS = Table(
    "pricing/cutout_weights_implied.csv",
    (
        _SPECIES,
        Column("primal", required=True),
        Column("implied_weight", kind=Kind.DECIMAL, required=True, low=0, high=2),
    ),
)
PRICE_RATIOS = Table(
    "pricing/price_ratios.csv",
    (
        _SPECIES,
        Column("numerator", required=True),
        Column("denominator", required=True),
        Column("ratio", kind=Kind.DECIMAL, required=True, low=0, high=10),
        Column("date", required=True),
        Column("series", required=True),
    ),
)
PRICES = Table(
    "pricing/price_relatives.csv",
    (
        _SPECIES,
        Column("cut", required=True),
        Column("price", kind=Kind.DECIMAL, required=True, low=0, high=2000),
        Column(
            "unit",
            required=True,
            choices=("USD/lb", "USD/cwt", "cents/lb", "multiple of whole-bird price per lb"),
        ),
        Column("date", required=True),
        Column("series", required=True),
        Column("level", required=True, choices=_LEVELS),
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutoutWeightRow(Row):
    """The share by which a daily report weighs one large cut, found from its own figures.

    Parameters
    ----------
    species, primal : str
        The row ``constant: other parts, USD/cwt`` is no share but money for a hundred pounds.
    weight : Decimal
        Fraction of the carcass.
    """

    species: str
    primal: str
    weight: Decimal

    @property
    def is_share(self) -> bool:
        """Tell whether the row is a share of the carcass."""
        return not self.primal.startswith("constant")


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRatioRow(Row):
    """Price of one cut over that of another, same series and date.

    Parameters
    ----------
    species, numerator, denominator, date, series : str
        As in the table.
    ratio : Decimal
        Price a pound over price a pound.
    """

    species: str
    numerator: str
    denominator: str
    date: str
    series: str
    ratio: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceRow(Row):
    """One published price.

    Parameters
    ----------
    species, cut, date, series, level : str
        As in the table; `level` is the place in the trade, e.g. ``retail``.
    price : Decimal
        In `unit`.
    unit : str
        ``USD/lb``, ``USD/cwt``, ``cents/lb``, or a multiple of the price of the whole bird.
    """

    species: str
    cut: str
    date: str
    series: str
    level: str
    price: Decimal
    unit: str

    @property
    def usd_per_lb(self) -> Decimal | None:
        """Return the price in dollars a pound; None for a multiple, which is no price."""
        parts = {"USD/lb": 1, "USD/cwt": 100, "cents/lb": 100}.get(self.unit)
        return None if parts is None else self.price / parts


@cache
def _weights() -> tuple[CutoutWeightRow, ...]:
    return tuple(
        CutoutWeightRow(
            species=cells.text("species"),
            primal=cells.text("primal"),
            weight=cells.decimal("implied_weight"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(CUTOUT_WEIGHTS)
    )


@cache
def _ratios() -> tuple[PriceRatioRow, ...]:
    texts = ("species", "numerator", "denominator", "date", "series")
    return tuple(
        PriceRatioRow(
            **{name: cells.text(name) for name in texts},
            ratio=cells.decimal("ratio"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(PRICE_RATIOS)
    )


@cache
def _prices() -> tuple[PriceRow, ...]:
    texts = ("species", "cut", "date", "series", "level", "unit")
    return tuple(
        PriceRow(
            **{name: cells.text(name) for name in texts},
            price=cells.decimal("price"),
            source=cells.origin(),
            status=cells.status(),
            note=cells.text("note"),
        )
        for cells in read_table(PRICES)
    )


def cutout_weight_rows(species: str = "") -> tuple[CutoutWeightRow, ...]:
    """Return the shares that the reports weigh by, of one species or of all."""
    return tuple(row for row in _weights() if species in ("", row.species))


def price_ratio_rows(species: str = "", *, numerator: str = "") -> tuple[PriceRatioRow, ...]:
    """Return the published ratios, of one species and one cut on top, or of all."""
    return tuple(
        row
        for row in _ratios()
        if species in ("", row.species) and numerator in ("", row.numerator)
    )


def price_rows(species: str = "", *, level: str = "", source_id: str = "") -> tuple[PriceRow, ...]:
    """Return the published prices, of one species, level and source, or of all."""
    return tuple(
        row
        for row in _prices()
        if species in ("", row.species)
        and level in ("", row.level)
        and source_id in ("", row.source.source_id)
    )
