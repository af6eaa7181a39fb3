"""What the plan says of each break, of what is surplus, of runners-up and of what is kept."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, Any

from collop.bench.reasons_forced import Forced
from collop.bench.reasons_price import Winning
from collop.bench.reasons_uses import Cover, Surplus
from collop.bench.telling import decimal
from collop.bench.ways import Way

if TYPE_CHECKING:
    from collop.bench.plan import Found

__all__ = ["MOST_WORDS", "Words"]

#: A line of reasons has no more words than this.
MOST_WORDS = 25
_WEEK = 7
#: More bookings than this are counted, not named.
_NAMED = 2
#: Less than this is not worth a word.
_CRUMB = Fraction(1, 20)
#: Money by which two ways are told apart.
_AS_GOOD = 1
#: A price farther over the board than this is not told.
_FAR = Fraction(2)
_NONE = Fraction(0)


class Words:
    """Sentences about one plan.

    Parameters
    ----------
    found : Found
        Gives names, dates, money and worths.
    """

    def __init__(self, found: Found) -> None:
        self.found, self.problem = found, found.problem

    def day(self, day: int) -> str:
        """Return the weekday, with the date where a weekday comes twice."""
        date = self.problem.days[day].date
        return (
            f"{date:%a}" if len(self.problem.days) <= _WEEK else f"{date:%a} {date.day} {date:%b}"
        )

    def span(self, first: int, last: int) -> str:
        """Return ``on Fri`` or ``Fri to Sun``."""
        return (
            f"on {self.day(first)}" if first == last else f"{self.day(first)} to {self.day(last)}"
        )

    def money(self, amount: Fraction) -> str:
        """Return money as decimal text."""
        return self.found.book.text(self.found.book.minor(amount))

    def name(self, id_: str, *, is_trim: bool) -> str:
        """Return the name of a cut or bin."""
        return self.problem.bins[id_].name if is_trim else self.problem.cuts[id_].name

    def surplus(self, one: Surplus) -> str:
        """Say where surplus goes, when, and what it brings; nothing of a crumb."""
        if one.weight < _CRUMB:
            return ""
        weight = decimal(one.weight, 1 if one.weight >= 1 else 2)
        what = f"{weight} {self.problem.unit} {self.name(one.id, is_trim=one.is_trim)}"
        if one.through is not None:
            what += f" through {self.problem.bins[one.through].name}"
        when, brings = self.span(one.first, one.last), self.money(self.brings(one))
        if one.way == "mark-down":
            assert one.step is not None
            return f"{what} at {decimal(one.step, 6)} of the board {when}, brings {brings}."
        if one.way == "ground":
            return f"{what} to {self._bin_of(one).name} {when}, worth {brings} there."
        if one.way == "sold as trim":
            return f"{what} sold as trim {when}, brings {brings}."
        if one.way == "left":
            return f"{what} left at the end, worth {brings}."
        return f"{what} past its days {when}, brings {brings}."

    def _bin_of(self, one: Surplus) -> Any:  # noqa: ANN401 -- a bin
        ground = self.problem.cuts[one.id].ground
        assert ground is not None
        return self.problem.bins[ground.bin]

    def brings(self, one: Surplus) -> Fraction:
        """Return money that surplus brings where it goes; of what is ground, what trim is worth."""
        if one.is_trim:
            return (
                one.weight * self.problem.bins[one.id].worth if one.way == "sold as trim" else _NONE
            )
        cut = self.problem.cuts[one.id]
        if one.way == "mark-down":
            return one.weight * cut.price * (one.step or 0)
        if one.way == "spoilt":
            return one.weight * cut.salvage
        if one.way == "left":
            left = self.found.flows.cuts[one.id].total
            good = left if cut.left.takes is None else min(left, cut.left.takes)
            all_of = good * max(cut.left.worth, cut.salvage) + (left - good) * cut.salvage
            return all_of * one.weight / left
        assert cut.ground is not None
        worth = Fraction(self.found.worths.bins[cut.ground.bin][one.first])
        return one.weight * cut.ground.gives * worth

    def line(self, way: Way, covers: Sequence[Cover], surplus: Sequence[Surplus]) -> str:
        """Say in one line what a break is for: 25 words at most."""
        head = f"Break {way.node} on {self.day(way.day)}"
        items = [*self._claims(way), *self._items(covers)]
        tails = [*self._rest(surplus), *self._large(way)]
        if not items and not tails:
            tails = [self._otherwise(way)]
        least = min(2, len(items))
        for end in (tails, tails[:1], []):
            for count in range(len(items), least - 1, -1):
                text = _composed(head, items, count, end)
                if len(text.split()) <= MOST_WORDS:
                    return text
        for count in range(least, -1, -1):
            text = _composed(head, items, count, [])
            if len(text.split()) <= MOST_WORDS:
                return text
        return " ".join(head.split()[:MOST_WORDS])

    def _claims(self, way: Way) -> list[tuple[str, str]]:
        if way.parent is not None:
            return []
        piece = next(one for one in self.problem.rail if one.tag == way.tag)
        return [("the share", f" for {claim.booking}") for claim in piece.claims]

    def _items(self, covers: Sequence[Cover]) -> Iterator[tuple[str, str]]:
        """Yield names and what they are for; those with the same end to them follow each other."""
        groups: dict[tuple[str, str | None], list[Cover]] = {}
        for one in covers:
            groups.setdefault((one.id, one.through), []).append(one)
        for (id_, through), mine in groups.items():
            booked = [one.booking for one in mine if one.booking]
            ends = [_joined(booked) if len(booked) <= _NAMED else f"{len(booked)} bookings"]
            sale = next((one for one in mine if not one.booking), None)
            if sale is not None:
                until = "until " if sale.first < sale.last or booked else ""
                ends.append(until + self.day(sale.last))
            ends = [end for end in ends if end]
            start = " through trim" if through is not None else ""
            start += "" if ends[0].startswith("until ") else " for"
            yield self.problem.cuts[id_].name, f"{start} {' and '.join(ends)}"

    def _rest(self, surplus: Sequence[Surplus]) -> list[str]:
        """Return where the heaviest surplus goes."""
        groups: dict[tuple[str, bool, str], list[Surplus]] = {}
        for one in surplus:
            groups.setdefault((one.id, one.is_trim, one.way), []).append(one)
        most = max(
            groups.values(), key=lambda all_of: sum(one.weight for one in all_of), default=[]
        )
        weight = sum((one.weight for one in most), _NONE)
        if weight < Fraction(1, 20):
            return []
        one = most[0]
        amount = decimal(weight, 1 if weight < 10 else 0)
        goes = {
            "mark-down": "sells below the board", "left": "is left", "spoilt": "is past its days",
            "sold as trim": "is sold as trim",
        }.get(one.way) or f"goes to {self._bin_of(one).name}"  # fmt: skip
        return [f"{amount} {self.problem.unit} of {self.name(one.id, is_trim=one.is_trim)} {goes}"]

    def _large(self, way: Way) -> list[str]:
        """Return when its large cuts are cut."""
        below = [one for one in self.found.flows.ways if one.parent == way.index]
        if not below:
            return []
        names = [one.node.rsplit("/", 1)[1] for one in below]
        days = sorted({one.day for one in below})
        verb = "is" if len(below) == 1 else "are"
        return [f"{_joined(names)} {verb} cut {self.span(days[0], days[-1])}"]

    def _otherwise(self, way: Way) -> str:
        piece = next(one for one in self.problem.rail if one.tag == way.tag)
        if way.parent is None and piece.must:
            return (
                f"it must be broken by {self.day(min(piece.until_day, len(self.problem.days) - 1))}"
            )
        return "what it gives goes at once"

    def runner_up(self, way: Way, forced: Forced, wins: Winning | None) -> str:
        """Say what the runner-up would bring less, and what would make it win."""
        other = forced.other.way
        name = "Leaving it hanging" if other is None else _begun(other.style.name)
        if other is not None and other.day != way.day:
            name += f" on {self.day(other.day)}"
        if forced.short:
            return f"{name} would {forced.short}."
        less = self.found.book.minor(Fraction(forced.loses))
        if not less:
            return f"{name} would bring as much."
        text = f"{name} would bring {self.found.book.text(less)} less"
        if forced.loses < _AS_GOOD:
            return f"{text}: as good as the same."
        cut = None if wins is None else self.problem.cuts[wins.cut]
        if wins is None or cut is None or wins.minor > self.found.book.minor(cut.price * _FAR):
            return f"{text}."  # a price so far from the board tells nobody anything
        price = self.found.book.text(wins.minor)
        return f"{text}; it wins if {cut.name} were {price} a {self.problem.unit}."

    def kept(self, tag: str, forced: Forced | None) -> str:
        """Say why a piece hangs on."""
        if any(lock.tag == tag and lock.style is None for lock in self.problem.locks):
            return f"{tag} hangs on, as was decided."
        if forced is None or forced.other.way is None:
            return f"{tag} hangs on: it cannot be broken in these days."
        way = forced.other.way
        how = f"{way.style.name} on {self.day(way.day)}"
        if forced.short:
            return f"{tag} hangs on: {how} would {forced.short}."
        piece = next(one for one in self.problem.rail if one.tag == tag)
        worth = piece.worth_left * (1 - piece.claimed)
        brings = self.money(worth - Fraction(forced.loses))
        return (
            f"{tag} hangs on: it stands for {self.money(worth)} so, and its cuts would bring "
            f"{brings} beyond what hangs ({how})."
        )


def _composed(head: str, items: Sequence[tuple[str, str]], count: int, tails: Sequence[str]) -> str:
    """Return one sentence with the first `count` items."""
    parts = [
        (_joined([name for name, _ in group]) + suffix)
        for suffix, group in groupby(items[:count], key=lambda item: item[1])
    ]
    if count < len(items):
        rest = len(items) - count
        parts.append(f"{rest} more" if count else f"{rest} lines")
    is_plain = not any(" and " in part for part in parts)
    covers = [f"covers {_joined(parts) if is_plain else ', '.join(parts)}"] if parts else []
    told = "; ".join([*covers, *tails])
    return f"{head}: {told}." if told else f"{head}."


def _begun(name: str) -> str:
    """Return a name as a sentence begins."""
    return name[:1].upper() + name[1:]


def _joined(names: Sequence[str]) -> str:
    """Return ``a``, ``a and b`` or ``a, b and c``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
