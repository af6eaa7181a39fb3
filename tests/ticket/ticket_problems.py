"""Ticket problems for the tests: one good one, and changes to it by path. All of it is made up."""

from __future__ import annotations

import copy

GOOD = {
    "schema": "collop.ticket/1",
    "ticket": "T12",
    "form": {"size": "58x60", "dpi": 203},
    "shop": {"name": "Tollebank Meats", "place": "Weir Lane, Oddwater Lock", "establishment": None},
    "product": {
        "name": "Lamb shoulder, bone in", "species": "lamb", "class": "raw whole",
        "cook_as": "whole", "item": "00101", "gtin": "90614141000015", "ingredients": None,
        "contains": [], "casing": None, "lean_pct": None, "fat_pct": None, "tenderised": "no",
        "frozen": False, "previously_frozen": False, "vacuum": False, "origin": None,
    },
    "weight": {"gross": "4.87", "tare": "0.02", "unit": "lb", "division": "0.01",
               "capacity": "30.00"},
    "price": {"amount": "8.40", "per": "lb", "currency": "USD"},
    "lot": "L-208.01",
    "packed": "2026-06-10",
    "use_by": "2026-06-13",
    "date_words": "use or freeze by",
    "codes": ["upc-a", "qr"],
    "trace": "T12",
    "rounding": "half-up",
    "weight_unit_also": True,
}  # fmt: skip


def ticket_problem(product=None, weight=None, price=None, **top):
    """Return the good problem with some keys changed."""
    found = copy.deepcopy(GOOD)
    found["product"] |= product or {}
    found["weight"] |= weight or {}
    found["price"] |= price or {}
    return found | top


def ground(**product):
    """Return keys of a product of ground beef."""
    return {"name": "Ground beef", "species": "beef", "class": "raw ground", "cook_as": "ground",
            **product}  # fmt: skip


def sausage(**product):
    """Return keys of a product of pork links."""
    return {"name": "Pork links", "species": "pork", "class": "raw sausage", "cook_as": "ground",
            "ingredients": ["pork", "salt", "sage"], **product}  # fmt: skip


def line_of(plan, role):
    """Return the texts of a role."""
    return [line["text"] for line in plan["lines"] if line["role"] == role]


def rules_of(plan, element=None):
    """Return the rule ids of an element, of all elements if none is named."""
    return [row["rule"] for row in plan["elements"] if element in (None, row["element"])]
