"""How values lie in the columns: as text that sorts as the values do, and that opens anywhere.

Every database keeps text alike, while each has its own idea of a date with a zone.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import REAL, BigInteger, Double, Integer, Text
from sqlalchemy.types import TypeDecorator

if TYPE_CHECKING:
    from sqlalchemy.engine import Dialect
    from sqlalchemy.types import TypeEngine

# A strict table of SQLite knows one whole number and one fraction, both of 64 bits.
Whole = BigInteger().with_variant(Integer(), "sqlite")
Fraction: TypeEngine[float] = Double().with_variant(REAL(), "sqlite")


class Words(TypeDecorator[str]):
    """Text that people wrote.

    What no database can keep (half a surrogate pair, a zero character) becomes a question mark.
    """

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | None:
        """Make text fit to be kept."""
        if value is None:
            return None
        return value.encode("utf-8", "replace").decode("utf-8").replace("\0", "?")


class Moment(TypeDecorator[datetime]):
    """An aware moment, as ISO text in UTC with all six digits of its microseconds."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        """Write a moment.

        Raises
        ------
        ValueError
            If it has no zone.
        """
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} has no time zone; it must be an aware moment")
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        """Read a moment."""
        return None if value is None else datetime.fromisoformat(value)


class Day(TypeDecorator[date]):
    """A date, as ISO text."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        """Write a date."""
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> date | None:
        """Read a date."""
        return None if value is None else date.fromisoformat(value)
