"""The receiving form, read field by field into what the shop takes in."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from collop.carcass import PIECES, SPECIES
from collop.errors import BadValue
from collop.measures import Money, Temperature, UnitPrice, Weight, WeightUnit, decimal_of
from collop.shop import NewDelivery, NewPiece, Settings, Style
from collop.web.forms import Faults, Fields, read_amount, read_choice
from collop.web.knife_reading import read_weight

__all__ = ["MOST_PIECES", "OTHER", "FormOfDoor", "gap_pct", "pieces_known", "read_delivery"]

MOST_PIECES = 4
#: The choice for a piece that no style of the shop cuts yet.
OTHER = "other"
_PRICE_UNITS = {"lb": WeightUnit.LB, "kg": WeightUnit.KG}
# outside these no meat comes through a door: the unit is wrong, or the thermometer
_COLDEST_C, _WARMEST_C = -30, 45

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class FormOfDoor:
    """What the form is read with: its fields, faults, unit, and the shop's ways."""

    fields: Fields
    faults: Faults
    unit: WeightUnit
    settings: Settings
    pieces: dict[str, str]
    today: date

    def take(self, name: str, read: Callable[[str], _T], fallback: _T) -> _T:
        """Return what `read` makes of a field; note its message and go on if it refuses."""
        return self.faults.take(name, lambda: read(self.fields.one(name)), fallback)


def pieces_known(styles: tuple[Style, ...]) -> dict[str, str]:
    """Return the species of each piece that has starting figures, or a style of the shop."""
    known = {piece.title: piece.species for piece in PIECES}
    return known | {style.piece: style.species for style in styles}


def read_delivery(form: FormOfDoor) -> NewDelivery:
    """Read the whole form; what is wrong stands in its faults, and the rest is still read."""
    fields = form.fields
    tag = form.take("tag", lambda text: _words(text, "Tag of the animal", "B-43", 40), "")
    species = form.take("species", lambda text: read_choice(text, "Species", SPECIES), "")
    farm = form.take("farm", lambda text: _words(text, "Farm", "Upper Nimmock", 120), "")
    zero = Weight.zero(form.unit)
    return NewDelivery(
        tag=tag, species=species, farm=farm,
        killed_on=form.take("killed_on", lambda text: _killed(text, form.today), None),
        pieces=_pieces(form, tag, species),
        invoiced=form.take("invoiced", lambda text: read_weight(
            text, "Weight on the invoice", form.unit), zero),
        is_hot=fields.one("is_hot") == "hot",
        temperature=form.take("temperature", lambda text: _temperature(text, fields), None),
        not_measured_because=fields.one("not_measured")[:200],
        papers=[paper for paper in form.settings.papers if paper in fields.all("papers")],
        price=form.take("price", lambda text: _price(text, fields, form.settings), None),
        haulage=form.take("haulage", lambda text: _haulage(text, form.settings), None),
        note=fields.one("note")[:400], establishment=fields.one("establishment")[:40],
        arrived_warm_as_law_allows=fields.one("warm") == "yes",
    )  # fmt: skip


def _words(text: str, label: str, example: str, most: int) -> str:
    if not text:
        raise BadValue(f"{label}: enter it, for example {example}.")
    if len(text) > most or not text.isprintable():
        raise BadValue(f"{label}: write at most {most} characters.")
    return text


def _killed(text: str, today: date) -> date | None:
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise BadValue(
            f"Killed on: choose a day, written like {today.isoformat()}, or leave it empty."
        ) from None
    if day > today:
        raise BadValue("Killed on: that day lies ahead; choose today or earlier.")
    return day


def _temperature(text: str, fields: Fields) -> Temperature | None:
    if not text:
        if not fields.one("not_measured"):
            raise BadValue("Temperature: measure the meat, or say below why it was not measured.")
        return None
    degrees = fields.one("degrees", "F")
    number = re.fullmatch(r"([+-]?[0-9]{1,3}(?:[.,][0-9]{1,2})?)\s*°?\s*([CFcf]?)", text)
    if number is None:
        raise BadValue("Temperature: write the degrees like 38 or 3.5.")
    degrees = number[2].upper() or read_choice(degrees, "Temperature", ("F", "C"))
    amount = number[1].replace(",", ".")
    warm = Temperature.celsius(amount) if degrees == "C" else Temperature.fahrenheit(amount)
    if not Temperature.celsius(_COLDEST_C) <= warm <= Temperature.celsius(_WARMEST_C):
        raise BadValue(
            f"Temperature: is it {amount} °{degrees}? Choose °F or °C and read it again."
        )
    return warm


def _price(text: str, fields: Fields, settings: Settings) -> UnitPrice | None:
    if not text:
        return None
    per = read_choice(fields.one("price_per", "lb"), "Price per", _PRICE_UNITS)
    amount = read_amount(text, "Price", high="1000", places=4)
    return UnitPrice.of(amount, _PRICE_UNITS[per], settings.currency)


def _haulage(text: str, settings: Settings) -> Money | None:
    if not text or re.fullmatch(r"0+([.,]0+)?", text):
        return None
    return Money.of(read_amount(text, "Haulage", high="100000"), settings.currency)


def _pieces(form: FormOfDoor, tag: str, species: str) -> list[NewPiece]:
    """Read the rows that say anything; the first one must."""
    rows = [row for row in range(1, MOST_PIECES + 1) if row == 1 or _is_used(form.fields, row)]
    return [_piece(form, row, tag if len(rows) == 1 else "", species) for row in rows]


def _is_used(fields: Fields, row: int) -> bool:
    return any(fields.one(f"{name}-{row}") for name in ("tag", "what", "weight"))


def _piece(form: FormOfDoor, row: int, tag: str, species: str) -> NewPiece:
    label = f"Piece {row}"
    weight = form.take(f"weight-{row}", lambda text: read_weight(
        text, f"{label}, weight on the scale", form.unit), Weight.zero(form.unit))  # fmt: skip
    piece = form.take(f"piece-{row}", lambda text: _kind(text, label, form, species), "")
    what = form.fields.one(f"what-{row}")[:80] or piece
    if piece == OTHER:
        what = form.take(
            f"what-{row}", lambda text: _words(text, f"{label}, what it is", "whole kid", 80), ""
        )
        piece = what
    own = form.take(
        f"tag-{row}", lambda text: text or tag or _words("", f"{label}, tag", "B-43F", 40), ""
    )
    return NewPiece(own[:40], what, piece, weight)


def _kind(text: str, label: str, form: FormOfDoor, species: str) -> str:
    if not text:
        raise BadValue(f"{label}: choose what it is; for what the list lacks, choose {OTHER}.")
    kind = read_choice(text, label, (*form.pieces, OTHER))
    of = form.pieces.get(kind, "")
    if of and species and of not in species:
        raise BadValue(f"{label}: {kind} is {of}, and the animal is {species}; choose another.")
    return kind


def gap_pct(weighed: Weight, invoiced: Weight) -> Decimal:
    """Return scale less invoice in per cent of the invoice, with one decimal."""
    return decimal_of(Fraction(100 * (weighed.count - invoiced.count), invoiced.count), 1)
