"""What an animal is made of: cuts, cutting styles, yields, cutting tests, weight balance."""

from collop.carcass.catalogue import Cut, cut_by_id, cuts_of, find_cuts
from collop.carcass.combining import combine_yields
from collop.carcass.cuttingtest_costing import cuttingtest
from collop.carcass.expecting import Output, PlanPart, expected, starting_plan
from collop.carcass.grade import GradeStep, YieldGrade, yield_grade, yield_grade_short
from collop.carcass.misprints import published_misprints
from collop.carcass.problems import cuts_plan, styles_plan, take_home_plan, yield_grade_plan
from collop.carcass.published import (
    Closing,
    PublishedTable,
    SumCheck,
    closes,
    published_table,
    published_tables,
)
from collop.carcass.reconciling import Likely, Part, Verdict, reconcile, weigh_up
from collop.carcass.shares import PartKind, Share, Style
from collop.carcass.shrink import (
    AgedCut,
    PercentRange,
    dry_aged,
    dry_aged_cuts,
    hanging_loss,
    published_range,
)
from collop.carcass.species import (
    PIECES,
    SPECIES,
    LargeCut,
    Piece,
    large_cut_named,
    large_cuts,
    piece_named,
    species_named,
)
from collop.carcass.standing import COMMON_PRACTICE, Basis, Standing
from collop.carcass.styles import style_named, styles_of
from collop.carcass.taking_home import CUTTINGS, STAGES, Hanging, HomeStep, TakeHome, take_home

__all__ = [
    "COMMON_PRACTICE",
    "CUTTINGS",
    "PIECES",
    "SPECIES",
    "STAGES",
    "AgedCut",
    "Basis",
    "Closing",
    "Cut",
    "GradeStep",
    "Hanging",
    "HomeStep",
    "LargeCut",
    "Likely",
    "Output",
    "Part",
    "PartKind",
    "PercentRange",
    "Piece",
    "PlanPart",
    "PublishedTable",
    "Share",
    "Standing",
    "Style",
    "SumCheck",
    "TakeHome",
    "Verdict",
    "YieldGrade",
    "closes",
    "combine_yields",
    "cut_by_id",
    "cuts_of",
    "cuts_plan",
    "cuttingtest",
    "dry_aged",
    "dry_aged_cuts",
    "expected",
    "find_cuts",
    "hanging_loss",
    "large_cut_named",
    "large_cuts",
    "piece_named",
    "published_misprints",
    "published_range",
    "published_table",
    "published_tables",
    "reconcile",
    "species_named",
    "starting_plan",
    "style_named",
    "styles_of",
    "styles_plan",
    "take_home",
    "take_home_plan",
    "weigh_up",
    "yield_grade",
    "yield_grade_plan",
    "yield_grade_short",
]
