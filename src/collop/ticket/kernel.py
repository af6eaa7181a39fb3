"""From a ticket's problem to its plan: checked, priced, worded, with the rule behind each element.

Nothing is drawn here: `collop.ticket.png` and `collop.ticket.pdf` draw a plan.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from collop.rules.labelling import cited
from collop.ticket.checking import Checked, check_product
from collop.ticket.plan_amounts import Amounts, amounts_of
from collop.ticket.plan_codes import codes_of
from collop.ticket.plan_elements import elements_rows
from collop.ticket.plan_lines import lines_of
from collop.ticket.problem import PLAN_ID, TicketProblem
from collop.ticket.reading import read_problem

__all__ = ["ticket"]

_VARIABLE_MEASURE = "9"


def ticket(problem: object) -> dict[str, Any]:
    """Return the plan of a ticket.

    Parameters
    ----------
    problem : object
        Parsed JSON of the ``collop.ticket/1`` contract.

    Returns
    -------
    dict
        JSON of the ``collop.ticket.plan/1`` contract: amounts, elements with their rules, lines to
        draw, bar codes, cautions, assumptions.

    Raises
    ------
    ProblemError
        One sentence: what is missing, wrong or contradictory, and what to do. Nothing that a
        published rule asks for is ever left off in silence.
    """
    told = read_problem(problem)
    checked = check_product(told.product)
    amounts = amounts_of(told)
    form = told.form
    return {
        "schema": PLAN_ID,
        "ticket": told.ticket,
        "form": {"size": form.size, "dpi": form.dpi, "width_dots": form.width,
                 "height_dots": form.height},
        "net": f"{amounts.net:f}",
        "unit": told.weighed.unit.value,
        "net_other": f"{amounts.net_other:f}",
        "other_unit": told.weighed.other.value,
        "tare": f"{amounts.tare:f}",
        "price_per": f"{amounts.price:f}",
        "price_unit": amounts.per.value,
        "price_other": f"{amounts.price_other:f}",
        "total": str(amounts.total),
        "currency": told.price.currency,
        "rounding": told.rounding.value,
        "elements": elements_rows(told, amounts, checked),
        "lines": lines_of(told, amounts, checked),
        "codes": [
            {"kind": one.kind, "data": one.data, "text": one.text}
            for one in codes_of(told, amounts.weight, amounts.total)
        ],
        "cautions": [*amounts.cautions, *checked.cautions, *_cautions(told)],
        "assumptions": list(_assumptions(told, amounts, checked)),
    }  # fmt: skip


def _cautions(told: TicketProblem) -> Iterator[str]:
    if not told.shop.place:
        yield (
            "The packer's place is left off: that is for goods sold where they are packed "
            f"{cited('LB004')}."
        )
    if told.product.previously_frozen:
        yield "The words about earlier freezing are from memory, not checked; see 9 CFR 381.125(a)."
    if told.gtin and len(told.gtin) == 14 and not told.gtin.startswith(_VARIABLE_MEASURE):
        yield f"A trade item number of weighed goods begins with 9 {cited('BC131')}."


def _assumptions(told: TicketProblem, amounts: Amounts, checked: Checked) -> Iterator[str]:
    product, form = told.product, told.form
    yield from told.weighed.assumed
    yield (
        f"The total is the net weight times the price per {amounts.per}, rounded once, "
        f"{told.rounding.value}."
    )
    yield (
        f"{form.dpi} dots an inch are counted as they are (a print head of 8 dots a mm has 203.2); "
        f"the paper is {form.width} x {form.height} whole dots, rounded down."
    )
    if product.ingredients:
        yield "The ingredients stand in the order given; it must be by weight, the most first."
        yield "A word in the ingredients that is not known here may still be an allergen."
    elif product.product_class in ("ready to eat", "meat-free", "raw ground"):
        yield "It is taken to be of one ingredient, as none are listed."
    if checked.least is not None:
        yield f"Cooked as {checked.cook_as}: {checked.least.rule}."
    yield "Local codes come first; ask the local authority where the two differ."
