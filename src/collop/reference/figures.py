"""Reading the figures of a cell: exact, plain, and nothing else.

An exponent, a NaN or digits of another script are refused: no published table needs them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, auto

__all__ = ["CellValue", "Kind", "Span", "figures_of", "read_cell"]


class Kind(Enum):
    """What stands in the cells of a column."""

    TEXT = auto()
    DECIMAL = auto()
    WHOLE = auto()
    SPAN = auto()
    LIST = auto()


@dataclass(frozen=True, slots=True)
class Span:
    """A published figure or range, e.g. ``23-25`` or ``6+``.

    Parameters
    ----------
    low : Decimal
        The figure, or the lower end.
    high : Decimal or None
        The upper end; None where the source leaves it open.
    """

    low: Decimal
    high: Decimal | None


CellValue = Decimal | int | str | Span | tuple[str, ...] | None


def read_cell(cell: str, kind: Kind) -> CellValue:
    """Return the value of a cell; an empty number is None.

    Raises
    ------
    ValueError
        If it does not read as its kind.
    """
    if kind is Kind.TEXT:
        return cell
    if kind is Kind.LIST:
        return tuple(part.strip() for part in cell.split(";") if part.strip())
    if not cell:
        return None
    if kind is Kind.SPAN:
        return _span(cell)
    return _plain(cell, r"-?\d+(\.\d+)?") if kind is Kind.DECIMAL else int(_plain(cell, r"-?\d+"))


def figures_of(value: CellValue) -> tuple[Decimal | int, ...]:
    """Return the numbers in a value whose range is to be checked."""
    if isinstance(value, Span):
        return (value.low,) if value.high is None else (value.low, value.high)
    return (value,) if isinstance(value, (Decimal, int)) else ()


def _plain(cell: str, pattern: str) -> Decimal:
    if not re.fullmatch(pattern, cell, re.ASCII):
        raise ValueError(cell)
    return Decimal(cell)


def _span(cell: str) -> Span:
    match = re.fullmatch(r"(\d+(?:\.\d+)?)(?:-(\d+(?:\.\d+)?)|(\+))?", cell, re.ASCII)
    if match is None:
        raise ValueError(cell)
    low = Decimal(match[1])
    high = None if match[3] else Decimal(match[2] or match[1])
    if high is not None and high < low:
        raise ValueError(cell)
    return Span(low, high)
