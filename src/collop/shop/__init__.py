"""The shop: case, board, quotes and bookings over one weight ledger.

Open a shop with `open_shop`, make one with `create_shop`; everything else hangs on `Shop`.
"""

from collop.shop.clock import DEMO_START, Clock, DemoClock, StillClock, WallClock
from collop.shop.demo_week import demo_case_friday
from collop.shop.front import Shop
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
    RailPiece,
    Settings,
    Slip,
    SlipLine,
    State,
)
from collop.shop.offers import offers_of
from collop.shop.opening import create_shop, open_shop

__all__ = [
    "DEMO_START",
    "BoardChange",
    "BoardValue",
    "Booking",
    "BookingEvent",
    "BookingLine",
    "CaseLine",
    "Clock",
    "DemoClock",
    "NewBooking",
    "NewLine",
    "Person",
    "Quote",
    "QuoteLine",
    "RailPiece",
    "Settings",
    "Shop",
    "Slip",
    "SlipLine",
    "State",
    "StillClock",
    "WallClock",
    "create_shop",
    "demo_case_friday",
    "migrate_shop",
    "offers_of",
    "open_shop",
]
