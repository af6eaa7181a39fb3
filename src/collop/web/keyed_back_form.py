"""The forms of paper keyed back, read row by row; rows nobody filled are left out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import TypeVar

from collop.errors import BadValue
from collop.measures import Money, Temperature, Weight, WeightUnit
from collop.shop import Booking, CaseLine, Told
from collop.shop.bench_list_model import BenchLine
from collop.shop.day_degrees import read_degrees
from collop.shop.day_model import Place
from collop.shop.late_model import LateBench, LateCold, LateHandOver, LateOrder, LateSale
from collop.shop.papers_model import ORDERS_A_PAGE, SALES_A_PAGE
from collop.shop.selling_model import NewSale
from collop.web.forms import Faults, Fields, read_amount, read_choice, read_name, read_phone_end
from collop.web.forms import read_time as time_in
from collop.web.knife_reading import read_weight

__all__ = ["BLOCKS", "HIGHEST_NUMBER", "ORDER_LINES", "PAID", "PaperForm"]

#: How many sheets of sales one form takes.
BLOCKS = 2
#: Lines of one order on the pad.
ORDER_LINES = 5
#: The highest number called out on the bench that a form takes.
HIGHEST_NUMBER = 999
#: How a sale may be paid.
PAID: Mapping[str, str] = {
    "cash": "cash", "card": "card", "other": "other", "account": "account", "": "not yet",
}  # fmt: skip

_T = TypeVar("_T")


@dataclass(slots=True)
class PaperForm:
    """One form of a sheet: its fields and faults, and what the shop has.

    Parameters
    ----------
    fields, faults : Fields, Faults
        As sent, and what is wrong with them.
    unit, degrees : WeightUnit, str
        Of the labels.
    currency : str
        Of deposits.
    case : sequence of CaseLine
        What cuts are called.
    """

    fields: Fields
    unit: WeightUnit
    degrees: str
    currency: str
    case: Sequence[CaseLine]
    faults: Faults = field(default_factory=Faults)

    def _take(self, name: str, read: Callable[[str], _T], fallback: _T) -> _T:
        return self.faults.take(name, lambda: read(self.fields.one(name)), fallback)

    def _time(self, name: str, label: str) -> time:
        return self._take(name, lambda text: time_in(text, f"{label}, time"), time())

    def _net(self, name: str, label: str) -> Weight:
        return self._take(name, lambda text: read_weight(text, f"{label}, net", self.unit),
                          Weight.zero(self.unit))  # fmt: skip

    def _cut(self, name: str, label: str) -> str:
        def read(text: str) -> str:
            wanted = text.strip().casefold()
            for line in self.case:
                if wanted in {line.id.casefold(), line.name.casefold()}:
                    return line.id
            raise BadValue(f"{label}, cut: there is no {text[:40]!r} on the board; write its "
                           "number, such as C11.")  # fmt: skip

        return self._take(name, read, "")

    def _paid(self, name: str, label: str) -> str:
        return self._take(name, lambda text: read_choice(text, f"{label}, paid", PAID), "")

    def sales(self, block: int) -> list[LateSale]:
        """Return the slips of one sheet of sales; a row without a time goes with the one above."""
        found: list[LateSale] = []
        for row in range(1, SALES_A_PAGE + 1):
            end, label = f"{block}-{row}", f"Row {row}"
            one = self.fields.one
            if not any(one(f"{name}-{end}") for name in ("time", "cut", "net")):
                continue
            line = NewSale(self._cut(f"cut-{end}", label), self._net(f"net-{end}", label))
            if not one(f"time-{end}") and found:
                last = found.pop()
                found.append(LateSale(row=last.row, at=last.at, lines=(*last.lines, line),
                                      paid=last.paid, name=last.name))  # fmt: skip
                continue
            found.append(LateSale(
                row=row, at=self._time(f"time-{end}", label), lines=(line,),
                paid=self._paid(f"paid-{end}", label), name=one(f"name-{end}")[:60],
            ))  # fmt: skip
        return found

    def hand_overs(self, bookings: Sequence[Booking]) -> list[LateHandOver]:
        """Return the bookings that have a time, with the weight of each of their lines."""
        found = []
        for booking in bookings:
            label = booking.id
            if not self.fields.one(f"time-{booking.id}"):
                if any(self.fields.one(f"w-{line.id}") for line in booking.standing):
                    self.faults.add(f"time-{booking.id}", f"{label}: write when it went.")
                continue
            weighed = {line.id: self._scale(f"w-{line.id}", f"{label}, {line.name}")
                       for line in booking.standing}  # fmt: skip
            found.append(LateHandOver(
                row=int(booking.id[1:]), at=self._time(f"time-{booking.id}", label),
                booking_id=booking.id, weighed=weighed,
                paid=self._paid(f"paid-{booking.id}", label),
            ))  # fmt: skip
        return found

    def _scale(self, name: str, label: str) -> Weight:
        zero = Weight.zero(self.unit)
        if self.fields.one(name) in {"0", "0.0", "0.00"}:
            return zero  # left out at the counter
        return self._take(name, lambda text: read_weight(text, f"{label}, scale", self.unit), zero)

    def cold(self, places: Sequence[Place], rounds: Sequence[time]) -> list[LateCold]:
        """Return the readings: a row for each place and hour, in the order of the sheet."""
        found, row = [], 0
        for place in places:
            for hour in rounds:
                row += 1
                if not self.fields.one(f"heat-{row}"):
                    continue
                label = f"{place.name} {hour:%H:%M}"
                found.append(LateCold(
                    row=row, place_id=place.id, at=self._time(f"time-{row}", label),
                    reading=self._heat(f"heat-{row}", label, place.kind),
                    told=Told(self.fields.one(f"action-{row}"), self.fields.one(f"told-{row}")),
                ))  # fmt: skip
        return found

    def _heat(self, name: str, label: str, kind: str) -> Temperature:
        return self._take(name, lambda text: read_degrees(text, label, self.degrees, kind),
                          Temperature(0))  # fmt: skip

    def bench(self, lines: Sequence[BenchLine]) -> list[LateBench]:
        """Return the lines of the bench list that have a weight.

        What is on the list no more was written by this form before, or is refused by its number.
        """
        found = []
        named = {line.number: f"{line.number}, {line.what}" for line in lines}
        for number in range(1, HIGHEST_NUMBER + 1):
            end, label = str(number), named.get(number, str(number))
            if self.fields.one(f"net-{end}"):
                found.append(LateBench(
                    row=number, number=number, at=self._time(f"time-{end}", label),
                    weight=self._net(f"net-{end}", label),
                    line=self.fields.one(f"line-{end}")[:60]))  # fmt: skip
        return found

    def orders(self, today: date) -> list[LateOrder]:
        """Return the orders of one page of the pad that have a name or a line."""
        found = []
        for row in range(1, ORDERS_A_PAGE + 1):
            one = self.fields.one
            lines = range(1, ORDER_LINES + 1)
            if one(f"name-{row}") or any(one(f"cut-{row}-{line}") for line in lines):
                found.append(self._order(row, today))
        return found

    def _order(self, row: int, today: date) -> LateOrder:
        one, label = self.fields.one, f"Order {row}"
        used = [f"{row}-{line}" for line in range(1, ORDER_LINES + 1)
                if one(f"cut-{row}-{line}") or one(f"net-{row}-{line}")]  # fmt: skip
        if not used:
            self.faults.add(f"cut-{row}-1", f"{label}: write its first cut and weight.")
        return LateOrder(
            row=row, at=self._time(f"time-{row}", label),
            name=self._take(f"name-{row}", lambda text: read_name(text, f"{label}, name"), ""),
            collect_at=self._collect(row, label, today),
            lines=tuple((self._cut(f"cut-{end}", label), self._net(f"net-{end}", label))
                        for end in used),
            phone_end=self._take(f"phone-{row}", read_phone_end, "") if one(f"phone-{row}") else "",
            heads=self._heads(row, label), dont_eats=one(f"dont-{row}")[:400],
            note=self._note(row), deposit=self._deposit(row, label),
        )  # fmt: skip

    def _collect(self, row: int, label: str, today: date) -> datetime:
        def read(text: str) -> date:
            try:
                return date.fromisoformat(text)
            except ValueError:
                raise BadValue(f"{label}, collect on: choose a day, written like "
                               f"{today.isoformat()}.") from None  # fmt: skip

        day = self._take(f"day-{row}", read, today)
        return datetime.combine(day, self._time(f"hour-{row}", f"{label}, collect"))

    def _heads(self, row: int, label: str) -> int | None:
        total = 0
        for who in ("child", "usual", "big"):
            name = f"{who}-{row}"
            text = self.fields.one(name)
            if text and not (text.isascii() and text.isdigit() and len(text) <= 4):
                self.faults.add(name, f"{label}, eaters: write a whole number such as 6.")
            elif text:
                total += int(text)
        return total or None

    def _note(self, row: int) -> str:
        """Return eaters, fire, meal, money and style as they stand on the pad."""
        words = {"meal": "they eat"}
        parts = [(words.get(name, name), self.fields.one(f"{name}-{row}")[:200]) for name in (
            "child", "usual", "big", "fire", "meal", "money", "style", "note")]  # fmt: skip
        return "; ".join(f"{word} {text}" for word, text in parts if text)

    def _deposit(self, row: int, label: str) -> Money | None:
        text = self.fields.one(f"deposit-{row}")
        if not text:
            return None
        amount = self._take(f"deposit-{row}",
                            lambda told: read_amount(told, f"{label}, deposit"), None)  # fmt: skip
        return None if amount is None else Money.of(amount, self.currency)
