"""The command that tells the book of rules: ``rules``."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import click

from collop.cli.shop import open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.rules import Rule, Setting

__all__ = ["rules"]

_NUMBERS = frozenset({"temperature", "hours", "days", "years", "count", "percent"})
_FIRST = "The local code and the local authority come first. Nothing here is legal advice."


def _value(one: Setting, value: str) -> float | int | str | None:
    """Return a value as JSON has it: figures are numbers, money is text, nothing is null."""
    if not value:
        return None
    if one.kind not in _NUMBERS:
        return value
    number = float(value)
    return int(number) if number.is_integer() else number


def _setting_json(one: Setting, in_force: str, chosen: Mapping[str, str]) -> dict[str, Any]:
    from collop.rules import limit_of

    # the most days of a vacuum pack are those of the edition chosen
    limit = limit_of(one.name, chosen) if one.stricter else None
    published = "" if limit is None else f"{limit:f}"
    return {
        "name": one.name,
        "label": one.label,
        "kind": one.kind,
        "unit": one.unit.removeprefix("°"),
        "value": _value(one, in_force),
        "usual": _value(one, one.default or published),
        "published_limit": _value(one, published),
        "stricter": one.stricter,
        "choices": [key for key, _ in one.choices],
        "means": one.means,
    }


def _rule_json(one: Rule, chosen: Mapping[str, str]) -> dict[str, Any]:
    pairs = zip(one.settings, one.chosen, strict=True)
    return {
        "id": one.id,
        "topic": one.topic,
        "text": one.text,
        "published": one.published,
        "value": one.value,
        "unit": one.unit,
        "scope": one.scope,
        "when": one.when,
        "worked": one.worked,
        "note": one.note,
        "source_id": one.source.source_id,
        "source": one.citation(),
        "edition": one.edition,
        "status": one.status.value,
        "does": one.does,
        "also": list(one.also),
        "part_of": one.part_of or None,
        "settings": [_setting_json(each, value, chosen) for each, value in pairs],
    }


def _chosen_at(path: str | None) -> Mapping[str, str]:
    if path is None:
        return {}
    with open_at(path) as shop:
        return shop.rules.chosen()


@click.command()
@click.argument("rule_id", required=False)
@click.option("--topic", default="", help="Only the rules of a topic, such as cooling.")
@click.option("--find", "text", default="", help="Only the rules in which these words stand.")
@click.option("--all", "with_parts", is_flag=True, help="Tell every published row too.")
@click.option("--db", "path", help="Show what this shop chose; without it, as published.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON, every row in it.")
def rules(
    rule_id: str | None, topic: str, text: str, path: str | None, *, with_parts: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Tell the rules, their sources and what the tool does with them; one by its id.

    Example: collop rules --topic cooling
    """
    with one_sentence(as_json=as_json):
        from collop.rules import rule, search

        chosen = _chosen_at(path)
        found = (rule(rule_id, chosen),) if rule_id else search(text, chosen, topic=topic)
    if as_json:
        tell_json({"first": _FIRST, "rules": [_rule_json(one, chosen) for one in found]})
        return
    click.echo(_FIRST)
    every = bool(with_parts or rule_id or text)
    shown = [one for one in found if every or (one.does and not one.part_of)]
    for line in _lines(shown):
        click.echo(line)
    if len(shown) < len(found):
        click.echo(f"\n{len(found) - len(shown)} further published rows: --all")


def _lines(found: list[Rule]) -> Iterator[str]:
    from collop.rules import TOPICS, laxer_than_usual

    topic = ""
    for one in found:
        if one.topic != topic:
            topic = one.topic
            yield f"\n{TOPICS[topic].upper()}"
        yield f"{one.id}  {one.text}"
        told = ", ".join(part for part in (one.figure, one.scope, one.when) if part)
        if told:
            yield f"    Published: {told}"
        if one.worked:
            yield f"    Worked: {one.worked}"
        for each, value in zip(one.settings, one.chosen, strict=True):
            yield f"    {each.label}: {each.told(value)}  ({each.name})"
            if each.name == "food_code" and (laxer := laxer_than_usual(value)):
                yield f"    {laxer}"
        if one.does:
            yield f"    {one.does}"
        edition = "" if one.edition in one.citation() else f" [{one.edition}]"
        yield f"    {one.citation()}{edition}"
