"""A joint cost shared out over what came of it, in exact fractions, to the cent.

With joint cost C, quantities q, prices p, sales S = p q and separable costs K of the products:

    physical           c = C q / sum q
    sales value        c = C p q / sum p q
    net realisable     c = C (S - K) / sum (S - K)
    constant margin    c = S (1 - g) - K,   g = (sum S - C - sum K) / sum S

The cents are dealt by largest remainder, so the parts always sum to C. A by-product takes no
share: what it brings, less what it costs, is taken off C or shown as other income.

References
----------
.. [1] Joint cost allocation, insurance settlement, source id ``J01`` (seen): sales value at
   split-off, 50.00 over five parts of a bird.
.. [2] Allocating joint costs using the net realizable value method, source id ``J05`` (seen).
.. [3] Relative sales value, constant gross margin, by-products, source id ``J03`` (seen).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.chalk.allocating_closing import closing
from collop.chalk.allocating_reading import BY_PRODUCT_AS, Joint, Product, read_joint
from collop.chalk.amounts import Frame, percent, plain, to_the_cent, units_in
from collop.chalk.margins import margin_of, markup_of
from collop.errors import BadValue, Contradiction
from collop.measures import decimal_of

__all__ = ["PLAN_ID", "allocate"]

PLAN_ID = "collop.allocate.plan/1"
_SAYS = {
    "physical": "Every unit carries the same cost, cheap parts too: a loss on paper is no reason "
    "to drop a part.",
    "sales_value": "Every part sold at split-off shows the same gross margin, so it says nothing "
    "of which one to push: use it for stock value and write-offs.",
    "net_realisable": "Each price is the one after the separable cost is spent.",
    "constant_margin": "Every product is given the same gross margin on its final sales.",
}


@dataclass(frozen=True, slots=True)
class _Share:
    """A product with its share of the cost: exact [money], and dealt [minor units]."""

    product: Product
    cost: Fraction
    minor: int


def allocate(problem: object) -> dict[str, Any]:
    """Share out one joint cost given as parsed JSON; see `docs/allocate.md`.

    Parameters
    ----------
    problem : object
        The ``collop.allocate/1`` object.

    Returns
    -------
    dict
        The ``collop.allocate.plan/1`` object: money and quantities as decimal texts, shares and
        percents as numbers.

    Raises
    ------
    ProblemError
        If it cannot be read, if the weights do not close, or if there is nothing to share by.
    """
    joint = read_joint(problem)
    frame = joint.frame
    worth = [frame.minor(one.price * one.quantity - one.separable) for one in joint.by_products]
    shared = joint.cost
    if joint.by_product_as == BY_PRODUCT_AS[0]:
        shared -= Fraction(sum(worth), 10**frame.places)
    if shared < 0:
        raise Contradiction(
            f"The by-products bring {frame.of_minor(sum(worth))}, more than the joint cost of "
            f"{frame.money(joint.cost)}; check their prices, or count one as a product.",
            where="$.by_products",
        )
    shares = _shared_out(joint, shared)
    return {
        "schema": PLAN_ID,
        "name": frame.name,
        "currency": frame.currency,
        "method": joint.method,
        "joint_cost": frame.money(joint.cost),
        "by_product_as": joint.by_product_as,
        "by_product_value": frame.of_minor(sum(worth)),
        "shared_cost": frame.money(shared),
        "products": [_share_json(frame, share, shared) for share in shares],
        "sum": frame.of_minor(sum(share.minor for share in shares)),
        "by_products": list(_by_product_json(joint, worth)),
        "total": _total(joint, shares, sum(worth)),
        **closing(joint),
        "assumptions": list(_assumptions(joint, shares)),
    }


def _shared_out(joint: Joint, shared: Fraction) -> list[_Share]:
    if joint.method == "constant_margin":
        exact = _at_one_margin(joint.products, shared)
    else:
        bases = _bases(joint)
        whole = sum(bases, Fraction(0))
        if not whole:
            raise BadValue(
                "$.products bring nothing at all; give at least one a price above zero.",
                where="$.products",
            )
        exact = [shared * base / whole for base in bases]
    ties = [_tie(one, cost) for one, cost in zip(joint.products, exact, strict=True)]
    minors = to_the_cent([cost * 10**joint.frame.places for cost in exact], ties)
    return [_Share(*found) for found in zip(joint.products, exact, minors, strict=True)]


def _tie(one: Product, cost: Fraction) -> tuple[object, ...]:
    """Return all that a line shows: lines alike in all of it may take the odd cent in any order."""
    return (-cost, one.name, one.quantity, one.unit, one.separable,
            one.price is None, one.price or 0, one.further is None)  # fmt: skip


def _bases(joint: Joint) -> list[Fraction]:
    if joint.method == "physical":
        return _physical(joint.products)
    sales = [one.sales or Fraction(0) for one in joint.products]
    if joint.method == "sales_value":
        return sales
    left = [sale - one.separable for sale, one in zip(sales, joint.products, strict=True)]
    for one, value in zip(joint.products, left, strict=True):
        if value < 0:
            raise Contradiction(
                f"{one.path} costs {joint.frame.money(-value)} more to finish than it brings; sell "
                "it as it is, or count it as a by-product.",
                where=f"{one.path}.separable_cost",
            )
    return left


def _physical(products: tuple[Product, ...]) -> list[Fraction]:
    unit = products[0].unit
    found = []
    for one in products:
        times = units_in(one.unit, unit)
        if times is None:
            where = f"{one.path}.unit"
            raise BadValue(
                f"{where} is {one.unit!r}, which does not turn into the {unit!r} of the first "
                "product; give both in one unit, or use another method.",
                where=where,
            )
        found.append(one.quantity * times)
    return found


def _at_one_margin(products: tuple[Product, ...], shared: Fraction) -> list[Fraction]:
    sales = [one.sales or Fraction(0) for one in products]
    whole = sum(sales, Fraction(0))
    if not whole:
        raise BadValue(
            "$.products bring nothing at all; give at least one a price above zero.",
            where="$.products",
        )
    cost_share = (shared + sum((one.separable for one in products), Fraction(0))) / whole
    return [sale * cost_share - one.separable for sale, one in zip(sales, products, strict=True)]


def _share_json(frame: Frame, share: _Share, shared: Fraction) -> dict[str, Any]:
    one, sales = share.product, share.product.sales
    full = share.cost + one.separable
    found: dict[str, Any] = {
        "name": one.name,
        "quantity": plain(one.quantity),
        "unit": one.unit,
        "share": float(decimal_of(share.cost / shared, 6)) if shared else None,
        "allocated": frame.of_minor(share.minor),
        "cost_per_unit": frame.unit_money(share.cost / one.quantity),
        "separable_cost": frame.money(one.separable),
        "full_cost_per_unit": frame.unit_money(full / one.quantity),
        "sales_value": None if sales is None else frame.money(sales),
        "profit": None if sales is None else frame.of_minor(_profit(frame, share, sales)),
        "gross_margin_pct": None if sales is None else percent(margin_of(sales, full)),
        "markup_pct": None if sales is None else percent(markup_of(sales, full)),
    }
    if one.further is not None:
        found["further"] = _further_json(frame, one)
    return found


def _profit(frame: Frame, share: _Share, sales: Fraction) -> int:
    """Return the profit in minor units, of the amounts as printed."""
    return frame.minor(sales) - share.minor - frame.minor(share.product.separable)


def _further_json(frame: Frame, one: Product) -> dict[str, Any]:
    """Return what working on a product brings; the joint cost is spent either way."""
    assert one.further is not None
    more = one.further
    sales = more.price * more.quantity
    gain = sales - more.cost - (one.sales or Fraction(0))
    verb = "brings" if gain >= 0 else "loses"
    return {
        "quantity": plain(more.quantity),
        "unit": more.unit,
        "sales_value": frame.money(sales),
        "cost": frame.money(more.cost),
        "gain": frame.money(gain),
        "worth_it": gain > 0,
        "say": f"{one.name} worked further {verb} {frame.money(abs(gain))} against selling it as "
        "it is; the joint cost is spent either way.",
    }


def _by_product_json(joint: Joint, worth: list[int]) -> Iterator[dict[str, Any]]:
    for one, minor in zip(joint.by_products, worth, strict=True):
        yield {
            "name": one.name,
            "quantity": plain(one.quantity),
            "unit": one.unit,
            "sales_value": joint.frame.money(one.price * one.quantity),
            "separable_cost": joint.frame.money(one.separable),
            "value": joint.frame.of_minor(minor),
        }


def _total(joint: Joint, shares: list[_Share], worth: int) -> dict[str, Any] | None:
    """Return the account if all is sold, from the rounded lines; None without every price."""
    frame, sales, cost = joint.frame, 0, 0
    for share in shares:
        if share.product.sales is None:
            return None
        sales += frame.minor(share.product.sales)
        cost += share.minor + frame.minor(share.product.separable)
    income = 0 if joint.by_product_as == BY_PRODUCT_AS[0] else worth
    margin = sales - cost + income
    return {
        "sales_value": frame.of_minor(sales),
        "cost_of_goods_sold": frame.of_minor(cost),
        "other_income": frame.of_minor(income),
        "gross_margin": frame.of_minor(margin),
        "gross_margin_pct": percent(Fraction(margin, sales) if sales else None),
    }


def _assumptions(joint: Joint, shares: list[_Share]) -> Iterator[str]:
    yield _SAYS[joint.method]
    if joint.method == "sales_value" and any(one.separable for one in joint.products):
        yield (
            "The prices are those at split-off, so the separable costs are not part of what is "
            "shared by; they count in the margin."
        )
    below = [share.product.name for share in shares if share.cost < 0]
    if below:
        yield (
            f"{', '.join(below)}: the cost is below zero, because the separable cost is more than "
            "the common margin allows; the other products carry it."
        )
    if joint.by_products and joint.by_product_as == BY_PRODUCT_AS[0]:
        yield "What the by-products bring, less their own cost, is taken off the joint cost."
    elif joint.by_products:
        yield "What the by-products bring, less their own cost, is shown as other income."
    if joint.went is None:
        yield "What went in is not given, so nothing tells whether the weights close."
