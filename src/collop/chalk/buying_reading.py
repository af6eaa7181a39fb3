"""What suppliers ask: live, hanging or in a box, with fees; read from JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import LEAST, UnitFrame, above_zero, exact, maybe, read_unit_frame
from collop.chalk.buying_figures import Band, read_band
from collop.errors import BadValue
from collop.wire import Reader

__all__ = [
    "BASES", "MOST_CUTS", "MOST_OFFERS", "SCHEMA_ID", "BoardCut", "BoxCut", "Buying", "Carcass",
    "Offer", "read_buying",
]  # fmt: skip

SCHEMA_ID = "collop.buying/1"
BASES = ("live", "hanging", "box")
MOST_OFFERS, MOST_CUTS = 200, 200
_LONGEST = 120
_KEYS = ("schema", "name", "currency", "rounding", "unit", "species", "labour_per_hour", "cuts",
         "rest_price", "offers")  # fmt: skip
_ANY = ("id", "supplier", "name", "basis", "haulage", "credits", "labour_minutes")
_CARCASS = ("animals", "weight", "price", "shrink", "take_home", "kill_fee", "cutting_fee")
_OF = {
    "live": (*_ANY, *_CARCASS, "price_head", "live_shrink_pct", "dressing"),
    "hanging": (*_ANY, *_CARCASS, "weight_is"),
    "box": (*_ANY, "cuts"),
}


@dataclass(frozen=True, slots=True)
class BoardCut:
    """A cut of the board: its price a unit, and its share of what a carcass gives to sell."""

    id: str
    name: str
    price: Fraction
    share: Fraction


@dataclass(frozen=True, slots=True)
class BoxCut:
    """A cut of a box: weight bought, its price a unit, and the share that is trimmed off."""

    cut: str
    name: str
    weight: Fraction
    price: Fraction
    trim: Fraction

    @property
    def net(self) -> Fraction:
        """Return what is left to sell [unit]."""
        return self.weight * (1 - self.trim)


@dataclass(frozen=True, slots=True, kw_only=True)
class Carcass:
    """An animal bought live or hanging.

    Parameters
    ----------
    weight : Fraction
        Of all animals [unit]: live, or of the carcass as `weight_is` says.
    price : Fraction
        Money for one unit of it; zero where it is a price a head.
    price_head, kill_fee : Fraction
        Money an animal.
    cutting_fee : Fraction
        Money for one unit of the hot carcass.
    weight_is : str
        ``live``, ``hot`` or ``cold``.
    live_shrink : Fraction
        Share of the live weight that is lost on the way.
    dressing, shrink, take_home : Band or None
        Hot carcass over live; lost in the cooler; to sell over the carcass.
    """

    animals: int
    weight: Fraction
    weight_is: str
    price: Fraction
    price_head: Fraction
    kill_fee: Fraction
    cutting_fee: Fraction
    live_shrink: Fraction
    dressing: Band | None
    shrink: Band | None
    take_home: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One offer: a carcass or the cuts of a box, with what comes on top.

    Parameters
    ----------
    haulage : Fraction
        Money for all of it.
    credits : tuple of (str, Fraction)
        What by-products bring, by name.
    labour : Fraction
        Own minutes for one unit to sell.
    """

    id: str
    supplier: str
    name: str
    basis: str
    haulage: Fraction
    credits: tuple[tuple[str, Fraction], ...]
    labour: Fraction
    carcass: Carcass | None
    box: tuple[BoxCut, ...]

    @property
    def said(self) -> str:
        """Return how it is called in a sentence."""
        return ", ".join(part for part in (self.supplier, self.name) if part) or self.id


@dataclass(frozen=True, slots=True)
class Buying:
    """The whole problem."""

    frame: UnitFrame
    species: str
    labour_per_hour: Fraction
    cuts: tuple[BoardCut, ...]
    rest_price: Fraction
    offers: tuple[Offer, ...]

    def cut(self, name: str) -> BoardCut | None:
        """Return one cut of the board."""
        return next((one for one in self.cuts if one.id == name), None)


def _named(row: Reader, key: str) -> str:
    name = str(row.text(key)).strip()
    if not name or len(name) > _LONGEST:
        raise row.fail(key, f"must have 1 to {_LONGEST} letters.")
    return name


def _few(row: Reader, key: str, most: int) -> Iterable[tuple[str, object]]:
    values = row.items(key, [])
    if len(values) > most:
        raise row.fail(key, f"has {len(values)} rows; give at most {most}.")
    return row.each(key) if values else ()


def _no_twice(ids: Sequence[str], path: str, key: str) -> None:
    seen: set[str] = set()
    for at, one in enumerate(ids):
        if one in seen:
            where = f"{path}[{at}].{key}"
            raise BadValue(f"{where} {one[:40]!r} is there twice; give each its own.", where=where)
        seen.add(one)


def _cuts(top: Reader) -> tuple[BoardCut, ...]:
    found = []
    for path, value in _few(top, "cuts", MOST_CUTS):
        row = Reader(value, path, ("id", "name", "price", "share"))
        name = _named(row, "id")
        found.append(BoardCut(name, str(row.text("name", "")) or name,
                              Fraction(row.decimal("price")),
                              exact(row.number("share", 0.0, 1.0, 0.0))))  # fmt: skip
    _no_twice([one.id for one in found], "$.cuts", "id")
    # shares are printed to a few places, so that they may miss 1 by that much
    if sum((one.share for one in found), Fraction(0)) > 1 + LEAST:
        raise top.fail("cuts", "have shares that add up to more than 1; they are shares of what a"
                       " carcass gives to sell.")  # fmt: skip
    return tuple(found)


def _box(row: Reader) -> tuple[BoxCut, ...]:
    found = []
    for path, value in _few(row, "cuts", MOST_CUTS):
        one = Reader(value, path, ("cut", "name", "weight", "price", "trim_loss_pct"))
        name = _named(one, "cut")
        trim = exact(one.number("trim_loss_pct", 0.0, 99.0, 0.0)) / 100
        found.append(BoxCut(name, str(one.text("name", "")) or name,
                            above_zero(one, "weight", least=LEAST),
                            Fraction(one.decimal("price")), trim))  # fmt: skip
    if not found:
        raise row.fail("cuts", "is empty; name at least one cut of the box.")
    _no_twice([one.cut for one in found], row.where("cuts"), "cut")
    return tuple(found)


def _money(row: Reader, key: str) -> Fraction:
    return maybe(row, key) or Fraction(0)


def _prices(row: Reader, basis: str) -> tuple[Fraction, Fraction]:
    """Return the price of a unit and of a head; one of them is asked."""
    is_head = basis == "live" and row.has("price_head")
    if is_head and row.has("price"):
        raise row.fail("price_head", "is given beside a price of the weight; keep one of them.")
    if is_head:
        return Fraction(0), Fraction(row.decimal("price_head"))
    return Fraction(row.decimal("price")), Fraction(0)


def _carcass(row: Reader, basis: str, species: str) -> Carcass:
    weight_is = "live" if basis == "live" else row.choice("weight_is", ("hot", "cold"), "hot")
    dressing = read_band(row, "dressing", species) if basis == "live" else None
    take_home = read_band(row, "take_home", species)
    for key, band in (("dressing", dressing or basis != "live"), ("take_home", take_home)):
        if not band:
            raise row.fail(key, f"is not published for {species[:40] or 'this animal'}; give it.")
    assert take_home is not None
    shrink = read_band(row, "shrink", species)
    if take_home.of == "cold" and weight_is != "cold" and shrink is None:
        raise row.fail("shrink", f"is not published for {species[:40] or 'this animal'}; give it.")
    price, head = _prices(row, basis)
    live = exact(row.number("live_shrink_pct", 0.0, 20.0, 0.0)) if basis == "live" else Fraction(0)
    return Carcass(
        animals=row.whole("animals", 1, 1000, 1), weight=above_zero(row, "weight", least=LEAST),
        weight_is=weight_is, price=price, price_head=head, kill_fee=_money(row, "kill_fee"),
        cutting_fee=_money(row, "cutting_fee"), live_shrink=live / 100, dressing=dressing,
        shrink=shrink, take_home=take_home,
    )  # fmt: skip


def _credits(row: Reader) -> tuple[tuple[str, Fraction], ...]:
    found = []
    for path, value in _few(row, "credits", MOST_CUTS):
        one = Reader(value, path, ("name", "money"))
        found.append((_named(one, "name"), Fraction(one.decimal("money"))))
    return tuple(found)


def _offer(value: object, path: str, species: str) -> Offer:
    basis = Reader(value, path, value if isinstance(value, dict) else ()).choice("basis", BASES)
    row = Reader(value, path, _OF[basis])
    return Offer(
        id=_named(row, "id"), supplier=str(row.text("supplier", ""))[:_LONGEST],
        name=str(row.text("name", ""))[:_LONGEST], basis=basis, haulage=_money(row, "haulage"),
        credits=_credits(row), labour=exact(row.number("labour_minutes", 0.0, 600.0, 0.0)),
        carcass=None if basis == "box" else _carcass(row, basis, species),
        box=_box(row) if basis == "box" else (),
    )  # fmt: skip


def read_buying(value: object) -> Buying:
    """Read one problem.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.buying/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    frame = read_unit_frame(top)
    species = str(top.text("species", "")).strip().casefold()
    offers = tuple(_offer(one, path, species) for path, one in _few(top, "offers", MOST_OFFERS))
    if not offers:
        raise top.fail("offers", "is empty; give at least one offer.")
    _no_twice([one.id for one in offers], "$.offers", "id")
    return Buying(
        frame=frame, species=species, labour_per_hour=_money(top, "labour_per_hour"),
        cuts=_cuts(top), rest_price=_money(top, "rest_price"), offers=offers,
    )  # fmt: skip
