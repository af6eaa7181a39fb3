"""Reading what a ticket tells of its product."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from collop.errors import BadValue
from collop.rules.labelling import CLASSES, MOST_DAYS_VACUUM, TENDERISED, Origin, Product
from collop.wire import Reader

__all__ = ["COOK_AS", "PRODUCT_KEYS", "missing_of", "one_line", "read_product"]

COOK_AS = ("whole", "ground", "poultry", "none")
PRODUCT_KEYS = (
    "name", "species", "class", "cook_as", "item", "gtin", "ingredients", "contains", "casing",
    "lean_pct", "fat_pct", "tenderised", "frozen", "previously_frozen", "vacuum", "origin",
)  # fmt: skip
#: Classes that are made of several ingredients.
MIXED = ("raw sausage", "raw marinated")
MOST_LISTED = 60
_ORIGIN_KEYS = ("country", "words", "born", "raised", "slaughtered", "processed")
_COLDEST_F, _MOST_F = Decimal(28), Decimal(41)


def one_line(row: Reader, key: str, most: int) -> str:
    """Return a text of one line without control characters; empty if it is left out or null.

    Raises
    ------
    BadValue
        If it has line ends, characters that do not print, or more than `most` characters.
    """
    return _checked_line(str(row.text(key, "")), row.where(key), most)


def _checked_line(text: str, where: str, most: int) -> str:
    found = text.strip()
    if len(found) > most:
        raise BadValue(
            f"{where} has {len(found)} characters; a ticket has room for {most}.", where=where
        )
    if not found.isprintable():
        raise BadValue(
            f"{where} has a line end or a character that does not print; write it as one line.",
            where=where,
        )
    return re.sub(r" {2,}", " ", found)


def _lines(row: Reader, key: str, most: int) -> tuple[str, ...]:
    found = row.texts(key)
    if len(found) > MOST_LISTED:
        raise row.fail(key, f"has {len(found)} entries; a ticket has room for {MOST_LISTED}.")
    kept = []
    for index, text in enumerate(found):
        where = f"{row.where(key)}[{index}]"
        line = _checked_line(text, where, most)
        if not line:
            raise BadValue(f"{where} is empty; write a word, or leave it out.", where=where)
        kept.append(line)
    return tuple(kept)


def missing_of(top: Reader, row: Reader) -> Iterator[str]:
    """Yield what a product lacks, in words for the sentence that refuses it."""
    if not one_line(row, "name", 120):
        yield "the product's name"
    if not row.has("contains"):
        yield "what it contains ([] says that no allergen is declared)"
    if row.value.get("class") in MIXED and not row.value.get("ingredients"):
        yield "the ingredients"
    if row.value.get("vacuum") is True and not top.has("use_by"):
        yield "the last day of the vacuum pack"


def read_product(top: Reader, row: Reader) -> Product:
    """Read a product with its dates.

    Raises
    ------
    BadValue
        With the path of the first bad value.
    """
    return Product(
        name=one_line(row, "name", 120),
        species=_species(row),
        product_class=row.choice("class", CLASSES),
        cook_as=row.choice("cook_as", COOK_AS) if row.has("cook_as") else None,
        ingredients=_lines(row, "ingredients", 80) or None if row.has("ingredients") else None,
        contains=_lines(row, "contains", 40),
        casing=one_line(row, "casing", 30) or None,
        lean=_percent(row, "lean_pct"),
        fat=_percent(row, "fat_pct"),
        tenderised=row.choice("tenderised", list(TENDERISED), "no"),
        frozen=row.flag("frozen", default=False),
        previously_frozen=row.flag("previously_frozen", default=False),
        vacuum=row.flag("vacuum", default=False),
        origin=_origin(row),
        packed=_day(top, "packed"),
        use_by=_day(top, "use_by") if top.has("use_by") else None,
        date_words=one_line(top, "date_words", 40) or "use or freeze by",
        keep_at_most_f=_keep(top),
        vacuum_days=top.whole("vacuum_days", 1, MOST_DAYS_VACUUM, MOST_DAYS_VACUUM),
    )


def _species(row: Reader) -> str:
    found = one_line(row, "species", 30)
    if found and not re.fullmatch(r"[^\W\d_]+(?:[ -][^\W\d_]+)*", found):
        raise row.fail("species", f"is {found!r}; write an animal, such as lamb, or none.")
    return found or "none"


def _percent(row: Reader, key: str) -> Decimal | None:
    found: Decimal | None = row.decimal(key, None, high="100")
    if found is not None and -int(found.normalize().as_tuple().exponent) > 1:
        raise row.fail(key, f"is {found}; write it to one decimal at the most.")
    return None if found is None else found.normalize() + 0


def _keep(top: Reader) -> Decimal:
    found: Decimal | None = top.decimal("keep_at_most_f", None, high="1000")
    if found is None:
        return _MOST_F
    if not _COLDEST_F <= found <= _MOST_F:
        raise top.fail(
            "keep_at_most_f",
            f"is {found}; a ticket may be stricter than {_MOST_F} F, down to {_COLDEST_F} F, and "
            "never laxer (SF006).",
        )
    return found


def _day(top: Reader, key: str) -> date:
    text = top.text(key)
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
        try:
            found = date.fromisoformat(text)
        except ValueError:
            found = None
        if found and 2000 <= found.year <= 2099:
            return found
    raise top.fail(key, f"is {text[:20]!r}; write a day such as 2026-06-10.")


def _origin(row: Reader) -> Origin | None:
    if not row.has("origin"):
        return None
    told = Reader(row.value["origin"], row.where("origin"), _ORIGIN_KEYS)
    return Origin(**{
        key: one_line(told, key, 80 if key == "words" else 40) for key in _ORIGIN_KEYS
    })  # fmt: skip
