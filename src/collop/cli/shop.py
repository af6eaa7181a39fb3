"""Commands on the shop itself: ``demo``, ``serve`` and ``check``."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from collop.cli.holding import disk_warnings, file_at, held
from collop.cli.serving import must_be_allowed, opened_words, read_site, tls_settings
from collop.cli.telling import one_sentence, tell_json, tell_spread
from collop.hosts import is_this_machine

if TYPE_CHECKING:
    from collop.shop import Shop
    from collop.web.keeper import Keeper

__all__ = ["DATABASE", "address_of", "check", "demo", "migrate", "new", "open_at", "serve"]

DATABASE = click.option(
    "--db",
    "path",
    default="shop.db",
    show_default=True,
    envvar="COLLOP_DB",
    help="File of the shop's database.",
)


def address_of(path: str) -> str:
    """Return the database address of a file, or the address that was given."""
    return path if "://" in path else f"sqlite:///{Path(path).absolute()}"


_DAY = click.option(
    "--day",
    type=click.Choice(["tuesday", "monday"]),
    default="tuesday",
    show_default=True,
    help="Where a new demo shop begins: open on Tuesday, or on Monday, the breaking day.",
)


def _is_there(url: str) -> bool:
    if url.startswith("sqlite:///"):
        return Path(url[10:]).exists()
    from collop.shop.tenancy_shops import is_there

    return is_there(url)


def shown(path: str) -> str:
    """Return a file or address as it may be printed: without its password."""
    if "://" not in path:
        return path
    from collop.shop.store import address_of as read

    return read(path).render_as_string(hide_password=True)


def _open(path: str, *, make_demo: bool, day: str = "tuesday") -> Shop:
    """Open the shop; if there is none and it may, make the demo shop of `day`."""
    from collop.shop import create_shop, open_shop

    url = address_of(path)
    if make_demo and not _is_there(url):
        return create_shop(url, demo=True, day=day)
    return open_shop(url)


def open_at(path: str) -> Shop:
    """Open the shop at a file or database address."""
    return _open(path, make_demo=False)


def rowing_ask(shop: Shop) -> dict[str, Any]:
    """Return the ask of the demo: 34 eaters, 16 of them a crew, 310 of money, Friday 18:30."""
    from datetime import timedelta

    now = shop.now()
    friday = now + timedelta(days=(4 - now.weekday()) % 7)
    use_at = friday.replace(hour=18, minute=30, second=0, microsecond=0)
    return {
        "schema": "collop.spread/1",
        "currency": shop.settings().currency,
        "rounding": str(shop.settings().rounding),
        "groups": [
            {"name": "usual", "count": 18, "kind": "adult", "avoids": []},
            {"name": "crew", "count": 16, "kind": "crew", "avoids": ["allergen:sesame"]},
        ],
        "need_oz": {"plate": 7, "shared": 6, "hand": 6, "wrap": 5},
        "budget_total": "310.00",
        "fire": {
            "zones": [{"name": "drum half", "area_sq_in": 1200}],
            "usable_fraction": 0.8,
            "minutes": 180,
            "oven": True,
        },
        "rules": {"max_style_share": 0.6, "slots": ["centre"]},
        "use_at": use_at.isoformat(timespec="minutes"),
        "now": now.isoformat(timespec="minutes"),
        "offers": shop.offers(use_on=use_at.date()),
    }


@click.command()
@DATABASE
@_DAY
@click.option("--json", "as_json", is_flag=True, help="Print ask and plan as JSON.")
def demo(path: str, day: str, *, as_json: bool) -> None:
    """Make the demo shop if there is none, and work one ask through to its spreads.

    Example: collop demo --db demo.db
    """
    with one_sentence(as_json=as_json):
        shop = _open(path, make_demo=True, day=day)
        with shop:
            from collop.spread import answer

            ask = rowing_ask(shop)
            plan = answer(ask)
            name = shop.settings().name
    if as_json:
        tell_json({"ask": ask, "plan": plan})
        return
    click.echo(f"{name}: 34 eaters, 16 of them a rowing crew, 310.00, drum half, Friday 18:30.")
    tell_spread(plan)


def _must_be_free(host: str, port: int) -> None:
    import socket

    from collop.errors import StorageTrouble

    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as error:
            raise StorageTrouble(
                f"{host}:{port} cannot be used ({error.strerror}); choose another with --port."
            ) from None


@click.command()
@DATABASE
@click.option("--name", required=True, help="What the shop is called.")
@click.option("--place", default="", help="Street and town, for slips.")
@click.option("--currency", default="USD", show_default=True, help="Three letters.")
@click.option(
    "--unit",
    type=click.Choice(["lb", "kg"]),
    default="lb",
    show_default=True,
    help="Unit of the legal scale.",
)
@click.option(
    "--person",
    "people",
    multiple=True,
    required=True,
    help="Who works there, by first name; once for each.",
)
@click.option("--owner", default="", help="Which of them is the owner; left out, the first.")
def new(  # noqa: PLR0917 -- click passes them by name
    path: str, name: str, place: str, currency: str, unit: str, people: tuple[str, ...], *,
    owner: str,
) -> None:  # fmt: skip
    """Make a new, empty shop of your own.

    Its owner is the first person named, or --owner; the others begin as apprentices, who may do
    least: give them their post with collop people post.

    Example: collop new --db ours.db --name "Our shop" --person Ann --person Ben --owner Ann
    """
    with one_sentence(as_json=False):
        from collop.measures import WeightUnit
        from collop.shop import Settings, create_shop
        from collop.shop.access_people import new_staff

        chosen = Settings(name, place, currency=currency, legal_unit=WeightUnit(unit))
        staff = new_staff(people, owner)
        create_shop(address_of(path), settings=chosen, people=staff).close()
    quoted = shlex.quote(shown(path))  # an address has signs a shell would take for its own
    click.echo(f"{name} is made in {shown(path)}. Open it with: collop serve --db {quoted}")


@click.command()
@DATABASE
@_DAY
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8000, show_default=True, type=click.IntRange(0, 65535))
@click.option("--allow-host", "names", multiple=True, help="A name tablets call this machine by.")
@click.option("--site", default="", help="Where customers reach it, for the code on a Fire Sheet.")
@click.option("--certificate", type=click.Path(), help="File of a certificate, to serve https.")
@click.option("--key", type=click.Path(), help="File of the certificate's key.")
@click.option("--without-tls", is_flag=True, help="Serve other machines without a certificate.")
@click.option("--backups", type=click.Path(path_type=Path), help="Folder of the daily copies.")
def serve(
    path: str, day: str, *, host: str, port: int, names: tuple[str, ...], site: str,
    certificate: str | None, key: str | None, without_tls: bool, backups: Path | None,
) -> None:  # fmt: skip
    """Serve the counter's pages; makes the demo shop if there is no database.

    Example: collop serve --port 8000
    """
    from contextlib import ExitStack

    with ExitStack() as open_things:
        with one_sentence(as_json=False):
            reached, by_name = read_site(site)
            _must_be_free(host, port)
            tls = tls_settings((certificate, key))
            keeper = open_things.enter_context(
                held(address_of(path), f"served on {host}:{port}", backups)
            )
            shop = open_things.enter_context(_open(path, make_demo=is_this_machine(host), day=day))
            is_locked = shop.access.is_locked()
            must_be_allowed(host, is_locked=is_locked, tls=(certificate, key),
                            without_tls=without_tls)  # fmt: skip
            for line in disk_warnings(address_of(path)):
                click.echo(line, err=True)
        known = [host, *names, *([by_name] if by_name else [])]
        _serve(shop, keeper, host=host, port=port, names=known, site=reached, tls=tls)


def _serve(
    shop: Shop, keeper: Keeper | None, *, host: str, port: int, names: list[str], site: str,
    tls: dict[str, Any],
) -> None:  # fmt: skip
    from collop.web.app import create_app
    from collop.web.first_run import new_set_up_code
    from collop.web.serving import server_for

    chosen = shop.settings()
    code = "" if shop.access.is_locked() or chosen.demo else new_set_up_code()
    for line in opened_words(chosen.name, host, port, has_tls=bool(tls), code=code):
        click.echo(line)
    app = create_app(shop, hosts=names, replan=True, warm=True, keeper=keeper,
                     set_up_code=code, site=site)  # fmt: skip
    server_for(app, host=host, port=port, **tls).run()


@click.command()
@DATABASE
def migrate(path: str) -> None:
    """Bring a shop made by an older collop to the form this one knows; a copy is made first.

    Example: collop migrate --db shop.db
    """
    with one_sentence(as_json=False):
        from collop.shop import migrate_shop, open_shop

        url = address_of(path)
        if url.startswith("sqlite:///") and not Path(url[10:]).exists():
            from collop.errors import StorageTrouble

            raise StorageTrouble(f"There is no shop at {path}; make one first.")
        migrate_shop(url)
        if url.startswith("sqlite:///"):
            open_shop(url).close()
    click.echo(f"{shown(path)} has the form of this version.")


@click.command()
@DATABASE
@click.option("--disk", is_flag=True, help="Look at pages, keys and disk too.")
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
def check(path: str, *, disk: bool, as_json: bool) -> None:
    """Check that every pound and booking of the shop adds up; exit 1 if not.

    Plain text tells the first failure; --json tells all of them.

    Example: collop check --db shop.db
    """
    with one_sentence(as_json=as_json):
        looked = _look_at(path) if disk else None
        shop = _open(path, make_demo=False)
        with shop:
            found = shop.check(rows=True)
    if as_json:
        told = {} if looked is None else {"disk": looked}
        tell_json({"ok": not found, "found": found} | told)
    else:
        click.echo(found[0] if found else "All weights, bookings and pieces add up.")
        if len(found) > 1:
            click.echo(f"{len(found) - 1} more; see --json.")
        for line in _disk_lines(looked) if looked else ():
            click.echo(line)
    sys.exit(1 if found else 0)


def _look_at(path: str) -> dict[str, Any]:
    """Return what the disk under a shop is like, after looking through every page of its file."""
    file = file_at(address_of(path))
    if file is None:
        return {"warnings": ["This shop is on a database server; look at the disk there."]}
    if not file.is_file():
        return {}  # opening says so
    from collop.shop.damage import must_be_sound
    from collop.shop.disk_look import look_at_disk

    must_be_sound(file)
    look = look_at_disk(file)
    return {"sync_ms": round(look.sync_s * 1000, 3), "room_bytes": look.room,
            "shop_bytes": look.size, "log_bytes": look.log,
            "warnings": list(look.warnings)}  # fmt: skip


def _disk_lines(look: dict[str, Any]) -> list[str]:
    if "sync_ms" not in look:
        return list(look["warnings"])
    said = (
        f"A small write is on the disk after {look['sync_ms']:.2f} ms;"
        f" {look['room_bytes'] // 2**20} MB of room, {look['shop_bytes'] // 1024} kB of shop,"
        f" {look['log_bytes'] // 1024} kB of log."
    )
    return ["Every page and key of the file is whole.", said, *look["warnings"]]
