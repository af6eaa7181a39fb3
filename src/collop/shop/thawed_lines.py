"""Lines of the case that are sold thawed: their label says that they were frozen before."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.shop.day_tables import case_labels

__all__ = ["thawed_lines"]


def thawed_lines(conn: Connection) -> frozenset[str]:
    """Return the lines whose newest label facts say that they were frozen before."""
    newest = select(func.max(case_labels.c.seq)).group_by(case_labels.c.case_id)
    query = select(case_labels.c.case_id, case_labels.c.facts)
    rows = conn.execute(query.where(case_labels.c.seq.in_(newest)))
    return frozenset(row.case_id for row in rows if row.facts["previously_frozen"])
