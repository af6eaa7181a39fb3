"""What suppliers ask, kept as it was said, and the shop's own figures to compare it by."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
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
from collop.shop.bench_look import Look, amount, bin_id, load_look
from collop.shop.farm_animals import animal_parts
from collop.shop.model import Settings
from collop.shop.quotes import checked_json, number_in
from collop.shop.season_model import Comparison, NewQuote, SupplierQuote
from collop.shop.week_tables import supplier_quotes

__all__ = ["compare_quotes", "load_quotes", "quote_problem", "take_off_quote", "write_quote"]

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


def write_quote(act: Act, new: NewQuote, problem: Mapping[str, Any]) -> str:
    """Write one quote within an act and return its id.

    Parameters
    ----------
    act : Act
        The write in progress.
    new : NewQuote
        As it was said.
    problem : mapping
        A ``collop.buying/1`` problem without offers: the quote is worked out with it once.

    Raises
    ------
    BadValue
        If it cannot be compared as it stands; the sentence names the field.
    """
    offer = _checked(new)
    if new.good_until is not None and new.good_until < act.at.date():
        raise BadValue("Good until: that day is over.", where="good_until")
    buying({**problem, "offers": [_as_offer("quote", new.supplier, new.name, new.basis, offer)]})
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


def load_quotes(conn: Connection) -> tuple[SupplierQuote, ...]:
    """Return the quotes that are kept, oldest first; those over are among them."""
    rows = conn.execute(select(supplier_quotes).order_by(supplier_quotes.c.number)).all()
    off = {row.taken_off for row in rows if row.taken_off is not None}
    return tuple(
        SupplierQuote(f"B{row.number}", row.supplier, row.name, row.basis, row.offer,
                      row.good_until, row.at, row.by_id)
        for row in rows if row.taken_off is None and row.number not in off
    )  # fmt: skip


def _as_offer(
    name: str, supplier: str, what: str, basis: str, offer: Mapping[str, Any]
) -> dict[str, Any]:
    kept = {key: value for key, value in offer.items() if key != "species"}
    return {**kept, "id": name, "supplier": supplier, "name": what, "basis": basis}


def _own_shares(conn: Connection, look: Look, species: str) -> tuple[dict[str, Fraction], Fraction]:
    """Return the shares of a carcass by cut, trim as its bin, and what of it is to sell."""
    kind = next((one for one in reversed(animal_parts(conn, look).kinds)
                 if one["species"] == species), None)  # fmt: skip
    shares: dict[str, Fraction] = defaultdict(Fraction)
    for row in kind["styles"][0]["outputs"] if kind else ():
        name = row.get("cut") or row.get("bin") or ""
        # a part of the block without a line of the case is sold too, at the rest's price
        if name or row["name"] not in {"Fat", "Bone", "Loss", "Scrap"}:
            shares[name] += Fraction(row["share"])
    return dict(shares), sum(shares.values(), Fraction(0))


def quote_problem(
    conn: Connection, look: Look, species: str, own: Mapping[str, Fraction], sells: Fraction
) -> dict[str, Any]:
    """Return the ``collop.buying/1`` problem of the shop without offers.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    look : Look
        The shop.
    species : str
        The animal.
    own : mapping of str to Fraction
        Shares of the carcass by cut, the trim bin and, empty, what has no line.
    sells : Fraction
        Their sum.
    """
    chosen = look.chosen
    cuts = []
    for line in look.view.lines.values():
        if line.species != species or line.id not in look.view.board:
            continue
        share = own.get(line.id, Fraction(0)) / sells if sells else Fraction(0)
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
        "rest_price": amount(_rest(look, species, own), 4),
        "cuts": cuts,
    }


def _rest(look: Look, species: str, own: Mapping[str, Fraction]) -> Fraction:
    """Return what a unit without a line of the case is worth: trim, and blocks as the bench has."""
    trim, block = own.get(bin_id(species), Fraction(0)), own.get("", Fraction(0))
    worth = Fraction(look.chosen.worths.get("trim", Decimal(0)))
    prices = [look.price(name) for name in own if name in look.view.board]
    mean = sum(prices, Fraction(0)) / len(prices) if prices else worth
    # a block counts as the cutting plan counts it (collop.shop.bench_figures.BLOCK_SHARE)
    from collop.shop.bench_figures import BLOCK_SHARE  # noqa: PLC0415 -- beside its use

    total = trim + block
    return (trim * worth + block * mean * BLOCK_SHARE) / total if total else worth


def compare_quotes(
    conn: Connection, look: Look, species: str, quotes: Sequence[SupplierQuote]
) -> Comparison:
    """Return the quotes of one animal on one basis.

    Raises
    ------
    ProblemError
        If one of them cannot be compared any more.
    """
    own, sells = _own_shares(conn, look, species)
    problem = quote_problem(conn, look, species, own, sells)
    offers = []
    for quote in quotes:
        offer = _as_offer(quote.id, quote.supplier, quote.name, quote.basis, quote.offer)
        if quote.basis != "box" and sells and not offer.get("take_home"):
            offer["take_home"] = {"pct": rounded(sells * 100, 2), "of": "cold", "source": _OWN}
        offers.append(offer)
    problem["offers"] = offers
    notes = [
        "Board prices are those of now; what has no line of the case counts at"
        f" {problem['rest_price']} a {look.unit_name}, made of the worth of trim and of blocks.",
        "Shares of the cuts are those of the first cutting style, as this shop cuts it.",
    ]
    if not sells:
        notes = ["No such animal came and was cut here: a quote of one cannot be laid beside the"
                 " board."]  # fmt: skip
    return Comparison(species, problem, buying(problem), tuple(notes))


def start_problem(
    conn: Connection, now: Any, chosen: Settings, species: str  # noqa: ANN401 -- a datetime
) -> dict[str, Any]:
    """Return the problem a new quote is tried with."""
    look = load_look(conn, now, chosen)
    own, sells = _own_shares(conn, look, species)
    problem = quote_problem(conn, look, species, own, sells)
    return problem


def is_good(quote: SupplierQuote, today: date) -> bool:
    """Tell whether a quote may be compared today."""
    return not quote.is_over(today)
