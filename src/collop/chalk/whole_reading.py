"""A piece that may be sold whole or separated, with the cuts it would give; read from JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.amounts import UnitFrame, above_zero, exact, maybe, read_unit_frame
from collop.errors import BadValue, Contradiction
from collop.wire import Reader

__all__ = ["MOST_CUTS", "SCHEMA_ID", "SLACK", "Cut", "Piece", "read_piece"]

SCHEMA_ID = "collop.whole/1"
MOST_CUTS = 200
#: Printed shares are rounded: their sum may pass the whole by this much, and that is said.
SLACK = Fraction(5, 1000)
_KEYS = (
    "schema", "name", "currency", "rounding", "unit", "piece", "cuts", "labour_per_unit",
    "labour_minutes", "labour_per_hour", "packaging_per_unit", "risk_per_unit",
    "whole_labour_per_unit", "whole_packaging_per_unit", "whole_shrink", "days",
)  # fmt: skip
_CUT_KEYS = ("id", "name", "share", "price", "shrink", "case_free", "sells_per_day")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A cut that the piece would give.

    Parameters
    ----------
    id, name : str
        The line in the case.
    share : Fraction
        Weight made over weight of the piece, 0 to 1.
    price : Fraction
        Selling price per unit.
    shrink : Fraction
        Share of its weight lost before it is sold, 0 up to under 1.
    case_free, sells_per_day : Fraction or None
        Weight free in the case and weight sold a day [unit].
    """

    id: str
    name: str
    share: Fraction
    price: Fraction
    shrink: Fraction
    case_free: Fraction | None
    sells_per_day: Fraction | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """The piece, its cuts, and what each way costs per unit of its weight.

    Parameters
    ----------
    weight : Fraction
        Of the piece [unit].
    price : Fraction or None
        Asked for the whole, per unit.
    labour, packaging, risk : Fraction
        Of separating it, money per unit.
    whole_labour, whole_packaging, whole_shrink : Fraction
        Of selling it whole: money per unit, and the share lost before it is sold.
    days : Fraction
        Days until more of these cuts is made.
    """

    frame: UnitFrame
    piece_name: str
    weight: Fraction
    price: Fraction | None
    cuts: tuple[Cut, ...]
    labour: Fraction
    packaging: Fraction
    risk: Fraction
    whole_labour: Fraction
    whole_packaging: Fraction
    whole_shrink: Fraction
    days: Fraction


def read_piece(value: object) -> Piece:
    """Read one problem.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.whole/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value; also where the shares pass the whole.
    """
    top = Reader(value, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    row = Reader(top.value.get("piece"), "$.piece", ("name", "weight", "price"))
    weight = above_zero(row, "weight")
    return Piece(
        frame=read_unit_frame(top),
        piece_name=row.text("name", "piece"),
        weight=weight,
        price=maybe(row, "price"),
        cuts=_cuts(top),
        labour=_labour(top, weight),
        packaging=maybe(top, "packaging_per_unit") or Fraction(0),
        risk=maybe(top, "risk_per_unit") or Fraction(0),
        whole_labour=maybe(top, "whole_labour_per_unit") or Fraction(0),
        whole_packaging=maybe(top, "whole_packaging_per_unit") or Fraction(0),
        whole_shrink=exact(top.number("whole_shrink", 0.0, 0.99, 0.0)),
        days=exact(top.number("days", 0.0, 365.0, 1.0)),
    )


def _labour(top: Reader, weight: Fraction) -> Fraction:
    """Return the labour of separating per unit: given, or minutes of the piece at an hour's pay."""
    minutes, hourly = maybe(top, "labour_minutes"), maybe(top, "labour_per_hour")
    if minutes is None and hourly is None:
        return maybe(top, "labour_per_unit") or Fraction(0)
    if top.has("labour_per_unit"):
        raise top.fail("labour_per_unit", "is given beside minutes and hours; keep one of the two.")
    if minutes is None or hourly is None:
        missing = "labour_minutes" if minutes is None else "labour_per_hour"
        raise top.fail(missing, "is missing; give the minutes of the piece and the pay an hour.")
    return minutes / 60 * hourly / weight


def _cuts(top: Reader) -> tuple[Cut, ...]:
    if len(top.items("cuts")) > MOST_CUTS:
        raise top.fail("cuts", f"has more than {MOST_CUTS} lines; join some of them.")
    found = tuple(_each_cut(top))
    if not found:
        raise top.fail("cuts", "names nothing; give the cuts that the piece would make.")
    total = sum((cut.share for cut in found), Fraction(0))
    if total > 1 + SLACK:
        raise Contradiction(
            f"$.cuts have shares that sum to {float(total):.4g}, more than the whole piece; "
            "give each share as a fraction of the weight of the piece.",
            where="$.cuts",
        )
    return found


def _each_cut(top: Reader) -> Iterator[Cut]:
    seen: set[str] = set()
    for path, value in top.each("cuts"):
        row = Reader(value, path, _CUT_KEYS)
        cut_id = row.text("id")
        if cut_id in seen:
            raise BadValue(f"{path}.id is {cut_id[:40]!r} a second time; join the two lines.",
                           where=f"{path}.id")  # fmt: skip
        seen.add(cut_id)
        yield Cut(
            id=cut_id,
            name=row.text("name", cut_id),
            share=exact(row.number("share", 0.0, 1.0)),
            price=Fraction(row.decimal("price")),
            shrink=exact(row.number("shrink", 0.0, 0.99, 0.0)),
            case_free=maybe(row, "case_free"),
            sells_per_day=maybe(row, "sells_per_day"),
        )
