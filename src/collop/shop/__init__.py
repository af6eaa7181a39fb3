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
from collop.shop.day_model import Arrival, DayLine, DayPage, InspectorBook, Place, Told
from collop.shop.day_room import DayRoom
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
from collop.shop.making_model import Making, MakingEvent, MakingState, Material, NewMaterial
from collop.shop.making_record import as_json as making_json
from collop.shop.making_record import as_rows as making_rows
from collop.shop.making_room import MakingRoom
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
from collop.shop.recall_export import RECALL_COLUMNS, recall_csv, recall_json
from collop.shop.recall_model import (
    AffectedLot,
    Customer,
    Drill,
    FoundTicket,
    NewDrill,
    Recall,
)
from collop.shop.recall_room import TracingRoom
from collop.shop.ticket_model import (
    NO_PACKING,
    LabelFacts,
    LineFacts,
    NewTicket,
    Scale,
    Tare,
    Ticket,
    TicketDraft,
)
from collop.shop.ticket_room import TicketRoom

__all__ = [
    "DEMO_DAYS",
    "DEMO_MONDAY",
    "DEMO_START",
    "NO_PACKING",
    "RECALL_COLUMNS",
    "AffectedLot",
    "Arrival",
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
    "Customer",
    "CuttingRoom",
    "DayLine",
    "DayPage",
    "DayRoom",
    "Delivery",
    "DemoClock",
    "DontEat",
    "Drill",
    "FireFacts",
    "FireRoom",
    "FireSheet",
    "Flow",
    "FlowLink",
    "FoundTicket",
    "InspectorBook",
    "KeptPlan",
    "LabelFacts",
    "LineFacts",
    "LotCost",
    "Making",
    "MakingEvent",
    "MakingRoom",
    "MakingState",
    "Material",
    "Move",
    "NewBooking",
    "NewCaseLine",
    "NewDelivery",
    "NewDrill",
    "NewLine",
    "NewMaterial",
    "NewPart",
    "NewPiece",
    "NewPrice",
    "NewStyle",
    "NewTicket",
    "Origin",
    "Part",
    "Person",
    "Place",
    "PriceGuard",
    "Quote",
    "QuoteLine",
    "RailPiece",
    "Recall",
    "Scale",
    "SettingChange",
    "Settings",
    "Shop",
    "Slip",
    "SlipLine",
    "State",
    "StillClock",
    "StockLine",
    "Style",
    "Tare",
    "Thickness",
    "Ticket",
    "TicketDraft",
    "TicketRoom",
    "Told",
    "Trace",
    "TracedLot",
    "TracingRoom",
    "WallClock",
    "Want",
    "WeekOfSales",
    "Weighing",
    "create_shop",
    "demo_case_friday",
    "making_json",
    "making_rows",
    "migrate_shop",
    "offers_of",
    "open_shop",
    "recall_csv",
    "recall_json",
]
