"""The shop as the cutting plan looks at it: days, case, styles and the lines meat may go to."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.measures import Weight, WeightUnit, decimal_of
from collop.shop.ageing import CaseView, load_view, selling_days
from collop.shop.bench_figures import BLOCK_SHARE, is_links, is_mince
from collop.shop.knife_model import Style
from collop.shop.model import Settings
from collop.shop.sales import Line, per_unit, unit_text
from collop.shop.stock import stock_sums
from collop.shop.styles import load_styles
from collop.shop.tables import case_lines, lots

__all__ = ["Look", "amount", "bin_id", "load_look", "plain", "short_id", "today_share"]

_MOST_DAYS = 14


def amount(value: Fraction, places: int = 4) -> str:
    """Return money or a share as decimal text, rounded half up, without needless zeros."""
    return f"{decimal_of(value, places).normalize():f}"


def plain(text: str, most: int = 200) -> str:
    """Return a name the kernel reads: on one line, and not too long."""
    return "".join(sign if sign.isprintable() else " " for sign in text)[:most]


def short_id(text: str, taken: set[str], most: int = 80) -> str:
    """Return an id the kernel reads that is not in `taken`, and add it there.

    One that is too long, or is there already, ends in a digest instead.

    Examples
    --------
    >>> short_id("Marek", set())
    'Marek'
    >>> short_id("a" * 80 + "1", set()) == short_id("a" * 80 + "2", set())
    False
    """
    found, again = plain(text, most), 0
    while len(text) > most or found in taken:
        digest = hashlib.sha256(f"{text}\n{again}".encode()).hexdigest()[:8]
        found = f"{plain(text, most - 9)} {digest}"
        if found not in taken:
            break
        again += 1
    taken.add(found)
    return found


def bin_id(species: str) -> str:
    """Return the id of the trim bin of a species."""
    return f"{species}-trim"


@dataclass(frozen=True, slots=True)
class Look:
    """The shop at one moment.

    Parameters
    ----------
    view : CaseView
        Prices, sales and stock of the case.
    days : tuple of date
        Days of the plan in a row.
    today_share : Fraction
        Share of the first day's opening hours that is left.
    styles : tuple of Style
        How pieces may be cut.
    keeps : mapping of str to int
        Days a line keeps after the day it was cut.
    given, made : frozenset of str
        Lines that a style gives, and that are made of trim.
    binned : frozenset of str
        Species that have a trim bin.
    """

    view: CaseView
    days: tuple[date, ...]
    today_share: Fraction
    styles: tuple[Style, ...]
    keeps: Mapping[str, int]
    given: frozenset[str]
    made: frozenset[str]
    binned: frozenset[str]

    @property
    def chosen(self) -> Settings:
        """Return the shop's settings."""
        return self.view.chosen

    @property
    def first(self) -> date:
        """Return day 0."""
        return self.days[0]

    @property
    def last(self) -> date:
        """Return the last day of the plan."""
        return self.days[-1]

    @property
    def unit(self) -> int:
        """Return the counts of one legal unit, which are whole."""
        return Weight.of(1, self.chosen.legal_unit).count

    @property
    def unit_name(self) -> str:
        """Return the legal unit as it is written."""
        return self.chosen.legal_unit.value

    def day_of(self, day: date) -> int:
        """Return a date as a number of the plan; below 0 before it."""
        return (day - self.first).days

    @property
    def lines(self) -> dict[str, Line]:
        """Return the lines of the plan by id, in board order."""
        return {key: line for key, line in self.view.lines.items() if key in self.given | self.made}

    def price(self, case_id: str) -> Fraction:
        """Return the board price per legal unit."""
        return Fraction(per_unit(self.view.board[case_id], self.chosen))

    def text(self, count: int | Fraction) -> str:
        """Return a weight in counts as text in the legal unit, cut off at the thousandth."""
        return unit_text(count, self.chosen, is_cut_off=True)

    def pace(self, case_id: str) -> Fraction:
        """Return what a line sells on an open day at the price in force, in counts."""
        return self.view.pace_now(case_id) or Fraction(0)

    def per_lb(self, value: Fraction) -> Fraction:
        """Return a figure for a pound as one for a legal unit."""
        return value * Weight.of(1, self.chosen.legal_unit).exact(WeightUnit.LB)

    def worth(self, kind: str) -> Fraction:
        """Return what a part that is no cut is worth per legal unit."""
        return Fraction(self.chosen.worths.get(kind, 0))

    def block_worth(self, species: str) -> Fraction:
        """Return what a cut without a line counts as, per legal unit.

        A share of the mean board price of the species' lines, each counted by its usual sale; what
        trim is worth where that is more, or nothing of the species is on the board.
        """
        sums = weight = Fraction(0)
        for key, line in self.lines.items():
            if line.species == species:
                sums += self.price(key) * self.pace(key)
                weight += self.pace(key)
        mean = sums / weight * BLOCK_SHARE if weight else Fraction(0)
        return max(mean, self.worth("trim"))


def _days(now: datetime, start: date | None, count: int) -> tuple[date, ...]:
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= _MOST_DAYS:
        raise BadValue(f"Plan 1 to {_MOST_DAYS} days.", where="days")
    first = start or now.date()
    if first < now.date():
        raise BadValue(f"{first} is over; plan from today on.", where="start")
    return tuple(first + timedelta(days=ahead) for ahead in range(count))


def today_share(now: datetime, first: date, chosen: Settings) -> Fraction:
    """Return the share of a first day's opening hours that is left: 1 for a later or shut day."""
    if first > now.date() or not chosen.is_open(first):
        return Fraction(1)
    periods, share = selling_days(now, first, chosen)
    return Fraction(str(share)) if periods else Fraction(0)


def _trimmed(conn: Connection, styles: tuple[Style, ...]) -> frozenset[str]:
    """Return the species that have trim: on hand, or by a style."""
    sums = stock_sums(conn)
    there = conn.scalars(
        select(lots.c.species)
        .distinct()
        .join(sums, sums.c.lot_id == lots.c.id)
        .where(sums.c.place == "trim", sums.c.total > 0)
    )
    by_style = {one.species for one in styles for part in one.parts if part.kind == "trim"}
    return frozenset(by_style | set(there))


def load_look(
    conn: Connection, now: datetime, chosen: Settings, *, start: date | None = None, days: int = 7
) -> Look:
    """Read the shop for a plan of so many days.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    now : datetime
        Shop-local; prices in force and the hours left today are those of it.
    chosen : Settings
        Of the shop.
    start : date, optional
        Day 0, by default today.
    days : int
        From 1 to 14.

    Raises
    ------
    BadValue
        If the days are out of range or over.
    """
    row_of = _days(now, start, days)
    view = load_view(conn, now, chosen)
    styles = load_styles(conn)
    binned = _trimmed(conn, styles)
    on_board = {key: line for key, line in view.lines.items()
                if key in view.board and per_unit(view.board[key], chosen) > 0}  # fmt: skip
    given = {part.case_id for style in styles for part in style.parts if part.case_id}
    made = {
        key for key, line in on_board.items()
        if line.species in binned and (is_mince(line) or is_links(line))
    }  # fmt: skip
    keeps = conn.execute(select(case_lines.c.id, case_lines.c.keeps_days))
    return Look(
        view=view, days=row_of, today_share=today_share(now, row_of[0], chosen), styles=styles,
        keeps=_keeps({row.id: row.keeps_days for row in keeps}, styles),
        given=frozenset(given & set(on_board)), made=frozenset(made), binned=binned,
    )  # fmt: skip


def _keeps(written: Mapping[str, int | None], styles: tuple[Style, ...]) -> dict[str, int]:
    """Return the days a line keeps: the fewest a style says, else what the line says, else 1."""
    found: dict[str, int] = {}
    for style in styles:
        for part in style.parts:
            if part.case_id is not None and part.keeps_days is not None:
                found[part.case_id] = min(part.keeps_days, found.get(part.case_id, part.keeps_days))
    return {key: found.get(key, 1 if days is None else days) for key, days in written.items()}
