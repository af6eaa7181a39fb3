"""``collop people``: who works here, their posts and passwords; ``collop log``: who did what.

Whoever sits at the machine that holds the shop's files can read and write all of them anyway, so no
password is asked here. What is done is written in the log as done at the console.
"""

from __future__ import annotations

import sys
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import click

from collop.cli.shop import DATABASE, open_at
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop.access_model import AuditLine, Member, SessionSeen

__all__ = ["log", "people"]

_DB = click.option("--db", "path", default=None, help="File of the shop's database.")
_JSON = click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
_WHY = click.option("--why", required=True, help="The reason, for the log.")
_POSTS = click.Choice(["owner", "cutter", "counter", "apprentice"])


def _at(path: str | None) -> str:
    """Return the database of a subcommand: its own --db, or that before its name."""
    parent = click.get_current_context().parent
    given = path or (parent.params.get("path") if parent else None)
    return given or "shop.db"


@click.group(invoke_without_command=True)
@DATABASE
@click.option("--gone", is_flag=True, help="Those too who have left.")
@_JSON
@click.pass_context
def people(ctx: click.Context, path: str, *, gone: bool, as_json: bool) -> None:
    """Tell who works here, with post and what they sign in with; change it.

    Run at the machine that holds the shop's files, it asks for no password: who has the files has
    the shop. Each change is written in the log.

    Example: collop people --db shop.db
    """
    if ctx.invoked_subcommand is not None:
        return
    with one_sentence(as_json=as_json), open_at(path) as shop:
        found, alarms = shop.access.members(gone=gone), shop.access.alarms()
    if as_json:
        tell_json({"people": [_member_json(one) for one in found], "alarms": list(alarms)})
        return
    for one in found:
        click.echo(_member_text(one))
    for alarm in alarms:
        click.echo(f"LOOK {alarm}")


def _member_json(one: Member) -> dict[str, Any]:
    return {
        "id": one.id, "name": one.name, "post": str(one.post), "works_here": one.works_here,
        "has_password": one.has_password, "pin_devices": list(one.pin_devices),
    }  # fmt: skip


def _member_text(one: Member) -> str:
    ways = ["password"] if one.has_password else ["no password"]
    ways += [f"PIN on device {number}" for number in one.pin_devices]
    post = str(one.post) if one.works_here else f"has left, was {one.post}"
    return f"{one.name:<20} {post:<12} {', '.join(ways)}"


@people.command()
@click.argument("name")
@click.option("--post", type=_POSTS, required=True, help="What they are here.")
@_DB
@_JSON
def add(name: str, post: str, path: str | None, *, as_json: bool) -> None:
    """Take NAME on, or on again.

    Example: collop people add Rhea --post counter --db shop.db
    """
    with one_sentence(as_json=as_json), open_at(_at(path)) as shop:
        from collop.shop.access import CONSOLE
        from collop.shop.access_model import Post

        one = shop.access.add_member(name, Post(post), by=CONSOLE, key=uuid4().hex)
    _tell(one, as_json=as_json)


def _tell(one: Member, *, as_json: bool) -> None:
    if as_json:
        tell_json(_member_json(one))
    else:
        click.echo(_member_text(one))


@people.command("post")
@click.argument("name")
@click.argument("post", type=_POSTS)
@_WHY
@_DB
@_JSON
def change(name: str, post: str, why: str, path: str | None, *, as_json: bool) -> None:
    """Give NAME another POST; their sessions end.

    Example: collop people post Kofi cutter --why "third year" --db shop.db
    """
    with one_sentence(as_json=as_json), open_at(_at(path)) as shop:
        from collop.shop.access import CONSOLE
        from collop.shop.access_model import Post

        one = shop.access.change_post(name, Post(post), by=CONSOLE, why=why, key=uuid4().hex)
    _tell(one, as_json=as_json)


@people.command()
@click.argument("name")
@_WHY
@_DB
@_JSON
def leaves(name: str, why: str, path: str | None, *, as_json: bool) -> None:
    """Write that NAME has left: sessions end, password and PINs are no more.

    Example: collop people leaves Dot --why "moved away" --db shop.db
    """
    with one_sentence(as_json=as_json), open_at(_at(path)) as shop:
        from collop.shop.access import CONSOLE

        one = shop.access.leaves(name, by=CONSOLE, why=why, key=uuid4().hex)
    _tell(one, as_json=as_json)


@people.command()
@click.argument("name")
@click.option("--stdin", "from_stdin", is_flag=True, help="Read it from standard input instead.")
@_DB
def password(name: str, path: str | None, *, from_stdin: bool) -> None:
    """Set the password of NAME; it is asked twice and not shown.

    At least 8 characters, 15 or more are better. Sessions and PINs of the person end, and so does a
    delay after failed tries: this always works, whatever was tried at the door.

    Example: collop people password Ines --db shop.db
    """
    with one_sentence(as_json=False), open_at(_at(path)) as shop:
        one = shop.access.member(name)
        if from_stdin:
            new = sys.stdin.readline().rstrip("\r\n")
        else:
            new = click.prompt(f"New password of {one.name}", hide_input=True,
                               confirmation_prompt="Once more")  # fmt: skip
        from collop.shop.access import CONSOLE

        shop.access.set_password(one.id, new, by=CONSOLE)
    click.echo(f"{one.name} has a new password. It was set at this machine's own console.")


@people.command()
@click.option("--ended", is_flag=True, help="Those too that are over.")
@_DB
@_JSON
def sessions(path: str | None, *, ended: bool, as_json: bool) -> None:
    """Tell which sessions are in use, newest first; times are UTC.

    Example: collop people sessions --db shop.db
    """
    with one_sentence(as_json=as_json), open_at(_at(path)) as shop:
        found = shop.access.sessions(ended=ended)
        devices = {one.number: one.name for one in shop.access.devices()}
    if as_json:
        tell_json({"sessions": [_session_json(one, devices) for one in found]})
        return
    for one in found:
        where = devices.get(one.device or 0, "unknown device")
        over = f", over {one.ended_at:%H:%M}: {one.ended_why}" if one.ended_at else ""
        used = f"since {one.made_at:%a %H:%M}, used {one.seen_at:%H:%M}"
        click.echo(f"{one.number:>5} {one.member.name:<20} {one.way:<9} {used}, {where}{over}")
    if not found:
        click.echo("Nobody is signed in.")


def _session_json(one: SessionSeen, devices: dict[int, str]) -> dict[str, Any]:
    return {
        "number": one.number, "person": one.member.id, "way": one.way,
        "device": None if one.device is None else devices.get(one.device),
        "made_at": one.made_at.isoformat(), "seen_at": one.seen_at.isoformat(),
        "ends_at": one.ends_at.isoformat(),
        "ended_at": None if one.ended_at is None else one.ended_at.isoformat(),
        "ended_why": one.ended_why,
    }  # fmt: skip


@people.command()
@click.argument("number", type=int)
@click.option("--why", default="ended at the console", show_default=True, help="For the log.")
@_DB
def end(number: int, why: str, path: str | None) -> None:
    """End session NUMBER at once.

    Example: collop people end 12 --why "tablet lost" --db shop.db
    """
    with one_sentence(as_json=False), open_at(_at(path)) as shop:
        from collop.shop.access import CONSOLE

        shop.access.end_session(number, by=CONSOLE, why=why)
    click.echo(f"Session {number} is over.")


def _day(given: str, where: str, today: date) -> date:
    from collop.errors import BadValue

    try:
        return date.fromisoformat(given) if given else today
    except ValueError:
        raise BadValue(f"{given[:20]!r} is no day; write it like 2026-06-09.",
                       where=where) from None  # fmt: skip


@click.command()
@DATABASE
@click.option("--from", "first", default="", help="First day; left out, the last one.")
@click.option("--to", "last", default="", help="Last day; left out, today.")
@click.option("--who", default=None, help="Only what this person did.")
@click.option("--kind", default=None, help="Only this kind, such as act or refused.")
@click.option("--most", default=500, show_default=True, help="At most so many rows, newest first.")
@click.option(
    "--check", "is_check", is_flag=True, help="Look whether the log holds; exit 1 if not."
)
@click.option("--seal", default="", help="With --check: a seal that was kept, 16 to 64 digits.")
@_JSON
def log(  # noqa: PLR0917 -- click passes them by name
    path: str, first: str, last: str, who: str | None, kind: str | None, most: int, *,
    is_check: bool, seal: str, as_json: bool,
) -> None:  # fmt: skip
    """Tell who did what, newest first, or check that nobody changed the log.

    Example: collop log --from 2026-06-08 --to 2026-06-09 --who Kofi --db demo.db
    """
    with one_sentence(as_json=as_json), open_at(path) as shop:
        access, today = shop.access, shop.now().date()
        if is_check:
            found, newest = list(access.log_faults()), access.seal()
            if seal and not access.knows_seal(seal):
                found.append("The seal that was kept is not in the log: rows before it are changed"
                             " or gone.")  # fmt: skip
            _tell_check(found, newest, as_json=as_json)
        to = _day(last, "to", today)
        lines = access.log(_day(first, "from", to), to, who=who, kind=kind, most=most)
        newest, names = access.seal(), {one.id: one.name for one in access.members(gone=True)}
    if as_json:
        tell_json({"lines": [_line_json(one) for one in lines], "seal": newest})
        return
    for one in lines:
        click.echo(_line_text(one, names))
    click.echo(f"Newest seal of the log: {newest}")


def _tell_check(found: list[str], seal: str, *, as_json: bool) -> None:
    if as_json:
        tell_json({"ok": not found, "found": found, "seal": seal})
    elif found:
        click.echo("\n".join(found))
    else:
        click.echo(f"The log holds. Newest seal, to be kept outside the shop: {seal}")
    sys.exit(1 if found else 0)


def _line_json(one: AuditLine) -> dict[str, Any]:
    return {
        "row": one.seq, "at": one.at.isoformat(), "kind": one.kind, "what": one.what,
        "answer": one.answer, "by": one.by, "device": one.device, "key": one.key,
    }  # fmt: skip


def _line_text(one: AuditLine, names: dict[str, str]) -> str:
    who = names.get(one.by or "", "no name given") if one.kind != "refused" else "not known"
    made = f" {one.answer}" if one.answer and one.answer != one.what else ""
    kind = "" if one.kind == "act" else f"{one.kind}: "
    on = "" if one.device is None else f", device {one.device}"
    return f"{one.seq:>6} {one.at:%a %d %b %H:%M}  {kind}{one.what}{made}, {who}{on}"
