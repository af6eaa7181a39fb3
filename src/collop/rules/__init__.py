"""What the law and good practice ask: limits as data with their sources, checks as functions.

Nothing here is legal advice: the local code and the local authority come first. What a shop chose
is a mapping `chosen` of settings to text; a shop may be stricter than published, never laxer.
"""

from collop.rules.book import rule, rules, search
from collop.rules.book_model import Rule
from collop.rules.book_topics import TOPICS
from collop.rules.choosing import check_choice, figure, in_force, limit_of, setting, settings
from collop.rules.cooling import CoolingVerdict, cooling_deadlines, cooling_verdict
from collop.rules.dating import (
    DateMark,
    Move,
    TimeControl,
    date_mark,
    mixed_date_mark,
    rop_last_day,
    time_control,
)
from collop.rules.editions import EDITIONS, Edition, edition, edition_of, laxer_than_usual
from collop.rules.holds import Hold, retail_cook, roast_hold
from collop.rules.limits import (
    Limit,
    Reading,
    TimeAbove,
    cleaning_hours,
    cold_limit,
    freezer_limit,
    hot_limit,
    is_over,
    receiving_limit,
    time_above,
)
from collop.rules.retail_limits import (
    NormalRetail,
    RetailLimit,
    RetailLine,
    RetailSales,
    normal_retail,
    retail_limit,
    retail_verdict,
)
from collop.rules.retention import Kept, keep_until
from collop.rules.sanitising import Sanitiser, sanitiser
from collop.rules.settings_model import Setting
from collop.rules.storing import Stored, keep_by, shelf_of, storage_days, storage_order
from collop.rules.tracing import RecallClass, haccp_principles, lot_code, recall_class

__all__ = [
    "EDITIONS",
    "TOPICS",
    "CoolingVerdict",
    "DateMark",
    "Edition",
    "Hold",
    "Kept",
    "Limit",
    "Move",
    "NormalRetail",
    "Reading",
    "RecallClass",
    "RetailLimit",
    "RetailLine",
    "RetailSales",
    "Rule",
    "Sanitiser",
    "Setting",
    "Stored",
    "TimeAbove",
    "TimeControl",
    "check_choice",
    "cleaning_hours",
    "cold_limit",
    "cooling_deadlines",
    "cooling_verdict",
    "date_mark",
    "edition",
    "edition_of",
    "figure",
    "freezer_limit",
    "haccp_principles",
    "hot_limit",
    "in_force",
    "is_over",
    "keep_by",
    "keep_until",
    "laxer_than_usual",
    "limit_of",
    "lot_code",
    "mixed_date_mark",
    "normal_retail",
    "recall_class",
    "receiving_limit",
    "retail_cook",
    "retail_limit",
    "retail_verdict",
    "roast_hold",
    "rop_last_day",
    "rule",
    "rules",
    "sanitiser",
    "search",
    "setting",
    "settings",
    "shelf_of",
    "storage_days",
    "storage_order",
    "time_above",
    "time_control",
]
