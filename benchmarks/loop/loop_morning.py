"""What is cut in the morning: by the cutting plan, or by a rule of thumb."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from loop_customers import Order
from loop_shop import (
    BONE_CENTS,
    CUTS,
    GRIND_GIVES,
    GRIND_MINUTES,
    KINDS,
    LEFT_SHARE,
    MAKES,
    PAY_PER_HOUR,
    SHRINK,
    TRIM_KEEPS,
    TRIM_OF,
    Animal,
    Style,
    next_open,
)
from loop_store import Lot, Store

from collop.bench import bench

__all__ = ["Usual", "by_plan", "by_rule", "left_takes", "plan_of", "plan_problem"]

Json = dict[str, Any]
#: By cut: what is asked for on each day of the week, Monday first [0.001 lb].
Usual = Mapping[str, Sequence[float]]

FIRST = date(2026, 6, 8)
HORIZON = 7
MINUTES = "480"
#: How near the best a morning's plan is proven; worths during the day need less.
GAP, DAY_GAP = 0.004, 0.02


def _lb(mlb: float) -> str:
    return f"{Decimal(round(mlb)) / 1000:f}"


def _usd(amount: int) -> str:
    return f"{Decimal(amount) / 100:.2f}"


# the rule of thumb


def _style(kind: str, name: str) -> Style:
    return next(one for one in KINDS[kind][1] if one.id == name)


def _rule_styles(animal: Animal) -> dict[str, Style]:
    """Return the style of each large cut of an animal by the rule."""
    large = [to for to in KINDS[animal.kind][1][0].shares if to in KINDS]
    return {kind: _style(kind, name) for kind, name in zip(sorted(large), animal.rule, strict=True)}


def _break_by_rule(store: Store, tag: str, day: int) -> None:
    animal = store.rail[tag].animal
    styles = _rule_styles(animal)
    for node in store.cut_up(tag, KINDS[animal.kind][1][0], day):
        store.cut_up(node, styles[store.rail[node].kind], day)


def by_rule(store: Store, day: int, orders: Sequence[Order]) -> None:
    """Break what is due by the day of the week, and sooner what an order of tomorrow lacks.

    All trim is made into mince and links the same morning.
    """
    for tag in sorted(store.rail):
        if store.rail[tag].animal.rule_day <= day:
            _break_by_rule(store, tag, day)
    store.hold([one for one in orders if one.day <= day])
    for order in orders:
        if order.day > day or order.due > day + 1:
            continue
        for at, (cut, mlb) in enumerate(order.lines):
            givers = [tag for tag in sorted(store.rail) if _gives(store.rail[tag].animal, cut)]
            if store.held[order.id, at] < mlb and givers:
                _break_by_rule(store, givers[0], day)
                store.hold([order])
    for name in MAKES:
        store.make(name, sum(lot.mlb for lot in store.trim[name]), day)


def _gives(animal: Animal, cut: str) -> bool:
    styles = [KINDS[animal.kind][1][0], *_rule_styles(animal).values()]
    trim = TRIM_OF[CUTS[cut].species]
    is_made = MAKES[trim][0] == cut
    return any(cut in one.shares or (is_made and trim in one.shares) for one in styles)


# the cutting plan


def _outputs(shares: Mapping[str, Decimal]) -> list[Json]:
    found: list[Json] = []
    for to, share in shares.items():
        row: Json = {"share": f"{share:f}"}
        if to in KINDS:
            row["kind"] = to
        elif to in CUTS:
            row["cut"] = to
        elif to in MAKES:
            row["bin"] = to
        else:
            row |= {"worth": _usd(BONE_CENTS), "name": "bone"}
        found.append(row)
    left = 1 - sum(shares.values())
    return [*found, {"worth": "0", "name": "loss", "share": f"{left:f}"}] if left else found


def _kind(kind: str, holds: int, styles: Iterable[tuple[str, int, Mapping[str, Decimal]]]) -> Json:
    return {
        "id": kind, "name": kind, "species": "lamb" if "lamb" in kind else "pork",
        "holds_days": holds,
        "styles": [{"id": name, "name": name, "minutes": str(minutes), "outputs": _outputs(shares)}
                   for name, minutes, shares in styles],
    }  # fmt: skip


def _all_kinds() -> list[Json]:
    return [
        _kind(kind, holds, ((one.id, one.minutes, {to: Decimal(share)
                                                   for to, share in one.shares.items()})
                            for one in styles))
        for kind, (holds, styles) in KINDS.items()
    ]  # fmt: skip


def _by_rule_alone(animal: Animal) -> Json:
    """Return an animal as a kind of its own with the one style that the rule has for it."""
    first, minutes = KINDS[animal.kind][1][0], 0
    shares: dict[str, Decimal] = {}
    styles = _rule_styles(animal)
    minutes = first.minutes + sum(one.minutes for one in styles.values())
    for to, share in first.shares.items():
        inner = styles[to].shares if to in styles else {to: "1"}
        for name, part in inner.items():
            shares[name] = shares.get(name, Decimal(0)) + Decimal(share) * Decimal(part)
    kind = f"{animal.kind}: {', '.join(animal.rule)}"
    return _kind(kind, 0, [(f"{kind} by rule", minutes, shares)])


def _lots(lots: Iterable[Lot], day: int) -> list[Json]:
    return [{"weight": _lb(lot.mlb), "days_left": lot.last - day, "lot": ""} for lot in lots]


def left_takes(cut: str, after: int, usual: Usual) -> float:
    """Return what of a cut sells in half the days it keeps after a day [0.001 lb]."""
    half = -(-CUTS[cut].keeps // 2)
    return sum(usual[cut][(after + ahead) % 7] for ahead in range(1, half + 1))


def _cut(store: Store, cut: str, day: int, usual: Usual, today: float) -> Json:
    one = CUTS[cut]
    sells = [usual[cut][(day + ahead) % 7] * (1 if ahead else today) for ahead in range(HORIZON)]
    ground = {"bin": TRIM_OF[one.species], "yield": f"{float(GRIND_GIVES[cut]):.4f}",
              "minutes_per_unit": f"{float(GRIND_MINUTES)}"}  # fmt: skip
    left = {"worth": f"{Decimal(one.cents) / 100 * Decimal(float(LEFT_SHARE)):.4f}",
            "takes": _lb(left_takes(cut, day + HORIZON - 1, usual))}  # fmt: skip
    return {
        "id": cut, "name": one.name, "species": one.species, "price": _usd(one.cents),
        "keeps_days": one.keeps, "usual": [_lb(mlb) for mlb in sells], "steps": ["1"],
        "ground": ground if one.grinds else None, "left": left,
        "stock": _lots(store.stock[cut], day),
    }  # fmt: skip


def _rail(store: Store, day: int, coming: Iterable[Animal], *, ruled: bool) -> list[Json]:
    """Return what hangs and what comes; by rule, each on its own day."""
    last = day + HORIZON - 1
    rows = [(one.tag, one.kind, one.mlb, one.cost, day, one.until, one.animal)
            for one in store.rail.values()]  # fmt: skip
    rows += [(one.tag, one.kind, one.mlb, one.cost, one.comes, one.until, one)
             for one in coming if day < one.comes <= last]  # fmt: skip
    found = []
    for tag, kind, mlb, cost, first, until, animal in rows:
        start = max(day, animal.rule_day) if ruled else first
        if start > last:
            continue
        end = start if ruled else min(until, last)
        found.append({
            "tag": tag, "kind": _by_rule_alone(animal)["id"] if ruled else kind,
            "weight": _lb(mlb), "shrink_per_day": f"{float(SHRINK)}" if "/" not in tag else "0",
            "from": start - day, "until": end - day, "must": ruled or until <= last,
            "worth_left": _usd(cost),
        })  # fmt: skip
    return found


@dataclass(frozen=True, slots=True)
class Asked:
    """How a plan is asked: the part of today that is left, what is settled, how near the best."""

    today: float = 1.0
    locks: tuple[Json, ...] = ()
    ruled: bool = False
    gap: float = GAP


def plan_problem(
    store: Store,
    day: int,
    orders: Iterable[Order],
    coming: Sequence[Animal],
    usual: Usual,
    *,
    asked: Asked,
) -> Json:
    """Return the ``collop.bench/1`` problem of the shop as it stands on a day.

    Parameters
    ----------
    orders : iterable of Order
        Those not collected yet; only what is known by now and not set aside is told.
    coming : sequence of Animal
        All deliveries.
    """
    kinds = _all_kinds()
    if asked.ruled:
        kinds = list({one["id"]: one for one in map(_by_rule_alone, coming)}.values())
    bookings = []
    for order in orders:
        lines = [
            {"cut": cut, "weight": _lb(mlb - store.held[order.id, at])}
            for at, (cut, mlb) in enumerate(order.lines)
            if mlb > store.held[order.id, at]
        ]
        if lines and order.day <= day <= order.due < day + HORIZON:
            bookings.append({"id": order.id, "name": order.id, "due": order.due - day,
                             "lines": lines})  # fmt: skip
    return {
        "schema": "collop.bench/1", "name": f"day {day}", "currency": "USD", "unit": "lb",
        "days": [{"day": (FIRST + timedelta(day + ahead)).isoformat(),
                  "open": (day + ahead) % 7 != 6} for ahead in range(HORIZON)],
        "hands": [{"name": "block", "per_hour": _usd(PAY_PER_HOUR),
                   "minutes": ["0" if (day + ahead) % 7 == 6 else MINUTES
                               for ahead in range(HORIZON)]}],
        "kinds": kinds, "rail": _rail(store, day, coming, ruled=asked.ruled),
        "cuts": [_cut(store, cut, day, usual, asked.today) for cut in CUTS],
        "bins": [{"id": name, "name": name, "species": name.partition("-")[0], "fat": "0.2",
                  "keeps_days": TRIM_KEEPS, "worth": "0", "stock": _lots(store.trim[name], day)}
                 for name in MAKES],
        "makes": [{"cut": cut, "name": cut, "bins": [name], "cost_per_unit": _usd(cost),
                   "minutes_per_unit": f"{float(minutes)}"}
                  for name, (cut, minutes, cost) in MAKES.items()],
        "bookings": bookings, "locks": list(asked.locks), "gap": asked.gap, "reasons": False,
    }  # fmt: skip


def plan_of(problem: Json) -> Json:
    """Return the cutting plan of a problem."""
    return bench(problem)


def locks_of(store: Store, plan: Json, passed: int) -> tuple[Json, ...]:
    """Return what a plan of so many days ago settles of the pieces that are still there."""
    return tuple(
        {"tag": row["id"], "style": row["style"], "day": row["day"] - passed}
        for row in plan["breaks"]
        if row["id"] in store.rail and row["day"] >= passed
    )


def by_plan(store: Store, day: int, plan: Json) -> None:
    """Do what a plan says of today: break, grind, make."""
    styles = {one.id: one for _, styles in KINDS.values() for one in styles}
    # a piece stands before what comes off it
    for row in sorted(plan["breaks"], key=lambda one: one["id"].count("/")):
        if row["day"] == 0 and row["id"] in store.rail:
            store.cut_up(row["id"], styles[row["style"]], day)
    for row in plan["grinds"]:
        if row["day"] == 0:
            store.grind(row["cut"], round(1000 * float(row["weight"])), day)
    for row in plan["makes"]:
        for part in row["from"] if row["day"] == 0 else ():
            there = sum(lot.mlb for lot in store.trim[part["bin"]])
            wanted = round(1000 * float(part["weight"]))
            planned = next(one for one in plan["bins"] if one["id"] == part["bin"])
            # what the plan uses up is used up, whatever came off in the end
            is_all = float(planned["days"][0]["on_hand"]) < 0.05
            store.make(part["bin"], there if is_all else min(there, wanted), day)
    for name, lots in store.trim.items():
        # nobody lets trim go that could be mince: what will not keep is made, plan or no plan
        store.make(name, sum(lot.mlb for lot in lots if lot.last < next_open(day)), day)
