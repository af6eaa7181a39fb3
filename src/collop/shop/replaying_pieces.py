"""What hung on days that are over: what was cut of it, and what else could have been."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import WeightUnit
from collop.shop import bench_figures as figures
from collop.shop.bench_look import Look, amount, bin_id, plain, short_id
from collop.shop.bench_problem_rail import outputs_of
from collop.shop.breaking import last_event, load_break
from collop.shop.knife_model import Break
from collop.shop.knife_tables import breaks
from collop.shop.own_yields import own_yields
from collop.shop.railing import price_paid
from collop.shop.replaying_flows import Window
from collop.shop.stock import moment_seq, stock_sums
from collop.shop.store import AnyRow
from collop.shop.styles import styles_for
from collop.shop.tables import ledger_entries, lots

__all__ = ["Hung", "hung_pieces", "piece_rows"]

_MOST = 200
_PUT_BACK = "put back"


@dataclass(frozen=True, slots=True)
class Hung:
    """A piece: its weight each evening it hung in counts, and its break, if it was cut."""

    row: AnyRow
    nights: dict[int, int]
    broken: Break | None


def _breaks(conn: Connection, window: Window) -> dict[str, Break]:
    rows = conn.execute(
        select(breaks.c.number, breaks.c.lot_id)
        .where(breaks.c.at >= window.start, breaks.c.at < window.end)
        .order_by(breaks.c.number)
    ).all()
    found = {}
    for row in rows:
        last = last_event(conn, row.number)
        if last is None or last.what != _PUT_BACK:
            found[row.lot_id] = load_break(conn, row.number)
    return found


def _rail_nights(conn: Connection, window: Window) -> dict[str, dict[int, int]]:
    """Return what hung each evening, in counts, by tag; day -1 is the morning of the first."""
    seq = moment_seq(conn, window.start - timedelta(microseconds=1))
    sums = stock_sums(conn, upto=seq)
    nights: dict[str, dict[int, int]] = defaultdict(dict)
    there: dict[str, int] = {}
    for row in conn.execute(select(sums.c.lot_id, sums.c.total).where(sums.c.place == "rail")):
        there[row.lot_id] = nights[row.lot_id][-1] = int(row.total)
    entry = ledger_entries.c
    moved: dict[tuple[str, int], int] = defaultdict(int)
    moves = conn.execute(
        select(entry.lot_id, entry.at, entry.delta)
        .where(entry.place == "rail", entry.at >= window.start, entry.at < window.end)
    )  # fmt: skip
    for one in moves:
        moved[one.lot_id, window.at(one.at)] += int(one.delta)
    for tag in sorted({*there, *(tag for tag, _ in moved)}):
        now = there.get(tag, 0)
        for day in range(len(window.days)):
            now += moved.get((tag, day), 0)
            if now > 0:
                nights[tag][day] = now
    return nights


def hung_pieces(conn: Connection, window: Window) -> list[Hung]:
    """Return what hung on those days, and what was cut, by tag."""
    broken, nights = _breaks(conn, window), _rail_nights(conn, window)
    tags = sorted({*broken, *nights})[:_MOST]
    rows = {row.id: row for row in conn.execute(select(lots).where(lots.c.id.in_(tags)))}
    return [Hung(rows[tag], nights.get(tag, {}), broken.get(tag)) for tag in tags if tag in rows]


def _weights(look: Look, piece: Hung, window: Window) -> list[str | None]:
    """Return its weight on each day: the evening's; after its break what air would have left."""
    found: list[str | None] = []
    last: Fraction | None = None
    for day in range(len(window.days)):
        count = piece.nights.get(day)
        if piece.broken is not None and window.at(piece.broken.at) == day:
            last = Fraction(piece.broken.start.count)
        elif count is not None:
            last = Fraction(count)
        elif last is not None:
            last *= 1 - figures.SHRINK_PER_DAY
        elif -1 in piece.nights:
            last = Fraction(piece.nights[-1])
        text = None if last is None else look.text(last)
        found.append(text if text and float(text) else None)
    return found


def _kind_worth(look: Look, kind: str, species: str) -> Fraction:
    if kind == "cut":
        return look.block_worth(species)
    return Fraction(0) if kind == "loss" else look.worth(kind)


def _actual(look: Look, done: Break, window: Window, cuts: Mapping[str, Any]) -> dict[str, Any]:
    sums: dict[tuple[str, str, str], int] = defaultdict(int)
    for one in done.parts:
        is_cut = one.case_id is not None and one.case_id in cuts
        key = ("cut", one.case_id or "", "") if is_cut else ("worth", one.part, one.kind)
        sums[key] += one.weight.count
    parts = []
    for (sort, name, kind), count in sums.items():
        text = look.text(count)
        if sort == "cut":
            parts.append({"cut": name, "weight": text})
        else:
            worth = amount(_kind_worth(look, kind, done.style.species))
            parts.append({"worth": worth, "name": plain(name), "weight": text})
    return {
        "style": plain(done.style.id, 80), "name": plain(done.style.name),
        "day": window.at(done.at), "minutes": str(done.style.labour_minutes or 0), "parts": parts,
    }  # fmt: skip


def _styles(conn: Connection, look: Look, piece: Hung, cuts: Mapping[str, Any]
            ) -> list[dict[str, Any]]:  # fmt: skip
    found = []
    taken: set[str] = set()
    for style in styles_for(look.styles, piece.row.piece, piece.row.species):
        parts = []
        for row in outputs_of(look, style, own_yields(conn, style).parts):
            share = row["share"]
            if row.get("cut") in cuts:
                parts.append({"cut": row["cut"], "share": share})
            elif "bin" in row:
                parts.append({"worth": amount(look.worth("trim")), "name": bin_id(style.species),
                              "share": share})  # fmt: skip
            else:
                name = plain(row.get("name") or "by-product")
                parts.append({"worth": row.get("worth", "0"), "name": name, "share": share})
        found.append({"id": short_id(style.id, taken), "name": plain(style.name),
                      "minutes": str(style.labour_minutes or 0), "parts": parts})  # fmt: skip
    return found


def _worth_left(conn: Connection, look: Look, tag: str, weights: Sequence[str | None]) -> str:
    """Return what such weight cost at the door; nothing where nobody wrote it down."""
    weight = next((one for one in reversed(weights) if one is not None), None)
    try:
        price = price_paid(conn, tag, look.chosen)
    except NotFound:
        price = None
    if price is None or weight is None:
        return "0"
    assert price.per is WeightUnit(look.unit_name)
    return amount(Fraction(price.amount) * Fraction(weight), 2)


def piece_rows(
    conn: Connection, look: Look, window: Window, pieces: Sequence[Hung], cuts: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """Return ``pieces`` of the problem: those that were cut, or could have been.

    Parameters
    ----------
    cuts : mapping
        Lines of the problem; what goes elsewhere counts by what its kind is worth.
    """
    rows = []
    for piece in pieces:
        weights = _weights(look, piece, window)
        styles = _styles(conn, look, piece, cuts)
        if not any(weights) or not (styles or piece.broken):
            continue
        rows.append({
            "tag": plain(piece.row.id, 80), "name": plain(piece.row.what), "weights": weights,
            "worth_left": _worth_left(conn, look, piece.row.id, weights), "styles": styles,
            "actual": piece.broken and _actual(look, piece.broken, window, cuts),
        })  # fmt: skip
    return rows
