"""Published figures, each with its source and status, and the look-ups that rest on them."""

from collop.reference.allergens import (
    ALLERGENS,
    Allergen,
    allergen_named,
    allergens_covered,
    read_allergens,
)
from collop.reference.birds import ChickenPart, chicken_parts
from collop.reference.citing import Misprint, cite, known_misprints, known_sources, listed_tables
from collop.reference.conversions import ConversionRow, conversion_rows
from collop.reference.cookyields import CookingYieldRow, cooked_weight, cooking_yield
from collop.reference.figures import Kind, Span
from collop.reference.limits import (
    CookMinimum,
    LabelRow,
    LimitRow,
    MinimumRow,
    cook_minimum,
    label_rows,
    limit_rows,
    minimum_rows,
)
from collop.reference.portions import PortionRow, portion_rows, servings
from collop.reference.sources import FROM_MEMORY, Row, Source, Status
from collop.reference.tables import Cells, Column, Table, read_sources, read_table
from collop.reference.thawing import (
    ThawHours,
    ThawRow,
    cold_water_hours,
    keeping_rows,
    thaw_hours,
)

__all__ = [
    "ALLERGENS",
    "FROM_MEMORY",
    "Allergen",
    "Cells",
    "ChickenPart",
    "Column",
    "ConversionRow",
    "CookMinimum",
    "CookingYieldRow",
    "Kind",
    "LabelRow",
    "LimitRow",
    "MinimumRow",
    "Misprint",
    "PortionRow",
    "Row",
    "Source",
    "Span",
    "Status",
    "Table",
    "ThawHours",
    "ThawRow",
    "allergen_named",
    "allergens_covered",
    "chicken_parts",
    "cite",
    "cold_water_hours",
    "conversion_rows",
    "cook_minimum",
    "cooked_weight",
    "cooking_yield",
    "keeping_rows",
    "known_misprints",
    "known_sources",
    "label_rows",
    "limit_rows",
    "listed_tables",
    "minimum_rows",
    "portion_rows",
    "read_allergens",
    "read_sources",
    "read_table",
    "servings",
    "thaw_hours",
]
