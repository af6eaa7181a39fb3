"""Read the JSON of a weight balance; keys and defaults are described in `docs/balance.md`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from collop.carcass.cuttingtest_amounts import UNITS, exact, in_unit, plain
from collop.carcass.reconciling_tree import (
    LOSS_SD_SHARE,
    LOSS_SHARE,
    SCALE_SD,
    SIGNIFICANCE,
    STEPS,
    USUAL_PARTS,
    Balance,
    Loss,
    Piece,
    Tare,
    Usual,
)
from collop.errors import BadValue
from collop.measures import WeightUnit
from collop.wire import Reader

__all__ = ["MOST_PIECES", "SCHEMA_ID", "read_balance"]

SCHEMA_ID = "collop.balance/1"
MOST_PIECES = 300
MOST_LEVELS = 12
_LEAST_SD = Fraction(1, 100_000)


@dataclass(slots=True)
class _Rule:
    """What holds for every piece, and how many were read so far."""

    unit: WeightUnit
    scale_sd: Fraction
    loss_share: Fraction
    loss_sd_share: Fraction
    read: int = field(default=0)
    usual_loss: bool = field(default=False)


def read_balance(value: object) -> Balance:
    """Read one weight balance.

    Parameters
    ----------
    value : object
        Parsed JSON of the ``collop.balance/1`` contract.

    Raises
    ------
    ProblemError
        With the path of the first bad value.
    """
    keys = ("schema", "name", "unit", "scale_sd", "significance", "resolution", "loss", "whole",
            "tares", "usual_parts")  # fmt: skip
    top = Reader(value, "$", keys)
    top.choice("schema", [SCHEMA_ID])
    unit = WeightUnit(top.choice("unit", UNITS, "lb"))
    scale_sd = _sd(top, "scale_sd") if top.has("scale_sd") else SCALE_SD[unit]
    share, sd_share = _loss_rule(top)
    rule = _Rule(unit, scale_sd, share, sd_share)
    root = _piece(top.value.get("whole"), "$.whole", rule, 1)
    if not root.parts:
        raise BadValue("$.whole.parts is empty; give the parts it was cut into.", where="$.whole")
    step = Fraction(top.decimal("resolution", "0") or 0) or STEPS[unit]
    return Balance(
        name=top.text("name", ""),
        unit=unit,
        step=step,
        significance=top.number("significance", 0.0001, 0.5, SIGNIFICANCE),
        root=root,
        tares=tuple(_tares(top, unit)),
        usual_parts=tuple(_usual(top, unit)) or tuple(map(Usual, USUAL_PARTS)),
        notes=tuple(_notes(top, rule)),
    )


def _notes(top: Reader, rule: _Rule) -> Iterator[str]:
    if not top.has("scale_sd"):
        yield (
            f"Each reading is taken to have a standard deviation of {plain(rule.scale_sd)} "
            f"{rule.unit} (common practice, no published source)."
        )
    if not top.has("loss") and rule.usual_loss:
        yield (
            f"Loss in cutting is taken as {plain(rule.loss_share * 100)} % of each whole, give or "
            f"take {plain(rule.loss_sd_share * 100)} % (common practice, no published source)."
        )


def _sd(row: Reader, key: str) -> Fraction:
    found = Fraction(row.decimal(key))
    if found < _LEAST_SD:
        raise row.fail(key, "is too small; no scale reads exactly, give 0.00001 or more.")
    return found


def _loss_rule(top: Reader) -> tuple[Fraction, Fraction]:
    if not top.has("loss"):
        return LOSS_SHARE, LOSS_SD_SHARE
    row = Reader(top.value["loss"], "$.loss", ("share", "sd_share"))
    share = exact(row.number("share", 0.0, 0.9))
    return share, _sd_share(row, share)


def _sd_share(row: Reader, share: Fraction) -> Fraction:
    found = exact(row.number("sd_share", 0.0, 0.9, float(share / 2)))
    if share and not found:
        raise row.fail("sd_share", "is zero; a loss that is not weighed is never exact.")
    return found


def _piece(value: object, path: str, rule: _Rule, level: int) -> Piece:
    row = Reader(value, path, ("name", "weight", "unit", "sd", "parts", "loss"))
    rule.read += 1
    if rule.read > MOST_PIECES:
        raise BadValue(
            f"{path} is one piece too many; balance at most {MOST_PIECES} at once.", where=path
        )
    if level > MOST_LEVELS:
        raise BadValue(f"{path} is nested too deeply; split the tree.", where=path)
    own = WeightUnit(row.choice("unit", UNITS, rule.unit.value))
    weight = row.decimal("weight", None)
    parts = tuple(_piece(v, p, rule, level + 1) for p, v in row.each("parts", []))
    if weight is not None:
        weight = in_unit(Fraction(weight), own, rule.unit)
    if row.has("loss") and not parts:
        raise row.fail("loss", "is given without parts; only what is cut loses weight.")
    sd = in_unit(_sd(row, "sd"), own, rule.unit) if row.has("sd") else rule.scale_sd
    return Piece(
        name=row.text("name"),
        path=path,
        weight=weight,
        sd=sd,
        parts=parts,
        loss=_loss(row, rule, own, _base(weight, parts)) if parts else None,
    )


def _base(weight: Fraction | None, parts: tuple[Piece, ...]) -> Fraction:
    """Return what a share of loss is of: the whole, or the parts where it was not weighed."""
    if weight is not None:
        return weight
    return sum((_base(part.weight, part.parts) for part in parts), Fraction(0))


def _loss(row: Reader, rule: _Rule, own: WeightUnit, base: Fraction) -> Loss | None:
    share, sd_share = rule.loss_share, rule.loss_sd_share
    if row.has("loss"):
        loss = Reader(row.value["loss"], row.where("loss"), ("share", "sd_share", "weight", "sd"))
        if loss.has("weight"):
            if loss.has("share"):
                raise loss.fail("share", "is given beside weight; keep one of the two.")
            weight = in_unit(Fraction(loss.decimal("weight")), own, rule.unit)
            return Loss(weight, in_unit(_sd(loss, "sd"), own, rule.unit))
        share = exact(loss.number("share", 0.0, 0.9))
        sd_share = _sd_share(loss, share)
    else:
        rule.usual_loss = True
    if not sd_share or not base:
        return None
    return Loss(base * share, max(base * sd_share, _LEAST_SD))


def _tares(top: Reader, unit: WeightUnit) -> Iterator[Tare]:
    for path, value in top.each("tares", []):
        row = Reader(value, path, ("name", "weight", "unit"))
        own = WeightUnit(row.choice("unit", UNITS, unit.value))
        weight = Fraction(row.decimal("weight"))
        if not weight:
            raise row.fail("weight", "is zero; weigh the empty tub or leave it out.")
        yield Tare(row.text("name"), in_unit(weight, own, unit))


def _usual(top: Reader, unit: WeightUnit) -> Iterator[Usual]:
    for path, value in top.each("usual_parts", []):
        row = Reader({"name": value} if isinstance(value, str) else value, path,
                     ("name", "weight", "unit"))  # fmt: skip
        own = WeightUnit(row.choice("unit", UNITS, unit.value))
        weight = row.decimal("weight", None)
        name = row.text("name")
        if not name.strip():
            raise row.fail("name", "is empty; name the part.")
        yield Usual(name, None if weight is None else in_unit(Fraction(weight), own, unit))
