"""Other questions about a piece or a line: whole or cut, what sells it all, how much to put out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.errors import BadValue, WrongState
from collop.measures import UnitPrice, Weight, decimal_of
from collop.shop.ageing import CaseView, boning_cost, convert_of
from collop.shop.chalk_animals import Sheet
from collop.shop.knife_model import RailPiece, Style
from collop.shop.own_yields import OwnYields
from collop.shop.sales import per_unit, unit_text

__all__ = ["SPREAD", "Cutting", "clearing_problem", "putout_problem", "whole_problem"]

#: Spread of a day's sale over its mean where too few days were seen: a starting figure of ours
#: (common practice, no published source).
SPREAD = Fraction(35, 100)
#: So many open days of sales are enough to take them as they were.
_ENOUGH_DAYS = 10
_MOST_SEEN = 400
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
        "days": _days_to_next(sheet, view.today, rail),
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


def _days_to_next(sheet: Sheet, today: date, rail: Iterable[RailPiece]) -> float:
    planned = [
        one.break_on for one in rail
        if one.break_on and one.break_on > today and one.species == sheet.species
        and one.tag != sheet.tag
    ]  # fmt: skip
    return float((min(planned) - today).days if planned else _NEXT_DAYS)


def _seen(view: CaseView, case_id: str) -> list[int]:
    """Return what sold on each open day before this one, in counts; days without a sale too."""
    sold = {one.day: one.count for one in view.sold.get(case_id, ()) if one.day < view.today}
    if not sold:
        return []
    first = min(sold)
    days = (first + timedelta(days=n) for n in range((view.today - first).days))
    return [sold.get(day, 0) for day in days if day in sold or view.chosen.is_open(day)]


def putout_problem(view: CaseView, case_id: str, cost: UnitPrice | None) -> dict[str, Any]:
    """Return the ``collop.putout/1`` problem of a line, for one day.

    Ten open days of sales are taken as they were; with fewer, a day's sale is spread around the
    usual pace. Where nobody knows what it cost, the cost is the price less the margin wanted. What
    is left brings what it is worth as mince, if it can be ground.

    Raises
    ------
    WrongState
        If it has no price, or nothing tells what it sells.
    """
    chosen, line = view.chosen, view.lines[case_id]
    if case_id not in view.board:
        raise WrongState(f"{line.name} has no price; put it on the board first.")
    pace, seen = view.pace(case_id), _seen(view, case_id)
    if not pace:
        raise WrongState(f"Nothing tells what {line.name} sells a day; sell some first.")
    price = Fraction(per_unit(view.board[case_id], chosen))
    paid = price * (1 - Fraction(chosen.target_margin)) if cost is None else (
        Fraction(per_unit(cost, chosen))
    )  # fmt: skip
    salvage = _salvage(view, case_id)
    _checked_money(line.name, price, paid, salvage)
    demand: dict[str, Any] = {
        "kind": "normal", "mean": unit_text(pace, chosen), "sd": unit_text(pace * SPREAD, chosen),
    }  # fmt: skip
    if len(seen) >= _ENOUGH_DAYS:
        last = seen[-_MOST_SEEN:]
        demand = {"kind": "counts", "seen": [unit_text(count, chosen) for count in last]}
    return {
        "schema": "collop.putout/1",
        "name": line.name,
        "currency": chosen.currency,
        "rounding": chosen.rounding.value,
        "unit": chosen.legal_unit.value,
        "price": _text(price),
        "cost": _text(paid),
        "salvage": _text(salvage),
        "demand": demand,
        "step": "0.1",
    }


def _checked_money(name: str, price: Fraction, paid: Fraction, salvage: Fraction) -> None:
    if price <= paid:
        raise WrongState(
            f"{name} is on the board at {_text(price, 2)} and costs {_text(paid, 2)}: put none out,"
            " or ask more."
        )
    if paid <= salvage:
        raise WrongState(
            f"{name} costs {_text(paid, 2)} and what is left brings {_text(salvage, 2)} as mince:"
            " nothing is lost by putting all of it out."
        )


def _salvage(view: CaseView, case_id: str) -> Fraction:
    """Return what a unit brings as mince after labour; zero if it cannot be ground."""
    found = convert_of(view, view.lines[case_id], 1, 1.0, is_bounded=False)
    if found is None:
        return Fraction(0)
    worth = Fraction(found["price"]) * Fraction(str(found["yield"]))
    return max(Fraction(0), worth - Fraction(found["labour_per_unit"]))


@dataclass(frozen=True, slots=True)
class Cutting:
    """One way to cut what hangs of a piece: the tags, their weight, and what the style gives."""

    piece: str
    tags: tuple[str, ...]
    count: int
    style: Style
    own: OwnYields


def clearing_problem(view: CaseView, ways: Sequence[Cutting]) -> dict[str, Any]:
    """Return the ``collop.clearing/1`` problem of what hangs, for a week.

    By-products, and cuts without a line, are sold at the shop's worths: as much as there is, at
    that price. A line with neither sales nor a usual pace counts as trim, and any cut may be boned
    out as trim where it brings more there.

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
    return {
        "id": case_id,
        "name": view.lines[case_id].name,
        "price": _text(price),
        "quantity": plan["quantity"],
        "elasticity": max(0.1, min(20.0, plan["elasticity"])),
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
