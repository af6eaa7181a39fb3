"""The sheets of the paper set: bench list, board, bookings by hour, cold checks, and two pads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import time

from collop.measures import Weight, WeightUnit
from collop.shop.bench_list_model import BenchLine
from collop.shop.day_model import Place, both_scales
from collop.shop.model import BookingLine, Settings
from collop.shop.papers_drawing import Column, Page, Pages, Words, draw
from collop.shop.papers_model import (
    KINDS,
    ORDERS_A_PAGE,
    PAD_PAGES,
    SALES_A_PAGE,
    PaperBooking,
    PaperDay,
    sheet_id,
)

__all__ = ["paper_pages", "papers_pdf"]

_MORE_WORK = 3
_ORDER_LINES = 5
_LONGEST_NOTE = 10


def _weight(weight: Weight, chosen: Settings) -> str:
    unit = chosen.legal_unit
    return weight.text(unit, 3 if unit is WeightUnit.KG else 2)


def _pages(on: PaperDay, kind: str, paper: str) -> Pages:
    day = f"{on.day:%a} {on.day.day} {on.day:%b %Y}"
    day = f"{on.day:%a} {on.day.day} {on.day:%b %Y}"
    return Pages(paper, KINDS[kind][1], day, lambda page: sheet_id(on.day, kind, page))


# the bench list


def _notes(on: PaperDay) -> dict[str, str]:
    """Return what each line says of its order's note: all of it once, then where it stands."""
    first: dict[tuple[str | None, str], int] = {}
    found = {}
    for line in on.bench.lines:
        if line.is_off or not line.note:
            continue
        at = first.setdefault((line.booking_id, line.note), line.number)
        found[line.id] = line.note if at == line.number else f"note: see No. {at}"
    return found


def _work(line: BenchLine, on: PaperDay, note: str) -> list[Words]:
    due = f"{line.due:%a %H:%M}" if not line.kind.is_planned else f"{line.due:%a}"
    for_whom = f"for {line.who}, {due}" if line.who else f"for the case, {due}"
    found = [Words(line.what, size=14, bold=True), Words("; ".join(line.how)), Words(for_whom)]
    if line.pieces:
        found.append(Words(f"{len(line.pieces)} pieces"))
    careful = (_holds(line.contains, line.casing), line.clean_first, *line.cares)
    found += [Words(text, bold=True, framed=True) for text in careful]
    if line.short is not None:
        found.append(Words(f"{_weight(line.short, on.chosen)} short", bold=True))
    found.append(Words(note, most=_LONGEST_NOTE))
    return found


def _bench(on: PaperDay, paper: str) -> list[Page]:
    pages = _pages(on, "bench", paper)
    unit = on.chosen.legal_unit
    pages.table([Column("No.", 44), Column("Work", 262), Column("Weight", 84, right=True),
                 Column(f"Scale, {unit}", 82), Column("Time, by", 76)])  # fmt: skip
    notes = _notes(on)
    for line in on.bench.lines:
        if line.is_off:
            continue
        work = _work(line, on, notes.get(line.id, ""))
        pages.row([Words(str(line.number), size=20, bold=True), work,
                   Words(_weight(line.weight, on.chosen), size=14, bold=True), "", ""],
                  least=34)  # fmt: skip
    for _ in range(_MORE_WORK):
        pages.row(["", "", "", "", ""], least=34)
    pages.end_table()
    if on.bench.breaks:
        pages.gap(10)
        hangs = Column("Hangs", 84, right=True)
        pages.table([Column("Break", 70), Column("What hangs", 250), hangs, Column("Day", 50),
                     Column("Style", 94)])  # fmt: skip
        for one in on.bench.breaks:
            pages.row([Words(one.tag, bold=True), f"{one.what}, {one.days} days",
                       _weight(one.weight, on.chosen), f"{one.day:%a}", one.style])  # fmt: skip
        pages.end_table()
    return pages.pages


# the board


def _board(on: PaperDay, paper: str) -> list[Page]:
    pages = _pages(on, "board", paper)
    pages.table([Column("Cut", 50), Column(f"Prices in {on.chosen.currency}", 300),
                 *(Column(head, 100, right=True) for head in ("a pound", "a kilo"))])  # fmt: skip
    for line in on.board:
        case = on.case.get(line.case_id)
        out = " (out)" if line.is_out else ""
        name = [Words(f"{line.name}{out}", size=15, bold=True)]
        if case is not None and (case.contains or case.casing):
            name.append(Words(_holds(case.contains, case.casing), framed=True))
        pages.row([Words(line.case_id, size=15), name, Words(str(line.per_lb), size=20, bold=True),
                   Words(str(line.per_kg), size=20)], least=28)  # fmt: skip
    return pages.pages


def _holds(contains: Sequence[object], casing: str | None) -> str:
    holds = f"holds {', '.join(map(str, contains))}" if contains else ""
    return "; ".join(part for part in (holds, f"{casing} casing" if casing else "") if part)


# bookings by hour


def _bookings(on: PaperDay, paper: str) -> list[Page]:
    pages = _pages(on, "bookings", paper)
    if not on.bookings:
        pages.words(Words("Nothing is booked for this day.", size=14))
    for number, one in enumerate(on.bookings):
        if number:
            pages.gap(12)
        _booking(pages, one, on)
    return pages.pages


def _booking(pages: Pages, told: PaperBooking, on: PaperDay) -> None:
    one = told.booking
    heads = f", {one.heads} heads" if one.heads else ""
    phone = f", phone ends {one.phone_end}" if one.phone_end else ""
    pages.needs(150)
    pages.words(Words(f"{one.collect_at:%H:%M}  {one.name}", size=17, bold=True),
                Words(f"{one.id}{heads}{phone}, {one.state}"))  # fmt: skip
    for text in told.all_cares:
        pages.words(Words(text, size=14, bold=True, framed=True))
    if one.note:
        pages.words(Words(f"Note: {one.note}", most=_LONGEST_NOTE, framed=True))
    pages.table([Column("No.", 38), Column("Cut", 204), Column("Booked", 76, right=True),
                 Column(f"Scale, {on.chosen.legal_unit}", 82), Column("Price", 74, right=True),
                 Column("Money", 74, right=True)])  # fmt: skip
    for at, line in enumerate(one.standing, 1):
        pages.row([Words(str(at), bold=True), _cut(line, on), _weight(line.weight, on.chosen),
                   "" if line.ready is None else _weight(line.ready, on.chosen),
                   f"{line.unit_price.amount} /{line.unit_price.per}",
                   str(line.comes_to(on.chosen.rounding))], least=28)  # fmt: skip
    pages.end_table()
    totals = told.totals
    tax = f", of which tax {totals.tax}" if totals.tax.minor else ""
    ahead = any(line.ready is not None for line in one.standing)
    how = "with what was weighed ahead" if ahead else "as booked"
    pages.row([Words(f"Comes to {totals.total}{tax} {how}; money is for the scale's weight.",
                     bold=True),
               Words(f"Deposit {one.deposit}", bold=True), "To pay:", "Time, by:"],
              columns=[Column("", 250), Column("", 108), Column("", 96), Column("", 94)],
              least=32)  # fmt: skip


def _cut(line: BookingLine, on: PaperDay) -> list[Words]:
    case = on.case.get(line.case_id)
    found = [Words(line.name, size=13, bold=True), Words(line.style or "")]
    if line.pieces:
        found.append(Words(f"{len(line.pieces)} pieces"))
    if case is not None and (case.contains or case.casing):
        found.append(Words(_holds(case.contains, case.casing), framed=True))
    return found


# cold checks


def _cold(on: PaperDay, paper: str) -> list[Page]:
    pages = _pages(on, "cold", paper)
    if not on.places:
        pages.words(Words("No place is named yet: write it, its limit, time and degrees."))
    hours: Iterable[time] = on.rounds or (time(8), time(13), time(17, 30))
    columns = [Column("Place and limit", 160), *(Column(f"{hour:%H:%M}", 100) for hour in hours)]
    pages.table(columns)
    blank = Words("degrees:")
    for place in on.places:
        pages.row([_place(place), *([[blank, Words("time, by:")]] * (len(columns) - 1))],
                  least=48)  # fmt: skip
    for _ in range(2 if on.places else 6):
        pages.row(["", *([[blank, Words("time, by:")]] * (len(columns) - 1))], least=48)
    pages.end_table()
    pages.gap(12)
    pages.words(Words("Over the limit: read again, and write what was done and who was told.",
                      size=14, bold=True))  # fmt: skip
    for number, step in enumerate(on.steps, 1):
        pages.words(Words(f"{number}. {step}"))
    pages.gap(6)
    pages.table([Column("Place, time", 110), Column("Degrees", 70), Column("What was done", 240),
                 Column("Who was told", 110)])  # fmt: skip
    for _ in range(4):
        pages.row(["", "", "", ""], least=34)
    pages.end_table()
    return pages.pages


def _place(place: Place) -> list[Words]:
    told = both_scales(place.limit)
    # the words of the page where it is read, so that no two papers tell another limit
    held = f"held at {told}; sets how often it is cleaned"
    limit = f"at most {told}" if place.has_limit else held
    mark = " (from memory, not checked)" if place.has_limit and place.is_from_memory else ""
    return [Words(place.name, size=14, bold=True), Words(limit + mark)]


# the pads


def _orders(on: PaperDay, paper: str) -> list[Page]:
    pages = _pages(on, "orders", paper)
    for page in range(PAD_PAGES["orders"]):
        if page:
            pages.page()
        for order in range(1, ORDERS_A_PAGE + 1):
            _order(pages, on, order)
            pages.gap(14)
    return pages.pages


def _order(pages: Pages, on: PaperDay, order: int) -> None:
    money = on.chosen.currency
    pages.row([Words(f"Order {order}", size=14, bold=True), "Eaters, child:", "usual:", "big:"],
              columns=_even(150, 150, 124, 124), least=26)  # fmt: skip
    pages.row([[Words("ALLERGY, off the whole table (to what):", bold=True, framed=True)],
               Words("Don't eat (who, what):", bold=True)],
              columns=_even(274, 274), least=40)  # fmt: skip
    pages.row(["Fire (what, how big):", "When they eat:"], columns=_even(300, 248), least=26)
    pages.row([f"Money, {money}:", "Style (plate, shared, wrap, hand, stew):"],
              columns=_even(170, 378), least=26)  # fmt: skip
    heads = [Column("Cut", 238), Column(f"Weight, {on.chosen.legal_unit}", 100),
             Column("Price", 100), Column(f"Money, {money}", 110)]  # fmt: skip
    pages.row([Words(head.head, bold=True) for head in heads], columns=heads, least=18)
    for line in range(1, _ORDER_LINES + 1):
        pages.row([f"{line}.", "", "", ""], columns=heads, least=23)
    pages.row(["Collect, day and hour:", "Deposit:", "Total:"], columns=_even(290, 128, 130),
              least=25)  # fmt: skip
    pages.row(["Name:", "Phone end:", "By, time:"], columns=_even(270, 130, 148), least=25)


def _even(*shares: float) -> list[Column]:
    return [Column("", share) for share in shares]


def _sales(on: PaperDay, paper: str) -> list[Page]:
    pages = _pages(on, "sales", paper)
    columns = [Column("No.", 40), Column("Time", 56), Column("Cut, number and name", 186),
               Column(f"Net, {on.chosen.legal_unit}", 72), Column("Price", 66),
               Column("Money", 72), Column("Paid, by", 72)]  # fmt: skip
    for page in range(PAD_PAGES["sales"]):
        pages.end_table()
        if page:
            pages.page()
        pages.words(Words("Net: the tare is off. Paid: cash, card, other, account. A further cut "
                          "of the same slip: leave the time empty."))  # fmt: skip
        pages.gap(4)
        pages.table(columns)
        for row in range(1, SALES_A_PAGE + 1):
            pages.row([Words(str(row), bold=True), "", "", "", "", "", ""], least=26.5)
    return pages.pages


_SHEETS: Mapping[str, Callable[[PaperDay, str], list[Page]]] = {
    "bench": _bench, "board": _board, "bookings": _bookings, "cold": _cold, "orders": _orders,
    "sales": _sales,
}  # fmt: skip


def paper_pages(on: PaperDay, kinds: Sequence[str], paper: str) -> list[Page]:
    """Return the pages of some sheets, in the order of the set."""
    return [page for kind in KINDS if kind in kinds for page in _SHEETS[kind](on, paper)]


def papers_pdf(on: PaperDay, kinds: Sequence[str], paper: str) -> bytes:
    """Return sheets as one PDF file.

    Parameters
    ----------
    on : PaperDay
        What stands on them.
    kinds : sequence of str
        Of `KINDS`.
    paper : str
        ``letter`` or ``a4``.
    """
    told = KINDS[kinds[0]][1] if len(kinds) == 1 else "Paper set"
    title = f"{told}, {on.chosen.name}, {on.day.isoformat()}"
    return draw(paper_pages(on, kinds, paper), paper, title, (f"as of {on.at:%a %H:%M}",
                                                              on.chosen.name))  # fmt: skip
