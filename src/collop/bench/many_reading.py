"""Many shops and the vans between them, read from JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from collop.bench.problem import BenchProblem
from collop.bench.reading import read_problem
from collop.bench.reading_parts import label, lines, money, name_of, weight, whole
from collop.bench.transfers import Link
from collop.errors import BadValue, CollopError, Contradiction
from collop.wire import Reader

__all__ = ["MOST_LINKS", "MOST_SHOPS", "MOST_TRAVEL", "SCHEMA_ID", "Shop", "read_shops"]

SCHEMA_ID = "collop.benches/1"
MOST_SHOPS, MOST_LINKS, MOST_TRAVEL = 500, 5000, 13
_LINK_KEYS = ("from", "to", "cost_per_unit", "most", "days", "cuts")


@dataclass(frozen=True, slots=True)
class Shop:
    """One shop: its problem as it was asked, and as it was read.

    Parameters
    ----------
    path : str
        Where it stands, e.g. ``$.shops[3].problem``.
    """

    id: str
    name: str
    path: str
    asked: dict[str, Any]
    problem: BenchProblem


def read_shops(data: object) -> tuple[tuple[Shop, ...], tuple[Link, ...]]:
    """Read a ``collop.benches/1`` problem.

    Raises
    ------
    ProblemError
        With the path of the first bad value, in one sentence.
    """
    top = Reader(data, "$", ("schema", "shops", "transfers"))
    top.choice("schema", [SCHEMA_ID])
    shops = tuple(_shops(top))
    if not shops:
        raise top.fail("shops", "is empty; give one shop at the least.")
    _one_book(shops)
    return shops, tuple(_links(top, shops))


def _shops(top: Reader) -> Iterator[Shop]:
    seen: set[str] = set()
    for row in lines(top, "shops", ("id", "name", "problem"), MOST_SHOPS):
        id_ = label(row, "id", seen)
        path = row.where("problem")
        asked = row.value.get("problem")
        try:
            problem = read_problem(asked)
        except CollopError as error:
            raise moved(error, path) from None
        assert isinstance(asked, dict)
        yield Shop(id_, name_of(row, "name", "") or id_, path, asked, problem)


def moved(error: CollopError, path: str) -> CollopError:
    """Return an error of a shop's own problem with its path among all shops."""
    inside = error.where or "$"
    message = error.message
    if message.startswith(inside):
        message = path + inside.removeprefix("$") + message.removeprefix(inside)
    return type(error)(message, where=path + inside.removeprefix("$"))


def _one_book(shops: tuple[Shop, ...]) -> None:
    """Refuse shops whose weights, money or days do not add up."""
    first = shops[0].problem
    for shop in shops[1:]:
        here = shop.problem
        for key in ("currency", "unit", "rounding", "days"):
            mine, theirs = _told(here, key), _told(first, key)
            if mine != theirs:
                raise Contradiction(
                    f"{shop.path}.{key} is {mine}, but {theirs} in the first shop; give all shops "
                    "the same.",
                    where=f"{shop.path}.{key}",
                )


def _told(problem: BenchProblem, key: str) -> str:
    if key == "days":
        return f"{problem.days[0].date} and {len(problem.days)} days"
    return str(getattr(problem, key))


def _links(top: Reader, shops: tuple[Shop, ...]) -> Iterator[Link]:
    places = {shop.id: at for at, shop in enumerate(shops)}
    seen: set[tuple[int, int]] = set()
    for row in lines(top, "transfers", _LINK_KEYS, MOST_LINKS):
        source, target = _place(row, "from", places), _place(row, "to", places)
        if source == target:
            raise row.fail("to", "is the shop it comes from; name another.")
        if (source, target) in seen:
            raise row.fail("to", "is given from this shop already; keep one of them.")
        seen.add((source, target))
        yield Link(
            source=source,
            target=target,
            cost=money(row, "cost_per_unit", "0"),
            most=weight(row, "most") if row.has("most") else None,
            days=whole(row, "days", 0, MOST_TRAVEL, 1),
            cuts=_cuts(row, shops[source], shops[target]),
        )


def _place(row: Reader, key: str, places: dict[str, int]) -> int:
    found = label(row, key)
    if found not in places:
        raise row.fail(key, f"is {found[:40]!r}, which is no shop; add it to $.shops.")
    return places[found]


def _cuts(row: Reader, source: Shop, target: Shop) -> frozenset[str] | None:
    if not row.has("cuts"):
        return None
    found = row.texts("cuts")
    for at, cut in enumerate(found):
        for shop in (source, target):
            if cut not in shop.problem.cuts:
                where = f"{row.where('cuts')}[{at}]"
                raise BadValue(
                    f"{where} is {cut[:40]!r}, which shop {shop.id[:40]!r} does not have; name a "
                    "cut of both.",
                    where=where,
                )
    return frozenset(found)
