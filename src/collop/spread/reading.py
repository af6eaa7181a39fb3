"""Read the JSON of an ask into a `SpreadProblem`, or say in one sentence what is wrong.

Keys and defaults are described in `docs/spread.md` and by `collop schema spread`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from fractions import Fraction

from collop.errors import BadValue, Contradiction
from collop.measures import Money, Rounding, minor_places
from collop.spread.contents import read_avoids
from collop.spread.diet import anyone_eats
from collop.spread.problem import (
    AIMS,
    DISH_STYLES,
    Avoid,
    Fire,
    Group,
    Pin,
    Rules,
    SlotWish,
    SpreadProblem,
    Weights,
    Zone,
)
from collop.spread.reading_offers import exact, read_mlb, read_offers
from collop.wire import Reader, checked_number

__all__ = ["SCHEMA_ID", "read_problem"]

SCHEMA_ID = "collop.spread/1"
MOST_EATERS = 2000
_YEARS = (1900, 2200)
_APPETITES = {"adult": "1", "child": "0.5", "crew": "1.3", "meat-free": "1"}
_PROBLEM_KEYS = (
    "schema",
    "currency",
    "rounding",
    "groups",
    "need_oz",
    "portion_oz",
    "enough_chance",
    "appetite_cv",
    "budget_total",
    "budget_per_head",
    "over_budget",
    "fire",
    "rules",
    "use_at",
    "now",
    "offers",
    "pinned",
    "want",
    "weights",
)
_TEN_HEADS = 10


def read_problem(value: object) -> SpreadProblem:
    """Read one ask.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.spread/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _PROBLEM_KEYS)
    top.choice("schema", [SCHEMA_ID])
    currency = top.text("currency", "USD")
    _check_currency(top, currency)
    groups = tuple(_groups(top))
    need_oz = _ounces(top, "need_oz", {"plate": DISH_STYLES["plate"][0]})
    use_at, now = _moment(top, "use_at"), _moment(top, "now")
    _check_moments(top, use_at, now)
    problem = SpreadProblem(
        currency=currency,
        rounding=Rounding(top.choice("rounding", list(Rounding), Rounding.HALF_UP)),
        groups=groups,
        need_oz=need_oz,
        portion_oz=_portions(top, need_oz),
        enough_chance=top.number("enough_chance", 0.5, 0.9999, 0.95),
        appetite_cv=top.number("appetite_cv", 0.0, 1.0, 0.25),
        budget=_budget(top, groups, currency),
        budget_each=_money(top, "budget_per_head", currency),
        over_budget=top.flag("over_budget", default=False),
        fire=_fire(top),
        rules=_rules(top, sum(group.count for group in groups)),
        offers=read_offers(top, currency),
        use_at=use_at,
        now=now,
        pinned=tuple(_pins(top)),
        want=top.whole("want", 1, len(AIMS), len(AIMS)),
        weights=_weights(top),
    )
    _check_wishes(problem)
    return problem


def _groups(top: Reader) -> Iterator[Group]:
    heads, names = 0, set[str]()
    for path, value in top.each("groups"):
        row = Reader(value, path, ("name", "count", "kind", "appetite", "avoids"))
        name = row.text("name")
        if name in names:
            raise row.fail("name", f"{name!r} is used twice; give each group its own name.")
        names.add(name)
        kind = row.choice("kind", _APPETITES, "adult")
        count = row.whole("count", 0, MOST_EATERS)
        heads += count
        appetite = row.number("appetite", 0.05, 5.0, float(_APPETITES[kind]))
        avoids = read_avoids(row)
        if kind == "meat-free":
            avoids |= {Avoid("meat")}
        yield Group(name, count, exact(appetite), avoids, kind)
    if not 1 <= heads <= MOST_EATERS:
        raise BadValue(
            f"$.groups counts {heads} eaters; give from 1 to {MOST_EATERS}.", where="$.groups"
        )


def _ounces(
    top: Reader, key: str, default: dict[str, Fraction], *, high: float = 64.0
) -> dict[str, Fraction]:
    if not top.has(key):
        return default
    row = Reader(top.value[key], top.where(key), DISH_STYLES)
    found = {
        style: exact(checked_number(row.value[style], 0.5, high, row.where(style)))
        for style in row.value
    }
    if not found:
        raise top.fail(key, "is empty; name at least one dish style such as plate.")
    return found


def _portions(top: Reader, need_oz: dict[str, Fraction]) -> dict[str, Fraction]:
    default = {style: portion for style, (_, portion) in DISH_STYLES.items()}
    # a portion is never more than the whole meal
    default = {s: min(p, need_oz.get(s, p)) for s, p in default.items()}
    return default | _ounces(top, "portion_oz", {})


def _check_currency(top: Reader, currency: str) -> None:
    try:
        minor_places(currency)
    except BadValue as error:
        raise top.fail("currency", f"is wrong: {error.message}") from None


def _moment(top: Reader, key: str) -> datetime | None:
    text = top.text(key, None)
    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise top.fail(key, f"is {text[:40]!r}; write it like 2026-06-13T18:00.") from None
    if not _YEARS[0] <= moment.year <= _YEARS[1]:
        raise top.fail(key, f"is in the year {moment.year}; correct the date.")
    return moment


def _check_moments(top: Reader, use_at: datetime | None, now: datetime | None) -> None:
    if use_at is None or now is None:
        return
    if (use_at.tzinfo is None) != (now.tzinfo is None):
        raise top.fail("use_at", "and $.now must both have a time zone, or neither.")
    if use_at < now:
        raise top.fail("use_at", "is before $.now; choose a later time.")


def _budget(top: Reader, groups: tuple[Group, ...], currency: str) -> Money | None:
    total = _money(top, "budget_total", currency)
    each = _money(top, "budget_per_head", currency)
    if total is not None and each is not None:
        raise Contradiction(
            "$.budget_total and $.budget_per_head are both given; keep one of them.",
            where="$.budget_per_head",
        )
    return total if each is None else each * sum(group.count for group in groups)


def _money(top: Reader, key: str, currency: str) -> Money | None:
    amount = top.decimal(key, None)
    if amount is None:
        return None
    try:
        return Money.of(amount, currency)
    except BadValue as error:
        raise top.fail(key, f"is wrong: {error.message}") from None


def _fire(top: Reader) -> Fire | None:
    if not top.has("fire"):
        return None
    row = Reader(
        top.value["fire"], "$.fire", ("zones", "minutes", "oven", "pots", "usable_fraction")
    )
    usable = exact(row.number("usable_fraction", 0.05, 1.0, 1.0))
    zones, names = [], set[str]()
    for path, value in row.each("zones", []):
        zone = Reader(value, path, ("name", "area_sq_in"))
        name = zone.text("name")
        if name in names:
            raise zone.fail("name", f"{name!r} is used twice; give each zone its own name.")
        names.add(name)
        zones.append(Zone(name, exact(zone.number("area_sq_in", 0.0, 1e6)) * usable))
    if len(zones) > 6:
        raise row.fail("zones", "has more than six zones; join some of them.")
    return Fire(
        zones=tuple(zones),
        minutes=row.whole("minutes", 0, 7 * 24 * 60, 180),
        oven=row.flag("oven", default=False),
        pots=row.whole("pots", 0, 20, 0),
    )


def _rules(top: Reader, heads: int) -> Rules:
    crowd = heads >= _TEN_HEADS
    keys = (
        "min_items",
        "max_items",
        "max_share",
        "max_style_share",
        "slots",
        "only",
        "one_in",
        "help_animal",
    )
    row = Reader(top.value["rules"] if top.has("rules") else {}, "$.rules", keys)
    only = frozenset(row.texts("only", []))
    crowd = crowd and not only
    told = any(row.has(key) for key in ("min_items", "max_items", "max_share"))
    rules = Rules(
        min_items=row.whole("min_items", 1, 20, 3 if crowd else 1),
        max_items=row.whole("max_items", 1, 20, 5),
        max_share=exact(row.number("max_share", 0.05, 1.0, 0.5 if crowd else 1.0)),
        max_style_share=exact(row.number("max_style_share", 0.05, 1.0, 1.0)),
        slots=tuple(_slots(row)),
        only=only,
        one_in=row.whole("one_in", 0, 1000, 10),
        help_animal=row.flag("help_animal", default=True),
        told=told,
    )
    if rules.min_items > rules.max_items:
        raise Contradiction(
            f"$.rules asks for at least {rules.min_items} and at most {rules.max_items} items; "
            "lower the first or raise the second.",
            where="$.rules.min_items",
        )
    if rules.max_items * rules.max_share < 1:
        raise Contradiction(
            f"$.rules.max_share is {float(rules.max_share):g}, so {rules.max_items} items cannot "
            "make the whole; raise one of the two.",
            where="$.rules.max_share",
        )
    return rules


def _slots(row: Reader) -> Iterator[SlotWish]:
    for path, value in row.each("slots", []):
        if isinstance(value, str):
            yield SlotWish(value)
        else:
            wish = Reader(value, path, ("slot", "species"))
            species = wish.text("species", None)
            yield SlotWish(wish.text("slot"), species and species.strip().lower())


def _weights(top: Reader) -> Weights:
    keys = ("eating", "money", "animal", "leftover")
    row = Reader(top.value["weights"] if top.has("weights") else {}, "$.weights", keys)
    return Weights(**{key: exact(row.number(key, 0.0, 100.0, 1.0)) for key in keys})


def _pins(top: Reader) -> Iterator[Pin]:
    seen = set[str]()
    for path, value in top.each("pinned", []):
        row = Reader({"id": value} if isinstance(value, str) else value, path,
                     ("id", "weight_lb", "style"))  # fmt: skip
        pin = Pin(row.text("id"), read_mlb(row, "weight_lb", None), row.text("style", None))
        if pin.offer_id in seen:
            raise row.fail("id", f"{pin.offer_id!r} is pinned twice; pin it once.")
        seen.add(pin.offer_id)
        yield pin


def _check_wishes(problem: SpreadProblem) -> None:
    """Refuse wishes that can never hold together, whatever is in the case."""
    for index, pin in enumerate(problem.pinned):
        where = f"$.pinned[{index}]"
        if pin.offer_id not in {offer.id for offer in problem.offers}:
            raise BadValue(f"{where} is {pin.offer_id!r}, which is not on offer.", where=where)
        offer = problem.offer(pin.offer_id)
        if not anyone_eats(problem.groups, offer):
            raise Contradiction(
                f"{offer.name} is pinned but nobody at this table eats it; unpin it or change "
                "what they do not eat.",
                where=where,
            )
        if pin.style is not None and pin.style not in problem.need_oz:
            raise Contradiction(
                f"{where}.style is {pin.style!r}, which $.need_oz leaves out; add it there.",
                where=where,
            )
    for offer_id in sorted(problem.rules.only - {offer.id for offer in problem.offers}):
        where = "$.rules.only"
        raise BadValue(f"{where} names {offer_id!r}, which is not on offer.", where=where)
    if len(problem.pinned) > problem.rules.max_items:
        raise Contradiction(
            f"{len(problem.pinned)} lines are pinned but at most {problem.rules.max_items} are "
            "wanted; unpin some.",
            where="$.pinned",
        )
    for index, wish in enumerate(problem.rules.slots):
        _check_slot(problem, wish, f"$.rules.slots[{index}]")


def _check_slot(problem: SpreadProblem, wish: SlotWish, where: str) -> None:
    if wish.species is None:
        return
    tag = Avoid("species", wish.species)
    eaters = [group for group in problem.groups if group.count]
    if all(tag in group.avoids or Avoid("meat") in group.avoids for group in eaters):
        raise Contradiction(
            f"{where} wants {wish.species} for the {wish.slot}, but nobody at this table eats "
            f"{wish.species}; change one of the two.",
            where=where,
        )
