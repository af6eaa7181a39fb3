"""Whether the published tables close, and which of them are known not to.

A table closes when its lines sum to what it prints, within half of the last printed digit. Sums
that rest on a remembered line are marked: they hold by construction and prove nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from collop.carcass.standing import Basis
from collop.errors import BadValue
from collop.reference import (
    ChickenPart,
    YieldRow,
    chicken_parts,
    yield_rows,
)

__all__ = ["Closing", "PublishedTable", "SumCheck", "closes", "published_table", "published_tables"]

_EXACT, _WHOLE = Fraction(0), Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class SumCheck:
    """One printed figure against the lines that should make it.

    Parameters
    ----------
    what, unit : str
        What was summed, and its unit.
    printed, found : Fraction
        The printed figure, and what the lines give [`unit`].
    tolerance : Fraction
        Half of the last printed digit; zero where every line is printed as finely as the sum.
    basis : Basis
        What the lines rest on: recalled if one of them is.
    """

    what: str
    unit: str
    printed: Fraction
    found: Fraction
    tolerance: Fraction
    basis: Basis

    @property
    def gap(self) -> Fraction:
        """Return what the lines give less what is printed."""
        return self.found - self.printed

    @property
    def closes(self) -> bool:
        """Tell whether the gap is within the tolerance."""
        return abs(self.gap) <= self.tolerance


@dataclass(frozen=True, slots=True)
class Closing:
    """The sums of one table.

    Parameters
    ----------
    table_id : str
        The table.
    checks : tuple of SumCheck
        Every sum that it prints.
    """

    table_id: str
    checks: tuple[SumCheck, ...]

    @property
    def closes(self) -> bool:
        """Tell whether every sum closes."""
        return all(check.closes for check in self.checks)

    @property
    def failing(self) -> tuple[SumCheck, ...]:
        """Return the sums that do not close."""
        return tuple(check for check in self.checks if not check.closes)

    @property
    def gap(self) -> Fraction:
        """Return the widest gap of a sum that does not close; zero if all do."""
        return max((check.gap for check in self.failing), key=abs, default=Fraction(0))

    @property
    def is_cited(self) -> bool:
        """Tell whether no sum rests on a remembered line."""
        return all(check.basis.is_cited for check in self.checks)


@dataclass(frozen=True, slots=True)
class PublishedTable:
    """One published table of yields.

    Parameters
    ----------
    table_id, species : str
        The table and its animal.
    rows : tuple of YieldRow or ChickenPart
        Its lines.
    """

    table_id: str
    species: str
    rows: tuple[YieldRow, ...] | tuple[ChickenPart, ...]


_Take = Callable[[YieldRow], bool]


def _any(_row: YieldRow) -> bool:
    return True


def _retail(row: YieldRow) -> bool:
    return row.kind in {"cut", "trim", "retail"}


def _pounds(rows: Iterable[YieldRow]) -> Fraction:
    return sum((Fraction(row.lb) for row in rows if row.lb is not None), Fraction(0))


def _primals(rows: Iterable[YieldRow], attribute: str) -> Fraction:
    """Return the sum of a figure of the large cuts, each counted once."""
    spans = {row.primal: getattr(row, attribute) for row in rows}
    return sum((Fraction(span.low) for span in spans.values() if span), Fraction(0))


# table, what, unit, printed, half of the last digit, how it is summed, which lines
_SUMS: tuple[tuple[str, str, str, str, Fraction, str, _Take], ...] = (
    ("BEEF_1150_715", "carcass", "lb", "715", _EXACT, "lb", _any),
    ("BEEF_1300_806", "carcass", "lb", "806", _EXACT, "lb", _any),
    ("BEEF_1300_806", "retail cuts", "lb", "639", _WHOLE, "lb", _retail),
    ("BEEF_1100_682", "carcass", "lb", "682", _EXACT, "primal_lb", _any),
    ("BEEF_1000_610_RETAIL430", "retail cuts", "lb", "430", _EXACT, "lb", _any),
    ("BEEF_1000_590_RETAIL465", "retail cuts", "lb", "465", _EXACT, "lb", _retail),
    ("BEEF_1000_590_RETAIL465", "carcass", "lb", "590", _EXACT, "lb", _any),
    ("BEEF_PRIMALS_IN590", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("BEEF_PRIMALS_MSU600", "take-home", "lb", "420", _EXACT, "lb", _any),
    ("BEEF_PRIMALS_MSU700", "take-home", "lb", "490", _EXACT, "lb", _any),
    ("BEEF_PRIMALS_MSU800", "take-home", "lb", "559", _EXACT, "lb", _any),
    ("BEEF_PRIMALS_MSU600", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("BEEF_PRIMALS_KSU", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("PORK_250_184", "carcass", "lb", "184", _WHOLE, "lb", _any),
    ("PORK_250_184", "retail cuts", "lb", "140", _WHOLE, "lb", _retail),
    ("PORK_250_184", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("PORK_250_180_RETAIL144", "retail cuts", "lb", "144", _EXACT, "lb", _any),
    ("PORK_250_180_HOGCHOPS", "retail cuts", "lb", "145", _EXACT, "lb", _any),
    ("PORK_PRIMALS_KSU", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("LAMB_ARMY_100", "carcass", "lb", "100", _EXACT, "lb", _any),
    ("LAMB_AU_PRIMALS", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("LAMB_PRIMALS_KSU", "shares", "%", "100", _EXACT, "primal_pct", _any),
    ("LAMB_130_70_HOWTO", "shares", "%", "100", _EXACT, "primal_pct", _any),
)
# tables whose lines make up each large cut they print
_BY_PRIMAL = ("BEEF_1150_715", "BEEF_1300_806", "BEEF_1100_682", "PORK_250_184", "LAMB_120_60")
_BIRD_SUMS = (("weights", "weight"), ("lean", "lean"), ("skin", "skin"), ("bone", "bone"))


def _basis(rows: Iterable[YieldRow | ChickenPart]) -> Basis:
    found = list(rows)
    recalled = [row for row in found if not row.is_cited]
    return Basis.of(recalled[0] if recalled else found[0])


def _whole_sums(table_id: str, rows: tuple[YieldRow, ...]) -> Iterable[SumCheck]:
    for of, what, unit, printed, tolerance, how, takes in _SUMS:
        if of == table_id:
            lines = tuple(row for row in rows if takes(row))
            found = _pounds(lines) if how == "lb" else _primals(lines, how)
            yield SumCheck(what, unit, Fraction(printed), found, tolerance, _basis(lines))


def _primal_sums(rows: tuple[YieldRow, ...]) -> Iterable[SumCheck]:
    for primal in dict.fromkeys(row.primal for row in rows):
        lines = tuple(row for row in rows if row.primal == primal)
        span = lines[0].primal_lb
        if span is not None and lines[0].kind != "primal":
            printed = Fraction(span.low)
            yield SumCheck(primal, "lb", printed, _pounds(lines), _EXACT, _basis(lines))


def _bird_sums(table_id: str) -> Iterable[SumCheck]:
    parts = chicken_parts(table_id, kind="part")
    if table_id == "CHICKEN_HALF_1998":
        (whole,) = chicken_parts(table_id, kind="total")
        for what, name in _BIRD_SUMS:
            found = sum((_grams(part, name) for part in parts), Fraction(0))
            yield SumCheck(what, "g", _grams(whole, name), found, _EXACT, _basis(parts))
    if table_id == "CHICKEN_RTC_BOOK":
        shares = [Fraction(part.pct_of_base.low) for part in parts if part.pct_of_base]
        yield SumCheck("shares", "%", Fraction(100), sum(shares, Fraction(0)), _EXACT,
                       _basis(parts))  # fmt: skip


def _grams(part: ChickenPart, name: str) -> Fraction:
    value = part.weight.low if name == "weight" and part.weight else getattr(part, name)
    return Fraction(value)


def published_tables() -> tuple[str, ...]:
    """Return the ids of every table of yields."""
    found = (row.table_id for row in yield_rows())
    birds = (row.table_id for row in chicken_parts())
    return tuple(dict.fromkeys((*found, *birds)))


def published_table(table_id: str) -> PublishedTable:
    """Return one table of yields.

    Raises
    ------
    BadValue
        If there is none of that id.

    Examples
    --------
    >>> published_table("PORK_250_184").rows[0].item
    'cured ham'
    """
    rows = yield_rows(table_id) if table_id else ()
    if rows:
        return PublishedTable(table_id, rows[0].species, rows)
    birds = chicken_parts(table_id) if table_id else ()
    if birds:
        return PublishedTable(table_id, "chicken", birds)
    raise BadValue(f"There is no table {table_id[:40]!r}; see docs/carcass.md for the tables.")


def closes(table_id: str) -> Closing:
    """Check every sum that a table prints.

    Parameters
    ----------
    table_id : str
        E.g. ``BEEF_1150_715``.

    Raises
    ------
    BadValue
        If there is no such table, or it prints nothing that could be summed.

    Examples
    --------
    >>> found = closes("PORK_250_180_HOGCHOPS")
    >>> found.closes, int(found.gap)
    (False, 18)
    """
    table = published_table(table_id)
    checks = list(_bird_sums(table_id))
    if table.species != "chicken":
        rows = yield_rows(table_id)
        checks += _whole_sums(table_id, rows)
        if table_id in _BY_PRIMAL:
            checks += _primal_sums(rows)
    if not checks:
        raise BadValue(f"{table_id} prints no sum that its lines should make; choose another.")
    return Closing(table_id, tuple(checks))
