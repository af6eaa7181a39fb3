"""A new line of the case: what it is called, what it costs, how long it keeps."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from sqlalchemy import func, insert, select

from collop.errors import BadValue
from collop.measures import UnitPrice
from collop.shop.acts import Act
from collop.shop.board import set_price
from collop.shop.tables import case_lines
from collop.spread.contents import tags_of

__all__ = ["NewCaseLine", "add_case_line"]

_FORMS = ("fresh", "frozen", "chilled")
_COOK_AS = ("whole", "ground", "poultry", "none")


@dataclass(frozen=True, slots=True)
class NewCaseLine:
    """A line somebody adds.

    `styles` gives the shop's eating score (0 to 1) for each dish style; a line without any is sold
    and booked, but no spread suggests it. `keeps_days` are days in the case when freshly cut.
    """

    name: str
    species: str
    price: UnitPrice
    keeps_days: int
    form: str = "fresh"
    by_piece: bool = False
    boneless_fraction: Decimal = Decimal(1)
    contains: tuple[str, ...] = ()
    casing: str | None = None
    grill_sq_in_per_lb: Decimal = Decimal(40)
    minutes: tuple[int, int] = (0, 0)
    method: str = ""
    cook_as: str = "whole"
    styles: Mapping[str, float] = field(default_factory=dict)
    slots: tuple[str, ...] = ()


def _checked(new: NewCaseLine) -> None:
    if not 1 <= len(new.name.strip()) <= 120 or not new.name.isprintable():
        raise BadValue("Name: write a name of 1 to 120 characters.", where="name")
    if not 1 <= len(new.species.strip()) <= 40:
        raise BadValue("Species: say what it is of, or none.", where="species")
    if new.form not in _FORMS:
        raise BadValue(f"Form: choose one of {', '.join(_FORMS)}.", where="form")
    if new.cook_as not in _COOK_AS:
        raise BadValue(f"Cook as: choose one of {', '.join(_COOK_AS)}.", where="cook_as")
    if not 0 <= new.boneless_fraction <= 1:
        raise BadValue("Boneless: write a share from 0 to 1.", where="boneless_fraction")
    try:
        tags_of(new.species, new.casing, new.contains)
    except BadValue as error:
        words = re.sub(r"^\$\.(contains\[\d+\]|casing) ", "", error.message)
        where = "casing" if error.where.startswith("$.casing") else "contains"
        raise BadValue(f"{where.capitalize()}: {words}", where=where) from None
    if not 0 <= new.keeps_days <= 730:
        raise BadValue("Keeps: write days from 0 to 730.", where="keeps_days")


def add_case_line(act: Act, new: NewCaseLine) -> str:
    """Add a line with its price on the board from now on; return its id.

    Raises
    ------
    BadValue
        If a field is out of its range, or a line of that name is there already.
    """
    _checked(new)
    names = {name.casefold() for name in act.conn.scalars(select(case_lines.c.name))}
    if new.name.strip().casefold() in names:
        raise BadValue(f"Name: there is a line {new.name.strip()!r} already.", where="name")
    taken = set(act.conn.scalars(select(case_lines.c.id)))
    last = int(act.conn.scalar(select(func.max(case_lines.c.position))) or 0)
    number = next(n for n in range(last + 1, last + 10_000) if f"C{n:02d}" not in taken)
    case_id = f"C{number:02d}"
    act.conn.execute(
        insert(case_lines).values(
            id=case_id, position=last + 1, name=new.name.strip(), species=new.species.strip(),
            form=new.form, by_piece=new.by_piece, boneless_fraction=str(new.boneless_fraction),
            contains=list(new.contains), casing=new.casing,
            grill_sq_in_per_lb=str(new.grill_sq_in_per_lb), minutes_low=new.minutes[0],
            minutes_high=new.minutes[1], method=new.method, cook_as=new.cook_as,
            styles=dict(new.styles), slots=list(new.slots), keeps_days=new.keeps_days,
        )
    )  # fmt: skip
    set_price(act, case_id, new.price, why="new line", from_at=act.at)
    return case_id
