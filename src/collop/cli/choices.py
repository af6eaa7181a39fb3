"""The command that tells the shop's pricing choices: ``choices``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop.model import SettingChange, Settings

__all__ = ["choices"]

#: Shares and factors are told as numbers; money and endings stay decimal strings.
_NUMBERS = frozenset({"target_margin", "price_jump", "price_cap", "over_share", "deposit_kept"})


def _figure(name: str, value: Any) -> Any:  # noqa: ANN401 -- JSON is untyped
    return float(value) if name in _NUMBERS and value is not None else value


def _change_json(change: SettingChange) -> list[dict[str, Any]]:
    from collop.shop.choice_words import parts_of

    return [
        {
            "name": name,
            "before": _figure(name, before),
            "value": _figure(name, value),
            "at": change.at.isoformat(),
            "by": change.by,
            "why": change.why,
        }
        for name, before, value in parts_of(change)
    ]


def _choices_json(chosen: Settings, history: tuple[SettingChange, ...]) -> list[dict[str, Any]]:
    from collop.shop import choice_words as words

    last = words.last_changed(history)
    found = []
    for choice in words.CHOICES:
        kept, change = words.kept_of(choice.name, chosen), last.get(choice.name)
        found.append(
            {
                "name": choice.name,
                "label": choice.label_for(chosen),
                "value": _figure(choice.name, kept),
                "told": words.told(choice.name, kept, chosen),
                "meaning": choice.meaning,
                "since": None if change is None else change.at.isoformat(),
                "by": None if change is None else change.by,
                "why": None if change is None else change.why,
            }
        )
    return found


@click.command()
@DATABASE
@click.option("--history", "with_history", is_flag=True, help="Tell every change instead.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, the changes in it.")
def choices(path: str, *, with_history: bool, as_json: bool) -> None:
    """Tell the figures prices are worked out with, and who changed them last and why.

    Example: collop choices --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        chosen, history, at = shop.settings(), shop.setting_changes(), shop.now()
    told = _choices_json(chosen, history)
    changes = [one for change in history for one in _change_json(change)]
    if as_json:
        unit = chosen.legal_unit.value
        tell_json({"at": at.isoformat(), "currency": chosen.currency, "unit": unit,
                   "choices": told, "changes": changes})  # fmt: skip
    elif with_history:
        _tell_changes(history, chosen)
    else:
        for one in told:
            click.echo(f"{one['label']}: {one['told']}\n    {one['meaning']} {_last(one)}")


def _last(one: dict[str, Any]) -> str:
    if one["since"] is None:
        return "As it began."
    return f"Since {one['since'][:16].replace('T', ' ')}, {one['by'] or '-'}: {one['why']}"


def _tell_changes(history: tuple[SettingChange, ...], chosen: Settings) -> None:
    from collop.shop.choice_words import parts_of, told

    if not history:
        click.echo("Nothing was changed yet.")
    for change in history:
        for name, before, value in parts_of(change):
            click.echo(
                f"{change.at:%Y-%m-%d %H:%M}  {name}: {told(name, before, chosen)} -> "
                f"{told(name, value, chosen)}  {change.by or '-'}  {change.why}"
            )
