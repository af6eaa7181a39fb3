"""Settings that are changed later: from what to what, by whom and why.

Revision 0005, after 0004.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision: str | None = "0004"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)
_VERBS = ("update", "delete")
_NAME = "setting_changes"


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def upgrade() -> None:
    """Make the table, its index and its guards."""
    op.create_table(
        _NAME,
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("before", _JSON),
        sa.Column("value", _JSON, nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("why", sa.String(200), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_setting_changes_by_id"),
        sa.ForeignKeyConstraint(
            ["key"], ["acts.key"], name="fk_setting_changes_key", initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("seq", name="pk_setting_changes"),
        sqlite_autoincrement=True,
    )  # fmt: skip
    op.create_index("ix_setting_changes_key", _NAME, ["key"])
    if not _has_triggers():
        return
    for verb in _VERBS:
        op.execute(
            f"CREATE TRIGGER no_{verb}_{_NAME} BEFORE {verb.upper()} ON {_NAME} BEGIN"
            f" SELECT RAISE(ABORT, '{_NAME} is never edited; write a further entry'); END"
        )


def downgrade() -> None:
    """Take the guards and the table away; who changed a setting is lost, its value stays."""
    if _has_triggers():
        for verb in _VERBS:
            op.execute(f"DROP TRIGGER no_{verb}_{_NAME}")
    op.drop_index("ix_setting_changes_key", _NAME)
    op.drop_table(_NAME)
