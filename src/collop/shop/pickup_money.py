"""What a booking comes to: as it was booked, and now that some of it was weighed ahead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy.engine import Connection

from collop.shop.model import Booking, BookingLine, Settings
from collop.shop.till import totals_of
from collop.shop.till_model import SlipTotals

__all__ = ["MoneyNow", "money_now"]


@dataclass(frozen=True, slots=True)
class MoneyNow:
    """Money of a booking before its customer comes.

    `booked` is that of the promised weights, `now` that of what was weighed ahead and of the other
    promised weights: each with tax, and less the deposit. `weighed` are the lines that were
    weighed ahead.
    """

    booked: SlipTotals
    now: SlipTotals
    weighed: tuple[BookingLine, ...]

    @property
    def differs(self) -> bool:
        """Tell whether what was weighed ahead moved the money."""
        return bool(self.weighed) and self.booked.total != self.now.total


def money_now(conn: Connection, booking: Booking, chosen: Settings, on: date) -> MoneyNow:
    """Return what a booking comes to; a freezer order not packed yet counts as it was agreed.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    booking : Booking
        Its lines that are off count for nothing.
    chosen : Settings
        Rounding, and the rules of tax and cash.
    on : date
        Day whose rates of tax count.
    """
    lines = booking.standing
    agreed = [] if booking.agreed is None else [("", booking.agreed)]
    booked = [(one.case_id, one.line_total) for one in lines]
    now = [(one.case_id, one.comes_to(chosen.rounding)) for one in lines]
    return MoneyNow(
        booked=totals_of(conn, chosen, booked + agreed, deposit=booking.deposit, on=on),
        now=totals_of(conn, chosen, now + agreed, deposit=booking.deposit, on=on),
        weighed=tuple(one for one in lines if one.ready is not None),
    )
