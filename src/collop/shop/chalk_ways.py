"""Other questions about what hangs: whole or cut, and what sells all of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy.engine import Connection

from collop.errors import BadValue, WrongState
from collop.measures import UnitPrice, Weight, decimal_of
from collop.shop.ageing import LOWEST, CaseView, boning_cost
from collop.shop.chalk_animals import Sheet, hanging
from collop.shop.knife_model import RailPiece, Style
from collop.shop.own_yields import OwnYields, own_yields
from collop.shop.sales import at_price, open_days, per_unit, unit_text
from collop.shop.store import AnyRow
from collop.shop.styles import load_styles, styles_for

__all__ = [
    "Cutting", "clearing_notes", "clearing_problem", "cuttings", "unsold_notes", "whole_problem",
]  # fmt: skip

#: Days until more is cut where no break of the species is planned.
_NEXT_DAYS = 7
_WORTH = "worth:"
# the kernel reads no smaller share
_LEAST = Fraction(1, 10_000)


def _text(amount: Fraction, places: int = 4) -> str:
    return f"{decimal_of(amount, places):f}"


def whole_problem(
    sheet: Sheet, chalk: Mapping[str, Any], view: CaseView, price: UnitPrice | None,
    rail: Iterable[RailPiece],
) -> dict[str, Any]:  # fmt: skip
    """Return the ``collop.whole/1`` problem of a piece, from its chalk problem.

    By-products count at the shop's worths, as the board does. What the case would go without is
    held against what is free, until the next break planned of that species, or for a week.

    Parameters
    ----------
    sheet : Sheet
        The piece.
    chalk : mapping
        Its ``collop.chalk/1`` problem; a price tried there counts here.
    view : CaseView
        The case.
    price : UnitPrice, optional
        Asked for the whole; left out, only the break-even is told.
    rail : iterable of RailPiece
        What hangs.
    """
    start = Fraction(chalk["start_weight"])
    cuts = [_whole_cut(one, start, view) for one in chalk["cuts"]]
    cuts += [
        {"id": f"{_WORTH}{one['name']}", "name": one["name"],
         "share": float(Fraction(one["weight"]) / start), "price": one["value_per_unit"],
         "shrink": 0.0}
        for one in chalk["credits"]
    ]  # fmt: skip
    amount = None if price is None else f"{per_unit(price, view.chosen):f}"
    return {
        "schema": "collop.whole/1",
        **{key: chalk[key] for key in ("name", "currency", "rounding", "unit")},
        "piece": {"name": sheet.what, "weight": chalk["start_weight"], "price": amount},
        "cuts": cuts,
        "labour_minutes": chalk["cost"]["labour_minutes"],
        "labour_per_hour": chalk["cost"]["labour_per_hour"],
        "days": _days_to_next(sheet, view, rail),
    }


def _whole_cut(one: Mapping[str, Any], start: Fraction, view: CaseView) -> dict[str, Any]:
    key = one["id"]
    line = view.lines.get(key)
    pace = None if line is None else view.pace(key)
    price = one["fixed"] or one["price"]
    return {
        "id": key,
        "name": one["name"],
        "share": float(Fraction(one["weight"]) / start),
        "price": price if price is not None else _text(Fraction(str(one["relative"]))),
        "shrink": one["shrink"],
        "case_free": None
        if line is None
        else unit_text(view.free(key), view.chosen, is_cut_off=True),
        "sells_per_day": None if pace is None else unit_text(pace, view.chosen),
    }


def _days_to_next(sheet: Sheet, view: CaseView, rail: Iterable[RailPiece]) -> float:
    """Return the open days from today to the next break: the pace of a line is that of one."""
    planned = [
        one.break_on for one in rail
        if one.break_on and one.break_on > view.today and one.species == sheet.species
        and one.tag != sheet.tag
    ]  # fmt: skip
    until = min(planned, default=view.today + timedelta(days=_NEXT_DAYS))
    return float(open_days(view.today, until, view.chosen))


@dataclass(frozen=True, slots=True)
class Cutting:
    """One way to cut what hangs of a piece: the tags, their weight, and what the style gives."""

    piece: str
    tags: tuple[str, ...]
    count: int
    style: Style
    own: OwnYields


def cuttings(conn: Connection, tags: Collection[str] | None) -> list[Cutting]:
    """Return each way to cut each kind of piece that hangs; `tags` narrows them, None takes all.

    Raises
    ------
    WrongState
        If one of `tags` does not hang.
    """
    rows = sorted(hanging(conn), key=lambda row: str(row.id))
    missing = set(tags or ()) - {row.id for row in rows}
    if missing:
        raise WrongState(f"{min(missing)[:40]} does not hang; look at the rail again.")
    styles = load_styles(conn)
    pieces: dict[tuple[str, str], list[AnyRow]] = {}
    for row in rows:
        if tags is None or row.id in tags:
            name = row.piece or f"{row.species}, {row.what}"
            pieces.setdefault((name, row.species), []).append(row)
    named = [piece for piece, _ in pieces]
    return [
        # two species may hang under one word, such as "whole": neither is the other's supply
        Cutting(piece if named.count(piece) == 1 else f"{piece}, {species}",
                tuple(row.id for row in found), sum(int(row.total) for row in found),
                style, own_yields(conn, style))
        for (piece, species), found in pieces.items()
        for style in styles_for(styles, found[0].piece, species)
    ]  # fmt: skip


def clearing_problem(view: CaseView, ways: Sequence[Cutting]) -> dict[str, Any]:
    """Return the ``collop.clearing/1`` problem of what hangs, for a week.

    By-products, and cuts without a line, are sold at the shop's worths: as much as there is, at
    that price. A line with neither sales nor a usual pace counts as trim, and any cut may be boned
    out as trim where it brings more there. No line goes under `LOWEST` of its usual price.

    Raises
    ------
    BadValue
        If no style cuts what hangs, or none of its cuts is on the board.
    """
    chosen = view.chosen
    total = sum({way.piece: way.count for way in ways}.values())
    known = {
        case_id: found
        for case_id in dict.fromkeys(
            part.case_id for way in ways for part in way.style.parts if part.case_id
        )
        if (found := _clearing_cut(view, case_id)) is not None
    }
    if not total or not known:
        raise BadValue("Nothing hangs that gives cuts with a price; look at the rail again.",
                       where="tags")  # fmt: skip
    worths = {
        kind: {"id": f"{_WORTH}{kind}", "name": kind.replace("_", " and "), "price": f"{worth:f}",
               "quantity": unit_text(total, chosen), "elasticity": 20.0, "cap": f"{worth:f}",
               "floor": f"{worth:f}"}
        for kind, worth in chosen.worths.items() if worth >= Decimal("0.0001")
    }  # fmt: skip
    activities = [one for way in ways for one in _ways_of(view, way, known, worths)]
    used = {key for one in activities for key in one["gives"]}
    return {
        "schema": "collop.clearing/1",
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
        "supply": [
            {"name": piece, "weight": unit_text(count, chosen)}
            for piece, count in {way.piece: way.count for way in ways}.items()
        ],
        "cuts": [*known.values(), *(one for one in worths.values() if one["id"] in used)],
        "activities": [one for one in activities if one["gives"]],
        "cap_factor": float(chosen.price_cap),
    }


def _clearing_cut(view: CaseView, case_id: str) -> dict[str, Any] | None:
    """Return a line with its weekly demand; None if it has no price or nothing tells its sale."""
    if case_id not in view.board or case_id not in view.lines:
        return None
    plan = view.demand(case_id)
    price = Fraction(per_unit(view.board[case_id], view.chosen))
    if plan["quantity"] is None or not Decimal(plan["quantity"]) or not price:
        return None
    elasticity = max(0.1, min(20.0, plan["elasticity"]))
    # what was seen belongs to the price it was seen at, not to the board of now
    quantity = at_price(Fraction(plan["quantity"]), elasticity, seen=Decimal(plan["price"]),
                        now=price)  # fmt: skip
    return {
        "id": case_id,
        "name": view.lines[case_id].name,
        "price": _text(price),
        "quantity": _text(max(quantity, Fraction(1, 1000)), 3),
        "elasticity": elasticity,
        "floor": _text(min(price, view.usual_price(case_id, view.board[case_id]) * LOWEST)),
        "on_hand": unit_text(view.free(case_id), view.chosen, is_cut_off=True),
    }


def _as_trim(way: Cutting, known: Mapping[str, Any], worths: Mapping[str, Any]) -> list[str]:
    """Return the cuts of a style that may go to trim instead, cheapest first."""
    lines = {part.case_id for part in way.style.parts if part.case_id in known}
    if f"{_WORTH}trim" not in {one["id"] for one in worths.values()}:
        return []
    named = [key for key in lines if key is not None]
    return sorted(named, key=lambda key: (Fraction(known[key]["price"]), key))


def _ways_of(
    view: CaseView, way: Cutting, known: Mapping[str, Any], worths: Mapping[str, Any]
) -> Iterator[dict[str, Any]]:
    """Yield a style as it is, and with its cheapest cuts one after the other boned out as trim.

    What a cut brings as trim is the least it may be sold for: mixed, these ways let any weight of
    the cheaper cuts go there.
    """
    yield _activity(view, way, known, worths, ())
    cheapest = _as_trim(way, known, worths)
    for upto in range(1, len(cheapest) + 1):
        yield _activity(view, way, known, worths, cheapest[:upto])


def _activity(
    view: CaseView, way: Cutting, known: Mapping[str, Any], worths: Mapping[str, Any],
    ground: Sequence[str],
) -> dict[str, Any]:  # fmt: skip
    lines = {part.name: part.case_id for part in way.style.parts}
    gives: dict[str, Fraction] = defaultdict(Fraction)
    boned = Fraction(0)

    def add(kind: str, share: Fraction) -> None:
        if kind in worths:
            gives[worths[kind]["id"]] += share

    for one in way.own.parts:
        key = lines[one.name]
        if key in ground and key is not None:
            lean = Fraction(view.lines[key].boneless)
            add("trim", one.share * lean)
            add("bone", one.share * (1 - lean))
            boned += one.share
        elif key in known and key is not None:
            gives[key] += one.share
        elif one.kind != "loss":
            add("trim" if one.kind == "cut" else one.kind, one.share)
    minutes = Fraction(way.style.labour_minutes or 0) * len(way.tags)
    weight = way.count / Fraction(Weight.of(1, view.chosen.legal_unit).count)
    labour = minutes * Fraction(view.chosen.labour_per_hour) / 60 / weight
    more = f" and {len(ground) - 1} more" if len(ground) > 1 else ""
    trimmed = f"; {view.lines[ground[0]].name}{more} as trim" if ground else ""
    return {
        "name": f"{way.piece}: {way.style.name} ({way.style.id}){trimmed}",
        "from": way.piece,
        "gives": {key: round(float(share), 6) for key, share in gives.items() if share > _LEAST},
        "labour_per_unit": _text(labour + boned * boning_cost(view.chosen)),
    }


def clearing_notes(problem: Mapping[str, Any], styles: Iterable[Style]) -> tuple[str, ...]:
    """Return what the shop takes for granted in the prices that clear what hangs.

    Parameters
    ----------
    problem : mapping
        The ``collop.clearing/1`` problem.
    styles : iterable of Style
        How what hangs may be cut.
    """
    known = {cut["id"]: cut for cut in problem["cuts"]}
    bare = dict.fromkeys(
        part.name for style in styles for part in style.parts
        if part.kind == "cut" and part.case_id not in known
    )  # fmt: skip
    far = (
        f"No line goes under {float(LOWEST):.0%} of its usual price: so far from it nobody knows"
        " what sells."
    )
    if not bare:
        return (far,)
    trim = known.get(f"{_WORTH}trim")
    at = "which brings nothing here"
    if trim is not None:
        at = f"at {Decimal(trim['price']):.2f} a {problem['unit']}"
    told = "; ".join(bare)
    return f"No line with a price and a usual sale, so counted as trim, {at}: {told}.", far


def unsold_notes(plan: Mapping[str, Any]) -> tuple[str, ...]:
    """Return one sentence on what a ``collop.clearing.plan/1`` leaves unsold; none if all sells."""
    left = [cut for cut in plan["cuts"] if cut["unsold"] is not None and Fraction(cut["unsold"])]
    if not left:
        return ()
    told = "; ".join(f"{cut['unsold']} {plan['unit']} of {cut['name']}" for cut in left)
    return (f"Not sold in the week at these prices: {told}.",)
