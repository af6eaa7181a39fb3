"""The Day Book, makings, tickets, drills and chosen rules.

Revision 0008, after 0007.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision: str | None = "0007"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)
# in the order in which they point at one another
_TABLES = (
    "rule_choices", "tares", "cold_places", "day_checks", "makings", "making_parts",
    "making_events", "case_labels", "tickets", "ticket_events", "drills", "slip_totals",
)  # fmt: skip
_VERBS = ("update", "delete")
_LATER = ("done_at", "room", "words")


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _text(name: str, length: int, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(length), nullable=null)


def _count(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger(), nullable=null)


def _json() -> sa.Column[object]:
    return sa.Column("fields", _JSON, nullable=False)


def _told() -> sa.Column[object]:
    return sa.Column("done_at", sa.DateTime(), nullable=False)


def _table(
    name: str,
    *columns: sa.Column,  # type: ignore[type-arg]
    serial: str = "seq",
    links: tuple[tuple[str, str], ...] = (),
    checks: tuple[tuple[str, str], ...] = (),
    index: tuple[str, ...] = (),
    unique: tuple[str, ...] = (),
) -> None:
    """Make a table that counts its rows and tells when, by whom and in which act."""
    op.create_table(
        name,
        sa.Column(serial, _SERIAL, autoincrement=True, nullable=False),
        *columns,
        sa.Column("at", sa.DateTime(), nullable=False),
        _text("by_id", 40, null=True),
        _text("key", 200),
        *(
            sa.ForeignKeyConstraint([column], [target], name=f"fk_{name}_{column}")
            for column, target in (*links, ("by_id", "people.id"))
        ),
        sa.ForeignKeyConstraint(
            ["key"], ["acts.key"], name=f"fk_{name}_key", initially="DEFERRED", deferrable=True
        ),
        *(sa.CheckConstraint(rule, name=op.f(f"ck_{name}_{what}")) for what, rule in checks),
        *(sa.UniqueConstraint(column, name=f"uq_{name}_{column}") for column in unique),
        sa.PrimaryKeyConstraint(serial, name=f"pk_{name}"),
        sqlite_autoincrement=True,
    )
    for column in ("key", "at", *index):
        op.create_index(f"ix_{name}_{column}", name, [column])


def _choices() -> None:
    _table(
        "rule_choices", _text("name", 60), sa.Column("value", _JSON, nullable=False),
        _text("why", 200), index=("name",),
    )  # fmt: skip
    _table(
        "tares", _text("name", 80), _count("weight"), _text("unit", 2),
        sa.Column("retired", sa.Boolean(), nullable=False),
        checks=(("no_debt", "weight >= 0"),), index=("name",),
    )  # fmt: skip
    _table(
        "cold_places", _text("place_id", 40), _text("name", 80), _text("kind", 10),
        _count("limit_count"), sa.Column("retired", sa.Boolean(), nullable=False),
        checks=(("known_kind", "kind IN ('chilled', 'frozen', 'room')"),), index=("place_id",),
    )  # fmt: skip


def _checks() -> None:
    _table(
        "day_checks", _text("kind", 10), _text("subject", 80), _count("reading", null=True),
        _json(), sa.Column("is_over", sa.Boolean(), nullable=False), _text("action", 400),
        _text("told", 80), _told(), sa.Column("corrects", _SERIAL),
        links=(("corrects", "day_checks.seq"),),
        checks=(("known_kind", "kind IN ('cold', 'scale', 'probe', 'receive', 'note')"),),
        index=("kind", "subject", "done_at"), unique=("corrects",),
    )  # fmt: skip


def _makings() -> None:
    _table(
        "makings", _text("code", 20), _text("kind", 10), _text("lot_id", 60), _text("name", 120),
        _text("species", 40), _text("case_id", 40, null=True), sa.Column("after_clean", _SERIAL),
        _json(), _told(), serial="number",
        links=(("lot_id", "lots.id"), ("case_id", "case_lines.id"),
               ("after_clean", "clean_downs.seq")),
        checks=(("known_kind", "kind IN ('mince', 'batch')"),),
        index=("lot_id", "case_id", "done_at"), unique=("code",),
    )  # fmt: skip
    _table(
        "making_parts", sa.Column("making_number", _SERIAL, nullable=False), _text("what", 120),
        _text("lot_id", 60, null=True), sa.Column("carry_over_of", _SERIAL),
        _text("establishment", 40), _text("supplier_lot", 60), sa.Column("produced_on", sa.Date()),
        _count("weight", null=True), _text("unit", 2, null=True),
        sa.Column("contains", _JSON, nullable=False), sa.Column("takes_back", _SERIAL),
        links=(("making_number", "makings.number"), ("lot_id", "lots.id"),
               ("carry_over_of", "makings.number"), ("takes_back", "making_parts.seq")),
        checks=(("some_weight", "weight > 0"),), index=("making_number", "lot_id"),
        unique=("takes_back",),
    )  # fmt: skip
    _table(
        "making_events", sa.Column("making_number", _SERIAL, nullable=False), _text("what", 10),
        _text("lot_id", 60, null=True), _count("weight", null=True), _text("unit", 2, null=True),
        _json(), _text("note", 200), _told(),
        links=(("making_number", "makings.number"), ("lot_id", "lots.id")),
        checks=(
            ("known_what",
             "what IN ('produced', 'carried', 'lost', 'filled', 'ended', 'taken back')"),
            ("some_weight", "weight > 0"),
        ),
        index=("making_number", "lot_id"),
    )  # fmt: skip


def _tickets() -> None:
    _table(
        "case_labels", _text("case_id", 40), sa.Column("facts", _JSON, nullable=False),
        links=(("case_id", "case_lines.id"),), index=("case_id",),
    )  # fmt: skip
    _table(
        "tickets", _text("case_id", 40), _text("lot_id", 60), sa.Column("booking_line_id", _SERIAL),
        _count("net"), _count("tare"), _text("unit", 2), _text("price_amount", 24),
        _text("price_per", 2), _count("total"), sa.Column("problem", _JSON, nullable=False),
        serial="number",
        links=(("case_id", "case_lines.id"), ("lot_id", "lots.id"),
               ("booking_line_id", "booking_lines.id")),
        checks=(("some_weight", "net > 0"), ("no_debt", "tare >= 0")),
        index=("case_id", "lot_id", "booking_line_id"),
    )  # fmt: skip
    _table(
        "ticket_events", sa.Column("ticket_number", _SERIAL, nullable=False), _text("what", 10),
        _text("why", 200), links=(("ticket_number", "tickets.number"),),
        checks=(("known_what", "what IN ('printed', 'void')"),), index=("ticket_number",),
    )  # fmt: skip


def _drills_and_slips() -> None:
    _table(
        "drills", _text("lot_id", 60), sa.Column("begun_at", sa.DateTime(), nullable=False),
        _count("milliseconds"), _text("found_pct", 12), sa.Column("facts", _JSON, nullable=False),
        serial="number", links=(("lot_id", "lots.id"),), index=("lot_id",),
    )  # fmt: skip
    _table(
        "slip_totals", sa.Column("slip_number", _SERIAL, nullable=False), _count("tax"),
        sa.Column("taxes", _JSON, nullable=False), _text("cash_rule", 20), _count("cash_total"),
        links=(("slip_number", "slips.number"),), unique=("slip_number",),
    )  # fmt: skip


def upgrade() -> None:
    """Make the tables and their guards; deliveries name the plant, clean-downs their hour."""
    op.add_column("deliveries", sa.Column("establishment", sa.String(40)))
    op.add_column("clean_downs", sa.Column("done_at", sa.DateTime()))
    op.add_column("clean_downs", sa.Column("room", sa.BigInteger()))
    op.add_column("clean_downs", sa.Column("words", sa.String(120)))
    _choices()
    _checks()
    _makings()
    _tickets()
    _drills_and_slips()
    if not _has_triggers():
        return
    for table in _TABLES:
        for verb in _VERBS:
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards and the tables away; the Day Book and the tickets are lost."""
    if _has_triggers():
        for table in _TABLES:
            for verb in _VERBS:
                op.execute(f"DROP TRIGGER IF EXISTS no_{verb}_{table}")
    for table in reversed(_TABLES):
        op.drop_table(table)
    for column in _LATER:
        # not by a copy of the table: that would lose its guards
        op.execute(f"ALTER TABLE clean_downs DROP COLUMN {column}")
    op.execute("ALTER TABLE deliveries DROP COLUMN establishment")
