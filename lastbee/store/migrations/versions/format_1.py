"""Format 1: entries that only grow, and what is worked out from them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from lastbee.store.columns import Fraction, Whole

revision = "format_1"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make all tables."""
    _make_record()
    _make_cards()
    _make_forecasts()
    _make_own()
    if op.get_bind().dialect.name == "sqlite":
        _only_grows("jobs", "number", "job")
        _only_grows("entries", "received", "id")


def _make_record() -> None:
    """Make the tables of what was told, seen and done."""
    op.create_table(
        "jobs",
        sa.Column("number", Whole, nullable=False),
        sa.Column("job", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_jobs"),
        sa.UniqueConstraint("job", name="uq_jobs_job"),
        sqlite_strict=True,
    )
    op.create_table(
        "entries",
        sa.Column("received", Whole, nullable=False),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("job", sa.Text),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("written_at", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("person", sa.Text, nullable=False),
        sa.Column("replaces", sa.Text),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("received", name="pk_entries"),
        sa.UniqueConstraint("id", name="uq_entries_id"),
        sa.ForeignKeyConstraint(["job"], ["jobs.job"], name="fk_entries_job"),
        sqlite_strict=True,
    )
    op.create_index("ix_entries_job", "entries", ["job"])
    op.create_table(
        "pictures",
        sa.Column("sha", sa.Text, nullable=False),
        sa.Column("small", sa.LargeBinary, nullable=False),
        sa.Column("jpeg", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("sha", name="pk_pictures"),
        sqlite_strict=True,
    )


def _make_cards() -> None:
    """Make the table of what lists show."""
    texts = ("stage", "title", "client", "place", "phone", "standing", "standing_kind")
    due_texts = ("due_what", "due_on", "due_why", "due_hours", "due_page", "due_caution")
    fractions = ("latitude_deg", "longitude_deg", "due_urgency", "due_rank")
    op.create_table(
        "cards",
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("number", Whole, nullable=False),
        *(sa.Column(name, sa.Text, nullable=False) for name in texts),
        *(sa.Column(name, sa.Text) for name in due_texts),
        *(sa.Column(name, Fraction) for name in fractions),
        *(sa.Column(name, Whole, nullable=False) for name in ("visits", "questions", "photos")),
        sa.Column("opened_at", sa.Text, nullable=False),
        sa.Column("touched_at", sa.Text, nullable=False),
        sa.Column("search_text", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("job", name="pk_cards"),
        sa.ForeignKeyConstraint(["job"], ["jobs.job"], name="fk_cards_job"),
        sqlite_strict=True,
    )
    op.create_index("ix_cards_touched", "cards", ["touched_at", "number"])
    op.create_index("ix_cards_stage", "cards", ["stage", "touched_at", "number"])
    op.create_index("ix_cards_due", "cards", ["due_rank", "due_on"])
    asked = sa.text("questions > 0")
    op.create_index(
        "ix_cards_questions",
        "cards",
        ["touched_at", "number"],
        sqlite_where=asked,
        postgresql_where=asked,
    )


def _make_forecasts() -> None:
    """Make the tables of forecasts and of the plans that answered them."""
    op.create_table(
        "forecasts",
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("asked", sa.Text, nullable=False),
        sa.Column("urgency", Fraction, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("stage", sa.Text, nullable=False),
        sa.Column("share", Fraction, nullable=False),
        sa.Column("problem", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("job", name="pk_forecasts"),
        sa.ForeignKeyConstraint(["job"], ["jobs.job"], name="fk_forecasts_job"),
        sqlite_strict=True,
    )
    op.create_index("ix_forecasts_waiting", "forecasts", ["state", "urgency"])
    op.create_table(
        "plans",
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("answered", sa.Text, nullable=False),
        sa.Column("answered_at", sa.Text, nullable=False),
        sa.Column("plan_json", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("job", name="pk_plans"),
        sa.ForeignKeyConstraint(["job"], ["jobs.job"], name="fk_plans_job"),
        sqlite_strict=True,
    )


def _make_own() -> None:
    """Make the tables of what concerns this file alone."""
    op.create_table(
        "devices",
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("joined_at", sa.Text, nullable=False),
        sa.Column("last_seen", sa.Text),
        sa.PrimaryKeyConstraint("id", name="pk_devices"),
        sqlite_strict=True,
    )
    op.create_table(
        "settings",
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
        sqlite_strict=True,
    )


def _only_grows(table: str, order: str, name: str) -> None:
    """Let no row be changed, lost or, by another of the same key, replaced."""
    for deed in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{deed.lower()} BEFORE {deed} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} are never changed or taken out'); END"
        )
    there = sa.table(table, sa.column(order), sa.column(name))
    same = sa.or_(*(there.c[key] == sa.literal_column(f"NEW.{key}") for key in (order, name)))
    found = sa.select(sa.text("1")).select_from(there).where(same)
    op.execute(
        f"CREATE TRIGGER {table}_no_replace BEFORE INSERT ON {table} WHEN EXISTS ({found}) "
        f"BEGIN SELECT RAISE(ABORT, '{table} are never replaced'); END"
    )
