"""What to count tonight: lines with what is there, what went, and past gaps; read from JSON."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import UnitFrame, above_zero, exact, maybe, read_unit_frame
from collop.errors import BadValue
from collop.wire import Reader

__all__ = [
    "LINE_WEIGHT",
    "LONGEST",
    "MOST_GAPS",
    "MOST_LINES",
    "PRIOR_SHARE",
    "PRIOR_WEIGHT",
    "SCHEMA_ID",
    "USUAL_LINES",
    "CountLine",
    "Counted",
    "Counting",
    "read_counting",
]  # fmt: skip

SCHEMA_ID = "collop.counting/1"
#: Share of what is handled that goes astray before any count: a starting figure of ours (common
#: practice, no published source).
PRIOR_SHARE = Fraction(1, 100)
#: That share counts as much as so many pounds handled: a figure of ours.
PRIOR_WEIGHT = {"lb": Fraction(400), "kg": Fraction(180)}
#: The shop's share counts as much, for one line, as so many pounds handled: a figure of ours.
LINE_WEIGHT = {"lb": Fraction(100), "kg": Fraction(45)}
#: Lines on the sheet, unless asked otherwise.
USUAL_LINES = 10
#: Days beyond which a line is no more in doubt than before.
LONGEST = 30
MOST_LINES = 10_000
MOST_GAPS = 400
_KEYS = (
    "schema", "name", "currency", "rounding", "unit", "most", "prior_share", "prior_weight",
    "lines",
)  # fmt: skip
_LINE_KEYS = ("id", "name", "on_hand", "price", "days", "went", "passes", "skipped", "gaps")


@dataclass(frozen=True, slots=True)
class Counted:
    """One past count: how far it was off, and what was handled since the one before [unit]."""

    gap: Fraction
    handled: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class CountLine:
    """One line that may be counted; weights in the problem's unit.

    Parameters
    ----------
    id, name : str
        Its id, and what it is called.
    on_hand, went, passes : Fraction
        What should be there; what went out since its last count; what of it is past its day
        before it can be sold.
    price : Fraction
        Money per unit.
    days : int
        Since its last count, or since it is there.
    is_skipped : bool
        Whether it was skipped the last time.
    gaps : tuple of Counted
        Its past counts.
    """

    id: str
    name: str
    on_hand: Fraction
    price: Fraction
    days: int
    went: Fraction
    passes: Fraction
    is_skipped: bool
    gaps: tuple[Counted, ...]

    @property
    def handled(self) -> Fraction:
        """Return what was handled: what went out, and what lay there once for each day."""
        return self.went + self.on_hand * min(LONGEST, max(1, self.days))


@dataclass(frozen=True, slots=True)
class Counting:
    """The whole problem: how many lines to count, the prior share and its weight, and the lines."""

    frame: UnitFrame
    most: int
    prior_share: Fraction
    prior_weight: Fraction
    lines: tuple[CountLine, ...]


def _share(top: Reader) -> Fraction:
    if not top.has("prior_share"):
        return PRIOR_SHARE
    return exact(top.number("prior_share", 0.0, 1.0))


def _gaps(row: Reader) -> tuple[Counted, ...]:
    values = row.items("gaps", [])
    if len(values) > MOST_GAPS:
        raise row.fail("gaps", f"has {len(values)} counts; give the newest {MOST_GAPS} at most.")
    found = []
    for path, value in row.each("gaps") if values else ():
        one = Reader(value, path, ("gap", "handled"))
        gap, handled = Fraction(one.decimal("gap")), above_zero(one, "handled")
        if gap > handled:
            raise one.fail("gap", "is more than was handled; look at the two figures.")
        found.append(Counted(gap, handled))
    return tuple(found)


def _line(value: object, path: str) -> CountLine:
    row = Reader(value, path, _LINE_KEYS)
    name = str(row.text("id")).strip()
    if not name:
        raise row.fail("id", "is empty; give each line its id.")
    on_hand, passes = Fraction(row.decimal("on_hand")), maybe(row, "passes") or Fraction(0)
    if passes > on_hand:
        raise row.fail("passes", "is more than is on hand; it is a part of it.")
    return CountLine(
        id=name, name=str(row.text("name", "")) or name, on_hand=on_hand,
        price=Fraction(row.decimal("price")), days=row.whole("days", 0, 100_000, 1),
        went=maybe(row, "went") or Fraction(0), passes=passes,
        is_skipped=row.flag("skipped", default=False), gaps=_gaps(row),
    )  # fmt: skip


def read_counting(value: object) -> Counting:
    """Read one problem.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.counting/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    frame = read_unit_frame(top)
    values = top.items("lines")
    if len(values) > MOST_LINES:
        raise top.fail("lines", f"has {len(values)} lines; give at most {MOST_LINES}.")
    lines = tuple(_line(one, path) for path, one in top.each("lines")) if values else ()
    seen: set[str] = set()
    for at, line in enumerate(lines):
        if line.id in seen:
            path = f"$.lines[{at}].id"
            raise BadValue(f"{path} {line.id[:40]!r} is there twice; give each its own.",
                           where=path)  # fmt: skip
        seen.add(line.id)
    weight = maybe(top, "prior_weight")
    return Counting(
        frame=frame, most=top.whole("most", 1, MOST_LINES, USUAL_LINES), prior_share=_share(top),
        prior_weight=PRIOR_WEIGHT[frame.unit] if weight is None else weight, lines=lines,
    )  # fmt: skip
