"""From the rail to the case: deliveries, lot links, styles, breaks, counts, marks.

Revision 0003, after 0002.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision: str | None = "0002"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)
_GUARDED = (
    "break_events", "breaks", "deliveries", "lot_links", "rail_claims", "rail_plans",
    "stock_counts", "stock_mark_lines", "stock_marks", "weighings",
)  # fmt: skip
_VERBS = ("update", "delete")


def _act_of(table: str) -> sa.ForeignKeyConstraint:
    name = f"fk_{table}_key"
    return sa.ForeignKeyConstraint(
        ["key"], ["acts.key"], name=name, initially="DEFERRED", deferrable=True
    )


def _cutting_styles() -> None:
    op.create_table(
        "cutting_styles",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("species", sa.String(40), nullable=False),
        sa.Column("piece", sa.String(60), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("labour_minutes", sa.Integer()),
        sa.Column("source", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_cutting_styles"),
    )


def _stock_marks() -> None:
    op.create_table(
        "stock_marks",
        sa.Column("seq", _SERIAL, autoincrement=False, nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_stock_marks"),
    )


def _style_parts() -> None:
    op.create_table(
        "style_parts",
        sa.Column("id", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("style_id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("place", sa.String(10), nullable=False),
        sa.Column("share", sa.String(24), nullable=False),
        sa.Column("case_id", sa.String(40)),
        sa.Column("keeps_days", sa.Integer()),
        sa.CheckConstraint(
            "kind IN ('cut', 'trim', 'fat', 'bone', 'fat_bone', 'scrap', 'loss')",
            name=op.f("ck_style_parts_known_kind"),
        ),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_style_parts_case_id"),
        sa.ForeignKeyConstraint(
            ["style_id"], ["cutting_styles.id"], name="fk_style_parts_style_id"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_style_parts"),
        sa.UniqueConstraint("style_id", "position", name="uq_style_parts_style_id_position"),
    )


def _breaks() -> None:
    op.create_table(
        "breaks",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("style_id", sa.String(40), nullable=False),
        sa.Column("start", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_breaks_by_id"),
        _act_of("breaks"),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_breaks_lot_id"),
        sa.ForeignKeyConstraint(["style_id"], ["cutting_styles.id"], name="fk_breaks_style_id"),
        sa.PrimaryKeyConstraint("number", name="pk_breaks"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_breaks_lot_id", "breaks", ["lot_id"])


def _deliveries() -> None:
    op.create_table(
        "deliveries",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("farm", sa.String(120), nullable=False),
        sa.Column("species", sa.String(40), nullable=False),
        sa.Column("killed_on", sa.Date()),
        sa.Column("invoiced", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("weighed", sa.BigInteger(), nullable=False),
        sa.Column("is_hot", sa.Boolean(), nullable=False),
        sa.Column("temperature", sa.BigInteger()),
        sa.Column("cool_by", sa.DateTime()),
        sa.Column("papers", _JSON, nullable=False),
        sa.Column("papers_missing", _JSON, nullable=False),
        sa.Column("price_amount", sa.String(24)),
        sa.Column("price_per", sa.String(2)),
        sa.Column("haulage", sa.BigInteger(), nullable=False),
        sa.Column("note", sa.String(400), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.CheckConstraint("invoiced > 0 AND weighed > 0", name=op.f("ck_deliveries_some_weight")),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_deliveries_by_id"),
        _act_of("deliveries"),
        sa.ForeignKeyConstraint(
            ["lot_id"],
            ["lots.id"],
            name="fk_deliveries_lot_id",
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("number", name="pk_deliveries"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_deliveries_lot_id", "deliveries", ["lot_id"])


def _lot_links() -> None:
    op.create_table(
        "lot_links",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("move", sa.String(32), nullable=False),
        sa.Column("parent_id", sa.String(60), nullable=False),
        sa.Column("child_id", sa.String(60), nullable=False),
        sa.Column("count", sa.BigInteger(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.CheckConstraint("count <> 0", name=op.f("ck_lot_links_some_weight")),
        sa.CheckConstraint("parent_id <> child_id", name=op.f("ck_lot_links_two_lots")),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_lot_links_by_id"),
        sa.ForeignKeyConstraint(["child_id"], ["lots.id"], name="fk_lot_links_child_id"),
        _act_of("lot_links"),
        sa.ForeignKeyConstraint(["parent_id"], ["lots.id"], name="fk_lot_links_parent_id"),
        sa.PrimaryKeyConstraint("seq", name="pk_lot_links"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_lot_links_child_id", "lot_links", ["child_id"])
    op.create_index("ix_lot_links_move", "lot_links", ["move"])
    op.create_index("ix_lot_links_parent_id", "lot_links", ["parent_id"])


def _rail_plans() -> None:
    op.create_table(
        "rail_plans",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("break_on", sa.Date()),
        sa.Column("words", sa.String(40), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_rail_plans_by_id"),
        _act_of("rail_plans"),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_rail_plans_lot_id"),
        sa.PrimaryKeyConstraint("seq", name="pk_rail_plans"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_rail_plans_lot_id", "rail_plans", ["lot_id"])


def _stock_counts() -> None:
    op.create_table(
        "stock_counts",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("case_id", sa.String(40)),
        sa.Column("lot_id", sa.String(60)),
        sa.Column("place", sa.String(10), nullable=False),
        sa.Column("expected", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("counted", sa.BigInteger(), nullable=False),
        sa.Column("why", sa.String(200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_stock_counts_by_id"),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_stock_counts_case_id"),
        _act_of("stock_counts"),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_stock_counts_lot_id"),
        sa.PrimaryKeyConstraint("number", name="pk_stock_counts"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_stock_counts_case_id", "stock_counts", ["case_id"])
    op.create_index("ix_stock_counts_lot_id", "stock_counts", ["lot_id"])


def _break_events() -> None:
    op.create_table(
        "break_events",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("break_number", _SERIAL, nullable=False),
        sa.Column("what", sa.String(10), nullable=False),
        sa.Column("gap", sa.BigInteger(), nullable=False),
        sa.Column("closes", sa.Boolean(), nullable=False),
        sa.Column("why", sa.String(200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.CheckConstraint(
            "what IN ('closed', 'reopened', 'put back')", name=op.f("ck_break_events_known_what")
        ),
        sa.ForeignKeyConstraint(
            ["break_number"], ["breaks.number"], name="fk_break_events_break_number"
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_break_events_by_id"),
        _act_of("break_events"),
        sa.PrimaryKeyConstraint("seq", name="pk_break_events"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_break_events_break_number", "break_events", ["break_number"])


def _stock_mark_lines() -> None:
    op.create_table(
        "stock_mark_lines",
        sa.Column("id", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("mark_seq", _SERIAL, nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("place", sa.String(10), nullable=False),
        sa.Column("piece_id", _SERIAL),
        sa.Column("count", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_stock_mark_lines_lot_id"),
        sa.ForeignKeyConstraint(
            ["mark_seq"], ["stock_marks.seq"], name="fk_stock_mark_lines_mark_seq"
        ),
        sa.ForeignKeyConstraint(["piece_id"], ["pieces.id"], name="fk_stock_mark_lines_piece_id"),
        sa.PrimaryKeyConstraint("id", name="pk_stock_mark_lines"),
    )
    op.create_index("ix_stock_mark_lines_mark_seq", "stock_mark_lines", ["mark_seq"])


def _weighings() -> None:
    op.create_table(
        "weighings",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("break_number", _SERIAL, nullable=False),
        sa.Column("part_id", _SERIAL),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("weight", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("takes_back", _SERIAL),
        sa.Column("why", sa.String(200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.CheckConstraint("weight > 0", name=op.f("ck_weighings_some_weight")),
        sa.ForeignKeyConstraint(
            ["break_number"], ["breaks.number"], name="fk_weighings_break_number"
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_weighings_by_id"),
        _act_of("weighings"),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_weighings_lot_id"),
        sa.ForeignKeyConstraint(["part_id"], ["style_parts.id"], name="fk_weighings_part_id"),
        sa.ForeignKeyConstraint(["takes_back"], ["weighings.seq"], name="fk_weighings_takes_back"),
        sa.PrimaryKeyConstraint("seq", name="pk_weighings"),
        sa.UniqueConstraint("takes_back", name="uq_weighings_takes_back"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_weighings_break_number", "weighings", ["break_number"])
    op.create_index("ix_weighings_lot_id", "weighings", ["lot_id"])


def _rail_claims() -> None:
    op.create_table(
        "rail_claims",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("booking_number", _SERIAL, nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("weight", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("note", sa.String(200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_number"], ["bookings.number"], name="fk_rail_claims_booking_number"
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_rail_claims_by_id"),
        _act_of("rail_claims"),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_rail_claims_lot_id"),
        sa.PrimaryKeyConstraint("seq", name="pk_rail_claims"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_rail_claims_lot_id", "rail_claims", ["lot_id"])


_TABLES = (
    _cutting_styles,
    _stock_marks,
    _style_parts,
    _breaks,
    _deliveries,
    _lot_links,
    _rail_plans,
    _stock_counts,
    _break_events,
    _stock_mark_lines,
    _weighings,
    _rail_claims,
)


def _columns() -> None:
    op.add_column("case_lines", sa.Column("keeps_days", sa.Integer()))
    op.add_column("lots", sa.Column("kind", sa.String(10)))
    op.add_column("lots", sa.Column("piece", sa.String(60)))
    op.add_column("lots", sa.Column("delivery_number", _SERIAL))
    op.create_index("ix_lots_delivery_number", "lots", ["delivery_number"])
    op.create_index("ix_ledger_entries_at", "ledger_entries", ["at"])
    op.execute("UPDATE lots SET kind = CASE WHEN case_id IS NULL THEN 'piece' ELSE 'stock' END")


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def upgrade() -> None:
    """Make the tables, each after those it points to, the new columns, and the guards."""
    for make in _TABLES:
        make()
    _columns()
    if not _has_triggers():
        return
    for table in _GUARDED:
        for verb in _VERBS:
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards, the columns and the tables away; what only they held is lost."""
    if _has_triggers():
        for table in _GUARDED:
            for verb in _VERBS:
                op.execute(f"DROP TRIGGER no_{verb}_{table}")
    op.drop_index("ix_ledger_entries_at", "ledger_entries")
    op.drop_index("ix_lots_delivery_number", "lots")
    with op.batch_alter_table("lots") as lots:
        for name in ("kind", "piece", "delivery_number"):
            lots.drop_column(name)
    with op.batch_alter_table("case_lines") as case_lines:
        case_lines.drop_column("keeps_days")
    for make in reversed(_TABLES):
        op.drop_table(make.__name__.removeprefix("_"))
