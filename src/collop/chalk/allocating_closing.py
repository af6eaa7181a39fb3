"""Whether what came out, with the loss, is what went in."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from collop.chalk.allocating_reading import ByProduct, Joint, Product
from collop.chalk.amounts import plain, units_in
from collop.errors import BadValue, Contradiction

__all__ = ["closing"]


def closing(joint: Joint) -> dict[str, Any]:
    """Return ``closes``, the gap and the tolerance of a problem that tells what went in.

    Parameters
    ----------
    joint : Joint
        The problem as read.

    Returns
    -------
    dict
        ``closes`` is None where the input is not given.

    Raises
    ------
    ProblemError
        If the weights do not close within the tolerance, saying how much is missing or too much;
        if a unit does not turn into that of the input.
    """
    went = joint.went
    if went is None:
        return {"closes": None, "gap_quantity": None, "tolerance": None, "input_unit": None}
    out, parts = went.loss, list[Product | ByProduct](joint.products)
    for one in (*parts, *joint.by_products):
        times = units_in(one.unit, went.unit)
        if times is None:
            where = f"{one.path}.unit"
            raise BadValue(
                f"{where} is {one.unit!r}, which does not turn into the {went.unit!r} that went "
                "in; give its weight, or leave out $.input.",
                where=where,
            )
        out += one.quantity * times
    gap = went.quantity - out
    if abs(gap) > went.tolerance:
        raise _does_not_close(out, gap, went.unit, went.quantity)
    return {
        "closes": True,
        "gap_quantity": plain(gap),
        "tolerance": plain(went.tolerance),
        "input_unit": went.unit,
    }


def _does_not_close(out: Fraction, gap: Fraction, unit: str, went: Fraction) -> Contradiction:
    told = (
        f"Products, by-products and loss come to {plain(out)} {unit} of the {plain(went)} {unit} "
        "that went in"
    )
    if gap > 0:
        what = (
            f"{plain(gap)} {unit} is missing, so weigh it, or give it as a by-product or as "
            "$.loss_quantity."
        )
    else:
        what = f"{plain(-gap)} {unit} is too much, so weigh the parts again."
    return Contradiction(f"{told}: {what}", where="$.input.quantity")
