"""What the Chalk page shows: an animal's lines, its strip, and what prices as typed would bring.

Every figure is the kernel's; this module only puts them beside the fields.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.chalk import chalk
from collop.measures import Money, Rounding, UnitPrice, decimal_of, minor_places, round_fraction
from collop.shop import NewPrice
from collop.web.chalk_pulls import pulls_of, said

if TYPE_CHECKING:
    from collop.measures import Weight
    from collop.shop import ChalkPart, Settings
    from collop.web.room import Room

__all__ = [
    "OFF_THE_BOARD", "Band", "CostLine", "Line", "Tried", "Worked", "field_of", "work_out",
]  # fmt: skip

#: The id of a cut that has no line on the board begins with this.
OFF_THE_BOARD = "part:"
#: The strip is this tall [rem], unless thin parts make it taller.
_STRIP_REM = 30
#: No part of the strip is thinner: 24 px at the usual text size.
_LEAST_REM = Fraction(3, 2)
_HALF, _MORE = Decimal("0.5"), Decimal("1.5")
_WHYS = {"fixed": "kept", "floor": "at its floor", "cap": "at its cap"}


@dataclass(frozen=True, slots=True)
class Tried:
    """What somebody tries on the page.

    Parameters
    ----------
    prices : mapping of str to Decimal
        By case line, per legal unit; a line left out has its price on the board.
    kept : frozenset of str
        Lines that keep their price.
    margin : Decimal or None
        Share of the sales; None is the shop's own.
    paid : Decimal or None
        What was paid for the piece, where its delivery does not say.
    """

    prices: Mapping[str, Decimal]
    kept: frozenset[str] = frozenset()
    margin: Decimal | None = None
    paid: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the board beside its field; prices are text per legal unit.

    `present` is empty for a cut without a line; `low` and `high` are the slider's. `field` names
    its field; `warning` says why the price would need a reason.
    """

    case_id: str
    name: str
    present: str
    typed: str
    needed: str
    held: str
    is_kept: bool
    low: str
    high: str
    field: str = ""
    warning: str = ""

    @property
    def on_board(self) -> bool:
        """Tell whether the cut has a line that a price can be put on."""
        return not self.case_id.startswith(OFF_THE_BOARD)

    @property
    def moved(self) -> Decimal:
        """Return how far the typed price is from the board."""
        return Decimal(self.typed) - Decimal(self.present) if self.present else Decimal(0)

    @property
    def move_text(self) -> str:
        """Return the move in words."""
        moved = self.moved
        return f"{'up' if moved > 0 else 'down'} {abs(moved):f}" if moved else ""


@dataclass(frozen=True, slots=True)
class Band:
    """One part of the strip: as tall as its weight, filled as far as it has sold."""

    name: str
    kind: str
    weight: Weight
    sold: Weight
    sold_pct: str
    rem: str
    line: Line | None


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of what the animal must earn; by-products are below zero."""

    name: str
    money: str


@dataclass(frozen=True, slots=True)
class Worked:
    """One answer: the lines, the strip, what is needed, what the board and the fields bring."""

    lines: tuple[Line, ...]
    strip: tuple[Band, ...]
    costs: tuple[CostLine, ...]
    unit: str
    margin_pct: str
    needed: str
    now: Mapping[str, Any]
    tried: Mapping[str, Any]
    plan: Mapping[str, Any]
    pulls: tuple[str, ...]
    is_tried: bool
    is_held: bool
    notes: tuple[str, ...]

    def changed(self) -> tuple[Line, ...]:
        """Return the lines whose typed price is not the one on the board."""
        return tuple(line for line in self.lines if line.moved)


def work_out(room: Room, tag: str, tried: Tried) -> Worked:
    """Work out an animal's board with some prices tried.

    Parameters
    ----------
    room : Room
        The shop behind the page.
    tag : str
        A piece that hangs or was broken.
    tried : Tried
        Prices and target as typed.

    Raises
    ------
    NotFound, WrongState
        As the shop refuses the piece.
    ProblemError
        If the kernel refuses the figures.
    """
    chosen = room.shop.settings()
    problem = room.shop.chalk.problem(tag, margin=tried.margin, paid=tried.paid)
    present = {cut["id"]: Decimal(cut["price"]) for cut in problem["cuts"] if cut["price"]}
    moved = {key: price for key, price in tried.prices.items() if price != present.get(key)}
    kept = {key: present[key] for key in tried.kept if key in present}
    plan = room.shop.chalk.plan(
        tag, prices=moved, fixed=sorted(kept), margin=tried.margin, paid=tried.paid,
        # what is tried or kept has pulls of its own
        pulls=() if moved or kept else None,
    )  # fmt: skip
    lines = _lines(problem, plan, tried, moved, chosen)
    lines = _warned(room, lines, moved, chosen)
    needed = plan["needed"]
    return Worked(
        lines=lines,
        strip=_strip(room.shop.chalk.parts(tag), lines),
        costs=_costs(problem, plan, chosen),
        unit=problem["unit"],
        margin_pct=_pct(problem["margin"]),
        needed=needed,
        now=_brings(problem, present, needed) | _guess(plan) if present else {},
        tried=_brings(problem, present | moved, needed) if moved else {},
        plan=plan,
        pulls=pulls_of(problem, kept | moved) if kept or moved else said(_moving(plan)),
        is_tried=bool(moved),
        is_held=bool(moved or kept),
        notes=tuple(plan["assumptions"]),
    )


def _moving(plan: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the pulls of what has a price to move."""
    return [pull for pull in plan["pulls"] if not pull["id"].startswith(OFF_THE_BOARD)]


def _pct(share: float) -> str:
    return f"{Decimal(str(share)) * 100:.2f}".rstrip("0").rstrip(".")


def _brings(
    problem: Mapping[str, Any], prices: Mapping[str, Decimal], needed: str
) -> dict[str, Any]:
    """Return what prices bring, and by how much that is short of or over what is needed.

    A cut without a line counts at its relative, which is the mean of the board's.
    """
    if not prices:
        return {}
    cuts = [
        cut | {"price": f"{prices[cut['id']]:f}" if cut["id"] in prices else str(cut["relative"])}
        for cut in problem["cuts"]
    ]
    brings = chalk({**problem, "cuts": cuts, "pulls": []})["present"]
    gap = Decimal(brings["revenue"]) - Decimal(needed)
    pct = "" if brings["margin"] is None else f"{100 * brings['margin']:.1f}"
    return {"revenue": brings["revenue"], "margin_pct": pct, "short": gap < 0,
            "gap": f"{abs(gap):f}"}  # fmt: skip


def _lines(
    problem: Mapping[str, Any], plan: Mapping[str, Any], tried: Tried,
    moved: Mapping[str, Decimal], chosen: Settings,
) -> tuple[Line, ...]:  # fmt: skip
    found, parts = [], 0
    by_id = {told["id"]: told for told in plan["cuts"]}
    for cut in problem["cuts"]:
        told = by_id[cut["id"]]
        parts += cut["price"] is None
        present = _price_text(cut["price"], chosen) if cut["price"] is not None else ""
        typed = _price_text(moved[cut["id"]], chosen) if cut["id"] in moved else present
        low, high = _reach(present, typed, told["price"], chosen.price_step)
        found.append(Line(
            case_id=cut["id"], name=cut["name"], present=present, typed=typed,
            needed=_price_text(told["price"], chosen), held=_WHYS.get(told["why"], ""),
            is_kept=cut["id"] in tried.kept, low=low, high=high,
            field=field_of(cut, parts),
        ))  # fmt: skip
    return tuple(found)


def _price_text(amount: str | Decimal, chosen: Settings) -> str:
    """Return a price with the currency's places, more only where it has more."""
    value = Decimal(amount)
    exponent = value.normalize().as_tuple().exponent
    places = max(minor_places(chosen.currency), -exponent if isinstance(exponent, int) else 0)
    return f"{value:.{places}f}"


def _reach(present: str, typed: str, needed: str, step: Decimal) -> tuple[str, str]:
    """Return the ends of a slider on whole steps: from half the lowest to half over the highest."""
    known = [Decimal(one) for one in (present, typed, needed) if one]
    low, high = min(known) * _HALF / step, max(known) * _MORE / step
    low, high = low.to_integral_value(ROUND_FLOOR), high.to_integral_value(ROUND_CEILING)
    return f"{max(low, Decimal(1)) * step:f}", f"{max(high, Decimal(2)) * step:f}"


def _strip(parts: Sequence[ChalkPart], lines: Sequence[Line]) -> tuple[Band, ...]:
    """Return the parts with their heights: in proportion to weight, none under the least."""
    known = {line.case_id: line for line in lines}
    total = sum(part.weight.count for part in parts) or 1
    return tuple(
        Band(
            name=part.name, kind=part.kind, weight=part.weight, sold=part.sold,
            sold_pct=_share(part.sold.count, part.weight.count),
            rem=_rem(Fraction(_STRIP_REM * part.weight.count, total)),
            line=known.get(part.case_id or f"{OFF_THE_BOARD}{part.name}"),
        )
        for part in parts
        if part.weight
    )  # fmt: skip


def _rem(height: Fraction) -> str:
    return f"{decimal_of(max(height, _LEAST_REM), 2):f}"


def _share(count: int, total: int) -> str:
    return f"{decimal_of(Fraction(100 * count, total), 0):f}" if total else "0"


def _costs(
    problem: Mapping[str, Any], plan: Mapping[str, Any], chosen: Settings
) -> tuple[CostLine, ...]:
    """Return what the animal cost line by line, each rounded for display, and their sum."""
    cost = problem["cost"]
    minutes, hourly = Decimal(cost["labour_minutes"]), Decimal(cost["labour_per_hour"])
    labour = _money(Fraction(minutes) * Fraction(hourly) / 60, chosen)
    told = [
        CostLine("bought", cost["bought"]),
        CostLine("haulage", cost["haulage"]),
        CostLine(f"labour, {minutes.normalize():f} min at {hourly:.2f} an hour", labour),
    ]
    if Decimal(cost["other"]):
        told.append(CostLine("other", cost["other"]))
    for credit in problem["credits"]:
        value = Fraction(Decimal(credit["weight"])) * Fraction(Decimal(credit["value_per_unit"]))
        if value:
            each = f"{credit['name']}, {Decimal(credit['value_per_unit']):.2f} a {problem['unit']}"
            told.append(CostLine(each, _money(-value, chosen)))
    net = Decimal(plan["cost"]) - Decimal(plan["credit_value"])
    told.append(CostLine("what the cuts must pay", f"{net:f}"))
    return tuple(told)


def _guess(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Return what of the present board is guessed, and of which cuts."""
    guess = plan["guessed"]
    return {"guessed": guess["revenue"] if guess["names"] else "", "guessed_of": guess["names"]}


def field_of(cut: Mapping[str, Any], part: int) -> str:
    """Return the name of a cut's field; `part` counts the cuts without a line, from 1."""
    return f"price-part-{part}" if cut["price"] is None else f"price-{cut['id']}"


def _warned(
    room: Room, lines: tuple[Line, ...], moved: Mapping[str, Decimal], chosen: Settings
) -> tuple[Line, ...]:
    """Return the lines, each with why its typed price would need a reason."""
    new = [
        NewPrice(line.case_id, UnitPrice.of(line.typed, chosen.legal_unit, chosen.currency))
        for line in lines
        if line.on_board and line.case_id in moved
    ]
    if not new:
        return lines
    said: dict[str, str] = {}
    for guard in room.shop.chalk.guards(new):
        said[guard.case_id] = " ".join(filter(None, (said.get(guard.case_id), guard.say)))
    return tuple(replace(line, warning=said.get(line.case_id, "")) for line in lines)


def _money(amount: Fraction, chosen: Settings) -> str:
    scale: int = 10 ** minor_places(chosen.currency)
    rule: Rounding = chosen.rounding
    return str(Money(round_fraction(amount * scale, rule), chosen.currency))
