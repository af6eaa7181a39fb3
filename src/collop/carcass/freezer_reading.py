"""A household's freezer order, read from JSON: pieces, choices, fees, the board."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from collop.carcass.freezer_ways import PACK_LB, ROAST_LB, TRIM_FAT_PCT, take_home_row, usual_form
from collop.carcass.species import Piece, large_cut_named, large_cuts, piece_named, plain
from collop.carcass.styles import style_named, styles_of
from collop.errors import BadValue
from collop.measures import Rounding, UnitPrice, Weight, WeightUnit
from collop.wire import Reader

__all__ = [
    "FEES", "FORMS", "SCHEMA_ID", "TO_LEAVE", "BoardLine", "Choice", "Fee", "FreezerOrder",
    "FreezerPart", "Minced", "Paid", "Weighed", "read_freezer",
]  # fmt: skip

SCHEMA_ID = "collop.freezer/1"
#: What a large cut may become.
FORMS = ("steaks", "roasts", "stew", "mince")
#: What may be asked for bones and for fat.
TO_LEAVE = ("take", "leave")
#: What a fee is counted by.
FEES = ("hanging", "take-home", "pack", "order")
_MOST_PARTS, _MOST_BOARD, _MOST_FEES, _MOST_LINES = 8, 400, 12, 400
# no carcass weighs more, in pounds or in kilograms
_HEAVIEST = 3000
_UNITS = (WeightUnit.LB, WeightUnit.KG)
_MM_PER_INCH = Decimal("25.4")
_SPECIES = ("beef", "pork", "lamb", "goat")


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What becomes of one large cut.

    Parameters
    ----------
    large_cut, bone, form, style : str
        `bone` is ``in`` or ``out``, `form` one of `FORMS`; `style` names a cutting style, empty
        for the one that fits.
    inches : Decimal or None
        Thickness of a steak or chop [in]; the usual one if None.
    shown : str
        The thickness as it was asked for, such as ``25 mm``.
    pieces : int
        Steaks or chops in a pack.
    roast : Weight
        About what a roast weighs.
    """

    large_cut: str
    bone: str
    form: str
    style: str
    inches: Decimal | None
    shown: str
    pieces: int
    roast: Weight


@dataclass(frozen=True, slots=True, kw_only=True)
class Minced:
    """What becomes of trim: the rest of `share` is stew.

    `fat_pct` is what the mince shall have, None as it falls; `trim_fat_pct` what the trim has.
    """

    share: Fraction
    pack: Weight
    stew_pack: Weight
    fat_pct: Decimal | None
    trim_fat_pct: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Paid:
    """The price of the piece: per unit of a named hanging weight."""

    price: UnitPrice | None
    weight: Weight
    is_hot: bool


@dataclass(frozen=True, slots=True)
class Weighed:
    """What the scale said of one line of packs."""

    cut: str
    packs: int
    weight: Weight
    path: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezerPart:
    """One piece of the order.

    `weight` is this household's share of it, `piece_weight` all of it; `trimmed` says that its
    outer fat was taken off before. `take_home_pct` is what the whole carcass gives.
    """

    tag: str
    piece: Piece
    piece_weight: Weight
    weight: Weight
    share_text: str
    is_hot: bool
    trimmed: bool
    take_home_pct: Decimal | None
    own_take_home: bool
    large_cuts: tuple[str, ...]
    choices: tuple[Choice, ...]
    minced: Minced
    takes_bones: bool
    takes_fat: bool
    paid: Paid
    weighed: tuple[Weighed, ...] | None
    path: str


@dataclass(frozen=True, slots=True)
class Fee:
    """What is charged for the work: `amount` each of what `per` counts."""

    name: str
    per: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class BoardLine:
    """A line of the case with its price, to say what the same packs would cost there."""

    name: str
    species: str
    price: UnitPrice


@dataclass(frozen=True, slots=True, kw_only=True)
class FreezerOrder:
    """All that was asked."""

    name: str
    unit: WeightUnit
    currency: str
    rounding: Rounding
    parts: tuple[FreezerPart, ...]
    fees: tuple[Fee, ...]
    board: tuple[BoardLine, ...]


def read_freezer(value: object) -> FreezerOrder:
    """Read one problem of the ``collop.freezer/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    keys = ("schema", "name", "unit", "currency", "rounding", "parts", "fees", "board")
    top = Reader(value, "$", keys)
    top.choice("schema", [SCHEMA_ID])
    unit = WeightUnit(top.choice("unit", _UNITS, "lb"))
    currency = top.currency()
    _at_most(top, "parts", _MOST_PARTS, least=1)
    return FreezerOrder(
        name=top.text("name", ""),
        unit=unit,
        currency=currency,
        rounding=Rounding(top.choice("rounding", list(Rounding), "half-up")),
        parts=tuple(_part(one, path, unit, currency) for path, one in top.each("parts")),
        fees=tuple(_fees(top)),
        board=tuple(_board(top, unit, currency)),
    )


def _at_most(reader: Reader, key: str, most: int, *, least: int = 0) -> None:
    count = len(reader.items(key, [] if not least else reader.value.get(key)))
    if not least <= count <= most:
        raise reader.fail(key, f"has {count} entries; give from {least} to {most}.")


def _needed(reader: Reader, key: str, unit: WeightUnit) -> Weight:
    amount = reader.decimal(key, high=str(_HEAVIEST))
    try:
        return Weight.of(amount, unit)
    except BadValue as error:
        raise reader.fail(key, f"is {amount}: {error.message}") from None


def _weight(reader: Reader, key: str, unit: WeightUnit) -> Weight | None:
    return _needed(reader, key, unit) if reader.has(key) else None


def _above_zero(reader: Reader, key: str, unit: WeightUnit, default: Weight) -> Weight:
    found = _weight(reader, key, unit)
    if found is None:
        return default
    if found < Weight.of("0.05", WeightUnit.LB):
        raise reader.fail(key, f"is {found.text()}; give at least 0.05 lb.")
    return found


_PART = ("tag", "species", "piece", "large_cuts", "weight", "weight_is", "share", "take",
         "trimmed", "take_home_pct", "choices", "mince", "bones", "fat", "price",
         "weighed")  # fmt: skip


def _part(value: object, path: str, unit: WeightUnit, currency: str) -> FreezerPart:
    row = Reader(value, path, _PART)
    piece = _piece(row)
    whole = _needed(row, "weight", unit)
    if whole < Weight.of("0.5", WeightUnit.LB):
        raise row.fail("weight", f"is {whole.text()}; a piece weighs more.")
    weight, share_text = _share(row, whole, unit)
    is_hot = row.choice("weight_is", ("hot", "cold"), "cold") == "hot"
    trimmed = row.flag("trimmed", default=False)
    published = take_home_row(piece.species)
    given = row.decimal("take_home_pct", None, high="100")
    if given is not None and given < 20:
        raise row.fail("take_home_pct", f"is {given}; it must be from 20 to 100.")
    named = _large_cuts(row, piece)
    return FreezerPart(
        tag=row.text("tag", "")[:60], piece=piece, piece_weight=whole, weight=weight,
        share_text=share_text, is_hot=is_hot, trimmed=trimmed,
        take_home_pct=given if given is not None else published.figure if published else None,
        own_take_home=given is not None, large_cuts=named,
        choices=_choices(row, piece.species, named, unit), minced=_minced(row, piece.species, unit),
        takes_bones=row.choice("bones", TO_LEAVE, "leave") == "take",
        takes_fat=row.choice("fat", TO_LEAVE, "leave") == "take",
        paid=_paid(row, weight, currency, unit, is_hot=is_hot),
        weighed=_weighed(row, unit), path=path,
    )  # fmt: skip


def _piece(row: Reader) -> Piece:
    piece = piece_named(row.text("piece")[:80], row.text("species", ""), where=row.where("piece"))
    if piece.species not in _SPECIES:
        raise row.fail("piece", f"is {piece.title}; a bird is booked from the case, not by share.")
    return piece


def _share(row: Reader, whole: Weight, unit: WeightUnit) -> tuple[Weight, str]:
    """Return the household's weight of the piece, and its share in words."""
    taken = _weight(row, "take", unit)
    if taken is not None:
        if row.has("share"):
            raise row.fail("take", "and share are both given; keep one of them.")
        if not Weight.zero() < taken <= whole:
            raise row.fail("take", f"is {taken.text()}; it must be over 0, up to {whole.text()}.")
        return taken, f"{taken.text()} of {whole.text()}"
    text = row.text("share", "1")[:20]
    try:
        share = Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        share = Fraction(0)
    if not Fraction(1, 100) <= share <= 1 or share.denominator > 1000:
        raise row.fail("share", f'is {text!r}; write a share of the piece such as "1/2" or "1/4".')
    # a share that is no whole count keeps the part below with the shop
    return Weight(whole.count * share.numerator // share.denominator, unit), text


def _large_cuts(row: Reader, piece: Piece) -> tuple[str, ...]:
    of_piece = [
        one.part for one in styles_of(piece.species, piece.name)[0].shares if one.kind == "large"
    ]
    if not row.has("large_cuts"):
        return tuple(of_piece)
    asked = set()
    for text in row.texts("large_cuts"):
        name = large_cut_named(piece.species, text[:60], where=row.where("large_cuts")).name
        if name not in of_piece:
            raise row.fail("large_cuts", f"names {name}, which is not in a {piece.title}.")
        asked.add(name)
    if not asked:
        raise row.fail("large_cuts", "names none; leave it out for all of the piece.")
    return tuple(name for name in of_piece if name in asked)


_CHOICE = ("large_cut", "bone", "as", "style", "thickness", "thickness_unit", "pieces_per_pack",
           "roast_weight")  # fmt: skip


def _choices(
    row: Reader, species: str, named: tuple[str, ...], unit: WeightUnit
) -> tuple[Choice, ...]:
    """Return one choice for each large cut of the piece, in the order of the animal."""
    _at_most(row, "choices", 40)
    found: dict[str, Choice] = {}
    for path, value in row.each("choices", []):
        one = Reader(value, path, _CHOICE)
        text = one.text("large_cut")[:60]
        name = large_cut_named(species, text, where=one.where("large_cut")).name
        if name not in named:
            raise one.fail("large_cut", f"is {name}, which is not in this part of the order.")
        if name in found:
            raise one.fail("large_cut", f"is {name}, which is chosen twice; keep one.")
        found[name] = _choice(one, species, name, unit)
    order = [cut.name for cut in large_cuts(species) if cut.name in named]
    return tuple(
        found.get(name) or _choice(Reader({}, row.path, ()), species, name, unit) for name in order
    )


def _choice(one: Reader, species: str, name: str, unit: WeightUnit) -> Choice:
    style = one.text("style", "")[:80]
    if style:
        style = style_named(species, name, style, where=one.where("style")).name
    thick = one.decimal("thickness", None, high="400")
    by_mm = one.choice("thickness_unit", ("in", "mm"), "in") == "mm"
    inches = None if thick is None else thick / _MM_PER_INCH if by_mm else thick
    if inches is not None and not Decimal("0.2") <= inches <= Decimal(6):
        raise one.fail("thickness", f"is {thick}; cut from 0.2 to 6 in, or 5 to 152 mm.")
    usual = Weight.of(ROAST_LB[species], WeightUnit.LB)
    return Choice(
        large_cut=name,
        bone=one.choice("bone", ("in", "out"), "in"),
        form=one.choice("as", FORMS, usual_form(name)),
        style=style,
        inches=inches,
        shown="" if thick is None else f"{thick.normalize():f} {'mm' if by_mm else 'in'}",
        pieces=one.whole("pieces_per_pack", 1, 50, 2),
        roast=_above_zero(one, "roast_weight", unit, usual),
    )


def _minced(row: Reader, species: str, unit: WeightUnit) -> Minced:
    value = row.value.get("mince")
    keys = ("share", "pack_weight", "stew_pack_weight", "fat_pct", "trim_fat_pct")
    one = Reader({} if value is None else value, row.where("mince"), keys)
    share = one.decimal("share", Decimal(1), high="1")
    usual = Weight.of(PACK_LB, WeightUnit.LB)
    fat = one.decimal("fat_pct", None, high="50")
    return Minced(
        share=Fraction(share),
        pack=_above_zero(one, "pack_weight", unit, usual),
        stew_pack=_above_zero(one, "stew_pack_weight", unit, usual),
        fat_pct=fat,
        trim_fat_pct=one.decimal("trim_fat_pct", TRIM_FAT_PCT[species], high="70"),
    )


def _paid(row: Reader, weight: Weight, currency: str, unit: WeightUnit, *, is_hot: bool) -> Paid:
    value = row.value.get("price")
    one = Reader({} if value is None else value, row.where("price"),
                 ("per_unit", "weight", "weight_is"))  # fmt: skip
    amount = one.decimal("per_unit", None, high="10000")
    paid = _weight(one, "weight", unit)
    named = one.choice("weight_is", ("hot", "cold"), "hot" if is_hot else "cold")
    if paid is not None and not Weight.zero() < paid <= Weight.of(2 * weight.exact(unit), unit):
        raise one.fail("weight", f"is {paid.text()} for a share that weighs {weight.text()}; it"
                                 " must be over 0 and not more than twice that.")  # fmt: skip
    price = None if amount is None else UnitPrice.of(amount, unit, currency)
    return Paid(price=price, weight=paid or weight, is_hot=named == "hot")


def _weighed(row: Reader, unit: WeightUnit) -> tuple[Weighed, ...] | None:
    if not row.has("weighed"):
        return None
    _at_most(row, "weighed", _MOST_LINES, least=1)
    found = []
    for path, value in row.each("weighed"):
        one = Reader(value, path, ("cut", "packs", "weight"))
        weight = _needed(one, "weight", unit)
        packs = one.whole("packs", 0, 10_000, 1)
        found.append(Weighed(one.text("cut")[:80].strip(), packs, weight, path))
        if not found[-1].cut:
            raise one.fail("cut", "is empty; name what was packed.")
    return tuple(found)


def _fees(top: Reader) -> Iterator[Fee]:
    _at_most(top, "fees", _MOST_FEES)
    for path, value in top.each("fees", []):
        one = Reader(value, path, ("name", "per", "amount"))
        per = one.choice("per", FEES)
        yield Fee(one.text("name")[:60], per, one.decimal("amount", high="100000"))


def _board(top: Reader, unit: WeightUnit, currency: str) -> Iterator[BoardLine]:
    _at_most(top, "board", _MOST_BOARD)
    for path, value in top.each("board", []):
        one = Reader(value, path, ("name", "species", "price_per_unit"))
        amount = one.decimal("price_per_unit", high="10000")
        yield BoardLine(one.text("name")[:80], plain(one.text("species")),
                        UnitPrice.of(amount, unit, currency))  # fmt: skip
