"""Later steps on PostgreSQL: a new table, rule or index is kept apart while it is made.

A step is written once, for both databases, as if there were one shop. Where the tables are kept
apart already, what it makes is given the shop: its foreign keys point to rows of the same shop, for
``people (id)`` alone is unique no longer.
"""

from __future__ import annotations

from typing import Any

from alembic.ddl.postgresql import PostgresqlImpl
from sqlalchemy import ForeignKeyConstraint, Index, PrimaryKeyConstraint, Table, UniqueConstraint
from sqlalchemy.schema import Constraint

from collop.shop.tenancy import has_shops, keep_apart

__all__ = ["KeptApart"]


class KeptApart(PostgresqlImpl):
    """Alembic's PostgreSQL, with the shop first in all that a step makes."""

    __dialect__ = "postgresql"

    def _apart(self) -> bool:
        return self.connection is not None and has_shops(self.connection)

    def create_table(self, table: Table, **kw: Any) -> None:  # noqa: ANN401 -- passed on
        """Make the table without its foreign keys, keep it apart, then add them for its shop."""
        if not self._apart():
            super().create_table(table, **kw)
            return
        late = [one for one in table.constraints if isinstance(one, ForeignKeyConstraint)]
        for one in late:
            table.constraints.discard(one)
        super().create_table(table, **kw)
        assert self.connection is not None
        keep_apart(self.connection, table.name)
        for one in late:
            self._point(table.name, one)

    def create_index(self, index: Index, **kw: Any) -> None:  # noqa: ANN401 -- passed on
        """Make an index that begins with the shop."""
        if not self._apart() or index.table is None or "shop_id" in index.columns:
            super().create_index(index, **kw)
            return
        unique = "UNIQUE " if index.unique else ""
        columns = ", ".join(["shop_id", *(one.name for one in index.columns)])
        self._exec(_sql(f"CREATE {unique}INDEX {index.name} ON {index.table.name} ({columns})"))

    def add_constraint(self, const: Constraint, **kw: Any) -> None:  # noqa: ANN401 -- passed on
        """Add a rule that holds within a shop."""
        if not self._apart():
            super().add_constraint(const, **kw)
        elif isinstance(const, ForeignKeyConstraint):
            self._point(const.table.name, const)
        elif isinstance(const, UniqueConstraint | PrimaryKeyConstraint):
            kind = "UNIQUE" if isinstance(const, UniqueConstraint) else "PRIMARY KEY"
            columns = ", ".join(["shop_id", *(one.name for one in const.columns)])
            self._exec(_sql(f"ALTER TABLE {const.table.name} ADD CONSTRAINT {const.name}"
                            f" {kind} ({columns})"))  # fmt: skip
        else:
            super().add_constraint(const, **kw)

    def _point(self, table: str, rule: ForeignKeyConstraint) -> None:
        here = ", ".join(["shop_id", *rule.column_keys])
        target = rule.elements[0].target_fullname.rpartition(".")[0]
        there = ", ".join(["shop_id", *(one.target_fullname.rpartition(".")[2]
                                        for one in rule.elements)])  # fmt: skip
        when = "DEFERRED" if str(rule.initially).upper() == "DEFERRED" else "IMMEDIATE"
        name = rule.name or f"fk_{table}_{'_'.join(rule.column_keys)}"
        self._exec(_sql(f"ALTER TABLE {table} ADD CONSTRAINT {name} FOREIGN KEY ({here})"
                        f" REFERENCES {target} ({there}) DEFERRABLE INITIALLY {when}"))  # fmt: skip


def _sql(statement: str) -> Any:  # noqa: ANN401 -- a clause of SQLAlchemy
    from sqlalchemy import text  # noqa: PLC0415

    return text(statement)
