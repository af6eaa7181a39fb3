"""The first tables: case, board, ledger, quotes, bookings, slips.

Revision 0001; the first.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision: str | None = None
branch_labels = None
depends_on = None

_SERIAL = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
_JSON = sa.JSON(none_as_null=True)


def _act_of(table: str) -> sa.ForeignKeyConstraint:
    name = f"fk_{table}_key"
    return sa.ForeignKeyConstraint(
        ["key"], ["acts.key"], name=name, initially="DEFERRED", deferrable=True
    )


def _case_lines() -> None:
    op.create_table(
        "case_lines",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("species", sa.String(40), nullable=False),
        sa.Column("form", sa.String(20), nullable=False),
        sa.Column("by_piece", sa.Boolean(), nullable=False),
        sa.Column("boneless_fraction", sa.String(12), nullable=False),
        sa.Column("contains", _JSON, nullable=False),
        sa.Column("casing", sa.String(40)),
        sa.Column("grill_sq_in_per_lb", sa.String(12), nullable=False),
        sa.Column("minutes_low", sa.Integer(), nullable=False),
        sa.Column("minutes_high", sa.Integer(), nullable=False),
        sa.Column("method", sa.String(120), nullable=False),
        sa.Column("cook_as", sa.String(20), nullable=False),
        sa.Column("styles", _JSON, nullable=False),
        sa.Column("slots", _JSON, nullable=False),
        sa.Column("neighbour", sa.String(40)),
        sa.Column("usual_per_day", sa.BigInteger()),
        sa.ForeignKeyConstraint(["neighbour"], ["case_lines.id"], name="fk_case_lines_neighbour"),
        sa.PrimaryKeyConstraint("id", name="pk_case_lines"),
    )


def _people() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("role", sa.String(120), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
        sa.UniqueConstraint("name", name="uq_people_name"),
    )


def _settings() -> None:
    op.create_table(
        "settings",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", _JSON, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )


def _acts() -> None:
    op.create_table(
        "acts",
        sa.Column("key", sa.String(200), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("answer", sa.String(200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_acts_by_id"),
        sa.PrimaryKeyConstraint("key", name="pk_acts"),
    )


def _lots() -> None:
    op.create_table(
        "lots",
        sa.Column("id", sa.String(60), nullable=False),
        sa.Column("case_id", sa.String(40)),
        sa.Column("species", sa.String(40), nullable=False),
        sa.Column("what", sa.String(120), nullable=False),
        sa.Column("farm", sa.String(120)),
        sa.Column("weight_in", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("since", sa.DateTime(), nullable=False),
        sa.Column("use_by", sa.Date()),
        sa.Column("planned_break", sa.String(40)),
        sa.CheckConstraint("weight_in > 0", name=op.f("ck_lots_some_weight")),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_lots_case_id"),
        sa.PrimaryKeyConstraint("id", name="pk_lots"),
    )
    op.create_index("ix_lots_case_id", "lots", ["case_id"])


def _board_prices() -> None:
    op.create_table(
        "board_prices",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("case_id", sa.String(40), nullable=False),
        sa.Column("amount", sa.String(24), nullable=False),
        sa.Column("per", sa.String(2), nullable=False),
        sa.Column("from_at", sa.DateTime(), nullable=False),
        sa.Column("entered_at", sa.DateTime(), nullable=False),
        sa.Column("why", sa.String(200), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_board_prices_by_id"),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_board_prices_case_id"),
        _act_of("board_prices"),
        sa.PrimaryKeyConstraint("seq", name="pk_board_prices"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_board_prices_case_id", "board_prices", ["case_id"])


def _pieces() -> None:
    op.create_table(
        "pieces",
        sa.Column("id", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("weight", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.CheckConstraint("weight > 0", name=op.f("ck_pieces_some_weight")),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_pieces_lot_id"),
        sa.PrimaryKeyConstraint("id", name="pk_pieces"),
    )
    op.create_index("ix_pieces_lot_id", "pieces", ["lot_id"])


def _quotes() -> None:
    op.create_table(
        "quotes",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("ask", _JSON, nullable=False),
        sa.Column("plan", _JSON),
        sa.Column("say", sa.String(400)),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("held_until", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_quotes_by_id"),
        _act_of("quotes"),
        sa.PrimaryKeyConstraint("number", name="pk_quotes"),
        sqlite_autoincrement=True,
    )


def _bookings() -> None:
    op.create_table(
        "bookings",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("phone_end", sa.String(4), nullable=False),
        sa.Column("collect_at", sa.DateTime(), nullable=False),
        sa.Column("heads", sa.Integer()),
        sa.Column("ask", _JSON, nullable=False),
        sa.Column("note", sa.String(2000), nullable=False),
        sa.Column("deposit", sa.BigInteger(), nullable=False),
        sa.Column("quote_number", _SERIAL),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_bookings_by_id"),
        _act_of("bookings"),
        sa.ForeignKeyConstraint(
            ["quote_number"], ["quotes.number"], name="fk_bookings_quote_number"
        ),
        sa.PrimaryKeyConstraint("number", name="pk_bookings"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_bookings_collect_at", "bookings", ["collect_at"])
    op.create_index("ix_bookings_quote_number", "bookings", ["quote_number"])


def _quote_lines() -> None:
    op.create_table(
        "quote_lines",
        sa.Column("id", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("quote_number", _SERIAL, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("case_id", sa.String(40), nullable=False),
        sa.Column("weight", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("style", sa.String(40)),
        sa.Column("piece_counts", _JSON),
        sa.Column("price_amount", sa.String(24), nullable=False),
        sa.Column("price_per", sa.String(2), nullable=False),
        sa.Column("line_total", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_quote_lines_case_id"),
        sa.ForeignKeyConstraint(
            ["quote_number"], ["quotes.number"], name="fk_quote_lines_quote_number"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_quote_lines"),
        sa.UniqueConstraint(
            "quote_number", "position", name="uq_quote_lines_quote_number_position"
        ),
    )


def _booking_events() -> None:
    op.create_table(
        "booking_events",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("booking_number", _SERIAL, nullable=False),
        sa.Column("what", sa.String(20), nullable=False),
        sa.Column("state", sa.String(10), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("why", sa.String(200), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.CheckConstraint(
            "state IN ('asked', 'booked', 'cut', 'packed', 'gone', 'off')",
            name=op.f("ck_booking_events_known_state"),
        ),
        sa.ForeignKeyConstraint(
            ["booking_number"], ["bookings.number"], name="fk_booking_events_booking_number"
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_booking_events_by_id"),
        _act_of("booking_events"),
        sa.PrimaryKeyConstraint("seq", name="pk_booking_events"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_booking_events_booking_number", "booking_events", ["booking_number"])


def _booking_lines() -> None:
    op.create_table(
        "booking_lines",
        sa.Column("id", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("booking_number", _SERIAL, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("case_id", sa.String(40), nullable=False),
        sa.Column("weight", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("style", sa.String(40)),
        sa.Column("piece_counts", _JSON),
        sa.Column("price_amount", sa.String(24), nullable=False),
        sa.Column("price_per", sa.String(2), nullable=False),
        sa.Column("line_total", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("weight > 0", name=op.f("ck_booking_lines_some_weight")),
        sa.ForeignKeyConstraint(
            ["booking_number"], ["bookings.number"], name="fk_booking_lines_booking_number"
        ),
        sa.ForeignKeyConstraint(["case_id"], ["case_lines.id"], name="fk_booking_lines_case_id"),
        sa.PrimaryKeyConstraint("id", name="pk_booking_lines"),
        sa.UniqueConstraint(
            "booking_number", "position", name="uq_booking_lines_booking_number_position"
        ),
    )


def _slips() -> None:
    op.create_table(
        "slips",
        sa.Column("number", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("booking_number", _SERIAL, nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("deposit", sa.BigInteger(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_number"], ["bookings.number"], name="fk_slips_booking_number"
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_slips_by_id"),
        _act_of("slips"),
        sa.PrimaryKeyConstraint("number", name="pk_slips"),
        sa.UniqueConstraint("booking_number", name="uq_slips_booking_number"),
        sqlite_autoincrement=True,
    )


def _ledger_entries() -> None:
    op.create_table(
        "ledger_entries",
        sa.Column("seq", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("move", sa.String(32), nullable=False),
        sa.Column("lot_id", sa.String(60), nullable=False),
        sa.Column("piece_id", _SERIAL),
        sa.Column("booking_line_id", _SERIAL),
        sa.Column("place", sa.String(10), nullable=False),
        sa.Column("delta", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("reason", sa.String(40), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by_id", sa.String(40)),
        sa.Column("key", sa.String(200), nullable=False),
        sa.CheckConstraint(
            "place IN ('rail', 'block', 'case', 'booked', 'trim', 'bone', 'fat', 'bin', 'drip',"
            " 'sold')",
            name=op.f("ck_ledger_entries_known_place"),
        ),
        sa.CheckConstraint("delta <> 0", name=op.f("ck_ledger_entries_some_weight")),
        sa.ForeignKeyConstraint(
            ["booking_line_id"], ["booking_lines.id"], name="fk_ledger_entries_booking_line_id"
        ),
        sa.ForeignKeyConstraint(["by_id"], ["people.id"], name="fk_ledger_entries_by_id"),
        _act_of("ledger_entries"),
        sa.ForeignKeyConstraint(["lot_id"], ["lots.id"], name="fk_ledger_entries_lot_id"),
        sa.ForeignKeyConstraint(["piece_id"], ["pieces.id"], name="fk_ledger_entries_piece_id"),
        sa.PrimaryKeyConstraint("seq", name="pk_ledger_entries"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_ledger_entries_booking_line_id", "ledger_entries", ["booking_line_id"])
    op.create_index(
        "ix_ledger_entries_lot_id_place_piece_id_delta",
        "ledger_entries",
        ["lot_id", "place", "piece_id", "delta"],
    )
    op.create_index("ix_ledger_entries_move", "ledger_entries", ["move"])


def _slip_lines() -> None:
    op.create_table(
        "slip_lines",
        sa.Column("id", _SERIAL, autoincrement=True, nullable=False),
        sa.Column("slip_number", _SERIAL, nullable=False),
        sa.Column("booking_line_id", _SERIAL, nullable=False),
        sa.Column("weighed", sa.BigInteger(), nullable=False),
        sa.Column("unit", sa.String(2), nullable=False),
        sa.Column("line_total", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_line_id"], ["booking_lines.id"], name="fk_slip_lines_booking_line_id"
        ),
        sa.ForeignKeyConstraint(
            ["slip_number"], ["slips.number"], name="fk_slip_lines_slip_number"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_slip_lines"),
        sa.UniqueConstraint("booking_line_id", name="uq_slip_lines_booking_line_id"),
    )
    op.create_index("ix_slip_lines_slip_number", "slip_lines", ["slip_number"])
    # ### end Alembic commands ###


_TABLES = (
    _case_lines,
    _people,
    _settings,
    _acts,
    _lots,
    _board_prices,
    _pieces,
    _quotes,
    _bookings,
    _quote_lines,
    _booking_events,
    _booking_lines,
    _slips,
    _ledger_entries,
    _slip_lines,
)


def upgrade() -> None:
    """Make the tables, each after those it points to."""
    for make in _TABLES:
        make()


def downgrade() -> None:
    """Drop them in the reverse order; their indexes go with them."""
    for make in reversed(_TABLES):
        op.drop_table(make.__name__.removeprefix("_"))
