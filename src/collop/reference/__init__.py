"""Published figures, each with its source and status, and the look-ups that rest on them."""

from collop.reference.allergens import (
    ALLERGENS,
    Allergen,
    allergen_named,
    allergens_covered,
    read_allergens,
)
from collop.reference.birds import ChickenPart, chicken_parts
from collop.reference.carcassrules import RuleRow, carcass_rules
from collop.reference.carcassyields import YieldRow, yield_rows
from collop.reference.citing import Misprint, cite, known_misprints, known_sources, listed_tables
from collop.reference.cleaning import (
    CleaningInterval,
    cleaning_interval,
    cleaning_row,
    cleaning_rows,
)
from collop.reference.composition import CompositionRow, composition_rows
from collop.reference.conductionchecks import ConductionCheckRow, conduction_check_rows
from collop.reference.conversions import ConversionRow, conversion_rows
from collop.reference.cookyields import CookingYieldRow, cooked_weight, cooking_yield
from collop.reference.cuts import CutRow, cut_rows, field_sources
from collop.reference.cutstyles import CutStyleRow, cut_style_rows
from collop.reference.cuttingtests import CuttingTestRow, cutting_test_rows
from collop.reference.elasticities import ElasticityRow, elasticity_rows
from collop.reference.figures import Kind, Span
from collop.reference.grilltimes import (
    CarryOverRow,
    GrillTimeRow,
    carry_over_rows,
    grill_time_rows,
)
from collop.reference.jointcosts import JointCostRow, joint_cost_rows
from collop.reference.lethality import LethalityRow, lethality_rows
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
from collop.reference.marketprices import (
    CutoutWeightRow,
    PriceRatioRow,
    PriceRow,
    cutout_weight_rows,
    price_ratio_rows,
    price_rows,
)
from collop.reference.newsvendors import NewsvendorRow, newsvendor_rows
from collop.reference.portions import PortionRow, portion_rows, servings
from collop.reference.rulebook import (
    RULE_TABLES,
    HandlingPart,
    PublishedRule,
    rule_row,
    rule_rows,
    safe_handling_parts,
)
from collop.reference.seasons import SeasonRow, season_rows
from collop.reference.shrinking import ShrinkRow, shrink_rows, water_loss_pct
from collop.reference.sources import FROM_MEMORY, Row, Source, Status
from collop.reference.tables import Cells, Column, Table, read_sources, read_table
from collop.reference.thawing import (
    ThawHours,
    ThawRow,
    cold_water_hours,
    keeping_rows,
    thaw_hours,
)
from collop.reference.thermalproperties import ThermalRow, thermal_rows
from collop.reference.waterbaths import WaterBathRow, water_bath_rows

__all__ = [
    "ALLERGENS",
    "FROM_MEMORY",
    "RULE_TABLES",
    "Allergen",
    "CarryOverRow",
    "Cells",
    "ChickenPart",
    "CleaningInterval",
    "Column",
    "CompositionRow",
    "ConductionCheckRow",
    "ConversionRow",
    "CookMinimum",
    "CookingYieldRow",
    "CutRow",
    "CutStyleRow",
    "CutoutWeightRow",
    "CuttingTestRow",
    "ElasticityRow",
    "GrillTimeRow",
    "HandlingPart",
    "JointCostRow",
    "Kind",
    "LabelRow",
    "LethalityRow",
    "LimitRow",
    "MinimumRow",
    "Misprint",
    "NewsvendorRow",
    "PortionRow",
    "PriceRatioRow",
    "PriceRow",
    "PublishedRule",
    "Row",
    "RuleRow",
    "SeasonRow",
    "ShrinkRow",
    "Source",
    "Span",
    "Status",
    "Table",
    "ThawHours",
    "ThawRow",
    "ThermalRow",
    "WaterBathRow",
    "YieldRow",
    "allergen_named",
    "allergens_covered",
    "carcass_rules",
    "carry_over_rows",
    "chicken_parts",
    "cite",
    "cleaning_interval",
    "cleaning_row",
    "cleaning_rows",
    "cold_water_hours",
    "composition_rows",
    "conduction_check_rows",
    "conversion_rows",
    "cook_minimum",
    "cooked_weight",
    "cooking_yield",
    "cut_rows",
    "cut_style_rows",
    "cutout_weight_rows",
    "cutting_test_rows",
    "elasticity_rows",
    "field_sources",
    "grill_time_rows",
    "joint_cost_rows",
    "keeping_rows",
    "known_misprints",
    "known_sources",
    "label_rows",
    "lethality_rows",
    "limit_rows",
    "listed_tables",
    "minimum_rows",
    "newsvendor_rows",
    "portion_rows",
    "price_ratio_rows",
    "price_rows",
    "read_allergens",
    "read_sources",
    "read_table",
    "rule_row",
    "rule_rows",
    "safe_handling_parts",
    "season_rows",
    "servings",
    "shrink_rows",
    "thaw_hours",
    "thermal_rows",
    "water_bath_rows",
    "water_loss_pct",
    "yield_rows",
]
