"""Who may do what: posts, secrets, devices, sessions, and the chained log of every act.

Revision 0010, after 0009. Acts from before this step are not in the log.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision: str | None = "0009"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_GUARDED = ("audit", "posts")
_VERBS = ("update", "delete")


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _text(name: str, length: int, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(length), nullable=null)


def _seconds(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger(), nullable=null)


def _number(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, _SERIAL, nullable=null)


def _to(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [target], name=f"fk_{table}_{column}")


def _index(table: str, *columns: str) -> None:
    for column in columns:
        op.create_index(f"ix_{table}_{column}", table, [column])


def _posts() -> None:
    op.create_table(
        "posts",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        _text("person_id", 40),
        _text("post", 12),
        sa.Column("works_here", sa.Boolean(), nullable=False),
        _text("why", 200),
        sa.Column("at", sa.DateTime(), nullable=False),
        _text("by_id", 40, null=True),
        _text("key", 200),
        _to("posts", "person_id", "people.id"),
        _to("posts", "by_id", "people.id"),
        sa.ForeignKeyConstraint(
            ["key"], ["acts.key"], name="fk_posts_key", initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("seq", name="pk_posts"),
        sqlite_autoincrement=True,
    )
    _index("posts", "person_id", "at", "key")


def _devices() -> None:
    op.create_table(
        "devices",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        _text("name", 80),
        _text("token_hash", 64),
        _seconds("made_at"),
        _seconds("ended_at", null=True),
        _text("by_id", 40, null=True),
        _to("devices", "by_id", "people.id"),
        sa.UniqueConstraint("token_hash", name="uq_devices_token_hash"),
        sa.PrimaryKeyConstraint("number", name="pk_devices"),
        sqlite_autoincrement=True,
    )


def _secrets() -> None:
    op.create_table(
        "secrets",
        _text("person_id", 40),
        _text("kind", 10),
        _number("device_number"),
        _text("hash", 200),
        _seconds("set_at"),
        _to("secrets", "person_id", "people.id"),
        sa.PrimaryKeyConstraint("person_id", "kind", "device_number", name="pk_secrets"),
    )


def _sessions() -> None:
    op.create_table(
        "sessions",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        _text("token_hash", 64),
        _text("person_id", 40),
        _number("device_number", null=True),
        _text("way", 10),
        _seconds("made_at"),
        _seconds("seen_at"),
        _seconds("ends_at"),
        _seconds("ended_at", null=True),
        _text("ended_why", 80, null=True),
        _to("sessions", "person_id", "people.id"),
        _to("sessions", "device_number", "devices.number"),
        sa.UniqueConstraint("token_hash", name="uq_sessions_token_hash"),
        sa.PrimaryKeyConstraint("number", name="pk_sessions"),
        sqlite_autoincrement=True,
    )
    _index("sessions", "person_id", "device_number")


def _counts() -> None:
    op.create_table(
        "sign_in_counts",
        _text("who", 80),
        sa.Column("failures", sa.Integer(), nullable=False),
        _seconds("last_at"),
        sa.Column("hour_failures", sa.Integer(), nullable=False),
        _seconds("hour_from"),
        sa.PrimaryKeyConstraint("who", name="pk_sign_in_counts"),
    )


def _audit() -> None:
    op.create_table(
        "audit",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        _seconds("utc"),
        _text("kind", 20),
        _text("what", 200),
        _text("by_id", 40, null=True),
        _number("device_number", null=True),
        _text("key", 200, null=True),
        _text("digest", 64),
        _text("chain", 64),
        _to("audit", "by_id", "people.id"),
        sa.PrimaryKeyConstraint("seq", name="pk_audit"),
        sqlite_autoincrement=True,
    )
    _index("audit", "at", "kind", "key")


def upgrade() -> None:
    """Make the tables and their guards."""
    for make in (_posts, _devices, _secrets, _sessions, _counts, _audit):
        make()
    if not _has_triggers():
        return
    for table in _GUARDED:
        for verb in _VERBS:
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards and the tables away; nobody has a password then, and the log is lost."""
    if _has_triggers():
        for table in _GUARDED:
            for verb in _VERBS:
                op.execute(f"DROP TRIGGER IF EXISTS no_{verb}_{table}")
    for table in ("audit", "sign_in_counts", "sessions", "secrets", "devices", "posts"):
        op.drop_table(table)
