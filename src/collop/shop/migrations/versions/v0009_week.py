"""A week of trade: money noted, work on lines, standing orders, lock-up, learning, the season.

Revision 0009, after 0008.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision: str | None = "0008"
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)
# in the order in which they point at one another
_TABLES = (
    "payments",
    "returned_lines",
    "line_works",
    "line_weighings",
    "line_ends",
    "standing_orders",
    "standing_events",
    "freezer_orders",
    "lock_up_lines",
    "lock_ups",
    "order_feedback",
    "cutting_tests",
    "late_acts",
    "supplier_quotes",
    "farm_orders",
    "feeds",
)
_VERBS = ("update", "delete")


def _has_triggers() -> bool:
    return op.get_bind().dialect.name == "sqlite"


def _text(name: str, length: int, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.String(length), nullable=null)


def _count(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.BigInteger(), nullable=null)


def _number(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, _SERIAL, nullable=null)


def _json(name: str) -> sa.Column[object]:
    return sa.Column(name, _JSON, nullable=False)


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


def _money() -> None:
    _table(
        "payments",
        _number("booking_number"),
        _text("what", 20),
        _text("way", 10),
        _count("amount"),
        _text("note", 200),
        serial="number",
        links=(("booking_number", "bookings.number"),),
        checks=(
            ("known_kind", "what IN ('deposit', 'payment', 'given back', 'deposit kept')"),
            ("known_way", "way IN ('cash', 'card', 'other', 'account')"),
            ("some_money", "amount > 0"),
        ),
        index=("booking_number",),
    )
    _table(
        "returned_lines",
        _number("booking_line_id"),
        _count("weight"),
        _text("unit", 2),
        _count("money"),
        _count("tax"),
        _text("why", 200),
        serial="number",
        links=(("booking_line_id", "booking_lines.id"),),
        checks=(("some_weight", "weight > 0"),),
        index=("booking_line_id",),
    )


def _works() -> None:
    _table(
        "line_works",
        _number("booking_line_id", null=True),
        _text("from_case", 40),
        _text("into_case", 40),
        _text("lot_id", 60),
        _count("before"),
        _count("after"),
        _text("unit", 2),
        _text("words", 200),
        _number("takes_back", null=True),
        serial="number",
        links=(
            ("booking_line_id", "booking_lines.id"),
            ("from_case", "case_lines.id"),
            ("into_case", "case_lines.id"),
            ("lot_id", "lots.id"),
            ("takes_back", "line_works.number"),
        ),
        checks=(("some_weight", "after > 0 AND before >= after"),),
        index=(
            "booking_line_id",
            "from_case",
            "into_case",
            "lot_id",
        ),
        unique=("takes_back",),
    )


def _lines() -> None:
    _table(
        "line_weighings",
        _number("booking_line_id"),
        _count("weighed"),
        _text("unit", 2),
        _count("short"),
        _text("reason", 40),
        _text("why", 200),
        links=(("booking_line_id", "booking_lines.id"),),
        checks=(("no_debt", "weighed >= 0"),),
        index=("booking_line_id",),
    )
    _table(
        "line_ends",
        _number("booking_line_id"),
        _text("what", 20),
        _number("new_line_id", null=True),
        _text("agreed", 200),
        links=(
            ("booking_line_id", "booking_lines.id"),
            ("new_line_id", "booking_lines.id"),
        ),
        checks=(("known_what", "what IN ('take', 'top up', 'swap', 'left out')"),),
        index=(
            "booking_line_id",
            "new_line_id",
        ),
    )


def _standing() -> None:
    _table(
        "standing_orders",
        _text("name", 120),
        _text("phone_end", 4),
        sa.Column("heads", sa.Integer(), nullable=True),
        _json("days"),
        sa.Column("every_weeks", sa.Integer(), nullable=False),
        _text("hour", 5),
        sa.Column("first_day", sa.Date(), nullable=False),
        sa.Column("last_day", sa.Date(), nullable=True),
        _json("lines"),
        _text("note", 2000),
        sa.Column("on_account", sa.Boolean(), nullable=False),
        _number("replaces", null=True),
        serial="number",
        links=(("replaces", "standing_orders.number"),),
        checks=(("known_weeks", "every_weeks BETWEEN 1 AND 52"),),
        unique=("replaces",),
    )
    _table(
        "standing_events",
        _number("order_number"),
        _text("what", 10),
        sa.Column("on_day", sa.Date(), nullable=True),
        _number("booking_number", null=True),
        _json("facts"),
        _text("why", 200),
        links=(
            ("order_number", "standing_orders.number"),
            ("booking_number", "bookings.number"),
        ),
        checks=(
            ("known_what", "what IN ('begun', 'made', 'skipped', 'paused', 'resumed', 'ended')"),
        ),
        index=(
            "order_number",
            "booking_number",
        ),
    )


def _freezer() -> None:
    _table(
        "freezer_orders",
        _number("booking_number"),
        _text("lot_id", 60, null=True),
        _json("problem"),
        _json("plan"),
        _count("total"),
        serial="number",
        links=(
            ("booking_number", "bookings.number"),
            ("lot_id", "lots.id"),
        ),
        index=(
            "booking_number",
            "lot_id",
        ),
    )


def _lock_up() -> None:
    _table(
        "lock_up_lines",
        sa.Column("day", sa.Date(), nullable=False),
        _text("case_id", 40),
        _text("what", 10),
        _count("expected"),
        _count("counted", null=True),
        _count("weight", null=True),
        _text("unit", 2),
        _count("at_risk"),
        _text("into_case", 40, null=True),
        _text("lot_id", 60, null=True),
        _text("why", 200),
        links=(
            ("case_id", "case_lines.id"),
            ("into_case", "case_lines.id"),
            ("lot_id", "lots.id"),
        ),
        checks=(("known_what", "what IN ('count', 'skip', 'carry', 'convert', 'freeze', 'bin')"),),
        index=(
            "day",
            "case_id",
            "into_case",
            "lot_id",
        ),
    )
    _table(
        "lock_ups",
        sa.Column("day", sa.Date(), nullable=False),
        _json("facts"),
        _text("note", 400),
        serial="number",
        index=("day",),
    )


def _learning() -> None:
    _table(
        "order_feedback",
        _number("booking_number"),
        _text("left_over", 12),
        _json("facts"),
        _text("words", 200),
        links=(("booking_number", "bookings.number"),),
        index=("booking_number",),
    )
    _table(
        "cutting_tests",
        _text("case_id", 40),
        _count("before"),
        _count("after"),
        _text("unit", 2),
        _text("lot_id", 60, null=True),
        _number("work_number", null=True),
        _text("words", 200),
        _number("takes_back", null=True),
        serial="number",
        links=(
            ("case_id", "case_lines.id"),
            ("lot_id", "lots.id"),
            ("work_number", "line_works.number"),
            ("takes_back", "cutting_tests.number"),
        ),
        checks=(("some_weight", "after > 0 AND before >= after"),),
        index=(
            "case_id",
            "lot_id",
            "work_number",
        ),
        unique=("takes_back",),
    )
    _table(
        "late_acts",
        sa.Column("done_at", sa.DateTime(), nullable=False),
        _text("sheet", 40),
        index=("done_at",),
    )


def _season() -> None:
    _table(
        "supplier_quotes",
        _text("supplier", 120),
        _text("name", 120),
        _text("basis", 10),
        _json("offer"),
        sa.Column("good_until", sa.Date(), nullable=True),
        _number("taken_off", null=True),
        serial="number",
        links=(("taken_off", "supplier_quotes.number"),),
        checks=(("known_basis", "basis IN ('live', 'hanging', 'box')"),),
        unique=("taken_off",),
    )
    _table(
        "farm_orders",
        _text("farm", 120),
        _text("species", 40),
        _text("what", 120),
        sa.Column("animals", sa.Integer(), nullable=False),
        sa.Column("for_day", sa.Date(), nullable=False),
        _text("words", 400),
        _number("takes_back", null=True),
        serial="number",
        links=(("takes_back", "farm_orders.number"),),
        checks=(("some_animals", "animals > 0"),),
        index=("for_day",),
        unique=("takes_back",),
    )
    _table(
        "feeds",
        _text("what", 20),
        _text("token", 60),
        unique=("token",),
    )


def upgrade() -> None:
    """Make the tables and their guards; a booking tells of which kind it is."""
    op.add_column(
        "bookings", sa.Column("kind", sa.String(10), nullable=False, server_default="order")
    )
    op.create_index("ix_bookings_kind", "bookings", ["kind"])
    for make in (_money, _works, _lines, _standing, _freezer, _lock_up, _learning, _season):
        make()
    if not _has_triggers():
        return
    for table in _TABLES:
        for verb in _VERBS:
            op.execute(
                f"CREATE TRIGGER no_{verb}_{table} BEFORE {verb.upper()} ON {table} BEGIN"
                f" SELECT RAISE(ABORT, '{table} is never edited; write a further entry'); END"
            )


def downgrade() -> None:
    """Take the guards and the tables away; what was noted in them is lost."""
    if _has_triggers():
        for table in _TABLES:
            for verb in _VERBS:
                op.execute(f"DROP TRIGGER IF EXISTS no_{verb}_{table}")
    for table in reversed(_TABLES):
        op.drop_table(table)
    op.drop_index("ix_bookings_kind", "bookings")
    # not by a copy of the table: that would lose its guards
    op.execute("ALTER TABLE bookings DROP COLUMN kind")
