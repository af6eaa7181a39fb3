"""The lines of a ticket in the order of reading: what, how much, money, by when, what is in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from collop.measures import WeightUnit
from collop.reference.rulebook import safe_handling_parts
from collop.rules.labelling import Product
from collop.rules.labelling_allergens import contains_words
from collop.rules.labelling_dates import WAS_FROZEN, day_words, discard_by, keep_words
from collop.rules.labelling_lean import lean_words
from collop.rules.labelling_names import kind_of_meat, label_name
from collop.ticket.checking import Checked
from collop.ticket.plan_amounts import Amounts
from collop.ticket.problem import Shop, TicketProblem
from collop.ticket.words import cook_words, money_text

__all__ = ["ROLES", "SIDES", "WEIGHTS", "lines_of"]

#: What a line is, how large it is set, and where in its row it stands.
ROLES = (
    "shop", "place", "name", "also", "net", "price", "total", "dates", "keep", "ingredients",
    "contains", "claims", "lot", "tare", "cook", "handling_head", "handling",
)  # fmt: skip
WEIGHTS = ("big", "plain", "small")
SIDES = ("left", "right", "full")
Line = dict[str, Any]


def _line(
    role: str, text: str, weight: str = "plain", side: str = "full", *, bold: bool = False
) -> Line:
    return {"role": role, "text": text, "weight": weight, "bold": bold, "side": side}


def lines_of(problem: TicketProblem, amounts: Amounts, checked: Checked) -> list[Line]:
    """Return the lines of a ticket.

    Parameters
    ----------
    problem : TicketProblem
        As read.
    amounts : Amounts
        Its weights and money in words.
    checked : Checked
        What the checks found.
    """
    product = problem.product
    return [
        *_head(problem.shop, product),
        _line("net", amounts.net_words, "big", "left", bold=True),
        _line("price", amounts.price_words, "plain", "left"),
        _line("total", money_text(amounts.total, problem.price.currency), "big", "right",
              bold=True),
        *_dates(problem),
        *_inside(product, checked),
        _line("lot", f"Lot {problem.lot}", "plain", "left"),
        _line("tare", amounts.tare_words, "small", "right"),
        *_cooking(problem, checked),
    ]  # fmt: skip


def _head(shop: Shop, product: Product) -> Iterator[Line]:
    yield _line("shop", shop.name, "plain", "left", bold=True)
    number = f"Est. {shop.establishment}" if shop.establishment else ""
    if place := ", ".join(one for one in (shop.place, number) if one):
        yield _line("place", place, "small", "right")
    yield _line("name", label_name(product), "big", bold=True)
    if kind := kind_of_meat(product):
        yield _line("also", kind)


def _dates(problem: TicketProblem) -> Iterator[Line]:
    product = problem.product
    yield _line("dates", dates_words(product), "plain", "left")
    celsius = problem.weighed.unit is WeightUnit.KG
    # vacuum packs: in bold on the principal panel (SF063)
    yield _line("keep", keep_words(product, celsius=celsius), side="left", bold=product.vacuum)
    if instruction := discard_by(product):
        yield _line("keep", instruction, bold=True)
    if product.previously_frozen:
        yield _line("keep", WAS_FROZEN)


def dates_words(product: Product) -> str:
    """Return e.g. ``Packed Wed 10 Jun, use or freeze by Sat 13 Jun``; the year for frozen goods."""
    packed = f"Packed {day_words(product.packed, with_year=product.frozen)}"
    # a vacuum pack says its last day with what to do then
    if product.use_by is None or product.vacuum:
        return packed
    by = day_words(product.use_by, with_year=product.frozen)
    return f"{packed}, {product.date_words} {by}"


def ingredient_words(product: Product) -> str:
    """Return the list of ingredients with the casing, empty for a single one without casing."""
    listed = product.ingredients or ()
    casing = f"In {product.casing} casing." if product.casing else ""
    text = f"Ingredients: {', '.join(listed)}." if listed else ""
    return " ".join(one for one in (text, casing) if one)


def _inside(product: Product, checked: Checked) -> Iterator[Line]:
    # the allergen line stands right after the ingredients (LB105)
    if text := ingredient_words(product):
        yield _line("ingredients", text)
    yield _line("contains", contains_words(checked.declared), bold=True)
    if text := lean_words(product):
        yield _line("claims", text)
    if checked.origin:
        yield _line("claims", checked.origin)


def _cooking(problem: TicketProblem, checked: Checked) -> Iterator[Line]:
    if checked.least is None:
        return
    celsius = problem.weighed.unit is WeightUnit.KG
    tenderised = problem.product.tenderised != "no"
    yield _line("cook", cook_words(checked.least, celsius=celsius, tenderised=tenderised))
    for part in safe_handling_parts():
        if part.part == "heading":
            yield _line("handling_head", part.words, bold=True)
        else:
            yield _line("handling", part.words, "small")
