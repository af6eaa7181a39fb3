"""What was found of a lot, in one sentence; and its figures as plain decimals."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

from collop.measures import decimal_of
from collop.rules.netweight_judging import Judged
from collop.rules.netweight_reading import CheckedLot

__all__ = ["evened", "plain", "say"]

_PLACES = 6


def plain(value: Fraction | Decimal, places: int = _PLACES) -> str:
    """Return a decimal without closing zeros, rounded half up to `places`.

    Examples
    --------
    >>> plain(Fraction(-4, 1000)), plain(Fraction(2))
    ('-0.004', '2')
    """
    text = f"{decimal_of(Fraction(value), places):f}"
    short = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if short in ("-0", "") else short


def evened(packages: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return packages of a plan with their weights to the same decimals, two at the least.

    Examples
    --------
    >>> evened([{"label": "1", "net": "0.995", "error": "-0.005", "allowance": "0.04"}])
    [{'label': '1.000', 'net': '0.995', 'error': '-0.005', 'allowance': '0.040'}]
    """
    keys = ("label", "net", "error", "allowance")
    places = max([2, *(len(one[key].partition(".")[2]) for one in packages for key in keys)])

    def to(text: str) -> str:
        whole, _, decimals = text.partition(".")
        return f"{whole}.{decimals.ljust(places, '0')}"

    return [one | {key: to(one[key]) for key in keys} for one in packages]


def _by(amount: Decimal, unit: str) -> str:
    """Return a margin; one too small to be shown is said to be so, never to be nothing."""
    shown = plain(amount)
    least = f"{Decimal(1).scaleb(-_PLACES):f}"
    return f"less than {least} {unit}" if shown == "0" and amount else f"{shown} {unit}"


def say(lot: CheckedLot, judged: Judged) -> str:
    """Return the verdict of a lot with the figure it hangs on."""
    parts = []
    if not judged.packages_pass:
        parts.append(_on_packages(lot, judged))
    if judged.average == "fails":
        parts.append(_on_average(lot, judged))
    if parts:
        return f"The lot fails {'; and it fails '.join(parts)}."
    if judged.average == "too few":
        left = lot.sample - len(lot.packages)
        return (
            f"Not decided: {len(lot.packages)} of {lot.sample} packages are checked; "
            f"check {left} more."
        )
    return _passes(lot, judged)


def _on_packages(lot: CheckedLot, judged: Judged) -> str:
    count, unit = len(judged.beyond), lot.unit.value
    worst = max(
        judged.beyond,
        key=lambda index: -lot.packages[index].error - lot.packages[index].allowance.amount,
    )
    package = lot.packages[worst]
    told = (
        f"package {package.name} is {plain(-package.error)} {unit} short, where "
        f"{plain(package.allowance.amount)} {unit} is allowed"
    )
    if count == 1:
        return f"on one package: {told}"
    many = f"on {count} packages"
    allowed = f", where {judged.over_allowed} may be" if judged.over_allowed else ""
    return f"{many} short beyond their allowance{allowed}: the worst, {told}"


def _on_average(lot: CheckedLot, judged: Judged) -> str:
    unit = lot.unit.value
    short, limit = _digits(-judged.mean), judged.limit()
    if judged.factor is None:
        return (
            f"on the average: the packages are {plain(-judged.mean)} {unit} short, and none is "
            "allowed"
        )
    return (
        f"on the average by {_by(short - limit, unit)}: the packages are {plain(-judged.mean)} "
        f"{unit} short, where {plain(limit)} {unit} is allowed"
    )


def _passes(lot: CheckedLot, judged: Judged) -> str:
    unit, beyond = lot.unit.value, len(judged.beyond)
    end = "no package is short beyond its allowance"
    if beyond:
        end = f"{beyond} package is short beyond its allowance, as many as may be"
    if judged.average == "not judged":
        (package,) = lot.packages
        return (
            f"The lot passes: its one package is {_off(package.error, unit)}, where "
            f"{plain(package.allowance.amount)} {unit} short is allowed."
        )
    if judged.mean >= 0:
        return f"The lot passes: the packages are {_off(judged.mean, unit)} on average; {end}."
    limit = judged.limit()
    margin = limit - _digits(-judged.mean)
    return (
        f"The lot passes by {_by(margin, unit)}: the packages are {plain(-judged.mean)} {unit} "
        f"short on average, where {plain(limit)} {unit} is allowed; {end}."
    )


def _off(error: Fraction, unit: str) -> str:
    if not error:
        return "as labelled"
    return f"{plain(abs(error))} {unit} {'over' if error > 0 else 'short'}"


def _digits(value: Fraction) -> Decimal:
    """Return an exact value to as many digits as the error limit is known to."""
    return decimal_of(value, 40)
