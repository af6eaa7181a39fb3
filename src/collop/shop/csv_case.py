"""The case and the board as lists: new lines with a price, and new prices through the guard."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, CollopError
from collop.measures import UnitPrice, WeightUnit
from collop.shop.acts import Act
from collop.shop.board import board_at, checked_price, price_text, set_price
from collop.shop.board_guard import guards
from collop.shop.case_new import NewCaseLine, add_case_line
from collop.shop.chalk_model import NewPrice
from collop.shop.csv_model import Change, ListKind
from collop.shop.csv_reading import ListRow, decimal_in, whole_in
from collop.shop.model import Settings
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines

__all__ = ["BOARD", "CASE"]

_FEWEST_LETTERS = 3
_SOLD_BY = {"weight": False, "piece": True}
_PER = {"lb": WeightUnit.LB, "kg": WeightUnit.KG}


def _joined(parts: Sequence[object]) -> str:
    return ", ".join(str(part) for part in parts)


def _styles_text(styles: Mapping[str, object]) -> str:
    return _joined([f"{name} {score}" for name, score in styles.items()])


#: How each fact of a line is written.
_FACTS: Mapping[str, Callable[[AnyRow], str]] = {
    "name": lambda row: str(row.name),
    "species": lambda row: str(row.species),
    "form": lambda row: str(row.form),
    "sold_by": lambda row: "piece" if row.by_piece else "weight",
    "cook_as": lambda row: str(row.cook_as),
    "keeps_days": lambda row: "" if row.keeps_days is None else str(row.keeps_days),
    "contains": lambda row: _joined(row.contains),
    "casing": lambda row: row.casing or "",
    "boneless_fraction": lambda row: str(row.boneless_fraction),
    "grill_sq_in_per_lb": lambda row: str(row.grill_sq_in_per_lb),
    "minutes_low": lambda row: str(row.minutes_low),
    "minutes_high": lambda row: str(row.minutes_high),
    "method": lambda row: str(row.method),
    "styles": lambda row: _styles_text(row.styles),
    "slots": lambda row: _joined(row.slots),
}
_NUMBERS = frozenset({"boneless_fraction", "grill_sq_in_per_lb"})
_PRICE = ("price", "per", "currency")


def _price_cells(price: UnitPrice | None, chosen: Settings) -> dict[str, str]:
    if price is None:
        return {"price": "", "per": "", "currency": chosen.currency}
    return {"price": price_text(price), "per": price.per.value, "currency": chosen.currency}


def _lines(conn: Connection) -> Sequence[AnyRow]:
    return conn.execute(select(case_lines).order_by(case_lines.c.position, case_lines.c.id)).all()


def _case_out(conn: Connection, chosen: Settings, now: datetime) -> list[dict[str, object]]:
    prices = board_at(conn, now, chosen.currency)
    return [
        {"id": row.id, **{name: write(row) for name, write in _FACTS.items()},
         **_price_cells(prices.get(row.id), chosen)}
        for row in _lines(conn)
    ]  # fmt: skip


def _board_out(conn: Connection, chosen: Settings, now: datetime) -> list[dict[str, object]]:
    prices = board_at(conn, now, chosen.currency)
    return [{"id": row.id, "name": row.name, "species": row.species,
             **_price_cells(prices[row.id], chosen),
             "per_lb": prices[row.id].shown_per(WeightUnit.LB),
             "per_kg": prices[row.id].shown_per(WeightUnit.KG)}
            for row in _lines(conn) if row.id in prices]  # fmt: skip


class _Case:
    """The case within an act: looks lines up, and takes in one row after the other."""

    def __init__(self, act: Act, why: str) -> None:
        self._act, self._why = act, why
        self._by_id = {row.id: row for row in _lines(act.conn)}
        self._by_name = {row.name.casefold(): row for row in self._by_id.values()}
        self._prices = board_at(act.conn, act.at, act.settings.currency)
        self._taken: dict[str, int] = {}
        self.changes: list[Change] = []
        self.new_prices: list[tuple[ListRow, NewPrice]] = []

    def known(self, row: ListRow) -> AnyRow | None:
        """Return the line a row is of; None for a new one."""
        case_id, name = row.get("id").upper(), row.get("name")
        if case_id and case_id not in self._by_id:
            raise row.fault("id", f"there is no line {case_id[:40]!r}; a new line has no id yet, "
                                  "leave it empty")  # fmt: skip
        line = self._by_id.get(case_id) or self._by_name.get(name.casefold())
        told = line.id if line is not None else name.casefold()
        first = self._taken.setdefault(told, row.number)
        if first != row.number:
            raise row.fault("id" if case_id else "name", f"it is in row {first} already; keep one")
        return line

    def price(self, row: ListRow, line: AnyRow | None) -> UnitPrice | None:
        """Return the price of a row; None if it is empty and the line has one."""
        own = self._prices.get(line.id) if line is not None else None
        if line is not None and not row.get("price"):
            return own
        currency = self._act.settings.currency
        if row.get("currency") and row.get("currency").upper() != currency:
            raise row.fault("currency", f"the shop sells in {currency}")
        per = row.get("per").casefold() or (own.per if own else self._act.settings.legal_unit).value
        if per not in _PER:
            raise row.fault("per", f"{per[:20]!r} is no unit of a price; write lb or kg")
        price = UnitPrice.of(decimal_in(row, "price"), _PER[per], currency)
        try:
            checked_price(price, currency)
        except BadValue as error:
            raise row.fault("price", error.message) from None
        return price

    def same(self, row: ListRow, line: AnyRow) -> None:
        """Refuse a row that says something else of a line than the shop does."""
        for name, write in _FACTS.items():
            text, own = row.get(name), write(line)
            if text and not _equal(name, text, own):
                raise row.fault(name, f"the line {line.id} says {own[:60]!r} and the list "
                                      f"{text[:60]!r}; a list changes prices alone")  # fmt: skip

    def take(self, row: ListRow, *, may_add: bool) -> None:
        """Take in one row: nothing, a price, or a new line."""
        line = self.known(row)
        if line is None and not may_add:
            raise row.fault("name", "there is no such line; add it with the list of the case")
        price = self.price(row, line)
        if line is None:
            assert price is not None
            made = _add(self._act, row, price)
            self.changes.append(Change(row.number, "new line", row.get("name"),
                                       f"at {_said(price)}, {made}"))  # fmt: skip
            return
        self.same(row, line)
        own = self._prices.get(line.id)
        if price is not None and price != own:
            self.new_prices.append((row, NewPrice(line.id, price)))
            before = "without a price" if own is None else _said(own)
            self.changes.append(Change(row.number, "price", line.name,
                                       f"{before} to {_said(price)}"))  # fmt: skip

    def put(self) -> None:
        """Put the new prices up, all through the guard."""
        act = self._act
        found = guards(act.conn, [new for _, new in self.new_prices], act.settings, act.at)
        for row, new in self.new_prices:
            said = " ".join(one.say for one in found if one.case_id == new.case_id)
            if said and sum(letter.isalpha() for letter in self._why) < _FEWEST_LETTERS:
                raise row.fault("price", f"{said} Correct it, or say why in a few words")
            set_price(act, new.case_id, new.price, why=self._why.strip()[:200] or "from a list",
                      from_at=act.at)  # fmt: skip


def _equal(name: str, text: str, own: str) -> bool:
    if name in _NUMBERS:
        try:
            return Decimal(text.replace(",", ".")) == Decimal(own)
        except InvalidOperation:
            return False
    return re.sub(r"\s+", " ", text).casefold() == re.sub(r"\s+", " ", own).strip().casefold()


def _said(price: UnitPrice) -> str:
    return f"{price_text(price)} a {price.per}"


def _words(row: ListRow, column: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in re.split("[,;]", row.get(column)) if part.strip())


def _styles(row: ListRow) -> dict[str, float]:
    found = {}
    for part in _words(row, "styles"):
        match = re.fullmatch(r"([a-z]+) (0|1|[01]\.[0-9]{1,3})", part)
        if match is None or float(match[2]) > 1:
            raise row.fault("styles", f"{part[:40]!r} is no dish style with a score; write it like "
                                      "plate 0.8, stew 0.5")  # fmt: skip
        found[match[1]] = float(match[2])
    return found


def _add(act: Act, row: ListRow, price: UnitPrice) -> str:
    row.needs("name")
    sold_by = row.get("sold_by").casefold() or "weight"
    if sold_by not in _SOLD_BY:
        raise row.fault("sold_by", f"{sold_by[:20]!r} is not known; write weight or piece")
    new = NewCaseLine(
        name=row.get("name"), species=row.needs("species").casefold(), price=price,
        keeps_days=whole_in(row, "keeps_days", 0, 730), cook_as=row.needs("cook_as").casefold(),
        form=row.get("form").casefold() or "fresh", by_piece=_SOLD_BY[sold_by],
        contains=_words(row, "contains"), casing=row.get("casing") or None,
        method=row.get("method")[:120], styles=_styles(row), slots=_words(row, "slots"),
    )  # fmt: skip
    more: dict[str, Any] = {name: decimal_in(row, name) for name in sorted(_NUMBERS)
                            if row.get(name)}  # fmt: skip
    if row.get("minutes_low") or row.get("minutes_high"):
        low = whole_in(row, "minutes_low", 0, 2_000)
        more["minutes"] = (low, whole_in(row, "minutes_high", low, 2_000))
    try:
        return add_case_line(act, replace(new, **more))
    except CollopError as error:
        column = error.where if error.where in {*CASE.columns} else "name"
        raise row.fault(column, error.message) from None


def _into(*, may_add: bool) -> Callable[[Act, Sequence[ListRow], str], Sequence[Change]]:
    def into(act: Act, rows: Sequence[ListRow], why: str) -> Sequence[Change]:
        case = _Case(act, why)
        for row in rows:
            case.take(row, may_add=may_add)
        case.put()
        return case.changes

    return into


CASE = ListKind(
    name="case", title="lines of the case with their prices",
    columns=("id", "name", "species", "form", "sold_by", *_PRICE, "cook_as", "keeps_days",
             "contains", "casing", "boneless_fraction", "grill_sq_in_per_lb", "minutes_low",
             "minutes_high", "method", "styles", "slots"),
    told_only=frozenset(), out=_case_out, into=_into(may_add=True),
)  # fmt: skip
BOARD = ListKind(
    name="board", title="prices of the board",
    columns=("id", "name", "species", *_PRICE, "per_lb", "per_kg"),
    told_only=frozenset({"species", "per_lb", "per_kg"}), out=_board_out,
    into=_into(may_add=False),
)  # fmt: skip
