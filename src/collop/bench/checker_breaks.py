"""What is broken: known pieces, once, on their days, and every thousandth accounted for."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.bench.checker_parts import STEP, amount, number, total
from collop.bench.problem import BenchProblem, Kind, Output, Piece, Style

__all__ = [
    "Break", "Broken", "break_rules", "claim_rules", "kept_rules", "lock_rules",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Break:
    """One break of the plan beside what it stands for in the problem.

    Parameters
    ----------
    id, day, weight : str, int, Fraction
        As told.
    told : mapping
        The break as the plan has it.
    piece, kind, style : Piece, Kind, Style
        What hangs, what is cut, and how.
    above : str, optional
        Id of the break it came off.
    """

    id: str
    day: int
    weight: Fraction
    told: Mapping[str, Any]
    piece: Piece
    kind: Kind
    style: Style
    above: str | None

    def parts(self) -> Iterator[tuple[Output, Fraction, Fraction]]:
        """Yield (output of the style, weight, part of it that claims take) as told.

        Outputs that go to the same place are paired by size.
        """
        told: dict[tuple[str, str], list[tuple[Fraction, Fraction]]] = defaultdict(list)
        for row in self.told["outputs"]:
            place = (row["to"], row["id"] or "")
            told[place].append((amount(row["weight"]), amount(row["claimed"])))
        for rows in told.values():
            rows.sort()
        for output in sorted(self.style.outputs, key=lambda one: -one.share):
            rows = told[output.to, output.id]
            weight, claimed = rows.pop() if rows else (Fraction(0), Fraction(0))
            yield output, weight, claimed


@dataclass(frozen=True, slots=True)
class Broken:
    """All breaks that could be read, by id, and what could not be."""

    breaks: Mapping[str, Break]
    unread: Sequence[str]

    @classmethod
    def of(cls, problem: BenchProblem, rows: Sequence[Mapping[str, Any]]) -> Broken:
        """Pair the breaks of a plan with the problem."""
        pieces = {piece.tag: piece for piece in problem.rail}
        found: dict[str, Break] = {}
        unread: list[str] = []
        for row in rows:
            name, kind, piece = row["id"], problem.kinds.get(row["kind"]), pieces.get(row["tag"])
            styles = {style.id: style for style in kind.styles} if kind else {}
            style = styles.get(row["style"])
            if name in found:
                unread.append(f"{name} is broken twice")
            elif piece is None or kind is None or style is None:
                unread.append(f"{name} is no known piece, or its style is none of its kind")
            elif type(row["day"]) is not int or not 0 <= row["day"] < len(problem.days):
                unread.append(f"{name} is broken on day {row['day']}, which is not in the plan")
            else:
                weight = amount(row["weight"])
                found[name] = Break(name, row["day"], weight, row, piece, kind, style, row["of"])
        return cls(found, unread)

    def roots(self) -> dict[str, Break]:
        """Return the breaks of pieces on the rail, by tag."""
        return {one.piece.tag: one for one in self.breaks.values() if one.above is None}

    def arrivals(self, to: str, id_: str) -> dict[int, Fraction]:
        """Return what comes into a cut or bin by day, without what claims take."""
        found: dict[int, Fraction] = defaultdict(Fraction)
        for one in self.breaks.values():
            for output, weight, claimed in one.parts():
                if (output.to, output.id) == (to, id_):
                    found[one.day] += weight - claimed
        return found


def break_rules(problem: BenchProblem, broken: Broken) -> Iterator[str]:
    """Yield what is wrong with each break by itself, and with large cuts."""
    yield from broken.unread
    tags = Counter(one.piece.tag for one in broken.breaks.values() if one.above is None)
    for tag, times in tags.items():
        if times > 1:
            yield f"{tag} is broken {times} times"
    for one in broken.breaks.values():
        if one.above is None:
            yield from _root_rules(one)
        if one.told["date"] != problem.days[one.day].date.isoformat():
            yield f"{one.id} has another date than its day"
        if number(one.told["minutes"]) != one.style.minutes:
            yield f"{one.id} takes {one.told['minutes']} minutes, not {one.style.minutes}"
        yield from _output_rules(one)
    yield from _large_rules(problem, broken)


def _root_rules(one: Break) -> Iterator[str]:
    piece = one.piece
    if one.kind.id != piece.kind:
        yield f"{one.id} is a {piece.kind}, not a {one.kind.id}"
    if one.weight != piece.weight_on(one.day):
        yield f"{one.id} weighs {float(piece.weight_on(one.day))} on day {one.day}"


def _output_rules(one: Break) -> Iterator[str]:
    rows = one.told["outputs"]
    known = Counter((output.to, output.id) for output in one.style.outputs)
    if Counter((row["to"], row["id"] or "") for row in rows) - known:
        yield f"{one.id} gives what its style does not"
    if total(amount(row["weight"]) for row in rows) != one.weight:
        yield f"the outputs of {one.id} do not add up to its weight"
    share = one.piece.claimed
    for output, weight, claimed in one.parts():
        name = output.name or output.id
        if weight < 0 or abs(weight - output.share * one.weight) > STEP:
            yield f"{one.id} gives {float(weight)} of {name}, which is not its share"
        if not 0 <= claimed <= weight or abs(claimed - share * weight) > STEP:
            yield f"{one.id} leaves {float(claimed)} of {name} to claims, which is not their share"
    taken = amount(one.told["claimed"])
    if abs(taken - share * one.weight) > STEP * max(1, len(rows)):
        yield f"{one.id} says {float(taken)} is claimed, which is not the claims' share"


def _large_rules(problem: BenchProblem, broken: Broken) -> Iterator[str]:
    """Each large cut that comes off is cut once, in time, whole; and nothing else is."""
    below: dict[str, list[Break]] = defaultdict(list)
    for one in broken.breaks.values():
        if one.above is not None:
            below[one.above].append(one)
    for above in below.keys() - broken.breaks.keys():
        yield f"{above} is not broken, but something comes off it"
    for one in broken.breaks.values():
        off = Counter((output.id, weight) for output, weight, _ in one.parts()
                      if output.to == "kind" and weight > 0)  # fmt: skip
        cut = Counter((under.kind.id, under.weight) for under in below[one.id])
        if off != cut:
            yield f"the large cuts of {one.id} are not each cut once, whole"
        for under in below[one.id]:
            last = min(one.day + under.kind.holds_days, len(problem.days) - 1)
            if not one.day <= under.day <= last:
                yield f"{under.id} waits longer than it holds, or is cut before it comes off"
            if under.piece.tag != one.piece.tag:
                yield f"{under.id} has another tag than the piece it comes off"


def kept_rules(problem: BenchProblem, broken: Broken, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield what is wrong with pieces that are left hanging."""
    kept = Counter(row["tag"] for row in plan["kept"])
    roots = broken.roots()
    whole = Counter(piece.tag for piece in problem.rail if piece.tag not in roots)
    if kept != whole:
        yield "what is kept is not what is not broken"
    for row in plan["kept"]:
        for piece in problem.rail:
            if piece.tag == row["tag"] and row["kind"] != piece.kind:
                yield f"{piece.tag} is kept as another kind"
    locked = {lock.tag for lock in problem.locks}
    for piece in problem.rail:
        one = roots.get(piece.tag)
        if piece.tag in locked:
            continue
        if one is not None and not piece.from_day <= one.day <= piece.until_day:
            yield f"{piece.tag} is broken outside its days"
        if one is None and piece.must and plan["answer"] == "all":
            yield f"{piece.tag} must be broken and is kept"


def lock_rules(problem: BenchProblem, broken: Broken) -> Iterator[str]:
    """Yield each decision that was taken already and is not kept to."""
    roots = broken.roots()
    for lock in problem.locks:
        one = roots.get(lock.tag)
        if lock.style is None and lock.day is None:
            if one is not None:
                yield f"{lock.tag} was to be kept and is broken"
        elif one is None:
            yield f"{lock.tag} was to be broken and is not"
        elif (lock.style or one.style.id, one.day if lock.day is None else lock.day) != (
            one.style.id, one.day,
        ):  # fmt: skip
            yield f"{lock.tag} is broken in another style or on another day than was settled"


def claim_rules(problem: BenchProblem, broken: Broken, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield each claim that is not told as it stands."""
    roots = broken.roots()
    due: Counter[tuple[object, ...]] = Counter()
    for piece in problem.rail:
        one = roots.get(piece.tag)
        day = None if one is None else one.day
        for claim in piece.claims:
            met = day is not None and day <= claim.due
            due[piece.tag, claim.booking, claim.weight, claim.due, met, day] += 1
    told = Counter(
        (row["tag"], row["booking"], amount(row["weight"]), row["due"], row["met"], row["day"])
        for row in plan["claims"]
    )
    if due != told:
        yield "the claims are not told as they stand"
