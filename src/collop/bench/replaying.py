"""A past day or week with another cutting plan: what would have sold, been short, been left.

See ``docs/replay.md``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from collop.bench.replaying_problem import Break, Cut, Part, Piece, ReplayProblem, Style
from collop.bench.replaying_reading import read_replay
from collop.bench.replaying_saying import assumptions, sayings
from collop.bench.replaying_walk import Walk, demand_of, walk_again, walk_of
from collop.bench.telling import decimal, weight_text
from collop.measures import Money, Rounding, minor_places, round_fraction

__all__ = ["replay"]

PLAN_ID = "collop.replay.plan/1"
_NOTHING = Fraction(0)
_STEP = 1000
Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Purse:
    """Rounds money once, by the problem's rule."""

    currency: str
    rounding: Rounding

    def minor(self, amount: Fraction) -> int:
        places: int = minor_places(self.currency)
        return round_fraction(amount * 10**places, self.rounding)

    def text(self, minor: int) -> str:
        return str(Money(minor, self.currency))


@dataclass(frozen=True, slots=True)
class _Told:
    """One way the days went: a walk for each cut, a break (or none) for each piece."""

    walks: dict[str, Walk]
    breaks: dict[str, Break | None]


def replay(problem: object) -> Json:
    """Return what a past day or week would have come to with another cutting plan.

    Parameters
    ----------
    problem : object
        The problem as JSON; see ``docs/replay.md``.

    Returns
    -------
    dict
        A ``collop.replay.plan/1``: as it was, by the demand that was seen, and by an estimate where
        a cut sold out. Without a change all three bring the same.

    Raises
    ------
    ProblemError
        If the problem cannot be read, or more of a cut went than was there.
    """
    asked = read_replay(problem)
    was = {tag: piece.actual for tag, piece in asked.pieces.items()}
    now = dict(was)
    for change in asked.changes:
        piece = asked.pieces[change.tag]
        now[change.tag] = _changed(piece, change.style, change.day)
    came, comes = _arrivals(asked, was), _arrivals(asked, now)
    walks = {key: walk_of(cut, came[key]) for key, cut in asked.cuts.items()}
    is_open = [day.is_open for day in asked.days]
    guesses = {key: demand_of(cut, walks[key], is_open) for key, cut in asked.cuts.items()}
    seen = {key: walk_again(cut, walks[key], comes[key], [one.sold for one in cut.days])
            for key, cut in asked.cuts.items()}  # fmt: skip
    guessed = {key: walk_again(cut, walks[key], comes[key], guesses[key][0])
               for key, cut in asked.cuts.items()}  # fmt: skip
    told = {"actual": _Told(walks, was), "seen": _Told(seen, now),
            "estimated": _Told(guessed, now)}  # fmt: skip
    return _plan(asked, told, guesses)


# what is cut


def _changed(piece: Piece, style: str | None, day: int | None) -> Break | None:
    """Return what would be cut of a piece; the shop's own weights where it is the style it had."""
    if style is None or day is None:
        return None
    actual, hung = piece.actual, piece.weights[day]
    assert hung is not None
    if actual is not None and style == actual.style:
        if day == actual.day:
            return actual
        then = piece.weights[actual.day]
        assert then is not None
        own = [(part, part.amount / then) for part in actual.parts]
        return replace(actual, day=day, parts=_weighed(own, hung))
    way: Style = next(one for one in piece.styles if one.id == style)
    parts = _weighed([(part, part.amount) for part in way.parts], hung)
    return Break(way.id, way.name, day, way.minutes, parts)


def _weighed(shares: Iterable[tuple[Part, Fraction]], hung: Fraction) -> tuple[Part, ...]:
    """Return parts of a weight, each cut off to the thousandth; the rest is loss."""
    found = []
    for part, share in shares:
        steps = hung * share * _STEP
        found.append(replace(part, amount=Fraction(steps.numerator // steps.denominator, _STEP)))
    return tuple(found)


def _arrivals(
    asked: ReplayProblem, breaks: Mapping[str, Break | None]
) -> dict[str, list[Fraction]]:
    found = {key: [_NOTHING] * len(asked.days) for key in asked.cuts}
    for done in filter(None, breaks.values()):
        for part in done.parts:
            if part.cut:
                found[part.cut][done.day] += part.amount
    return found


# money


def _cut_money(cut: Cut, walk: Walk, purse: _Purse) -> dict[str, int]:
    """Return takings by day rounded once each: at the mean price of that day, else the board's."""
    sales = booked = 0
    for day, one in enumerate(cut.days):
        price = one.money / one.sold if one.sold else cut.price
        promised = one.booked_money / one.booked if one.booked else cut.price
        sales += purse.minor(walk.sold[day] * price)
        booked += purse.minor(walk.booked[day] * promised)
    return {"sales": sales, "bookings": booked, "left": purse.minor(walk.sound * cut.left_worth)}


def _piece_money(piece: Piece, done: Break | None, per_hour: Fraction, purse: _Purse
                 ) -> dict[str, int]:  # fmt: skip
    if done is None:
        return {"by_products": 0, "kept": purse.minor(piece.worth_left), "labour": 0}
    products = sum(purse.minor(part.amount * part.worth) for part in done.parts if not part.cut)
    labour = -purse.minor(done.minutes * per_hour / 60)
    return {"by_products": products, "kept": 0, "labour": labour}


def _sum(walk: Walk, name: str) -> Fraction:
    return sum(getattr(walk, name), _NOTHING)


def _figures(
    asked: ReplayProblem,
    told: _Told,
    purse: _Purse,
    demands: Mapping[str, Mapping[str, Sequence[Fraction]]],
) -> Json:
    """Return the sums of one way: money, weights, minutes."""
    money = dict.fromkeys(("sales", "bookings", "by_products", "left", "kept", "labour"), 0)
    for key, cut in asked.cuts.items():
        for name, minor in _cut_money(cut, told.walks[key], purse).items():
            money[name] += minor
    for tag, piece in asked.pieces.items():
        for name, minor in _piece_money(piece, told.breaks[tag], asked.per_hour, purse).items():
            money[name] += minor
    walks = told.walks
    weights = {
        "sold": sum((_sum(one, "sold") for one in walks.values()), _NOTHING),
        "booked": sum((_sum(one, "booked") for one in walks.values()), _NOTHING),
        "binned": sum((_sum(one, "binned") for one in walks.values()), _NOTHING),
        "left": sum((one.left[-1] for one in walks.values()), _NOTHING),
        **{name: sum((_short(cut, walks[key], demand[key]) for key, cut in asked.cuts.items()),
                     _NOTHING)
           for name, demand in demands.items()},
    }  # fmt: skip
    minutes = sum((done.minutes for done in told.breaks.values() if done is not None), _NOTHING)
    return {
        "contribution": purse.text(sum(money.values())),
        "money": {name: purse.text(minor) for name, minor in money.items()},
        "minutes": decimal(minutes, 6),
        **{name: weight_text(one) for name, one in weights.items()},
    }


def _short(cut: Cut, walk: Walk, demand: Sequence[Fraction]) -> Fraction:
    both = zip(demand, walk.sold, strict=True)
    glass = sum((max(_NOTHING, asked - sold) for asked, sold in both), _NOTHING)
    pairs = zip(cut.days, walk.booked, strict=True)
    promised = sum((one.booked + one.booked_short - went for one, went in pairs), _NOTHING)
    return glass + promised


# the plan


def _plan(asked: ReplayProblem, told: Mapping[str, _Told],
          guesses: Mapping[str, tuple[list[Fraction], list[bool]]]) -> Json:  # fmt: skip
    purse = _Purse(asked.currency, asked.rounding)
    seen = {key: [one.sold for one in cut.days] for key, cut in asked.cuts.items()}
    guessed = {key: found[0] for key, found in guesses.items()}
    demands = {"short": seen, "short_estimated": guessed}
    figures = {name: _figures(asked, one, purse, demands) for name, one in told.items()}
    lines = {
        name: _lines(asked, told["actual"], told[name], purse) for name in ("seen", "estimated")
    }
    plan = {
        "schema": PLAN_ID,
        "name": asked.name,
        "currency": asked.currency,
        "rounding": asked.rounding.value,
        "unit": asked.unit,
        "days": [day.date.isoformat() for day in asked.days],
        "is_same": told["actual"].breaks == told["seen"].breaks,
        **figures,
        "more": {name: purse.text(sum(one["_minor"] for one in rows))
                 for name, rows in lines.items()},
        "lines": {name: [_public(one) for one in rows] for name, rows in lines.items()},
        "pieces": [_piece_row(piece, told["actual"].breaks[tag], told["seen"].breaks[tag])
                   for tag, piece in asked.pieces.items()],
        "cuts": [_cut_row(cut, {name: one.walks[key] for name, one in told.items()},
                          *guesses[key]) for key, cut in asked.cuts.items()],
    }  # fmt: skip
    return plan | {"say": sayings(plan), "assumptions": assumptions(plan)}


def _lines(asked: ReplayProblem, was: _Told, now: _Told, purse: _Purse) -> list[Json]:
    """Return the difference, one line for each cut and piece that moved; they add up to it."""
    found = []
    for key, cut in asked.cuts.items():
        before, after = (_cut_money(cut, one.walks[key], purse) for one in (was, now))
        found.append(_line("cut", key, cut.name, (before, after), purse))
    for tag, piece in asked.pieces.items():
        before, after = (_piece_money(piece, one.breaks[tag], asked.per_hour, purse)
                         for one in (was, now))  # fmt: skip
        found.append(_line("piece", tag, f"{tag} {piece.name}".strip(), (before, after), purse))
    return [one for one in found if one["_moved"]]


def _line(what: str, key: str, name: str, both: tuple[dict[str, int], dict[str, int]],
          purse: _Purse) -> Json:  # fmt: skip
    before, after = both
    differs = {part: after[part] - before[part] for part in before if after[part] != before[part]}
    total = sum(differs.values())
    return {"what": what, "id": key, "name": name,
            "money": {part: purse.text(minor) for part, minor in differs.items()},
            "more": purse.text(total), "_minor": total, "_moved": bool(differs)}  # fmt: skip


def _public(line: Json) -> Json:
    return {key: value for key, value in line.items() if not key.startswith("_")}


def _break_row(done: Break | None) -> Json | None:
    if done is None:
        return None
    return {
        "style": done.style, "style_name": done.name, "day": done.day,
        "minutes": decimal(done.minutes, 6),
        "parts": [{"cut": part.cut or None, "name": part.name, "weight": weight_text(part.amount)}
                  for part in done.parts],
    }  # fmt: skip


def _piece_row(piece: Piece, was: Break | None, now: Break | None) -> Json:
    return {"tag": piece.tag, "name": piece.name, "changed": was != now,
            "was": _break_row(was), "now": _break_row(now)}  # fmt: skip


def _walk_row(walk: Walk) -> Json:
    names = ("came", "booked", "sold", "binned", "other")
    return {
        **{name: weight_text(_sum(walk, name)) for name in names},
        "left": weight_text(walk.left[-1]),
        "days": [
            {name: weight_text(getattr(walk, name)[day]) for name in (*names, "left")}
            for day in range(len(walk.left))
        ],
    }


def _cut_row(cut: Cut, walks: Mapping[str, Walk], demand: Sequence[Fraction],
             guessed: Sequence[bool]) -> Json:  # fmt: skip
    seen = [one.sold for one in cut.days]
    by = {"actual": seen, "seen": seen, "estimated": demand}
    return {
        "id": cut.id, "name": cut.name,
        "demand": {"seen": [weight_text(one) for one in seen],
                   "estimated": [weight_text(one) for one in demand],
                   "guessed": list(guessed)},
        "short": {name: weight_text(_short(cut, walks[name], by[name])) for name in walks},
        **{name: _walk_row(walk) for name, walk in walks.items()},
    }  # fmt: skip
