"""What animals can be ordered: those that came before, with their weight, price and haulage."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from itertools import product
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit, minor_places
from collop.shop.bench_look import Look, amount
from collop.shop.bench_problem_rail import outputs_of
from collop.shop.board import price_from
from collop.shop.knife_model import Style
from collop.shop.knife_tables import deliveries
from collop.shop.own_yields import OwnYields, own_yields
from collop.shop.sales import per_unit
from collop.shop.store import AnyRow
from collop.shop.styles import styles_for
from collop.shop.tables import lots

__all__ = ["AnimalParts", "Bought", "animal_parts", "bought_before"]

#: So many weeks back an animal counts for how many usually come.
_WEEKS = 4
_MOST = 12
_MOST_STYLES = 20
_WHOLE = {"pork": "Pig", "lamb": "Lamb", "goat": "Goat", "beef": "Beef animal"}
_HALVES = 2


@dataclass(frozen=True, slots=True)
class _Came:
    """One delivery: its pieces by name, and weight, price and haulage."""

    species: str
    pieces: tuple[str, ...]
    row: AnyRow


@dataclass(frozen=True, slots=True)
class Bought:
    """One animal that came: how it is called, from where, and when."""

    name: str
    species: str
    farm: str
    at: datetime


@dataclass(frozen=True, slots=True)
class AnimalParts:
    """``animals`` and the kinds they are cut as, and sentences."""

    animals: list[dict[str, Any]]
    kinds: list[dict[str, Any]]
    notes: tuple[str, ...]


def _came(conn: Connection) -> Iterator[_Came]:
    pieces: dict[int, list[str]] = defaultdict(list)
    named = conn.execute(
        select(lots.c.delivery_number, lots.c.piece)
        .where(lots.c.delivery_number.is_not(None), lots.c.piece.is_not(None))
        .order_by(lots.c.piece)
    )
    for row in named:
        pieces[row.delivery_number].append(row.piece)
    for row in conn.execute(select(deliveries).order_by(deliveries.c.at, deliveries.c.number)):
        if pieces[row.number]:
            yield _Came(row.species, _as_bought(row.species, pieces[row.number]), row)


def _as_bought(species: str, pieces: Sequence[str]) -> tuple[str, ...]:
    """Return pieces as they are bought: a fore and a hind quarter are one side."""
    left = Counter(pieces)
    fore, hind, side = (f"{species} {part}" for part in ("forequarter", "hindquarter", "side"))
    sides = min(left[fore], left[hind])
    left[fore] -= sides
    left[hind] -= sides
    left[side] += sides
    return tuple(sorted(left.elements()))


def _name(species: str, pieces: Sequence[str]) -> str:
    halves = (f"{species} side",) * _HALVES
    if tuple(pieces) in {halves, (f"{species} carcass",)}:
        return _WHOLE.get(species, f"{species} animal".capitalize())
    if len(pieces) == 1:
        return pieces[0].capitalize()
    counts = Counter(pieces)
    return ", ".join(f"{n} x {one}" if n > 1 else one for one, n in counts.items()).capitalize()


def _ways(look: Look, species: str, pieces: Sequence[str]) -> list[tuple[Style, ...]]:
    """Return the ways to cut all pieces: one style for each sort of piece."""
    sorts = [styles_for(look.styles, piece, species) for piece in dict.fromkeys(pieces)]
    return [] if not all(sorts) else list(product(*sorts))[:_MOST_STYLES]


def _kind(
    look: Look, name: str, came: _Came, weights: Mapping[str, Fraction],
    own: Mapping[str, OwnYields],
) -> dict[str, Any]:  # fmt: skip
    """Return an animal as one kind: pieces are cut each in its style, by their share of weight."""
    counts = Counter(came.pieces)
    rows = []
    for way in _ways(look, came.species, came.pieces):
        by_piece = dict(zip(dict.fromkeys(came.pieces), way, strict=True))
        minutes = sum((style.labour_minutes or 0) * counts[one] for one, style in by_piece.items())
        outputs = [
            (weights[one], outputs_of(look, style, own[style.id].parts))
            for one, style in by_piece.items()
        ]
        rows.append({
            "id": f"{name}: {'+'.join(style.id for style in way)}"[:80],
            "name": " and ".join(style.name for style in way)[:200],
            "minutes": str(minutes), "outputs": _joined(outputs),
        })  # fmt: skip
    return {"id": name, "name": name, "species": came.species, "holds_days": 0, "styles": rows}


def _joined(outputs: Sequence[tuple[Fraction, list[dict[str, Any]]]]) -> list[dict[str, Any]]:
    """Return the outputs of several pieces as those of one; their shares add up to 1 exactly."""
    if len(outputs) == 1:
        return outputs[0][1]
    found: dict[str, dict[str, Any]] = {}
    for part, rows in outputs:
        for row in rows:
            key = f"{row.get('cut')}:{row.get('bin')}:{row.get('name')}"
            one = found.setdefault(key, {**row, "share": Decimal(0)})
            one["share"] += Decimal(amount(Fraction(row["share"]) * part, 9))
    biggest = max(found.values(), key=lambda row: row["share"])
    biggest["share"] += 1 - sum(row["share"] for row in found.values())
    return [{**row, "share": f"{row['share']:f}"} for row in found.values() if row["share"]]


def bought_before(conn: Connection) -> tuple[Bought, ...]:
    """Return every animal that came by a delivery, oldest first."""
    return tuple(
        Bought(_name(one.species, one.pieces), one.species, one.row.farm, one.row.at)
        for one in _came(conn)
    )


def _piece_weights(conn: Connection, came: _Came) -> dict[str, Fraction]:
    """Return the share of an animal's weight that each sort of its pieces has."""
    sorts = dict.fromkeys(came.pieces)
    if len(sorts) == 1:
        return dict.fromkeys(sorts, Fraction(1))
    rows = conn.execute(
        select(lots.c.piece, lots.c.weight_in)
        .where(lots.c.delivery_number == came.row.number, lots.c.piece.is_not(None))
    ).all()  # fmt: skip
    sums: Counter[str] = Counter()
    for row in rows:
        sums[row.piece if row.piece in sorts else f"{came.species} side"] += row.weight_in
    total = sum(sums.values())
    return {one: Fraction(sums[one], total) for one in sorts}


def _usual(found: Sequence[_Came], first: date, today: date) -> int | None:
    """Return how many came a week in the last four, rounded half up."""
    since = today - timedelta(weeks=_WEEKS)
    lately = [one for one in found if one.row.at.date() > since]
    weeks = min(_WEEKS, -(-max(1, (today - first).days) // 7))
    return (2 * len(lately) + weeks) // (2 * weeks)


def _animal(look: Look, name: str, found: Sequence[_Came], first: date) -> dict[str, Any] | None:
    """Return what is ordered: mean weight, last price and haulage; None if no price is known."""
    priced = [one.row for one in found if one.row.price_amount is not None]
    if not priced:
        return None
    chosen, last = look.chosen, priced[-1]
    price = price_from(last.price_amount, last.price_per, chosen.currency)
    mean = Weight(sum(one.row.weighed for one in found) // len(found))
    weight = mean.exact(WeightUnit(look.unit_name))
    haulage = Fraction(last.haulage, 10 ** minor_places(chosen.currency))
    return {
        "id": name.casefold().replace(",", "").replace(" ", "-")[:80], "name": name, "kind": name,
        "weight": amount(weight, 1), "price_per_unit": amount(Fraction(per_unit(price, chosen))),
        "haulage": amount(haulage, 2), "least": 0, "most": _most(look, mean),
        "usual": _usual(found, first, look.view.now.date()),
    }  # fmt: skip


def _most(look: Look, mean: Weight) -> int:
    room = look.chosen.rail_carries
    return _MOST if room is None else max(1, min(_MOST, room.count // mean.count))


def animal_parts(conn: Connection, look: Look) -> AnimalParts:
    """Return what can be ordered, by what came before, with the kinds it is cut as.

    Pieces of one animal are one order; a fore and a hind quarter count as a side. Weight is the
    mean at the door, price and haulage those of the last delivery that had a price.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    look : Look
        The shop.
    """
    groups: dict[str, list[_Came]] = defaultdict(list)
    for one in _came(conn):
        groups[_name(one.species, one.pieces)].append(one)
    if not groups:
        return AnimalParts([], [], ())
    first = min(one.row.at.date() for found in groups.values() for one in found)
    own = {style.id: own_yields(conn, style) for style in look.styles}
    animals, kinds, notes = [], [], []
    for name, found in groups.items():
        row = _animal(look, name, found, first)
        if row is None:
            notes.append(f"No price is known of {name}: it cannot be ordered here.")
            continue
        last = found[-1]
        if not _ways(look, last.species, last.pieces):
            notes.append(f"No cutting style cuts {name}: it cannot be ordered here.")
            continue
        animals.append(row)
        kinds.append(_kind(look, name, last, _piece_weights(conn, last), own))
    if animals:
        notes.append("An animal weighs what such animals weighed at the door in the mean, and costs"
                     " what the last one did.")  # fmt: skip
    return AnimalParts(animals, kinds, tuple(notes))
