"""The cutting plan made ready for the page: days, choices tried, and two plans side by side.

Everything is read from the plan and its problem as JSON; weights stay exact until they are shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_CEILING, Decimal
from typing import Any

from collop.measures import Weight, WeightUnit

__all__ = [
    "ANY_DAY", "Cell", "Choice", "Choices", "Compared", "Gone", "PlanDay", "Way", "compared",
    "days_of", "gone", "hourly", "pieces_of", "plain_number", "proof_words", "read_choices",
    "weigh", "worth_rows",
]  # fmt: skip

_Json = Mapping[str, Any]
#: What stands for the day where the plan is to find it.
ANY_DAY = "any"
#: A difference under so much of a unit is no difference on a counter scale.
_LEAST_WEIGHT = Decimal("0.05")


@dataclass(frozen=True, slots=True)
class Choice:
    """One decision of a person: a piece in a style on a day, or left hanging (both None).

    A style without a day leaves the day to the plan.
    """

    tag: str
    style: str | None = None
    day: int | None = None
    say: str = ""

    @property
    def lock(self) -> dict[str, Any]:
        """Return it as the bench's problem carries it."""
        return {"tag": self.tag, "style": self.style, "day": self.day}


@dataclass(frozen=True, slots=True)
class Choices:
    """What a link asks for: the choices that stand, and the sentences on those that do not."""

    made: tuple[Choice, ...]
    dropped: tuple[str, ...]
    dates: tuple[date, ...]

    def pairs(self, *, leaving_out: str = "") -> list[tuple[str, str]]:
        """Return names and texts of the query, without the choice for one piece."""
        return [self.pair(one) for one in self.made if one.tag != leaving_out]

    def pair(self, one: Choice) -> tuple[str, str]:
        """Return name and text of one choice in the query."""
        if one.style is None:
            return "keep", one.tag
        day = ANY_DAY if one.day is None else self.dates[one.day].isoformat()
        return "do", f"{one.tag}:{one.style}:{day}"

    def of(self, tag: str) -> Choice | None:
        """Return the choice for a piece."""
        return next((one for one in self.made if one.tag == tag), None)


@dataclass(frozen=True, slots=True)
class Way:
    """One piece on the rail, with what may be chosen for it."""

    tag: str
    name: str
    styles: tuple[tuple[str, str], ...]
    days: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PlanDay:
    """One day of the plan with what is done on it."""

    number: int
    date: date
    is_open: bool
    breaks: tuple[_Json, ...]
    makes: tuple[_Json, ...]
    grinds: tuple[_Json, ...]
    minutes: Decimal

    @property
    def gives(self) -> Decimal:
        """Return the trim that comes of what is ground."""
        return sum((Decimal(one["gives"]) for one in self.grinds), Decimal(0))

    @property
    def has_work(self) -> bool:
        """Tell whether anything is cut or made on it."""
        return bool(self.breaks or self.makes or self.grinds)


@dataclass(frozen=True, slots=True)
class Cell:
    """One line of the comparison: both figures, and the difference in words."""

    name: str
    kind: str
    this: Decimal
    other: Decimal
    counts_up: bool | None

    @property
    def by(self) -> Decimal:
        """Return the other less this."""
        return self.other - self.this

    @property
    def is_same(self) -> bool:
        """Tell whether there is no difference worth a word."""
        least = _LEAST_WEIGHT if self.kind == "weight" else Decimal("0.005")
        return abs(self.by) < least

    @property
    def word(self) -> str:
        """Return ``better``, ``worse``, or nothing where it is neither."""
        if self.is_same or self.counts_up is None:
            return ""
        return "better" if (self.by > 0) is self.counts_up else "worse"


@dataclass(frozen=True, slots=True)
class Gone:
    """A cut that people would ask for and not find on some days, by weight in all."""

    name: str
    weight: Weight
    days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """Two plans side by side."""

    cells: tuple[Cell, ...]
    gone: tuple[Gone, ...]
    back: tuple[Gone, ...]
    newly_short: tuple[str, ...]
    within: Decimal


def weigh(text: str | Decimal, unit: str) -> Weight:
    """Return a weight of the plan; `unit` is the plan's."""
    return Weight.of(f"{Decimal(text):f}", WeightUnit(unit))


def plain_number(text: str | Decimal) -> str:
    """Return minutes or a count without idle zeros, to one decimal."""
    shown = f"{round(Decimal(text), 1):f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def hourly(text: str) -> str:
    """Return the money of an hour for the money of a minute."""
    return f"{Decimal(text) * 60:,.2f}"


def pieces_of(problem: _Json) -> tuple[Way, ...]:
    """Return every piece of the rail with the styles and days that may be chosen."""
    kinds = {kind["id"]: kind for kind in problem["kinds"]}
    last = len(problem["days"]) - 1
    ways = []
    for piece in problem["rail"]:
        kind = kinds[piece["kind"]]
        until = piece.get("until")
        days = range(piece.get("from") or 0, (last if until is None else min(until, last)) + 1)
        styles = tuple((style["id"], style["name"]) for style in kind["styles"])
        ways.append(Way(piece["tag"], kind["name"], styles, tuple(days)))
    return tuple(ways)


def read_choices(problem: _Json, keep: Iterable[str], do: Iterable[str]) -> Choices:
    """Read the choices of a link.

    Parameters
    ----------
    problem : mapping
        The bench's problem the plan was made of.
    keep : iterable of str
        Tags that are left hanging.
    do : iterable of str
        ``tag:style:date`` each, or ``tag:style:any``.

    Returns
    -------
    Choices
        The last choice for a piece counts; one that no longer fits is dropped with a sentence.
    """
    ways = {way.tag: way for way in pieces_of(problem)}
    dates = tuple(date.fromisoformat(day["day"]) for day in problem["days"])
    made: dict[str, Choice] = {}
    dropped: list[str] = []
    for tag in keep:
        if tag in ways:
            made[tag] = Choice(tag, say=f"{tag} is left hanging")
        else:
            dropped.append(_no_piece(tag))
    for text in do:
        tag, style, day = (*text.rsplit(":", 2), "", "")[:3]
        if tag not in ways:
            dropped.append(_no_piece(tag))
        elif (choice := _choice(ways[tag], style, day, dates)) is not None:
            made[tag] = choice
        else:
            dropped.append(f"{tag} cannot be cut that way on that day; choose again.")
    return Choices(tuple(made.values()), tuple(dict.fromkeys(dropped)), dates)


def _no_piece(tag: str) -> str:
    return f"{tag[:30] or 'A piece'} does not hang now; that choice was left out."


def _choice(way: Way, style: str, day: str, dates: Sequence[date]) -> Choice | None:
    names = dict(way.styles)
    if style not in names:
        return None
    if day == ANY_DAY:
        return Choice(way.tag, style, None, f"{way.tag}: {names[style]}, on the best day for it")
    numbers = {dates[number].isoformat(): number for number in way.days}
    if day not in numbers:
        return None
    on = dates[numbers[day]]
    return Choice(way.tag, style, numbers[day], f"{way.tag}: {names[style]}, {on:%a %-d %b}")


def days_of(plan: _Json, problem: _Json) -> tuple[PlanDay, ...]:
    """Return the days of a plan with the work on each."""
    opened = [day["open"] for day in problem["days"]]
    found = []
    for number, text in enumerate(plan["days"]):
        breaks, makes, grinds = (
            tuple(one for one in plan[what] if one["day"] == number)
            for what in ("breaks", "makes", "grinds")
        )
        # grinding has no minutes of its own in a plan: what the hands use has them all
        minutes = sum((Decimal(hand[key][number]) for hand in plan["hands"]
                       for key in ("used", "overtime")), Decimal(0))  # fmt: skip
        makes, grinds = (
            tuple(one for one in part if Decimal(one["weight"]) >= _LEAST_WEIGHT)
            for part in (makes, grinds)
        )
        found.append(PlanDay(number, date.fromisoformat(text), opened[number], breaks, makes,
                             grinds, minutes))  # fmt: skip
    return tuple(found)


def proof_words(plan: _Json) -> str:
    """Return how good the plan is proven to be, in plain words."""
    proof = plan["proof"]
    gap = Decimal(str(proof["gap"] or 0))
    if proof["status"] == "optimal" and gap <= 0:
        return "Proven: no plan is better."
    # rounded up: what is said must hold
    share = f"{(gap * 100).quantize(Decimal('0.01'), ROUND_CEILING).normalize():f}"
    if proof["status"] == "optimal":
        return f"Proven: no plan is better by more than {share} %."
    return f"Not proven to the end: a better plan may exist, by {share} % at most."


def _total(plan: _Json, part: str, key: str) -> Decimal:
    return sum((Decimal(one[key]) for one in plan[part]), Decimal(0))


def _minutes(plan: _Json, key: str) -> Decimal:
    return sum((Decimal(text) for hand in plan["hands"] for text in hand[key]), Decimal(0))


def _short_names(plan: _Json) -> list[str]:
    """Return every booking that is not met, by id and name, once."""
    named = [f"{one['id']} {one['name']}" for one in plan["bookings"] if not one["met"]]
    named += [f"{one['booking']} on {one['tag']}" for one in plan["claims"] if not one["met"]]
    return list(dict.fromkeys(named))


_Figure = Callable[[_Json], Decimal]
#: Name, what kind of figure, whether more is better (None: neither), and how it is read.
_LINES: tuple[tuple[str, str, bool | None, _Figure], ...] = (
    ("Contribution", "money", True, lambda plan: Decimal(plan["contribution"])),
    ("Bookings short", "count", False, lambda plan: Decimal(len(_short_names(plan)))),
    ("Sold over the counter", "weight", True, lambda plan: _total(plan, "cuts", "sold")),
    ("Booked and met", "weight", True, lambda plan: _total(plan, "cuts", "booked")),
    ("Ground", "weight", None, lambda plan: _total(plan, "cuts", "ground")),
    ("Spoilt", "weight", False,
     lambda plan: _total(plan, "cuts", "spoilt") + _total(plan, "bins", "spoilt")),
    ("Left at the end", "weight", None,
     lambda plan: _total(plan, "cuts", "left") + _total(plan, "bins", "left")),
    ("Still hanging", "weight", None, lambda plan: _total(plan, "kept", "weight")),
    ("Labour", "minutes", None,
     lambda plan: _minutes(plan, "used") + _minutes(plan, "overtime")),
    ("Of it overtime", "minutes", False, lambda plan: _minutes(plan, "overtime")),
)  # fmt: skip


def compared(this: _Json, other: _Json, problem: _Json) -> Compared:
    """Return two plans of one problem side by side.

    Parameters
    ----------
    this, other : mapping
        The plan in force, and the plan with a person's choices.
    problem : mapping
        What both were made of; what customers want each day is read from it.
    """
    cells = tuple(
        Cell(name, kind, figure(this), figure(other), counts_up)
        for name, kind, counts_up, figure in _LINES
    )
    before = set(_short_names(this))
    within = max(_within(this), _within(other))
    return Compared(cells, gone(this, other, problem), gone(other, this, problem),
                    tuple(one for one in _short_names(other) if one not in before),
                    within)  # fmt: skip


def _within(plan: _Json) -> Decimal:
    """Return the money by which a plan may miss the best one."""
    bound = plan["proof"].get("bound")
    if bound is None:
        return Decimal(0)
    return max(Decimal(0), Decimal(bound) - Decimal(plan["contribution"]))


def gone(this: _Json, other: _Json, problem: _Json) -> tuple[Gone, ...]:
    """Return the cuts that people would find under `this` plan and not under `other`.

    A customer does not find a cut on an open day when nothing is on hand at its end and less was
    sold than is usual.  Cuts with most weight missing stand first.
    """
    usual = {cut["id"]: [Decimal(text) for text in cut["usual"]] for cut in problem["cuts"]}
    opened = [day["open"] for day in problem["days"]]
    dates = [date.fromisoformat(text) for text in this["days"]]
    others = {cut["id"]: cut for cut in other["cuts"]}
    found = []
    for cut in this["cuts"]:
        if cut["id"] not in others or cut["id"] not in usual:
            continue
        more = {
            day: lacks - had
            for day, (lacks, had) in enumerate(
                zip(_missing(others[cut["id"]], usual[cut["id"]]),
                    _missing(cut, usual[cut["id"]]), strict=True))
            if opened[day] and lacks - had >= _LEAST_WEIGHT
        }  # fmt: skip
        if more:
            weight = weigh(sum(more.values(), Decimal(0)), this["unit"])
            found.append(Gone(cut["name"], weight, tuple(dates[day] for day in more)))
    return tuple(sorted(found, key=lambda one: -one.weight.count))


def _missing(cut: _Json, usual: Sequence[Decimal]) -> list[Decimal]:
    """Return what is asked for and not there, day by day."""
    lacks = [Decimal(0)] * len(usual)
    for day, line in enumerate(cut["days"]):
        number = line.get("day", day)
        if isinstance(number, int) and Decimal(line["on_hand"]) < _LEAST_WEIGHT:
            lacks[number] = max(Decimal(0), usual[number] - Decimal(line["sold"]))
    return lacks


def worth_rows(plan: _Json, problem: _Json) -> list[dict[str, Any]]:
    """Return name, board price and worth by day of every cut and bin, the dearest first."""
    prices = {cut["id"]: cut["price"] for cut in problem["cuts"]}
    rows = [
        {"name": cut["name"], "price": prices.get(cut["id"]), "worth": cut["worth"],
         "most": max((Decimal(text) for text in cut["worth"]), default=Decimal(0))}
        for cut in plan["cuts"]
    ]  # fmt: skip
    rows.sort(key=lambda row: (-row["most"], row["name"]))
    rows += [{"name": one["name"], "price": None, "worth": one["worth"], "most": None}
             for one in plan["bins"]]  # fmt: skip
    return rows
