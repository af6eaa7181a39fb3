"""The shop's pricing choices in words: what each means, its figure, and who changed it last."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from collop.shop.bench_choices import hands_told, read_room
from collop.shop.pricing_choices import BY_PRODUCTS, OF_THE_BENCH
from collop.shop.settings import kept
from collop.shop.till_choices import CASH_WORDS, PER_WORDS, classes_text

if TYPE_CHECKING:
    from collop.shop.model import SettingChange, Settings

__all__ = ["CHOICES", "ChoiceWords", "figure_text", "kept_of", "last_changed", "parts_of", "told"]

_LEAST_PLACES = 2
_SHARES = frozenset({"target_margin", "price_jump", "over_share", "deposit_kept"})
_AS_TEXT = frozenset(
    {"quote_hold_minutes", "tax_per", "cash_rounding", "deposit_words", "deposit_hours"}
)
_WORDS: Mapping[str, Mapping[str, str]] = {"tax_per": PER_WORDS, "cash_rounding": CASH_WORDS}


@dataclass(frozen=True, slots=True)
class ChoiceWords:
    """One choice in words.

    Parameters
    ----------
    name : str
        The setting, or ``worths.`` and the kind of part.
    label : str
        What it is called, its unit with it; ``{unit}`` stands for the legal unit and
        ``{currency}`` for the currency.
    meaning : str
        One plain sentence.
    """

    name: str
    label: str
    meaning: str

    def label_for(self, chosen: Settings) -> str:
        """Return the label with the shop's own unit and currency."""
        return self.label.format(unit=chosen.legal_unit.value, currency=chosen.currency)


def _worth(kind: str) -> ChoiceWords:
    word = kind.replace("fat_bone", "fat and bone together")
    return ChoiceWords(f"worths.{kind}", f"{word.capitalize()}, {{currency}} a {{unit}}",
                       f"What {word} is worth; the cuts cost that much less.")  # fmt: skip


#: Every choice, in reading order.
CHOICES: tuple[ChoiceWords, ...] = (
    ChoiceWords("target_margin", "Target margin, per cent of sales",
                "What is to be left of the sales once the cost is taken off."),
    ChoiceWords("price_jump", "Jump limit, per cent",
                "A price that moves further than this from the one in force needs a reason."),
    ChoiceWords("price_cap", "Cap over the usual price, per cent",
                "Prices that clear what hangs stay under it; the board of an animal has no cap."),
    ChoiceWords("price_step", "Step, {currency}",
                "Prices that are worked out are multiples of this, unless endings are listed."),
    ChoiceWords("price_endings", "Endings, like .49 .99",
                "Prices that are worked out end on one of these; they win over the step."),
    ChoiceWords("labour_per_hour", "Labour, {currency} an hour",
                "What an hour at the block costs; it is part of the cost of every cut."),
    *(_worth(kind) for kind in BY_PRODUCTS),
    ChoiceWords("moves_from", "Moves shown from",
                "From this time of day the case shows the three moves worth most."),
    ChoiceWords("quote_hold_minutes", "Quote held, minutes",
                "How long a customer may take to say yes to a quoted price."),
    ChoiceWords("tax_classes", "Tax classes, like prepared 8.25 %; a ; parts them",
                "Your own, with days where a rate changes: prepared 8.5 from 2026-07-01. Which "
                "line is of which class stands on its label facts. Ask your tax authority."),
    ChoiceWords("tax_per", "Tax is rounded",
                "What is rounded to the cent: a class of the slip once, or each line of it."),
    ChoiceWords("cash_rounding", "Cash is paid",
                "The total with tax, in cash only; cards pay the exact cent."),
    ChoiceWords("over_share", "Over or under what was asked, per cent",
                "A weight further from what the customer asked is sold only when it is agreed to."),
    ChoiceWords("deposit_hours", "Deposit given back whole up to, hours before collection",
                "A booking that is taken off later than this keeps a share of its deposit."),
    ChoiceWords("deposit_kept", "Deposit kept after that, per cent",
                "It is shown when a booking is taken off; no money moves by itself."),
    ChoiceWords("deposit_words", "Deposit rule, in your own words",
                "Said before the figures; left empty, the sentence is made from them."),
)  # fmt: skip


def _plain(amount: Decimal, places: int = 0) -> str:
    """Return an amount with at least so many places, and no more than it has."""
    short = amount.normalize()
    had = max(places, -int(short.as_tuple().exponent))
    return f"{short:.{max(had, 0)}f}"


def kept_of(name: str, chosen: Settings) -> Any:  # noqa: ANN401 -- JSON is untyped
    """Return the present figure of a choice as it is kept."""
    whole, _, part = name.partition(".")
    value = kept(whole, getattr(chosen, whole))
    return value[part] if part else value


def figure_text(name: str, value: Any) -> str:  # noqa: ANN401 -- as it is kept
    """Return a kept figure as it is typed: shares in per cent, without a unit.

    Parameters
    ----------
    name : str
        Of one of `CHOICES`.
    value : object
        As the shop keeps it; see `collop.shop.pricing_choices`.
    """
    if name in _SHARES:
        return _plain(Decimal(value) * 100)
    if name == "price_cap":
        return _plain((Decimal(value) - 1) * 100)
    if name == "price_endings":
        return " ".join(_plain(Decimal(one), _LEAST_PLACES) for one in value)
    if name == "moves_from":
        return str(value)[:5]
    if name in _AS_TEXT:
        return str(value)
    if name == "tax_classes":
        return classes_text(value)
    return _plain(Decimal(value), _LEAST_PLACES)


def told(name: str, value: Any, chosen: Settings) -> str:  # noqa: ANN401 -- as it is kept
    """Return a kept figure with its unit, for a sentence or a table; ``none`` if there is none."""
    if value is None:
        return "none"
    if name in OF_THE_BENCH:
        return _of_the_bench(name, value)
    if name in _WORDS:
        return _WORDS[name].get(value, value)
    figure = figure_text(name, value)
    unit = chosen.legal_unit.value
    if name in ("price_endings", "tax_classes"):
        return (figure if name == "tax_classes" else figure.replace(" ", ", ")) or "none"
    if name == "quote_hold_minutes":
        return f"{figure} minute" if value == 1 else f"{figure} minutes"
    if name == "deposit_words":
        return figure or "made from its figures"
    ends = {"price_cap": " % over", "labour_per_hour": " an hour", "deposit_hours": " hours"}
    ends |= dict.fromkeys(_SHARES, " %")
    return figure + (f" a {unit}" if name.startswith("worths.") else ends.get(name, ""))


def _of_the_bench(name: str, value: Any) -> str:  # noqa: ANN401 -- as it is kept
    if name == "hands":
        return hands_told(value)
    if name == "case_room":
        room = read_room(value)
        return "no limit" if room is None else room.text()
    return f"{_plain(Decimal(value))} F"


def parts_of(change: SettingChange) -> tuple[tuple[str, Any, Any], ...]:
    """Return name, former and new figure of every choice one entry changed, as kept.

    An entry of the worths stands for each kind whose worth differs; a former figure that was
    never kept is None.
    """
    if change.name != "worths":
        return ((change.name, change.before, change.value),)
    before: Mapping[str, Any] = change.before or {}
    return tuple(
        (f"worths.{kind}", before.get(kind), worth)
        for kind, worth in change.value.items()
        if before.get(kind) != worth
    )


def last_changed(history: Iterable[SettingChange]) -> dict[str, SettingChange]:
    """Return the last entry of each choice that was ever changed, by its name.

    Parameters
    ----------
    history : iterable of SettingChange
        Oldest first.
    """
    return {name: change for change in history for name, _, _ in parts_of(change)}
