"""Commands that keep a shop from being lost: ``backup`` and ``restore``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from collop.cli.holding import file_at
from collop.cli.shop import DATABASE, address_of
from collop.cli.telling import one_sentence, tell_json

if TYPE_CHECKING:
    from collop.shop.backup_model import Kept

__all__ = ["backup", "restore"]


def file_of(path: str) -> Path:
    """Return the file of a shop.

    Raises
    ------
    StorageTrouble
        If it is on a server: that is kept by the server's own tools.
    """
    from collop.errors import StorageTrouble

    found = file_at(address_of(path))
    if found is None:
        raise StorageTrouble(
            "This shop is on a database server: keep it with pg_dump (docs/postgresql.md), or"
            " take everything out with: collop export."
        )
    return found


def _line(kept: Kept) -> str:
    told = f"{kept.path.name}  {kept.path.stat().st_size // 1024} kB"
    if kept.note is None:
        return f"{told}  no note beside it"
    return f"{told}  {kept.note.acts} acts, newest {kept.note.newest_act_at or 'none'}"


@click.command()
@DATABASE
@click.option("--to", "folder", type=click.Path(path_type=Path), help="Folder of the copies.")
@click.option("--keep", default=30, show_default=True, type=click.IntRange(1, 10_000),
              help="How many are kept.")  # fmt: skip
@click.option("--list", "only_list", is_flag=True, help="Tell what is kept; make none.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def backup(path: str, folder: Path | None, keep: int, *, only_list: bool, as_json: bool) -> None:
    """Make a copy of a shop that may be in use, and check it by opening it as a shop.

    Example: collop backup --db shop.db --to /mnt/second-disk
    """
    with one_sentence(as_json=as_json):
        from collop.shop.backup import backups_in, make_backup

        shop = file_of(path)
        if not only_list:
            made = make_backup(shop, folder, keep=keep)
        kept = backups_in(shop, folder)
    if as_json:
        tell_json({"made": None if only_list else str(made.path),
                   "kept": [{"file": str(one.path), "note": one.note and one.note.told()}
                            for one in kept]})  # fmt: skip
        return
    if only_list:
        for one in kept:
            click.echo(_line(one))
        click.echo(f"{len(kept)} kept." if kept else "No backup yet; make one with: collop backup.")
        return
    click.echo(f"{made.path} is made and checked: it opens as a shop and all adds up.")
    click.echo(f"{_line(made)}. {len(kept)} kept.")


@click.command()
@click.argument("source", type=click.Path(path_type=Path))
@DATABASE
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def restore(source: Path, path: str, *, yes: bool, as_json: bool) -> None:
    """Put a backup in the place of a shop; what stood there is kept beside it.

    Example: collop restore shop.db.backups/shop-2026-06-09T030000.db --db shop.db
    """
    with one_sentence(as_json=as_json):
        from collop.shop.restoring import restore as put_back

        shop = file_of(path)
        if not yes and not as_json and shop.exists():
            click.confirm(f"Put {source.name} in the place of {shop.name}?", abort=True)
        done = put_back(source, shop)
    if as_json:
        tell_json({"restored": str(done.path), "from": str(done.source), "acts": done.acts,
                   "newest_act_at": done.newest_act_at, "seal": done.seal,
                   "before": done.before and str(done.before)})  # fmt: skip
        return
    click.echo(f"{done.path} is restored from {done.source.name}: {done.acts} acts, the newest of"
               f" {done.newest_act_at or 'never'}; all adds up.")  # fmt: skip
    if done.before:
        click.echo(f"What stood there is kept as {done.before}.")
