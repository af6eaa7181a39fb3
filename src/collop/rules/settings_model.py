"""A setting of the rules: which published figure it starts from, and how far it may be moved."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from collop.errors import BadValue

__all__ = ["FIGURES", "Setting", "counted", "plain", "read_figure"]

#: Kinds whose value is a figure.
FIGURES = frozenset({"temperature", "hours", "days", "years", "count", "percent", "money"})
_WHOLE = frozenset({"days", "years", "count"})
# a comma before three digits parts thousands: "103,600" is no 103.6
_FIGURE = re.compile(r"(-?\d{1,7}(?:\.\d{1,3}|,\d{1,2})?) ?(?:°? ?([CF]))?", re.ASCII)
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d{1,2})?", re.ASCII)
_PLACES = {"money": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What a shop may choose about one rule.

    Parameters
    ----------
    name : str
        Its name, e.g. ``cold_limit_f``.
    label : str
        What it is called on the page.
    kind : str
        ``temperature``, ``hours``, ``days``, ``years``, ``count``, ``percent``, ``money``,
        ``choice`` or ``words``.
    rule_id : str
        The rule it belongs to.
    unit : str
        Unit of a figure, as shown.
    default : str
        The figure where nothing was chosen; empty if there is none.
    limit : str
        The published figure that a choice may not be laxer than; empty if there is none.
    stricter : str or None
        ``lower`` or ``higher``: which way is stricter; None where neither is.
    low, high : str
        A figure beyond them is a slip of the hand: common practice, no published source.
    choices : tuple of (str, str)
        Value and words of each thing to choose from.
    means : str
        What it does, in one sentence.
    elsewhere : str
        Address of the page that changes it, if it is not changed among the rules; ``-`` if it
        stands for as long as the shop does.
    """

    name: str
    label: str
    kind: str
    rule_id: str
    unit: str = ""
    default: str = ""
    limit: str = ""
    stricter: str | None = None
    low: str = "0"
    high: str = "1000000"
    choices: tuple[tuple[str, str], ...] = ()
    means: str = ""
    elsewhere: str = ""

    @property
    def is_figure(self) -> bool:
        """Tell whether its value is a figure."""
        return self.kind in FIGURES

    def told(self, value: str) -> str:
        """Return a value as it is shown."""
        if not value:
            return "not set"
        if self.kind == "choice":
            return dict(self.choices).get(value, value)
        if not self.is_figure:
            return value
        return counted(value, self.unit)


def counted(value: str, unit: str) -> str:
    """Return a figure with its unit, e.g. ``1 year``, ``2 years``, ``41 F`` or ``80 %``."""
    one = value == "1" and unit in {"days", "years"}
    return f"{value} {unit[:-1] if one else unit}".strip()


def plain(value: Decimal) -> str:
    """Return a figure without zeros at its end, e.g. ``41`` or ``39.2``."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def read_figure(setting: Setting, value: object) -> Decimal:
    """Return a figure from text or a whole number; degC may be given as ``4 C``.

    Raises
    ------
    BadValue
        If it is no figure, or has too many decimals.
    """
    what = f"{setting.label}:"
    text = str(value) if isinstance(value, (int, Decimal)) else value
    found = None
    if setting.kind == "money" and isinstance(text, str) and _THOUSANDS.fullmatch(text.strip()):
        text = text.replace(",", "")
    if isinstance(text, str) and not isinstance(value, bool):
        found = _FIGURE.fullmatch(text.strip().upper().replace("\N{MINUS SIGN}", "-"))
    if found is None or (found[2] and setting.kind != "temperature"):
        raise BadValue(f"{what} write a figure such as {setting.default or 12}, without words.",
                       where=setting.name)  # fmt: skip
    figure = Decimal(found[1].replace(",", ".")) + 0  # no minus zero
    if found[2] == "C":
        figure = figure * Decimal("1.8") + 32
    places = 0 if setting.kind in _WHOLE else _PLACES.get(setting.kind, 3)
    if figure != round(figure, places):
        least = "a whole number" if places == 0 else f"at most {places} decimals"
        raise BadValue(f"{what} write {least}.", where=setting.name)
    return figure
