"""Read the free case lines of an ask."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.errors import BadValue
from collop.measures import UnitPrice, WeightUnit
from collop.spread.contents import gather_tags
from collop.spread.problem import DISH_STYLES, Offer
from collop.spread.reading_cook import read_cook
from collop.wire import Reader, checked_decimal, checked_number

__all__ = ["exact", "read_mlb", "read_offers"]

_OFFER_KEYS = (
    "id",
    "name",
    "species",
    "contains",
    "casing",
    "price_per_lb",
    "free_lb",
    "pieces_lb",
    "frozen_lb",
    "boneless_fraction",
    "grill_sq_in_per_lb",
    "minutes",
    "method",
    "styles",
    "slots",
    "eating",
    "worth_per_lb",
    "days_left",
    "cover_days",
    "on_hand_lb",
    "neighbour",
    "side_lb",
    "cook_as",
    "cook",
)


def exact(number: float) -> Fraction:
    """Return the decimal a JSON number was written as, exactly."""
    return Fraction(Decimal(repr(number)))


def read_mlb(row: Reader, key: str, default: Any) -> Any:  # noqa: ANN401
    """Return a weight as thousandths of a pound, or the default."""
    pounds = row.decimal(key, default, high="100000")
    if pounds is default:
        return default
    return _to_mlb(pounds, row.where(key))


def _to_mlb(pounds: Decimal, where: str) -> int:
    mlb = Fraction(pounds) * 1000
    if mlb.denominator != 1:
        raise BadValue(f"{where} is {pounds}; write pounds in steps of 0.001.", where=where)
    return int(mlb)


def read_offers(top: Reader, currency: str) -> tuple[Offer, ...]:
    """Return the offers by id; the order they were given in does not matter."""
    offers = [
        _offer(Reader(value, path, _OFFER_KEYS), currency) for path, value in top.each("offers")
    ]
    if not offers:
        raise BadValue(
            "$.offers is empty: nothing is free in the case; break an animal or free a booking.",
            where="$.offers",
        )
    ids = [offer.id for offer in offers]
    for offer_id in ids:
        if ids.count(offer_id) > 1:
            raise BadValue(f"$.offers has {offer_id!r} twice; keep one.", where="$.offers")
    return tuple(sorted(offers, key=lambda offer: offer.id))


def _offer(row: Reader, currency: str) -> Offer:
    species, casing = row.text("species", None), row.text("casing", None)
    species = species and species.strip().lower()
    tags, allergens = gather_tags(row, species, casing)
    pieces, free, frozen = _stock(row)
    cover = row.number("cover_days", 0.0, 1e6, None)
    return Offer(
        id=_word(row, "id"),
        name=_word(row, "name"),
        species=species,
        tags=tags,
        allergens=allergens,
        casing=casing,
        price=_price(row, currency),
        free_mlb=free,
        frozen_mlb=frozen,
        pieces_mlb=pieces,
        boneless=exact(row.number("boneless_fraction", 0.0, 1.0)),
        sq_in_per_lb=exact(row.number("grill_sq_in_per_lb", 0.0, 10_000.0, 0.0)),
        minutes=_minutes(row),
        method=row.text("method", ""),
        slots=frozenset(row.texts("slots", [])),
        eating=_eating(row),
        worth_per_lb=Fraction(row.decimal("worth_per_lb", Decimal(0))),
        days_left=row.whole("days_left", -3650, 36_500, None),
        cover_days=None if cover is None else exact(cover),
        neighbour=row.text("neighbour", None),
        side_mlb=read_mlb(row, "side_lb", None),
        cook_as=_cook_as(row),
        cook=read_cook(row),
    )


def _word(row: Reader, key: str) -> str:
    text: str = row.text(key)
    if not text.strip():
        raise row.fail(key, "is empty; give the cut a name.")
    return text


def _price(row: Reader, currency: str) -> UnitPrice:
    price = row.decimal("price_per_lb")
    if price == 0:
        raise row.fail("price_per_lb", "is 0; set the price on the board first.")
    return UnitPrice(price, WeightUnit.LB, currency)


def _stock(row: Reader) -> tuple[tuple[int, ...] | None, int, int]:
    """Return piece weights, free weight and its frozen part [0.001 lb]."""
    pieces = _pieces(row)
    free = sum(pieces) if pieces is not None else read_mlb(row, "free_lb", 0)
    frozen = read_mlb(row, "frozen_lb", 0)
    if pieces is not None and row.has("free_lb") and read_mlb(row, "free_lb", 0) < free:
        raise row.fail("free_lb", "is less than its pieces weigh together; correct one of them.")
    if frozen > free:
        raise row.fail("frozen_lb", "is more than is free; it is the frozen part of free_lb.")
    return pieces, free, frozen


def _cook_as(row: Reader) -> str | None:
    if not row.has("cook_as"):
        return None
    return row.choice("cook_as", ("whole", "ground", "poultry", "none"))


def _pieces(row: Reader) -> tuple[int, ...] | None:
    if not row.has("pieces_lb"):
        return None
    pieces = []
    for path, value in row.each("pieces_lb"):
        pounds = checked_decimal(value, path)
        if pounds == 0:
            raise BadValue(f"{path} is 0; a piece weighs something.", where=path)
        pieces.append(_to_mlb(pounds, path))
    return tuple(sorted(pieces))


def _minutes(row: Reader) -> tuple[int, int]:
    values = [checked_number(value, 0, 10_000, path) for path, value in row.each("minutes", [0, 0])]
    if len(values) != 2 or values[0] > values[1]:
        raise row.fail("minutes", "must be two numbers, the shorter time first.")
    return int(values[0]), -int(-values[1] // 1)


def _eating(row: Reader) -> dict[str, Fraction]:
    styles = row.texts("styles", [])
    for style in styles:
        if style not in DISH_STYLES:
            raise row.fail("styles", f"names {style!r}; use {', '.join(DISH_STYLES)}.")
    scores = Reader(row.value.get("eating") or {}, row.where("eating"), DISH_STYLES)
    return {style: exact(scores.number(style, 0.0, 1.0, 0.5)) for style in styles}
