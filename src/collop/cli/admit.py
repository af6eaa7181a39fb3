"""``collop admit``: which database role may open which shop of a PostgreSQL database."""

from __future__ import annotations

import click

from collop.cli.shop import DATABASE, address_of
from collop.cli.telling import one_sentence

__all__ = ["admit"]


@click.command()
@DATABASE
@click.option("--role", required=True, help="A role of the database server that may log in.")
def admit(path: str, role: str) -> None:
    """Let a database role open a shop of a PostgreSQL database, and no other shop.

    Only the owner of the tables may do so.

    Example: collop admit --db "postgresql://collop@localhost/collop?shop=mill" --role mill
    """
    with one_sentence(as_json=False):
        from collop.shop.tenancy_shops import admit_role

        shop = admit_role(address_of(path), role)
    click.echo(f"{role} may open the shop {shop!r} now.")
