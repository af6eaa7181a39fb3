"""Standing orders of the demo week: they begin after its bookings, so that none of those moves."""

from __future__ import annotations

from datetime import date, time

from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.standing_model import NewStanding, StandingLine
from collop.shop.standing_rows import checked_terms, note_standing, write_terms

__all__ = ["seed_standing"]


def _lb(pounds: str) -> Weight:
    return Weight.of(pounds, WeightUnit.LB)


def _line(
    case_id: str, pounds: str, stand_in: str | None = None, cap: str | None = None
) -> StandingLine:
    return StandingLine(
        case_id, _lb(pounds), cap=None if cap is None else _lb(cap), stand_in=stand_in
    )


# the lines of H4 and H7 as they hang in the demo week; the restaurant asks 6.0 lb of hanger
# and takes 3.8 lb, all that its demo booking could have
_ORDERS = (
    NewStanding(
        name="Restaurant standing order", days=(1, 4), hour=time(11), first_day=date(2026, 6, 16),
        lines=(_line("C02", "9.0"), _line("C10", "14.0"), _line("C14", "6.0", "C13", "3.8"),
               _line("C18", "4.0"), _line("C32", "12.0")),
        by="ines", phone_end="0140", heads=40, note="Pays monthly.", on_account=True,
    ),
    NewStanding(
        name="Household, weekly box", days=(2,), hour=time(17), first_day=date(2026, 6, 24),
        lines=(_line("C04", "2.0"), _line("C17", "3.0")), by="dot", every_weeks=2,
        phone_end="0104", heads=4, note="Budget 60.",
    ),
)  # fmt: skip


def seed_standing(act: Act) -> None:
    """Write the demo's two standing orders."""
    for new in _ORDERS:
        checked_terms(act, new, first_from=act.at.date())
        note_standing(act, write_terms(act, new), "begun")
