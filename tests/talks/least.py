"""The bounds of the conversations by an independent linear program (PuLP with CBC)."""

from __future__ import annotations

import warnings
from fractions import Fraction

import pulp


def least_money(offers, pounds, *, share=1.0):
    """Return the least money for `pounds` of boneless-equivalent meat, no item over `share`.

    Continuous amounts, no whole pieces, no variety: a lower bound of any real answer.
    """
    model = pulp.LpProblem("least", pulp.LpMinimize)
    take = {}
    for offer in offers:
        if offer["species"] in {None, "none"}:
            continue
        most = float(Fraction(offer["free_lb"]) * Fraction(str(offer["boneless_fraction"])))
        take[offer["id"]] = model.add_variable(offer["id"], 0, min(most, share * pounds))
    price = {
        o["id"]: float(Fraction(o["price_per_lb"]) / Fraction(str(o["boneless_fraction"])))
        for o in offers
        if o["id"] in take
    }
    model += pulp.lpSum(price[key] * take[key] for key in take)
    model += pulp.lpSum(take.values()) >= pounds
    with warnings.catch_warnings():  # CBC still comes with this PuLP; its successor asks for more
        warnings.simplefilter("ignore", DeprecationWarning)
        model.solve(pulp.PULP_CBC_CMD(msg=False))
    return round(pulp.value(model.objective), 2)
