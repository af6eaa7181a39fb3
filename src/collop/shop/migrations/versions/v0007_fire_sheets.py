"""The fire sheet: customers' fires, addresses of sheets, how lines of the case cook.

Revision 0007, after 0006.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision: str | None = "0006"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)
_GUARDED = ("case_cooks", "fire_facts", "fire_sheets")
_VERBS = ("update", "delete")


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _table(name: str, *items: sa.Column | sa.Constraint) -> None:  # type: ignore[type-arg]
    """Make a table that counts its rows and tells when, by whom and in which act."""
    op.create_table(
        name,
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        *(one for one in items if isinstance(one, sa.Column)),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        *(one for one in items if not isinstance(one, sa.Column)),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name=f"fk_{name}_by_id"),
        sa.ForeignKeyConstraint(
            ["key"], ["acts.key"], name=f"fk_{name}_key", initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("seq", name=f"pk_{name}"),
        sqlite_autoincrement=True,
    )
    op.create_index(f"ix_{name}_key", name, ["key"])


def _of_booking(name: str, *items: sa.Column | sa.Constraint) -> None:  # type: ignore[type-arg]
    _table(
        name,
        sa.Column("booking_number", _SERIAL, nullable=False),
        *items,
        sa.ForeignKeyConstraint(
            ["booking_number"], ["bookings.number"], name=f"fk_{name}_booking_number"
        ),
    )
    op.create_index(f"ix_{name}_booking_number", name, ["booking_number"])


def _case_cooks() -> None:
    _table(
        "case_cooks",
        sa.Column("case_id", sa.String(40), nullable=False),
        sa.Column("form", sa.String(20)),
        sa.Column("thickness_mm", sa.String(12)),
        sa.Column("measured", sa.Boolean(), nullable=False),
        sa.Column("shape", sa.String(12)),
        sa.Column("method", sa.String(40)),
        sa.Column("fat_rich", sa.Boolean(), nullable=False),
        sa.Column("bone", sa.Boolean(), nullable=False),
        sa.Column("done_f", sa.Integer()),
        sa.Column("treatment", sa.String(20)),
        sa.Column("rest_min", sa.Integer()),
        sa.Column("hold_min", sa.Integer()),
        sa.Column("carve", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_case_cooks_case_id"),
    )  # fmt: skip
    op.create_index("ix_case_cooks_case_id", "case_cooks", ["case_id"])


def upgrade() -> None:
    """Make the tables, their indexes and their guards."""
    _of_booking("fire_facts", sa.Column("facts", _JSON, nullable=False))
    _of_booking(
        "fire_sheets",
        sa.Column("token", sa.String(64), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.UniqueConstraint("digest", name="uq_fire_sheets_digest"),
    )
    _case_cooks()
    if not _has_triggers():
        return
    for table in _GUARDED:
        for verb in _VERBS:
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards and the tables away; fires, addresses and ways to cook are lost."""
    if _has_triggers():
        for table in _GUARDED:
            for verb in _VERBS:
                op.execute(f"DROP TRIGGER IF EXISTS no_{verb}_{table}")
    for table in _GUARDED:
        op.drop_table(table)
