"""What suppliers ask, kept as it was said, and the shop's own figures to compare it by."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import insert, select
from sqlalchemy.engine import Connection

from collop.chalk.amounts import rounded
from collop.chalk.buying import buying
from collop.chalk.buying_reading import BASES, SCHEMA_ID
from collop.errors import BadValue, NotFound
from collop.shop.acts import Act
from collop.shop.bench_look import Look, amount, load_look
from collop.shop.farm_animals import animal_parts
from collop.shop.quotes import checked_json, number_in
from collop.shop.season_model import Comparison, NewQuote, SupplierQuote
from collop.shop.week_tables import supplier_quotes

__all__ = ["compare_quotes", "load_quotes", "take_off_quote", "write_quote"]

_LONGEST = 120
_OWN = "the shop's own yields"
_SHARE_PLACES = 6


def _checked(new: NewQuote) -> dict[str, Any]:
    """Return the offer as it is kept: the kernel has read it once."""
    if new.basis not in BASES:
        raise BadValue(f"{new.basis[:20]!r} is no way to buy; use one of {', '.join(BASES)}.",
                       where="basis")  # fmt: skip
    for text, label, where in ((new.supplier, "Supplier", "supplier"), (new.name, "What", "name")):
        if not 1 <= len(text.strip()) <= _LONGEST or not text.isprintable():
            raise BadValue(f"{label}: write 1 to {_LONGEST} letters.", where=where)
    offer = checked_json(new.offer, "offer")
    species = str(offer.get("species") or "").strip().casefold()
    if not 1 <= len(species) <= 40 or not species.isprintable():
        raise BadValue("Animal: say which it is.", where="species")
    offer["species"] = species
    return offer


def write_quote(act: Act, new: NewQuote) -> str:
    """Write one quote within an act and return its id.

    Raises
    ------
    BadValue
        If it cannot be compared as it stands; the sentence names the field.
    """
    offer = _checked(new)
    if new.good_until is not None and new.good_until < act.at.date():
        raise BadValue("Good until: that day is over.", where="good_until")
    tried = SupplierQuote("quote", new.supplier, new.name, new.basis, offer, None, act.at, act.by)
    compare_quotes(act.conn, load_look(act.conn, act.at, act.settings), offer["species"], [tried])
    found = act.conn.execute(
        insert(supplier_quotes).values(
            supplier=new.supplier.strip(), name=new.name.strip(), basis=new.basis, offer=offer,
            good_until=new.good_until, at=act.at, by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    key = found.inserted_primary_key
    assert key is not None
    return f"B{key[0]}"


def take_off_quote(act: Act, name: str) -> str:
    """Take a quote off by a further row and return its id.

    Raises
    ------
    NotFound
        If there is none, or it was taken off before.
    """
    quote = next((one for one in load_quotes(act.conn) if one.id == name.upper()), None)
    if quote is None:
        raise NotFound(f"There is no quote {name[:40]!r} to take off; look at the list.",
                       where="quote")  # fmt: skip
    act.conn.execute(
        insert(supplier_quotes).values(
            supplier=quote.supplier, name=quote.name, basis=quote.basis, offer=dict(quote.offer),
            good_until=quote.good_until, taken_off=number_in("B", quote.id, "quote"), at=act.at,
            by_id=act.by, key=act.key,
        )
    )  # fmt: skip
    return quote.id


def load_quotes(conn: Connection, *, off_too: bool = False) -> tuple[SupplierQuote, ...]:
    """Return the quotes that are kept, oldest first; on wish those taken off too."""
    rows = conn.execute(select(supplier_quotes).order_by(supplier_quotes.c.number)).all()
    off = {row.taken_off for row in rows if row.taken_off is not None}
    return tuple(
        SupplierQuote(f"B{row.number}", row.supplier, row.name, row.basis, row.offer,
                      row.good_until, row.at, row.by_id)
        for row in rows if row.taken_off is None and (off_too or row.number not in off)
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Own:
    """How this shop cuts an animal: shares of the carcass by line, and what has no line."""

    cuts: Mapping[str, Fraction]
    rest: Fraction
    rest_worth: Fraction

    @property
    def sells(self) -> Fraction:
        """Return the share of the carcass that is sold."""
        return sum(self.cuts.values(), self.rest)


def _own(conn: Connection, look: Look, species: str) -> _Own:
    """Return the shares of the animal of a species that came last, by its first style."""
    kind = next((one for one in reversed(animal_parts(conn, look).kinds)
                 if one["species"] == species), None)  # fmt: skip
    blocks = {part.name for style in look.styles if style.species == species
              for part in style.parts if part.kind == "cut"}  # fmt: skip
    trim = Fraction(look.chosen.worths.get("trim", Decimal(0)))
    cuts: dict[str, Fraction] = defaultdict(Fraction)
    rest, worth = Fraction(0), Fraction(0)
    for row in kind["styles"][0]["outputs"] if kind else ():
        share = Fraction(row["share"])
        if "cut" in row:
            cuts[row["cut"]] += share
        elif "bin" in row or row["name"] in blocks:
            rest += share
            worth += share * (trim if "bin" in row else Fraction(row["worth"]))
    return _Own(dict(cuts), rest, worth / rest if rest else trim)


def _problem(look: Look, species: str, own: _Own) -> dict[str, Any]:
    """Return the problem of the shop without offers."""
    chosen, cuts = look.chosen, []
    for line in look.view.lines.values():
        if line.species == species and line.id in look.view.board:
            share = own.cuts.get(line.id, Fraction(0)) / (own.sells or 1)
            cuts.append({"id": line.id, "name": line.name, "price": amount(look.price(line.id), 6),
                         "share": rounded(share, _SHARE_PLACES)})  # fmt: skip
    return {
        "schema": SCHEMA_ID,
        "name": f"{chosen.name}: {species}"[:120],
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": look.unit_name,
        "species": species,
        "labour_per_hour": f"{chosen.labour_per_hour:f}",
        "rest_price": amount(own.rest_worth, 4),
        "cuts": cuts,
    }


def _offer(quote: SupplierQuote, own: _Own) -> dict[str, Any]:
    offer = {key: value for key, value in quote.offer.items() if key != "species"}
    offer |= {"id": quote.id, "supplier": quote.supplier, "name": quote.name,
              "basis": quote.basis}  # fmt: skip
    if quote.basis != "box" and own.sells and not offer.get("take_home"):
        pct = rounded(own.sells * 100, 2)
        offer["take_home"] = {"pct": pct, "of": "cold", "source": _OWN}
    return offer


def compare_quotes(
    conn: Connection, look: Look, species: str, quotes: Sequence[SupplierQuote]
) -> Comparison:
    """Return the quotes of one animal on one basis, with the shop's own yields and board.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    look : Look
        The shop.
    species : str
        The animal.
    quotes : sequence of SupplierQuote
        At least one of it.

    Raises
    ------
    ProblemError
        If one of them cannot be compared.
    """
    own = _own(conn, look, species)
    problem = {**_problem(look, species, own), "offers": [_offer(one, own) for one in quotes]}
    rest = f"{problem['rest_price']} a {look.unit_name}"
    board = (
        f"Board prices are those of now. What has no line of the case counts at {rest}: trim at"
        " its worth, and blocks as the cutting plan counts them."
    )
    shares = (
        "Shares of the cuts and the take-home share are those of the first cutting style, as this"
        " shop cuts it."
    )
    if not own.sells:
        shares = (
            "No such animal was cut here yet: published take-home counts, and a carcass cannot be"
            " laid beside the board."
        )
    return Comparison(species, problem, buying(problem), (board, shares))
