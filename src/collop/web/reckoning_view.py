"""How the reckoning is drawn: bars in per cent of the picture, and the drift's tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.measures import decimal_of

if TYPE_CHECKING:
    from collop.shop import Bar

__all__ = ["DrawnBar", "DriftRow", "DriftTable", "drawn_bars", "drift_tables"]

# a bar of a few cents is still seen
_LEAST_WIDTH = Decimal("0.4")
_PLACES = 2


@dataclass(frozen=True, slots=True)
class DrawnBar:
    """A step of the waterfall; `left`, `width` and `zero` are per cent of the picture's width."""

    bar: Bar
    left: Decimal
    width: Decimal
    zero: Decimal
    pattern: str


#: The pattern each kind of step is drawn with; the others are plain.
_PATTERNS = {"air": "air", "bin": "bin", "left": "left"}


def drawn_bars(bars: Sequence[Bar]) -> tuple[DrawnBar, ...]:
    """Return the bars on one scale, from the lowest point they reach to the highest."""
    ends = [0, *(one.start.minor for one in bars), *(one.end.minor for one in bars)]
    low, high = min(ends), max(ends)
    span = high - low or 1

    def place(minor: int) -> Decimal:
        return decimal_of(Fraction(100 * (minor - low), span), _PLACES)

    found = []
    for one in bars:
        first, last = sorted((one.start.minor, one.end.minor))
        width = max(_LEAST_WIDTH, place(last) - place(first))
        found.append(
            DrawnBar(one, min(place(first), 100 - width), width, place(0),
                     _PATTERNS.get(one.kind, ""))
        )  # fmt: skip
    return tuple(found)


@dataclass(frozen=True, slots=True)
class DriftRow:
    """One comparison in points of a hundred; `from_`, `width`, `at` and `zero` are of its bar."""

    facts: Mapping[str, Any]
    mean: str
    others: str
    difference: str
    low: str
    high: str
    from_: Decimal
    width: Decimal
    at: Decimal
    zero: Decimal


@dataclass(frozen=True, slots=True)
class DriftTable:
    """All comparisons of one style by hand or by farm; the saleable share first."""

    style: str
    factor: str
    rows: tuple[DriftRow, ...]


def _points(share: float) -> str:
    return f"{share * 100:.1f}".replace("-0.0", "0.0")


def _signed(share: float) -> str:
    text = f"{share * 100:+.1f}"
    return "0.0" if text in {"+0.0", "-0.0"} else text


def _row(one: Mapping[str, Any], widest: float) -> DriftRow:
    def place(share: float) -> Decimal:
        return Decimal(str(round(50 + 50 * share / widest, _PLACES)))

    low, high = place(one["low"]), place(one["high"])
    return DriftRow(
        facts=one, mean=_points(one["mean"]), others=_points(one["others_mean"]),
        difference=_signed(one["difference"]), low=_signed(one["low"]),
        high=_signed(one["high"]), from_=low, width=max(_LEAST_WIDTH, high - low),
        at=place(one["difference"]), zero=place(0.0),
    )  # fmt: skip


def drift_tables(plan: Mapping[str, Any]) -> tuple[DriftTable, ...]:
    """Return the comparisons of a plan by style and factor, each with bars on one scale."""
    found: dict[tuple[str, str], list[Mapping[str, Any]]] = {}
    for one in plan["compared"]:
        found.setdefault((one["style"], one["factor"]), []).append(one)
    tables = []
    for (style, factor), group in found.items():
        widest = max(1e-6, *(abs(one[end]) for one in group for end in ("low", "high")))
        tables.append(DriftTable(style, factor, tuple(_row(one, widest) for one in group)))
    return tuple(tables)
