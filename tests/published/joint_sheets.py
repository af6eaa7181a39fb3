"""Published joint costs turned into problems, and each printed figure held against the plan."""

from __future__ import annotations

from decimal import Decimal

import jsonschema

from collop.chalk import allocate
from collop.chalk.allocating_schema import SCHEMAS
from collop.reference import joint_cost_rows

CENT = Decimal("0.01")


def key(row):
    """Return what tells one row of the table from another."""
    return (row.example_id, row.method, row.product, row.result_name)


def lines(source_id):
    """Return the rows of one source."""
    return [row for row in joint_cost_rows() if row.source.source_id == source_id]


def problem(joint_cost, method, products, **more):
    """Return a problem; `products` are mappings with texts."""
    return {"schema": "collop.allocate/1", "joint_cost": str(joint_cost), "method": method,
            "products": products, **more}  # fmt: skip


def plan_of(joint_cost, method, products, **more):
    """Return the plan of a problem, both valid by their schemas."""
    asked = problem(joint_cost, method, products, **more)
    jsonschema.validate(asked, SCHEMAS["allocate"])
    plan = allocate(asked)
    jsonschema.validate(plan, SCHEMAS["allocate.plan"])
    return plan


def found(plan, name, field):
    """Return a figure of one product of a plan."""
    (one,) = [line for line in plan["products"] if line["name"] == name]
    return Decimal(str(one[field]))


def products(example_id, method):
    """Return the products of a published example, as the table states them."""
    rows = {
        row.product: row
        for row in joint_cost_rows(example_id, method=method)
        if row.unit_price is not None
    }
    return [
        {"name": name, "quantity": str(row.quantity), "unit": row.unit,
         "price": str(row.unit_price), "separable_cost": str(row.separable_cost or 0)}
        for name, row in rows.items()
    ]  # fmt: skip


def check(row, figures):
    """Hold the figure of a plan against a row.

    A figure that the plan prints to the cent may be dealt a cent off its half-up rounding; any
    other agrees with the expected one within the rounding of the two. What is printed right is
    met; a slip is not.
    """
    figure = figures[key(row)]
    half_steps = sum(
        Decimal(1).scaleb(number.as_tuple().exponent) / 2 for number in (figure, row.expected)
    )
    money = row.result_name == "allocated_joint_cost"
    assert abs(figure - row.expected) <= (CENT if money else half_steps)
    if row.is_misprinted:
        assert abs(figure - row.printed) > CENT
    elif row.printed is not None and "rounded" not in row.note:
        places = max(0, -row.printed.as_tuple().exponent)
        assert abs(figure - row.printed) <= Decimal(1).scaleb(-places) / 2
    assert (row.printed is None) == (row.check == "computed_only")
    assert row.is_cited
