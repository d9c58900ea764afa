"""How each kind of key in a job file is read: measures, numbers, choices, days, text.

A `Kind` annotates one field of the file's tables (`lastbee.jobs.jobfile_schema`). It reads the
TOML value into the SI value that the job record holds, or raises `Unfit` with the clause that
says what to write instead, and it states the JSON Schema of what may be written.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any, TypeGuard

from pydantic_core import PydanticCustomError, core_schema

from lastbee import units

if TYPE_CHECKING:
    from collections.abc import Callable

    from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
    from pydantic.json_schema import JsonSchemaValue

EARLIEST_YEAR, LATEST_YEAR = 1900, 2100

_MEASURES: dict[units.Dimension, Callable[[str], float]] = {
    "length": units.length_m,
    "area": units.area_m2,
    "mass": units.mass_kg,
    "volume": units.volume_l,
    "temperature": units.temperature_degc,
}
_LARGEST_SHOWN = 10**12
_MINUS = ("-", "\u2212", "\u2013")
_BIDI = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_NUMBER = re.compile(r"[-+]?[0-9]{1,9}(?:\.[0-9]{1,9})?")
_CLOCK = re.compile(r"([0-9]{1,2})[:.h]([0-9]{2})(?::[0-9]{2})?")


class Unfit(ValueError):
    """A value that does not fit its key; `found` is what was wrong if it is not the whole."""

    def __init__(self, mend: str, found: object = None) -> None:
        super().__init__(mend)
        self.mend = mend
        self.found = found


@dataclass(frozen=True, slots=True)
class Kind:
    """How one key is read, and what the JSON Schema says of it."""

    read: Callable[[Any], object]
    schema: dict[str, Any]

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Replace pydantic's own reading of the type by this kind's."""
        return core_schema.no_info_plain_validator_function(self._checked)

    def __get_pydantic_json_schema__(
        self, core: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Return what may be written for the key."""
        return dict(self.schema)

    def _checked(self, written: object) -> object:
        try:
            return self.read(written)
        except Unfit as unfit:
            facts = {"mend": unfit.mend, "found": unfit.found}
            raise PydanticCustomError("unfit", "does not fit", facts) from unfit


def measure(
    dimension: units.Dimension,
    low: str,
    high: str,
    *,
    per_si: float = 1.0,
    usual: tuple[str, str] | None = None,
    is_signed: bool = False,
) -> Kind:
    """Read a length, area, mass, volume or temperature with its unit, within `low` and `high`.

    The field holds the value that `lastbee.units` gives times `per_si` (100 for an area in
    dm2). `usual` names the two units that a number without unit may be meant in. A minus sign
    is read if `is_signed`, as a loss.
    """
    si = _signed(_MEASURES[dimension]) if is_signed else _MEASURES[dimension]
    lowest, highest = si(low), si(high)
    article = "an" if dimension == "area" else "a"
    span = f"{article} {dimension} from {low} to {high}"

    def read(written: object) -> float:
        if _is_number(written):
            raise Unfit(units.unit_wanted(str(written), dimension, usual))
        if not isinstance(written, str):
            raise Unfit(f"write {span} with its unit in quotes")
        try:
            value = si(written)
        except units.NotAMeasure as error:
            bare = written.strip()
            is_bare = _NUMBER.fullmatch(bare)
            raise Unfit(
                units.unit_wanted(bare, dimension, usual) if is_bare else error.mend
            ) from error
        if not lowest <= value <= highest:
            raise Unfit(f"write {span}")
        return value * per_si

    return Kind(read, {"type": "string", "maxLength": units.LONGEST_TEXT})


def number(low: float, high: float, what: str) -> Kind:
    """Read a plain number from `low` to `high`; `what` names it with an example."""

    def read(written: object) -> float:
        if isinstance(written, str) and _NUMBER.fullmatch(written):
            raise Unfit(f"leave out the quotes and write {written}")
        if not _is_number(written) or not low <= written <= high:
            raise Unfit(f"write {what}, from {low:g} to {high:g}")
        return float(written)

    return Kind(read, {"type": "number", "minimum": low, "maximum": high})


def whole(low: int, high: int, what: str) -> Kind:
    """Read a whole number from `low` to `high`; `what` names it."""

    def read(written: object) -> int:
        if isinstance(written, str) and _NUMBER.fullmatch(written):
            raise Unfit(f"leave out the quotes and write {written}")
        if not _is_number(written) or not low <= written <= high or written != int(written):
            raise Unfit(f"write {what} as a whole number from {low} to {high}")
        return int(written)

    return Kind(read, {"type": "integer", "minimum": low, "maximum": high})


def choice(*options: str) -> Kind:
    """Read one of `options`, forgiving capitals, hyphens and underscores."""
    by_spelling = {_loose(option): option for option in options}
    listed = ", ".join(f'"{option}"' for option in options)

    def read(written: object) -> str:
        if not isinstance(written, str):
            raise Unfit(f"write one of {listed}")
        spelling = _loose(written)
        if spelling in by_spelling:
            return by_spelling[spelling]
        from difflib import get_close_matches

        near = get_close_matches(spelling[:60], by_spelling, n=1, cutoff=0.6)
        perhaps = f'"{by_spelling[near[0]]}" perhaps, or ' if near else ""
        raise Unfit(f"write {perhaps}one of {listed}")

    return Kind(read, {"type": "string", "enum": list(options)})


def none_or(size: Kind) -> Kind:
    """Read "none" (or 0) as zero, and anything else as `size` does."""

    def read(written: object) -> object:
        if _is_number(written) and written == 0:
            return 0.0
        if isinstance(written, str) and _loose(written) == "none":
            return 0.0
        try:
            return size.read(written)
        except Unfit as unfit:
            raise Unfit(f'{unfit.mend}, or "none"', unfit.found) from unfit

    return Kind(read, {"anyOf": [{"enum": ["none", 0]}, size.schema]})


def done_or(amount: Kind) -> Kind:
    """Read true or false for a thing done or not, or how much of it as `amount` does."""
    is_done = flag()

    def read(written: object) -> object:
        try:
            return is_done.read(written)
        except Unfit:
            pass
        try:
            return amount.read(written)
        except Unfit as unfit:
            raise Unfit(f"{unfit.mend}, or true", unfit.found) from unfit

    return Kind(read, {"anyOf": [is_done.schema, amount.schema]})


def yes_no() -> Kind:
    """Read "yes", "no" or "unknown", or true or false."""

    def read(written: object) -> str:
        if isinstance(written, bool):
            return "yes" if written else "no"
        if isinstance(written, str) and _loose(written) in ("yes", "no", "unknown"):
            return _loose(written)
        raise Unfit('write "yes", "no" or "unknown"')

    return Kind(read, {"enum": ["yes", "no", "unknown", True, False]})


def flag() -> Kind:
    """Read true or false (or "yes" or "no"); absent means that nobody looked."""

    def read(written: object) -> bool:
        if isinstance(written, bool):
            return written
        if isinstance(written, str) and _loose(written) in ("yes", "no"):
            return _loose(written) == "yes"
        raise Unfit("write true or false, or leave the key out if nobody looked")

    return Kind(read, {"enum": [True, False, "yes", "no"]})


def text(longest: int, what: str, *, many_lines: bool = False, is_needed: bool = False) -> Kind:
    """Read text of at most `longest` characters without control characters."""
    shape = "" if many_lines else " on one line"
    otherwise = "" if is_needed else ", or leave the key out"

    def read(written: object) -> str:
        if not isinstance(written, str):
            raise Unfit(f"write {what} as text in quotes")
        plain = written.strip().replace("\r\n", "\n")
        if not plain:
            raise Unfit(f"write {what} between the quotes{otherwise}")
        if len(plain) > longest:
            raise Unfit(f"write {what} in at most {longest} characters")
        if not all(_is_writing(sign, many_lines) for sign in plain):
            raise Unfit(f"write {what}{shape} without control characters")
        return plain

    return Kind(read, {"type": "string", "minLength": 1, "maxLength": longest})


def day(example: str = "2026-06-29") -> Kind:
    """Read a day as a TOML date or as text "2026-06-29"."""
    mend = f"write the day as year-month-day, such as {example}"

    def read(written: object) -> date:
        if isinstance(written, datetime):
            raise Unfit(f"{mend}, without a time")
        return _day(written, mend)

    return Kind(read, {"type": "string", "format": "date"})


def day_or_moment() -> Kind:
    """Read a day, or a day with its local time."""
    mend = "write the day as year-month-day, such as 2026-06-29"

    def read(written: object) -> date:
        if isinstance(written, datetime):
            if written.tzinfo is not None:
                raise Unfit("write the local time without an offset, such as 2026-06-29T14:30:00")
            _day(written.date(), mend)
            return written.replace(microsecond=0)
        return _day(written, mend)

    # The format "date-time" asks for an offset, which a local time has not.
    moment = "^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}([.][0-9]+)?)?$"
    day_only = {"type": "string", "format": "date"}
    return Kind(read, {"anyOf": [day_only, {"type": "string", "pattern": moment}]})


def clock() -> Kind:
    """Read a time of day as text "14:30" or as a TOML time."""

    def read(written: object) -> time:
        if isinstance(written, time):
            return written.replace(microsecond=0)
        match = _CLOCK.fullmatch(written.strip()) if isinstance(written, str) else None
        if match is None or int(match[1]) > 23 or int(match[2]) > 59:
            raise Unfit('write the local time in 24 hours, such as "14:30"')
        return time(int(match[1]), int(match[2]))

    return Kind(read, {"type": "string", "pattern": "^[0-9]{1,2}[:.h][0-9]{2}(:[0-9]{2})?$"})


def zone() -> Kind:
    """Read the IANA name of a time zone that this computer knows."""

    def read(written: object) -> str:
        mend = 'write the IANA name of the zone, such as "Etc/GMT+5" for five hours behind UTC'
        if not isinstance(written, str):
            raise Unfit(mend)
        name = written.strip()
        if (("/" in name or name == "UTC") and len(name) <= 60) and _is_zone(name):
            return name
        from difflib import get_close_matches
        from zoneinfo import available_timezones

        names = sorted(name for name in available_timezones() if "/" in name)
        near = get_close_matches(name[:60], names, n=1, cutoff=0.75)
        raise Unfit(f'write "{near[0]}" perhaps, or another IANA name' if near else mend)

    return Kind(read, {"type": "string", "examples": ["Etc/GMT+5"]})


def twelve(what: str, *, with_unit: bool) -> Kind:
    """Read twelve values, January first: numbers, or measures as text if `with_unit`.

    The field holds a tuple of floats for numbers (the unit stands in another key) and of
    strings for measures; their ranges are judged where the unit is known.
    """
    example = '"3 C"' if with_unit else "11"
    mend = f"write twelve {what}, January first, such as [{example}, ...]"

    def read(written: object) -> tuple[float | str, ...]:
        if not isinstance(written, list):
            raise Unfit(mend)
        if len(written) != 12:
            raise Unfit(mend)
        for index, one in enumerate(written):
            if not _is_number(one) and not (with_unit and isinstance(one, str)):
                raise Unfit(f"{mend} (value {index + 1} is of another kind)", one)
        return tuple(written)

    items: dict[str, Any] = {"type": ["number", "string"] if with_unit else "number"}
    return Kind(read, {"type": "array", "items": items, "minItems": 12, "maxItems": 12})


def _is_number(written: object) -> TypeGuard[int | float]:
    """Whether it is a finite number; true and false are not."""
    if isinstance(written, float):
        return math.isfinite(written)
    # Larger integers than floats hold would not survive the arithmetic that follows.
    if isinstance(written, bool) or not isinstance(written, int):
        return False
    return abs(written) < _LARGEST_SHOWN


def _signed(si: Callable[[str], float]) -> Callable[[str], float]:
    """Let a reader of amounts read losses too, whichever minus sign the keyboard gave."""

    def read(written: str) -> float:
        bare = written.strip()
        if bare[:1] in _MINUS:
            return -si(bare[1:])
        return si(bare.removeprefix("+"))

    return read


def _loose(written: str) -> str:
    return " ".join(re.sub("[-_]", " ", written).casefold().split())


def _day(written: object, mend: str) -> date:
    if isinstance(written, str):
        try:
            written = date.fromisoformat(written.strip())
        except ValueError as error:
            raise Unfit(mend) from error
    if not isinstance(written, date):
        raise Unfit(mend)
    if not EARLIEST_YEAR <= written.year <= LATEST_YEAR:
        raise Unfit(f"write a day between the years {EARLIEST_YEAR} and {LATEST_YEAR}")
    return written


def _is_writing(sign: str, many_lines: bool) -> bool:
    if sign in "\n\t":
        return many_lines
    return unicodedata.category(sign) not in ("Cc", "Cs", "Zl", "Zp") and sign not in _BIDI


def _is_zone(name: str) -> bool:
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True
