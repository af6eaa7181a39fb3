"""Commands of the glass: ``sell``, ``takeback`` and ``pay``."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.measures import Money
    from collop.shop import (
        Estimate,
        NewPayment,
        NewSale,
        Returned,
        Settings,
        Shop,
        SlipMoney,
    )

__all__ = ["pay", "sell", "takeback"]

_WAYS = click.Choice(["cash", "card", "other", "account"])
_BY = click.option("--by", help="Who does it.")
_KEY = click.option("--key", help="Sent twice with one key, it is done once.")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")


@click.command()
@DATABASE
@click.argument("lines", nargs=-1, required=True, metavar="LINE...")
@click.option("--way", type=_WAYS, help="How it is paid; left out, nothing is noted.")
@click.option("--given", help="Cash laid on the counter, such as 50.")
@click.option("--name", default="Counter", help="Whose it is; account needs one.")
@click.option("--agreed", is_flag=True, help="The customer takes what is over or under.")
@click.option("--estimate", is_flag=True, help="Tell what it would come to; nothing is sold.")
@_BY
@_KEY
@_JSON
def sell(
    path: str, *, lines: tuple[str, ...], way: str | None, given: str | None, name: str,
    agreed: bool, estimate: bool, by: str | None, key: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Sell at the glass: each LINE is a cut and its net weight, C11=1.08, or a ticket, T12.

    C11=1.08:1 says that 1 was asked for. A ticket may be what a scanner reads off it.

    Example: collop sell C11=1.08:1 C04=0.75 --way cash --given 50 --by dot --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        wanted: list[NewSale] = []
        for text in lines:
            named = {one.ticket for one in wanted if one.ticket}
            wanted.append(_sale(text, shop, named, agreed=agreed))
        if estimate:
            found = shop.selling.estimate(wanted)
            _tell_estimate(found, as_json=as_json)
            return
        paid = _paid(way, given, shop.settings())
        slip = shop.selling.sell(wanted, paid, by=_who(by), key=key or f"cli-{uuid4().hex}",
                                 name=name)  # fmt: skip
        _tell_slip(shop, slip.booking_id, as_json=as_json)


def _who(by: str | None) -> str:
    from collop.errors import BadValue

    if not by:
        raise BadValue("Say who does it with --by.", where="by")
    return by


def _sale(text: str, shop: Shop, besides: Collection[str], *, agreed: bool) -> NewSale:
    """Read one line: ``T12`` or what a scanner reads, ``C11=1.08`` or ``C11=1.08:1``."""
    from collop.errors import BadValue
    from collop.measures import parse_weight
    from collop.shop import NewSale

    cut, has_weight, rest = text.partition("=")
    if not has_weight:
        if cut[:1] not in {*"Tt]0123456789"}:
            raise BadValue(f"{text[:40]!r} is no line; write it like C11=1.08, or a ticket like"
                           " T12.", where="lines")  # fmt: skip
        return NewSale(ticket=shop.selling.ticket_meant(cut, besides=besides))
    if not cut.strip():
        raise BadValue(f"{text[:40]!r} names no cut; write it like C11=1.08.", where="lines")
    net, has_asked, asked = rest.partition(":")
    unit = shop.settings().legal_unit
    return NewSale(
        case_id=cut.strip().upper(), net=parse_weight(net, unit), agreed=agreed,
        asked=parse_weight(asked, unit) if has_asked else None,
    )  # fmt: skip


def _money(text: str | None, chosen: Settings) -> Money | None:
    from collop.errors import BadValue
    from collop.measures import Money

    if text is not None and not text.isascii():
        raise BadValue(f"{text[:20]!r} is no amount of money; write it like 4.85.")
    return None if text is None else Money.of(text, chosen.currency)


def _paid(way: str | None, given: str | None, chosen: Settings) -> NewPayment | None:
    from collop.shop import NewPayment

    return None if way is None else NewPayment(way, _money(given, chosen))


def _tell_estimate(found: Estimate, *, as_json: bool) -> None:
    if as_json:
        tell_json(_estimate_json(found))
        return
    for one in found.lines:
        click.echo(f"  {one.name:<30}{one.net.text():>10}{one.money!s:>10}")
        if one.gap is not None and one.gap.words:
            click.echo(f"      {one.gap.words}; as asked {one.gap.asked_money}")
        for words in filter(None, (one.half_cent, one.trouble)):
            click.echo(f"      {words}")
    click.echo(f"  {'total with tax':<40}{found.totals.total!s:>10}")


def _estimate_json(found: Estimate) -> dict[str, Any]:
    return {
        "lines": [
            {"case_id": one.case_id, "name": one.name,
             "net": f"{one.net.decimal(one.net.unit, 3):f}", "unit": one.net.unit.value,
             "price": f"{one.price.amount:f}", "price_per": one.price.per.value,
             "money": str(one.money), "half_cent": one.half_cent, "ticket": one.ticket,
             "lot": one.lot, "trouble": one.trouble,
             "asked": None if one.gap is None else {
                 "weight": f"{one.gap.asked.decimal(one.net.unit, 3):f}",
                 "money": str(one.gap.asked_money), "percent": str(one.gap.percent),
                 "over": one.gap.is_over, "beyond": one.gap.beyond}}
            for one in found.lines
        ],
        "lines_total": str(found.totals.before), "tax": str(found.totals.tax),
        "total": str(found.totals.total), "in_cash": str(found.totals.cash.to_pay),
        "currency": found.totals.total.currency,
    }  # fmt: skip


def _tell_slip(shop: Shop, name: str, *, as_json: bool) -> None:
    slip, money = shop.selling.slip(name), shop.money.of(name)
    if as_json:
        told = [
            {"line": one.line_id, "case_id": one.case_id, "name": one.name,
             "net": f"{one.weighed.decimal(one.weighed.unit, 3):f}",
             "unit": one.weighed.unit.value, "money": str(one.line_total),
             "half_cent": one.half_cent}
            for one in slip.lines
        ]  # fmt: skip
        tell_json({"lines": told} | _money_json(money))
        return
    for one in slip.lines:
        click.echo(f"  {one.name:<30}{one.weighed.text():>10}{one.line_total!s:>10}")
        if one.half_cent:
            click.echo(f"      {one.half_cent}")
    for line in _money_lines(money):
        click.echo(line)


def _money_json(money: SlipMoney) -> dict[str, Any]:
    return {
        "slip": money.booking_id, "name": money.name, "state": money.state,
        "lines_total": str(money.lines), "tax": str(money.tax), "total": str(money.total),
        "deposit": str(money.deposit), "returned": str(money.returned),
        "cash_rounding": str(money.rounding), "due": str(money.due),
        "on_account": str(money.on_account), "currency": money.total.currency,
        "payments": [
            {"what": one.what, "way": one.way, "amount": str(one.amount), "note": one.note,
             "given": None if one.given is None else str(one.given),
             "change": None if one.change is None else str(one.change), "by": one.by}
            for one in money.payments
        ],
    }  # fmt: skip


def _money_lines(money: SlipMoney) -> Iterator[str]:
    yield f"{money.booking_id} {money.name}"
    if money.tax.minor:
        yield f"  {'tax':<40}{money.tax!s:>10}"
    yield f"  {'total':<40}{money.total!s:>10}"
    if money.deposit.minor:
        yield f"  {'deposit':<40}{money.deposit!s:>10}"
    if money.returned.minor:
        yield f"  {'back over the glass':<40}{money.returned!s:>10}"
    for one in money.payments:
        change = "" if one.change is None else f"  change {one.change}"
        yield f"  {one.what + ', ' + one.way:<40}{one.amount!s:>10}{change}"
    if money.rounding.minor:
        yield f"  {'cash rounding':<40}{money.rounding!s:>10}"
    yield f"  {'due':<40}{money.due!s:>10}"


@click.command()
@DATABASE
@click.argument("line")
@click.option("--weight", help="What comes back; left out, all of it.")
@click.option("--why", required=True, help="Why it comes back.")
@click.option("--way", type=click.Choice(["cash", "card", "other"]),
              help="How the money is given back at once.")  # fmt: skip
@_BY
@_KEY
@_JSON
def takeback(
    path: str, *, line: str, weight: str | None, why: str, way: str | None, by: str | None,
    key: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Take weight of a LINE of a slip back over the glass; it goes into the bin.

    A whole slip, H11, takes all of it back and gives its money back the way it was paid.

    Example: collop takeback H11-1 --weight 0.5 --why "not what was asked" --way cash --by dot
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        from collop.measures import parse_weight

        back = None if weight is None else parse_weight(weight, shop.settings().legal_unit)
        once = key or f"cli-{uuid4().hex}"
        is_whole = "-" not in line
        if is_whole:
            _only_whole(weight, way)
            found = shop.selling.take_back_all(line, why, by=_who(by), key=once)
        else:
            found = (shop.selling.take_back(line, back, why, by=_who(by), key=once, way=way),)
    if as_json:
        told = [_returned_json(one) for one in found]
        tell_json({"returns": told} if is_whole else told[0])
        return
    for one in found:
        click.echo(f"{one.line_id}: {one.weight.text()} of {one.name} is in the bin;"
                   f" {one.total} back.")  # fmt: skip


def _only_whole(weight: str | None, way: str | None) -> None:
    from collop.errors import BadValue

    if weight is not None or way is not None:
        raise BadValue("All of a slip comes back, as it was paid; leave out --weight and --way,"
                       " or name one line like H11-1.", where="line")  # fmt: skip


def _returned_json(found: Returned) -> dict[str, Any]:
    return {
        "line": found.line_id, "name": found.name,
        "weight": f"{found.weight.decimal(found.weight.unit, 3):f}",
        "unit": found.weight.unit.value, "money": str(found.money), "tax": str(found.tax),
        "total": str(found.total), "currency": found.money.currency, "why": found.why,
    }  # fmt: skip


@click.command()
@DATABASE
@click.argument("name", metavar="SLIP")
@click.option("--what", default="payment", show_default=True,
              type=click.Choice(["deposit", "payment", "given back", "deposit kept"]))  # fmt: skip
@click.option("--way", type=_WAYS, help="How; left out, nothing is noted and the slip is told.")
@click.option("--amount", help="Left out, all that is open.")
@click.option("--given", help="Cash laid on the counter.")
@click.option("--note", default="", help="A few words; never the number of a card.")
@_BY
@_KEY
@_JSON
def pay(
    path: str, *, name: str, what: str, way: str | None, amount: str | None, given: str | None,
    note: str, by: str | None, key: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Tell the money of a SLIP or booking, or note a payment on it.

    Example: collop pay H8 --what deposit --way cash --by dot --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        chosen = shop.settings()
        rule = ""
        if way is None:
            found = shop.money.of(name)
        else:
            found = shop.money.note(
                name, what, way, _money(amount, chosen), note=note, given=_money(given, chosen),
                by=_who(by), key=key or f"cli-{uuid4().hex}",
            )  # fmt: skip
        if found.deposit.minor and found.state != "gone":
            rule = shop.money.on_release(name).words if found.state == "off" else (
                shop.money.deposit_rule())  # fmt: skip
    if as_json:
        tell_json(_money_json(found) | {"deposit_rule": rule})
        return
    for line in (*_money_lines(found), *([rule] if rule else [])):
        click.echo(line)
