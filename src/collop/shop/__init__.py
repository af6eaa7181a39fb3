"""The shop: case, board, quotes and bookings over one weight ledger.

Open a shop with `open_shop`, make one with `create_shop`; everything else hangs on `Shop`.
"""

from collop.shop.bench_choices import BenchHand
from collop.shop.bench_model import KeptPlan, Want
from collop.shop.bench_room import BenchRoom
from collop.shop.case_new import NewCaseLine
from collop.shop.chalk_model import (
    BoardLine,
    ChalkAnimal,
    ChalkPart,
    LotCost,
    Move,
    NewPrice,
    PriceGuard,
    WeekOfSales,
)
from collop.shop.chalk_room import ChalkRoom
from collop.shop.clock import DEMO_MONDAY, DEMO_START, Clock, DemoClock, StillClock, WallClock
from collop.shop.cutting_room import CuttingRoom
from collop.shop.demo_week import demo_case_friday
from collop.shop.fire_model import CaseCook, DontEat, FireFacts, FireSheet, Thickness
from collop.shop.fire_room import FireRoom
from collop.shop.front import Shop
from collop.shop.knife_model import (
    Break,
    Claim,
    CountResult,
    Delivery,
    Flow,
    FlowLink,
    NewDelivery,
    NewPart,
    NewPiece,
    NewStyle,
    Origin,
    Part,
    RailPiece,
    StockLine,
    Style,
    Trace,
    TracedLot,
    Weighing,
)
from collop.shop.migrate import migrate_shop
from collop.shop.model import (
    BoardChange,
    BoardValue,
    Booking,
    BookingEvent,
    BookingLine,
    CaseLine,
    NewBooking,
    NewLine,
    Person,
    Quote,
    QuoteLine,
    SettingChange,
    Settings,
    Slip,
    SlipLine,
    State,
)
from collop.shop.offers import offers_of
from collop.shop.opening import DEMO_DAYS, create_shop, open_shop

__all__ = [
    "DEMO_DAYS",
    "DEMO_MONDAY",
    "DEMO_START",
    "BenchHand",
    "BenchRoom",
    "BoardChange",
    "BoardLine",
    "BoardValue",
    "Booking",
    "BookingEvent",
    "BookingLine",
    "Break",
    "CaseCook",
    "CaseLine",
    "ChalkAnimal",
    "ChalkPart",
    "ChalkRoom",
    "Claim",
    "Clock",
    "CountResult",
    "CuttingRoom",
    "Delivery",
    "DemoClock",
    "DontEat",
    "FireFacts",
    "FireRoom",
    "FireSheet",
    "Flow",
    "FlowLink",
    "KeptPlan",
    "LotCost",
    "Move",
    "NewBooking",
    "NewCaseLine",
    "NewDelivery",
    "NewLine",
    "NewPart",
    "NewPiece",
    "NewPrice",
    "NewStyle",
    "Origin",
    "Part",
    "Person",
    "PriceGuard",
    "Quote",
    "QuoteLine",
    "RailPiece",
    "SettingChange",
    "Settings",
    "Shop",
    "Slip",
    "SlipLine",
    "State",
    "StillClock",
    "StockLine",
    "Style",
    "Thickness",
    "Trace",
    "TracedLot",
    "WallClock",
    "Want",
    "WeekOfSales",
    "Weighing",
    "create_shop",
    "demo_case_friday",
    "migrate_shop",
    "offers_of",
    "open_shop",
]
