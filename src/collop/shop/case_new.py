"""A new line of the case: what it is called, what it costs, how long it keeps."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from sqlalchemy import func, insert, select

from collop.errors import BadValue
from collop.fire.methods import cook_as_of
from collop.measures import UnitPrice
from collop.reference import cook_minimum
from collop.shop.acts import Act
from collop.shop.board import set_price
from collop.shop.tables import case_lines
from collop.spread.contents import tags_of

__all__ = ["NewCaseLine", "add_case_line"]

_FORMS = ("fresh", "frozen", "chilled")
_COOK_AS = ("whole", "ground", "poultry", "none")
_WHY = {"ground": "mince, a link or a patty", "poultry": "of a bird"}


@dataclass(frozen=True, slots=True)
class NewCaseLine:
    """A line somebody adds.

    `styles` gives the shop's eating score (0 to 1) for each dish style; a line without any is sold
    and booked, but no spread suggests it. `keeps_days` are days in the case when freshly cut.
    `cook_as` is ``whole``, ``ground``, ``poultry``, or ``none`` for food without meat.
    """

    name: str
    species: str
    price: UnitPrice
    keeps_days: int
    cook_as: str
    form: str = "fresh"
    by_piece: bool = False
    boneless_fraction: Decimal = Decimal(1)
    contains: tuple[str, ...] = ()
    casing: str | None = None
    grill_sq_in_per_lb: Decimal = Decimal(40)
    minutes: tuple[int, int] = (0, 0)
    method: str = ""
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
        known = ", ".join(_COOK_AS)
        raise BadValue(f"Cooking rule: choose one of {known}.", where="cook_as")
    if not 0 <= new.boneless_fraction <= 1:
        raise BadValue("Boneless: write a share from 0 to 1.", where="boneless_fraction")
    try:
        tags_of(new.species, new.casing, new.contains)
    except BadValue as error:
        words = re.sub(r"^\$\.(contains\[\d+\]|casing) ", "", error.message)
        where = "casing" if error.where.startswith("$.casing") else "contains"
        raise BadValue(f"{where.capitalize()}: {words}", where=where) from None
    _check_rule(new)
    if not 0 <= new.keeps_days <= 730:
        raise BadValue("Keeps: write days from 0 to 730.", where="keeps_days")


def _check_rule(new: NewCaseLine) -> None:
    """Refuse a cooking rule that is lower than what the line is made of asks for."""
    tags = tags_of(new.species, new.casing, new.contains)
    if not any(tag.kind == "meat" for tag in tags):
        return
    told = new.name.strip()[:40]
    if new.cook_as == "none":
        raise BadValue(
            f"Cooking rule: {told} holds meat, and none is for food without meat; choose whole,"
            " ground or poultry. What is sold ready to eat stays off the fire by how it is cooked.",
            where="cook_as",
        )
    species = {tag.name for tag in tags if tag.kind == "species"} or {"meat"}
    ruled = cook_as_of(new.cook_as, name=new.name, species=species, casing=new.casing)
    if ruled != new.cook_as:
        raise BadValue(
            f"Cooking rule: {told} is {_WHY[ruled]}, so its minimum is"
            f" {cook_minimum(ruled).text()}; choose {ruled}.", where="cook_as",
        )  # fmt: skip


def add_case_line(act: Act, new: NewCaseLine, why: str = "new line") -> str:
    """Add a line with its price on the board from now on; return its id.

    `why` is kept with the price.

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
    set_price(act, case_id, new.price, why=why, from_at=act.at)
    return case_id
