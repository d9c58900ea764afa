"""The tables of the firm's file, as the newest migration leaves them.

`entries` (numbered as they came in) and `jobs` (numbered by their first entry) only ever grow;
the file itself refuses to change or lose a row of either. `pictures` holds photographs with
their small twins. `cards` and `plans` can be worked out again from the entries at any time;
`forecasts` says what is to be worked out. `devices` and `settings` belong to this file alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sqlalchemy import Column, ForeignKey, Index, LargeBinary, MetaData, Table, Text, literal_column

from lastbee.store.columns import Day, Fraction, Moment, Whole, Words

if TYPE_CHECKING:
    from sqlalchemy.types import TypeEngine

METADATA = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    }
)


def _table(name: str, *columns: Column[Any]) -> Table:
    """Declare a table that takes in nothing but what its columns say."""
    return Table(name, METADATA, *columns, sqlite_strict=True)


def _needed(name: str, kind: TypeEngine[Any] | type[TypeEngine[Any]], **more: Any) -> Column[Any]:
    """Declare a column that is never empty."""
    return Column(name, kind, nullable=False, **more)


def _job_as_key() -> Column[str]:
    """Declare the key of a table that says one thing of each job."""
    return Column("job", Text, ForeignKey("jobs.job"), primary_key=True, nullable=False)


jobs = _table(
    "jobs",
    Column("number", Whole, primary_key=True),
    _needed("job", Text, unique=True),
)

entries = _table(
    "entries",
    Column("received", Whole, primary_key=True),
    _needed("id", Text, unique=True),
    Column("job", Text, ForeignKey("jobs.job")),
    _needed("kind", Text),
    _needed("written_at", Moment),
    _needed("device", Words),
    _needed("person", Words),
    Column("replaces", Text),
    _needed("body", Text),
)

cards = _table(
    "cards",
    _job_as_key(),
    _needed("number", Whole),
    _needed("stage", Text),
    _needed("title", Words),
    _needed("client", Words),
    _needed("place", Words),
    _needed("phone", Words),
    Column("latitude_deg", Fraction),
    Column("longitude_deg", Fraction),
    _needed("standing", Words),
    _needed("standing_kind", Words),
    Column("due_what", Words),
    Column("due_on", Day),
    Column("due_why", Words),
    Column("due_hours", Words),
    Column("due_page", Text),
    Column("due_caution", Words),
    Column("due_urgency", Fraction),
    Column("due_rank", Fraction),
    _needed("visits", Whole),
    _needed("opened_at", Moment),
    _needed("touched_at", Moment),
    _needed("questions", Whole),
    _needed("photos", Whole),
    _needed("search_text", Words),
)

forecasts = _table(
    "forecasts",
    _job_as_key(),
    _needed("asked", Text),
    _needed("urgency", Fraction),
    _needed("state", Text),
    _needed("stage", Words),
    _needed("share", Fraction),
    _needed("problem", Words),
)

# Apart from `forecasts`, so that telling how far one has come never writes a whole plan anew.
plans = _table(
    "plans",
    _job_as_key(),
    _needed("answered", Text),
    _needed("answered_at", Moment),
    _needed("plan_json", Words),
)

# The small twin stands first: it is then read without going through the large one.
pictures = _table(
    "pictures",
    Column("sha", Text, primary_key=True, nullable=False),
    _needed("small", LargeBinary),
    _needed("jpeg", LargeBinary),
)

devices = _table(
    "devices",
    Column("id", Text, primary_key=True, nullable=False),
    _needed("name", Words),
    _needed("joined_at", Moment),
    Column("last_seen", Moment),
)

settings = _table(
    "settings",
    Column("name", Text, primary_key=True, nullable=False),
    _needed("value", Words),
)

# Spelled out in the statement: an index over some rows is no use to a condition with a blank.
HAS_QUESTIONS = cards.c.questions > literal_column("0")

Index("ix_entries_job", entries.c.job)
Index("ix_cards_touched", cards.c.touched_at, cards.c.number)
Index("ix_cards_stage", cards.c.stage, cards.c.touched_at, cards.c.number)
Index("ix_cards_due", cards.c.due_rank, cards.c.due_on)
Index(
    "ix_cards_questions",
    cards.c.touched_at,
    cards.c.number,
    sqlite_where=HAS_QUESTIONS,
    postgresql_where=HAS_QUESTIONS,
)
Index("ix_forecasts_waiting", forecasts.c.state, forecasts.c.urgency)
