"""The form that says how a line of the case cooks: reading it, and writing it back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal
from fractions import Fraction
from functools import partial
from math import floor

from collop.errors import BadValue
from collop.fire.problem import FORMS, METHODS
from collop.measures import Temperature, decimal_of
from collop.shop import CaseCook
from collop.shop.fire_cooks import TREATMENTS
from collop.shop.fire_told import CookTold
from collop.web.forms import Faults, Fields, read_choice, read_whole

__all__ = [
    "FORM_WORDS",
    "METHOD_WORDS",
    "TREATMENT_WORDS",
    "CookForm",
    "Scale",
    "field_of",
    "read_cook",
    "read_core",
    "read_thickness",
]

#: What the page calls the forms, the ways to cook, and what may have been done to a piece.
FORM_WORDS = {
    "": "none: minutes of the case",
    "steak": "steak, chop",
    "thin": "thin: hanger, skirt",
    "patty": "patty",
    "links": "links",
    "skewer": "skewer",
    "joint": "small joint, thigh",
    "roast": "roast, large joint",
    "bird-flat": "bird, opened flat",
    "bird-whole": "bird, whole",
}
METHOD_WORDS = {
    "": "as the case says",
    "direct": "over the coals",
    "indirect": "beside the coals, lid on",
    "indirect then direct": "beside, then over the coals",
    "plate": "plate or pan",
    "oven": "oven",
    "oven then direct": "oven, then over the coals",
    "pot": "pot",
}
TREATMENT_WORDS = {
    "": "as the case says",
    "whole": "whole",
    "tenderised": "tenderised: needle or mallet",
    "injected": "injected",
    "rolled": "rolled",
    "ground": "ground",
}
_YES_NO = {"yes": True, "no": False}
_LONGEST_MIN = 240
_MM_AN_INCH = Fraction(254, 10)
_SIXTEENTHS = 16
_UNITS = {"": None, "mm": Fraction(1), "cm": Fraction(10)} | dict.fromkeys(
    ("in", "inch", "inches", '"'), _MM_AN_INCH
)
_LENGTH = re.compile(
    r"(?:(?P<whole>\d{1,3}) )?(?P<top>\d{1,3})/(?P<under>\d{1,3})"
    r"|(?P<plain>\d{1,3}(?:[.,]\d{1,4})?)"
)
_CORE = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?) ?°? ?([FC]?)", re.IGNORECASE)
_SHAPE = re.compile(r"\d(?:\.\d{1,3})?")


@dataclass(frozen=True, slots=True)
class Scale:
    """How this device speaks: lengths in inches or mm, temperatures in degC or degF."""

    inches: bool = True
    celsius: bool = False

    def length(self, mm: Decimal) -> str:
        """Return a thickness in both units, the device's first, the other rounded."""
        metric, imperial = f"{mm.normalize():f} mm", f"{_inches(mm, 2)} in"
        return f"{imperial} ({metric})" if self.inches else f"{metric} ({imperial})"

    def typed_length(self, mm: Decimal) -> str:
        """Return a thickness as it may be typed: read again, it is the same to 0.1 mm.

        Examples
        --------
        >>> Scale().typed_length(Decimal("44.5")), Scale().typed_length(Decimal(28))
        ('1 3/4 in', '1.102 in')
        >>> Scale(inches=False).typed_length(Decimal("44.5"))
        '44.5 mm'
        """
        if not self.inches:
            return f"{mm.normalize():f} mm"
        kept = decimal_of(Fraction(mm), 1)
        parts = round(Fraction(mm) / _MM_AN_INCH * _SIXTEENTHS)
        if decimal_of(parts * _MM_AN_INCH / _SIXTEENTHS, 1) == kept:
            return f"{_mixed(Fraction(parts, _SIXTEENTHS))} in"
        return f"{_inches(mm, 3)} in"

    def typed_core(self, fahrenheit: int) -> str:
        """Return a wanted core as it may be typed: read again, it is the same degree.

        Examples
        --------
        >>> Scale(celsius=True).typed_core(145), Scale().typed_core(145)
        ('62.8 °C', '145 °F')
        """
        if not self.celsius:
            return f"{fahrenheit} °F"
        exact = Temperature.fahrenheit(fahrenheit).in_celsius(3)
        return f"{exact.quantize(Decimal('0.1'), ROUND_CEILING).normalize():f} °C"


def _inches(mm: Decimal, places: int) -> str:
    return f"{decimal_of(Fraction(mm) / _MM_AN_INCH, places).normalize():f}"


def _mixed(value: Fraction) -> str:
    whole, rest = divmod(value, 1)
    words = [str(whole)] if whole or not rest else []
    return " ".join([*words, *([str(rest)] if rest else [])])


@dataclass(slots=True)
class CookForm:
    """The fields as they are shown: as typed, or as the line cooks now."""

    told: CookTold
    scale: Scale
    fields: Fields = field(default_factory=lambda: Fields([]))
    faults: Faults = field(default_factory=Faults)

    def one(self, name: str, default: str = "") -> str:
        """Return the text of a field; `default` if nothing is known of it."""
        if name in self.fields:
            return self.fields.one(name)
        cook = self.told.line.cook or CaseCook()
        if name == "thickness":
            mm = cook.thickness_mm
            return default if mm is None else self.scale.typed_length(mm)
        if name == "done":
            return default if cook.done_f is None else self.scale.typed_core(cook.done_f)
        value = getattr(cook, name, None)
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, Decimal):
            return f"{value.normalize():f}"
        return default if value is None else str(value)


def read_cook(form: CookForm) -> CaseCook:
    """Return how a line cooks as typed; what cannot be read is noted in the form's faults."""
    fields, faults, scale = form.fields, form.faults, form.scale

    def chosen(name: str, label: str, known: Iterable[str]) -> str | None:
        text = fields.one(name)
        return faults.take(name, partial(read_choice, text, label, known), None) if text else None

    def flag(name: str, label: str) -> bool:
        return _YES_NO[chosen(name, label, _YES_NO) or "no"]

    def minutes(name: str, label: str) -> int | None:
        text = fields.one(name)
        read = partial(read_whole, text, label, 0, _LONGEST_MIN)
        return faults.take(name, read, None) if text else None

    return CaseCook(
        form=chosen("form", "Form", FORMS),
        thickness_mm=faults.take(
            "thickness", lambda: read_thickness(fields.one("thickness"), scale), None
        ),
        measured=flag("measured", "Measured"),
        shape=faults.take("shape", lambda: _shape(fields.one("shape")), None),
        method=chosen("method", "Cooked", METHODS),
        fat_rich=flag("fat_rich", "Rich in fat"),
        bone=flag("bone", "Bone inside"),
        done_f=faults.take("done", lambda: read_core(fields.one("done"), scale), None),
        treatment=chosen("treatment", "Treated", TREATMENTS),
        rest_min=minutes("rest_min", "Rest"),
        hold_min=minutes("hold_min", "Longest wait"),
        carve=fields.one("carve"),
    )


def read_thickness(text: str, scale: Scale) -> Decimal | None:
    """Read a thickness to 0.1 mm; without a unit it is in that of the device.

    Examples
    --------
    >>> read_thickness("1 1/4 in", Scale()), read_thickness("25 mm", Scale())
    (Decimal('31.8'), Decimal('25.0'))
    >>> read_thickness("1", Scale()), read_thickness("30", Scale(inches=False))
    (Decimal('25.4'), Decimal('30.0'))

    Raises
    ------
    BadValue
        If it is no length.
    """
    if not text:
        return None
    own = "1 1/4 in or 30 mm" if scale.inches else "30 mm or 1 1/4 in"
    parts = re.fullmatch(r"(?s)(.*?) ?([a-z\"]*)", " ".join(text.lower().split()))
    unit = _UNITS.get(parts[2], Fraction(0)) if parts else Fraction(0)
    found = _LENGTH.fullmatch(parts[1]) if parts else None
    if unit == 0 or found is None or (found["under"] and not int(found["under"])):
        raise BadValue(f"Thickness: write it like {own}.")
    if found["plain"]:
        value = Fraction(found["plain"].replace(",", "."))
    else:
        value = int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["under"]))
    mm = value * (unit or (_MM_AN_INCH if scale.inches else 1))
    return decimal_of(mm, 1)


def read_core(text: str, scale: Scale) -> int | None:
    """Read a wanted core in whole degF; without a unit it is in that of the device.

    What is written between two degrees counts as the lower one, so a core a little under the
    published minimum is never lifted to it unseen.

    Examples
    --------
    >>> read_core("63", Scale(celsius=True)), read_core("150 F", Scale(celsius=True))
    (145, 150)

    Raises
    ------
    BadValue
        If it is no temperature.
    """
    if not text:
        return None
    found = _CORE.fullmatch(" ".join(text.split()))
    if found is None:
        raise BadValue("Wanted core: write it like 150 °F or 66 °C.")
    degrees = Fraction(found[1].replace(",", "."))
    celsius = found[2].upper() == "C" if found[2] else scale.celsius
    return floor(degrees * Fraction(9, 5) + 32 if celsius else degrees)


def _shape(text: str) -> Decimal | None:
    if not text:
        return None
    plain = text.replace(",", ".")
    if not _SHAPE.fullmatch(plain):
        raise BadValue("Shape factor: write 0 to 2, for example 0.3, or leave it empty.")
    return Decimal(plain)


_FIELDS: Mapping[str, str] = {
    "thickness_mm": "thickness", "done_f": "done", "form": "form", "shape": "shape",
    "method": "method", "treatment": "treatment", "rest_min": "rest_min", "hold_min": "hold_min",
    "carve": "carve", "by": "by",
}  # fmt: skip


def field_of(where: str | None) -> str | None:
    """Return the field of the form that a refusal of the shop points to; None if to none."""
    return _FIELDS.get(where or "")
