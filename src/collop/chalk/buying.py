"""Offers of suppliers on one basis: live, hanging and boxed, as money for a pound to sell.

A box gives its own cuts only, a carcass all of them, so a pound of one is not a pound of the
other. Where the board prices are known, offers are ranked by cost over board value, and each
basket of a box is priced from the carcass too: the carcass's cost falls on the cuts in the
proportion of their board values, as joint cost is shared (`collop.chalk.allocating`).

The break-even of a box is the mean price for a bought pound at which both are level:

    under = (level cost of the basket - haulage - own labour + credits) / weight bought
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.chalk.amounts import UnitFrame, plain, rounded
from collop.chalk.buying_costing import ENDS, Costed, cost_offer
from collop.chalk.buying_reading import Buying, read_buying
from collop.errors import BadValue

__all__ = ["PLAN_ID", "buying"]

PLAN_ID = "collop.buying.plan/1"
_PLACES, _SHARE_PLACES = 3, 4
_BY = {True: "cost over board value", False: "cost for a unit to sell"}


@dataclass(frozen=True, slots=True)
class _Compared:
    """All offers, cheapest first, by one measure."""

    asked: Buying
    offers: tuple[Costed, ...]
    by_worth: bool

    def measure(self, one: Costed) -> tuple[Fraction, Fraction, Fraction]:
        """Return the usual, low and high figure that offers are ranked by."""
        shares = one.shares
        return shares if self.by_worth and shares is not None else one.per_unit

    @property
    def carcass(self) -> Costed | None:
        """Return the cheapest live or hanging offer."""
        return next((one for one in self.offers if one.offer.carcass is not None), None)


def buying(problem: object) -> dict[str, Any]:
    """Compare offers, given as parsed JSON; see `docs/buying.md`.

    Parameters
    ----------
    problem : object
        The ``collop.buying/1`` object.

    Returns
    -------
    dict
        The ``collop.buying.plan/1`` object: money and weights as decimal texts, shares as numbers;
        offers cheapest first.

    Raises
    ------
    ProblemError
        If it cannot be read, or credits are worth more than an offer costs.
    """
    asked = read_buying(problem)
    costed = [cost_offer(asked, offer) for offer in asked.offers]
    for at, one in enumerate(costed):
        if any(end.cost < 0 for end in one.ends.values()):
            where = f"$.offers[{at}].credits"
            raise BadValue(f"{where} are worth more than the offer costs; look at them again.",
                           where=where)  # fmt: skip
    by_worth = all(one.shares is not None for one in costed)
    found = _Compared(asked, tuple(costed), by_worth)
    found = _Compared(asked, tuple(sorted(costed, key=lambda one: (
        found.measure(one)[0], one.offer.id))), by_worth)  # fmt: skip
    frame = asked.frame
    return {
        "schema": PLAN_ID,
        **frame.json(),
        "species": asked.species,
        "by": _BY[by_worth],
        "offers": [_told(found, one, at) for at, one in enumerate(found.offers, 1)],
        "baskets": list(_baskets(found)),
        "break_even": list(_break_even(found)),
        "say": list(_say(found)),
        "assumptions": list(_assumptions(found)),
    }


def _three(values: Sequence[Fraction], write: Any) -> dict[str, Any]:  # noqa: ANN401 -- a writer
    return {end: write(value) for end, value in zip(ENDS, values, strict=True)}


def _weight(value: Fraction) -> str:
    return plain(value, _PLACES)


def _share(value: Fraction) -> float:
    return rounded(value, _SHARE_PLACES)


def _told(found: _Compared, one: Costed, rank: int) -> dict[str, Any]:
    frame, offer = found.asked.frame, one.offer
    shares, worth = one.shares, one.worth
    ends = [one.ends[end] for end in ENDS]
    usual = ends[0]
    return {
        "rank": rank,
        "id": offer.id,
        "supplier": offer.supplier,
        "name": offer.name,
        "basis": offer.basis,
        "weights": [
            {"name": name, **_three([dict(end.weights)[name] for end in ends], _weight)}
            for name, _ in usual.weights
        ],
        "parts": [{"name": name, "money": frame.money(money)} for name, money in usual.parts],
        "figures": list(_figures(one)),
        "cost": _three([end.cost for end in ends], frame.money),
        "per_unit": _three(one.per_unit, frame.unit_money),
        "board_value": None if worth is None else frame.money(worth["usual"]),
        "margin": None if worth is None else frame.money(worth["usual"] - usual.cost),
        "cost_share": None if shares is None else _three(shares, _share),
        "say": _offer_say(found, one),
    }  # fmt: skip


def _figures(one: Costed) -> Iterator[dict[str, Any]]:
    carcass = one.offer.carcass
    if carcass is None:
        return
    for name, band in (("dressing", carcass.dressing), ("cooler shrink", carcass.shrink),
                       ("take-home", carcass.take_home)):  # fmt: skip
        if band is not None:
            yield {
                "name": name, "usual": _share(band.usual), "low": _share(band.low),
                "high": _share(band.high), "source": band.source, "checked": band.is_cited,
            }  # fmt: skip


def _offer_say(found: _Compared, one: Costed) -> str:
    frame = found.asked.frame
    usual, low, high = one.per_unit
    band = "" if low == high else f", {frame.money(low)} to {frame.money(high)} as it cuts"
    text = f"{one.offer.said}: {frame.money(usual)} a {frame.unit} to sell{band}"
    shares = one.shares
    if shares is not None:
        text += f"; {plain(shares[0] * 100, 1)} % of what it brings at the board"
    return f"{text}."


def _boxes(found: _Compared) -> list[Costed]:
    return [one for one in found.offers if one.offer.carcass is None]


def _same(frame: UnitFrame, one: Costed, worth: Fraction, weight: Fraction) -> dict[str, Any]:
    """Return what the basket costs when its cuts come out of another carcass."""
    shares = one.shares
    assert shares is not None
    return {
        "id": one.offer.id,
        "cost": _three([share * worth for share in shares], frame.money),
        "per_unit": _three([share * worth / weight for share in shares], frame.unit_money),
    }


def _baskets(found: _Compared) -> Iterator[dict[str, Any]]:
    """Yield, for each box, what its cuts cost from the box and out of each carcass."""
    frame = found.asked.frame
    for box in _boxes(found):
        if box.worth is None or not box.worth["usual"]:
            continue
        worth, weight = box.worth["usual"], box.ends["usual"].saleable
        others = [one for one in found.offers if one is box or one.offer.carcass is not None]
        yield {
            "of": box.offer.id,
            "weight": _weight(weight),
            "board_value": frame.money(worth),
            "from": [_same(frame, one, worth, weight) for one in others if one.shares is not None],
        }


def _level(found: _Compared, box: Costed, carcass: Costed) -> Fraction:
    """Return the mean price for a bought unit of a box at which it costs what the carcass does."""
    end, shares = box.ends["usual"], carcass.shares
    if found.by_worth and box.worth is not None and shares is not None:
        level = shares[0] * box.worth["usual"]
    else:
        level = carcass.per_unit[0] * end.saleable
    bought = dict(end.parts)["bought"]
    return (level - (end.cost - bought)) / dict(end.weights)["bought"]


def _break_even(found: _Compared) -> Iterator[dict[str, Any]]:
    carcass, frame = found.carcass, found.asked.frame
    if carcass is None:
        return
    for box in _boxes(found):
        level = _level(found, box, carcass)
        end = box.ends["usual"]
        now = dict(end.parts)["bought"] / dict(end.weights)["bought"]
        against = carcass.offer.said
        text = f"{box.offer.said} wins under {frame.money(level)} a {frame.unit} against {against}"
        if level <= 0:
            text = f"{box.offer.said} cannot win against {against}, not even for nothing"
        yield {
            "box": box.offer.id,
            "against": carcass.offer.id,
            "under": frame.unit_money(max(Fraction(0), level)),
            "asked": frame.unit_money(now),
            "wins": now < level,
            "say": f"{text}; {frame.money(now)} is asked.",
        }


def _say(found: _Compared) -> Iterator[str]:
    first = found.offers[0]
    if len(found.offers) == 1:
        yield f"Only one offer: {first.offer.said}."
        return
    second = found.offers[1]
    frame, better = found.asked.frame, found.measure(first)
    gap = found.measure(second)[0] - better[0]
    if found.by_worth:
        told = f"{plain(gap * 100, 1)} per cent of the board value"
    else:
        told = f"{frame.money(gap)} a {frame.unit} to sell"
    yield f"{first.offer.said} is the cheapest by {told}; next is {second.offer.said}."
    if found.measure(second)[1] < better[2]:
        yield (
            "Their bands overlap: how the animal dresses and cuts may turn it round. Buy by what"
            " else matters, or weigh one of each."
        )
    for one in _break_even(found):
        yield one["say"]


def _assumptions(found: _Compared) -> Iterator[str]:
    told = [figure for one in found.offers for figure in _figures(one)]
    for name in dict.fromkeys(figure["name"] for figure in told):
        sources = dict.fromkeys(one["source"] for one in told if one["name"] == name)
        for source in sources:
            if source != "given":
                yield f"{name.capitalize()}: {source}."
    if not found.by_worth:
        yield (
            "Ranked by the unit to sell: an offer has cuts without a board price or shares, so a"
            " pound of a dear cut counts as much as one of a plain one."
        )
    elif found.carcass is not None:
        yield "A carcass's cost falls on its cuts in the proportion of their board values."
