"""Reading the form of pricing choices: what was changed on it, each in its own unit."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any

from collop.errors import BadValue
from collop.rules.taxing_reading import read_classes
from collop.shop import choice_words as words
from collop.shop.pricing_choices import CHANGEABLE, read_choice
from collop.shop.till_choices import read_cash, read_classes_text, read_per
from collop.web.forms import Faults, Fields, read_time, read_whole
from collop.web.forms import read_choice as read_option

if TYPE_CHECKING:
    from collop.shop import Settings

__all__ = ["ENDS", "ends_of", "read_changes", "read_figure", "was"]

#: How prices that are worked out end.
ENDS = {"step": "on a step", "list": "on one of the endings"}
_PLACES = 4
_MOST_HOLD = 7 * 24 * 60
_MOST_HOURS = 24 * 60
_LISTED = "price_endings"
_WANTED = "Endings: write them like .49 .99, up to twenty, each under 1."


def was(name: str) -> str:
    """Return the name of the hidden field with the figure the page was shown with."""
    return f"was-{name}"


def ends_of(chosen: Settings) -> str:
    """Return how prices end now, one of `ENDS`."""
    return "list" if chosen.price_endings else "step"


def read_figure(text: str, label: str, low: str, high: str, *, places: int = _PLACES) -> Decimal:
    """Read an amount from `low` to `high`; a currency or per cent sign may be typed too.

    Raises
    ------
    BadValue
        If it is no amount, out of its range, or has more than `places` decimals.
    """
    plain = re.sub(r"[$%\s]", "", text)
    if re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+(\.[0-9]+)?", plain):
        plain = plain.replace(",", "")
    plain = plain.replace(",", ".")
    if not re.fullmatch(r"[+-]?(?=\.?[0-9])[0-9]{0,9}(\.[0-9]{0,20})?", plain):
        raise BadValue(f"{label}: write a figure from {low} to {high}.")
    value = Decimal(plain)
    if value < Decimal(low):
        raise BadValue(f"{label}: {plain} is too little; enter from {low} to {high}.")
    if value > Decimal(high):
        raise BadValue(f"{label}: {plain} is too much; enter from {low} to {high}.")
    if value != round(value, places):
        raise BadValue(f"{label}: write at most {places} decimals.")
    return value


def _per_cent(text: str, label: str, high: str) -> Decimal:
    return read_figure(text, label, "0", high) / 100


def _cap(text: str, label: str) -> Decimal:
    return 1 + read_figure(text, label, "0", "900") / 100


def _minutes(text: str, label: str) -> int:
    return read_whole(text, label, 1, _MOST_HOLD)


def _endings(text: str, _label: str) -> tuple[Decimal, ...]:
    """Read a list of endings; a comma parts them, or is the decimal comma where no point is."""
    between = r"[\s;,]+" if "." in text else r"[\s;]+|,\s+"
    parts = [part.replace(",", ".") for part in re.split(between, text) if part]
    if not parts or not all(re.fullmatch(r"0?\.[0-9]{1,4}|0", part) for part in parts):
        raise BadValue(_WANTED)
    return tuple(sorted({Decimal(part) for part in parts}))


_READ: dict[str, Callable[[str, str], Any]] = {
    "target_margin": partial(_per_cent, high="90"),
    "price_jump": partial(_per_cent, high="1000"),
    "price_cap": _cap,
    "price_step": partial(read_figure, low="0.001", high="1000"),
    _LISTED: _endings,
    "labour_per_hour": partial(read_figure, low="0", high="10000"),
    "moves_from": read_time,
    "quote_hold_minutes": _minutes,
    "tax_classes": lambda text, _: read_classes(read_classes_text(text)),
    "tax_per": lambda text, _: read_per(text),
    "cash_rounding": lambda text, _: read_cash(text),
    "over_share": partial(_per_cent, high="100"),
    "deposit_hours": lambda text, label: read_whole(text, label, 0, _MOST_HOURS),
    "deposit_kept": partial(_per_cent, high="100"),
    "deposit_words": lambda text, _: text,
}
_WORTH: Callable[[str, str], Any] = partial(read_figure, low="0", high="1000")


@dataclass(frozen=True, slots=True)
class _Form:
    """The form against the shop as it stands."""

    fields: Fields
    chosen: Settings

    def present(self, name: str) -> str:
        """Return the figure in force as it is typed."""
        return words.figure_text(name, words.kept_of(name, self.chosen))

    def is_touched(self, name: str) -> bool:
        """Tell whether a field is sent with another text than it was shown with."""
        fields = self.fields
        return name in fields and (
            was(name) not in fields or fields.one(name) != fields.one(was(name))
        )

    def read(self, choice: words.ChoiceWords) -> Any:  # noqa: ANN401 -- the setting's own type
        """Return the new figure, held to the shop's own range.

        Raises
        ------
        BadValue
            If it cannot be read, or somebody else changed it since the page was shown.
        """
        name, label = choice.name, choice.label_for(self.chosen).split(",", maxsplit=1)[0]
        whole, _, part = name.partition(".")
        read = _READ.get(name, _WORTH)(self.fields.one(name), label)
        kept = CHANGEABLE[whole].keep(read_choice(whole, {part: read} if part else read))
        self._keep_pace(choice, label, kept[part] if part else kept)
        return read

    def _keep_pace(self, choice: words.ChoiceWords, label: str, new: object) -> None:
        """Refuse to write over what somebody else changed since the page was shown."""
        name, now = choice.name, words.kept_of(choice.name, self.chosen)
        shown = self.fields.one(was(name), self.present(name))
        if shown != self.present(name) and new != now:
            said = words.told(name, now, self.chosen)
            raise BadValue(
                f"{label}: changed to {said} since this page was shown; send yours again if it "
                "is to stand."
            )


def read_changes(fields: Fields, chosen: Settings, faults: Faults) -> dict[str, Any]:
    """Return the new value of each setting that was changed on the form.

    Parameters
    ----------
    fields : Fields
        By name of a choice its text, and under `was` the text it was shown with; ``ends`` is one
        of `ENDS`. A field that is left as it was shown is no change, whatever stands now.
    chosen : Settings
        The shop as it stands.
    faults : Faults
        Takes what cannot be read, beside its field.

    Returns
    -------
    dict
        As `collop.shop.Shop.change_settings` takes them: of the worths, the kinds changed.
    """
    form, changes = _Form(fields, chosen), dict[str, Any]()
    worths: dict[str, Any] = {}
    for choice in words.CHOICES:
        name = choice.name
        if name == _LISTED:
            changes |= _read_ends(form, choice, faults)
        elif form.is_touched(name):
            read = faults.take(name, partial(form.read, choice), None)
            _, _, part = name.partition(".")
            (worths if part else changes)[part or name] = read
    return changes | ({"worths": worths} if worths else {})


def _read_ends(form: _Form, choice: words.ChoiceWords, faults: Faults) -> Mapping[str, Any]:
    """Return the endings if they change: listed ones, or none where prices end on a step."""
    fields = form.fields
    usual = "list" if fields.one(_LISTED) else "step"
    ends = faults.take(
        "ends", lambda: read_option(fields.one("ends", usual), "Prices end", ENDS), usual
    )
    if not form.is_touched(_LISTED) and not form.is_touched("ends"):
        return {}
    if ends == "list":
        return {_LISTED: faults.take(_LISTED, partial(form.read, choice), ())}
    if form.is_touched(_LISTED) and fields.one(_LISTED):
        faults.add("ends", f"Prices end: choose {ENDS['list']!r} to use the list, or empty it.")
    return {_LISTED: ()}
