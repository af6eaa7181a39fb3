"""The bench: kept cutting plans, what bookings want cut, marks on the list, clean-downs.

Revision 0006, after 0005.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision: str | None = "0005"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)
_GUARDED = ("bench_marks", "bench_plans", "booking_wants", "clean_downs")
_VERBS = ("update", "delete")
#: What was worked out from the other tables may be let go of again.
_DERIVED = ("bench_plans",)


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _table(name: str, serial: str, *items: sa.Column | sa.Constraint) -> None:  # type: ignore[type-arg]
    """Make a table that counts its rows and tells when, by whom and in which act."""
    op.create_table(
        name,
        sa.Column(serial, _SERIAL, autoincrement=True, nullable=False),
        *(one for one in items if isinstance(one, sa.Column)),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        *(one for one in items if not isinstance(one, sa.Column)),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name=f"fk_{name}_by_id"),
        sa.ForeignKeyConstraint(
            ["key"], ["acts.key"], name=f"fk_{name}_key", initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint(serial, name=f"pk_{name}"),
        sqlite_autoincrement=True,
    )
    op.create_index(f"ix_{name}_key", name, ["key"])


def _bench_plans() -> None:
    _table(
        "bench_plans", "number",
        sa.Column("version", _JSON, nullable=False),
        sa.Column("problem_digest", sa.String(64), nullable=False),
        sa.Column("problem", _JSON, nullable=False),
        sa.Column("plan", _JSON, nullable=False),
        sa.Column("changes", _JSON, nullable=False),
    )  # fmt: skip


def _booking_wants() -> None:
    _table(
        "booking_wants", "seq",
        sa.Column("booking_number", _SERIAL, nullable=False),
        sa.Column("case_id", sa.String(40), nullable=False),
        sa.Column("weight", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("note", sa.String(200), nullable=False),
        sa.CheckConstraint("weight >= 0", name=op.f("ck_booking_wants_no_debt")),
        sa.ForeignKeyConstraint(
            ["booking_number"], ["bookings.number"], name="fk_booking_wants_booking_number"
        ),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_booking_wants_case_id"),
    )  # fmt: skip
    op.create_index("ix_booking_wants_booking_number", "booking_wants", ["booking_number"])


def _bench_marks() -> None:
    _table(
        "bench_marks", "seq",
        sa.Column("line_id", sa.String(200), nullable=False),
        sa.Column("number", sa.Integer()),
        sa.Column("what", sa.String(10), nullable=False),
        sa.Column("shown", _JSON),
        sa.Column("weight", sa.BigInteger()),
        sa.Column("unit", sa.String(2)),
        sa.CheckConstraint(
            "what IN ('seen', 'done', 'undone', 'crossed')",
            name=op.f("ck_bench_marks_known_what"),
        ),
        sa.CheckConstraint("weight > 0", name=op.f("ck_bench_marks_some_weight")),
    )  # fmt: skip
    op.create_index("ix_bench_marks_line_id", "bench_marks", ["line_id"])
    op.create_index("ix_bench_marks_at", "bench_marks", ["at"])


def _clean_downs() -> None:
    _table("clean_downs", "seq", sa.Column("what", sa.String(120), nullable=False))
    op.create_index("ix_clean_downs_at", "clean_downs", ["at"])


def upgrade() -> None:
    """Make the tables, their indexes and their guards."""
    _bench_plans()
    _booking_wants()
    _bench_marks()
    _clean_downs()
    if not _has_triggers():
        return
    for table in _GUARDED:
        for verb in _VERBS:
            if verb == "delete" and table in _DERIVED:
                continue
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards and the tables away; plans, wants, marks and clean-downs are lost."""
    if _has_triggers():
        for table in _GUARDED:
            for verb in _VERBS:
                op.execute(f"DROP TRIGGER IF EXISTS no_{verb}_{table}")
    for table in _GUARDED:
        op.drop_table(table)
