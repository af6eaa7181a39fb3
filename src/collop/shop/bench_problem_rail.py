"""What hangs as the cutting plan reads it: kinds of piece, their styles, and the pieces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import WeightUnit, decimal_of
from collop.shop.bench_figures import SHRINK_PER_DAY
from collop.shop.bench_look import Look, amount, bin_id, plain, short_id
from collop.shop.hook import booking_id
from collop.shop.knife_model import Part, RailPiece, Style
from collop.shop.knife_tables import rail_claims
from collop.shop.own_yields import OwnShare, own_yields
from collop.shop.railing import load_rail
from collop.shop.styles import styles_for
from collop.shop.tables import bookings

__all__ = ["RailParts", "due_days", "kind_rows", "outputs_of", "rail_parts"]

_PLACES = 6
_MOST_SD = 0.5
_MOST_SHRINK = Fraction(1, 5)
_LEAST_PIECE = Decimal("0.1")
_Kinds = dict[str, tuple[str, tuple[Style, ...]]]


@dataclass(frozen=True, slots=True)
class RailParts:
    """``kinds`` and ``rail`` of the problem, the pieces that are kept, and sentences.

    `planned` is the day planned for each piece, None if none is.
    """

    kinds: list[dict[str, Any]]
    rail: list[dict[str, Any]]
    kept: tuple[str, ...]
    notes: tuple[str, ...]
    planned: Mapping[str, date | None]


def _target(look: Look, part: Part, species: str) -> tuple[str, dict[str, Any]]:
    """Return where a part goes in the plan: a key that is equal for equal places, and the place."""
    if part.case_id is not None and part.case_id in look.given:
        return f"cut:{part.case_id}", {"cut": part.case_id}
    if part.kind == "trim":
        return f"bin:{species}", {"bin": bin_id(species)}
    if part.kind == "cut":
        worth = look.block_worth(species)
    else:
        worth = Fraction(0) if part.kind == "loss" else look.worth(part.kind)
    return f"worth:{part.name}", {"worth": amount(worth), "name": part.name}


def _shares(parts: Sequence[OwnShare]) -> list[Decimal]:
    """Return shares to six places that add up to 1 exactly: the rest is the loss's.

    Without a loss that can take it, the largest part does.
    """
    found = [decimal_of(one.share, _PLACES) for one in parts]
    rest = 1 - sum(found)
    loss = next((at for at, one in enumerate(parts) if one.kind == "loss"), None)
    if loss is None or found[loss] + rest < 0:
        loss = max(range(len(found)), key=lambda at: found[at])
    found[loss] += rest
    return found


def outputs_of(look: Look, style: Style, parts: Sequence[OwnShare]) -> list[dict[str, Any]]:
    """Return what a style gives, with shares that add up to 1 exactly.

    Parameters
    ----------
    look : Look
        The shop.
    style : Style
        Its parts say where each goes.
    parts : sequence of OwnShare
        The shares of this shop, in the style's order.
    """
    places = {part.name: _target(look, part, style.species) for part in style.parts}
    rows: dict[str, dict[str, Any]] = {}
    spread: dict[str, float] = {}
    for one, share in zip(parts, _shares(parts), strict=True):
        key, target = places[one.name]
        row = rows.setdefault(key, {**target, "share": Decimal(0)})
        row["share"] += share
        spread[key] = spread.get(key, 0.0) + (one.sd or 0.0) ** 2
    return [
        {**row, "share": f"{row['share']:f}",
         **({"sd": sd} if (sd := round(min(_MOST_SD, spread[key] ** 0.5), _PLACES)) else {})}
        for key, row in rows.items() if row["share"]
    ]  # fmt: skip


def _kind_id(piece: RailPiece, styles: Sequence[Style]) -> str:
    return piece.piece if piece.piece and all(s.piece == piece.piece for s in styles) else (
        f"{piece.species}, any style"
    )  # fmt: skip


def _kinds(look: Look, pieces: Sequence[RailPiece]) -> tuple[_Kinds, dict[str, str]]:
    """Return styles by kind with the species, and the kind of each tag that a style cuts."""
    kinds: _Kinds = {}
    kind_of: dict[str, str] = {}
    for piece in pieces:
        styles = styles_for(look.styles, piece.piece, piece.species)
        if styles:
            name = _kind_id(piece, styles)
            kinds.setdefault(name, (piece.species, styles))
            kind_of[piece.tag] = name
    return kinds, kind_of


def kind_rows(conn: Connection, look: Look, kinds: _Kinds) -> list[dict[str, Any]]:
    """Return ``kinds``: each with its styles and this shop's own yields.

    A style of one kind that another kind takes too has its kind's name added to its id there.
    """
    taken: set[str] = set()
    found = []
    for kind, (species, styles) in kinds.items():
        rows = []
        for style in styles:
            own = f"{style.id} ({kind})" if style.id in taken else style.id
            rows.append({
                "id": short_id(own, taken), "name": style.name,
                "minutes": str(style.labour_minutes or 0),
                "outputs": outputs_of(look, style, own_yields(conn, style).parts),
            })  # fmt: skip
        found.append({"id": kind, "name": kind.capitalize(), "species": species, "holds_days": 0,
                      "styles": rows})  # fmt: skip
    return found


def _shrink(pieces: Sequence[RailPiece]) -> tuple[dict[str, Fraction], list[str]]:
    """Return the share of its weight each piece loses in a day, and the tags it is guessed of."""
    seen = {
        one.tag: max(Fraction(0), Fraction(one.lost.count, one.weight_in.count) / one.days)
        for one in pieces if one.days > 0 and one.lost.count > 0
    }  # fmt: skip
    found, guessed = {}, []
    for piece in pieces:
        alike = [seen[one.tag] for one in pieces
                 if one.species == piece.species and one.tag in seen]  # fmt: skip
        mean = sum(alike, Fraction(0)) / len(alike) if alike else SHRINK_PER_DAY
        found[piece.tag] = min(_MOST_SHRINK, seen.get(piece.tag, mean))
        if piece.tag not in seen:
            guessed.append(piece.tag)
    return found, guessed


def _board_worth(look: Look, piece: RailPiece, kind: Mapping[str, Any]) -> Fraction:
    """Return what a piece's first style gives at the board, less the target margin."""
    worth = Fraction(0)
    for row in kind["styles"][0]["outputs"]:
        if "cut" in row:
            price = look.price(row["cut"])
        else:
            price = look.worth("trim") if "bin" in row else Fraction(row["worth"])
        worth += Fraction(row["share"]) * price
    units = piece.weight_now.exact(WeightUnit(look.unit_name))
    return worth * units * (1 - Fraction(look.chosen.target_margin))


def _worth_left(look: Look, piece: RailPiece, kind: Mapping[str, Any]) -> str:
    """Return what a piece that still hangs at the end stands for: what such weight costs again."""
    if piece.paid is None:
        return amount(_board_worth(look, piece, kind), 2)
    share = Fraction(piece.weight_now.count, piece.weight_in.count)
    scale = 10 ** max(0, -int(piece.paid.decimal().as_tuple().exponent))
    return amount(Fraction(piece.paid.minor, scale) * share, 2)


def _claims(
    look: Look, piece: RailPiece, due: Mapping[str, date]
) -> tuple[list[dict[str, Any]], bool]:
    """Return the claims on a piece, and whether one of them is due only after the plan."""
    rows, beyond = [], False
    for one in piece.claims:
        day = look.day_of(due[one.booking_id])
        beyond = beyond or day >= len(look.days)
        text = look.text(min(one.weight.count, piece.weight_now.count))
        if Decimal(text):
            rows.append({"booking": one.booking_id, "name": plain(one.name), "weight": text,
                         "due": min(len(look.days) - 1, max(0, day))})  # fmt: skip
    return rows, beyond


def _starts(look: Look, piece: RailPiece) -> int:
    return 0 if piece.break_on is None else max(0, look.day_of(piece.break_on))


def due_days(conn: Connection) -> dict[str, date]:
    """Return the day of collection of every booking that hangs on a piece."""
    claimed = select(rail_claims.c.booking_number).distinct().scalar_subquery()
    rows = conn.execute(
        select(bookings.c.number, bookings.c.collect_at).where(bookings.c.number.in_(claimed))
    )
    return {booking_id(row.number): row.collect_at.date() for row in rows}


def rail_parts(conn: Connection, look: Look, due: Mapping[str, date]) -> RailParts:
    """Return what hangs, with what may be done with it.

    The day planned for a piece on the rail is the first on which it is broken; one planned, or
    claimed, for after the plan is kept.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    look : Look
        The shop.
    due : mapping of str to date
        Day of collection by booking, of every booking that hangs on a piece.
    """
    pieces = load_rail(conn, look.view.now, look.chosen)
    kinds, kind_of = _kinds(look, pieces)
    rows = kind_rows(conn, look, kinds)
    by_id = {row["id"]: row for row in rows}
    shrink, guessed = _shrink(pieces)
    rail, kept, notes = [], [], []
    for piece in pieces:
        weight = look.text(piece.weight_now.count)
        if piece.tag not in kind_of or Decimal(weight) < _LEAST_PIECE:
            notes.append(f"{piece.tag} hangs and no style cuts it: left out.")
            continue
        claims, beyond = _claims(look, piece, due)
        start = _starts(look, piece)
        if beyond or start >= len(look.days):
            kept.append(piece.tag)
            notes.append(f"{piece.tag} is {'claimed' if beyond else 'planned'} for after"
                         f" {look.last}: kept hanging.")  # fmt: skip
            start = 0
        rail.append({
            "tag": piece.tag, "kind": kind_of[piece.tag], "weight": weight,
            "shrink_per_day": amount(shrink[piece.tag], _PLACES), "from": start, "until": None,
            "must": False, "worth_left": _worth_left(look, piece, by_id[kind_of[piece.tag]]),
            "claims": claims,
        })  # fmt: skip
    notes += _said(guessed, rail, pieces)
    planned = {piece.tag: piece.break_on for piece in pieces}
    return RailParts(rows, rail, tuple(kept), tuple(notes), planned)


def _said(
    guessed: Sequence[str], rail: Sequence[Mapping[str, Any]], pieces: Sequence[RailPiece]
) -> list[str]:
    """Return sentences on what was taken for granted of the pieces."""
    there = {row["tag"] for row in rail}
    notes = []
    if found := [tag for tag in guessed if tag in there]:
        notes.append(f"Not weighed twice yet, so shrink is that of like pieces, or"
                     f" {float(SHRINK_PER_DAY):.1%} a day: {', '.join(found)}.")  # fmt: skip
    if found := [one.tag for one in pieces if one.tag in there and one.paid is None]:
        notes.append(f"Nobody wrote down what {', '.join(found)} cost: worth what the board gives"
                     " for it less the target margin.")  # fmt: skip
    if rail:
        notes.append("A piece that still hangs at the end counts at what such weight cost at the"
                     " door.")  # fmt: skip
    return notes
