"""The monthly normals of a job file: their unit, their ranges, lows below highs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lastbee.jobs import job
from lastbee.jobs.jobfile_fields import Unfit
from lastbee.units import NotAMeasure, temperature_degc

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lastbee.jobs import jobfile_schema as tables
    from lastbee.jobs.jobfile_findings import Findings

MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
# Mean days of a month over the Gregorian cycle, February rounded to 28.25.
DAYS_OF_MONTH = (31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0)
COLDEST_NORMAL_DEGC, HOTTEST_NORMAL_DEGC = -50.0, 55.0


def climate_from(climate: tables.ClimateTable, findings: Findings) -> job.Climate | None:
    """Build the monthly normals, or add to `findings` what stands against them.

    Returns
    -------
    The normals, or None if the table is empty or cannot be used.
    """
    if not climate.model_fields_set and not findings.is_wrong_in("site.climate"):
        return None
    high = _temperatures("high", climate.high, climate.unit, findings)
    low = _temperatures("low", climate.low, climate.unit, findings)
    lost = _lost_shares(climate, findings)
    for month, below, above in zip(MONTHS, low or (), high or (), strict=False):
        if below > above:
            findings.add(
                "site.climate.low",
                f"{below:.3g} C",
                f"write a low for {month} that is not above its high of {above:.3g} C",
            )
    if high is None or low is None or lost is None:
        return None
    return job.Climate(high_degc=high, low_degc=low, wet_day_share=lost)


def _temperatures(
    key: str, written: Sequence[float | str] | None, unit: str | None, findings: Findings
) -> tuple[float, ...] | None:
    dotted = f"site.climate.{key}"
    if written is None:
        findings.miss(dotted, f"write twelve temperatures, such as {key} = [...], January first")
        return None
    if unit is None and any(not isinstance(one, str) for one in written):
        findings.miss("site.climate.unit", 'write unit = "C" or unit = "F"')
        return None
    degrees: list[float] = []
    for month, one in zip(MONTHS, written, strict=True):
        try:
            degc = temperature_degc(one if isinstance(one, str) else f"{one:.6f} {unit}")
            if not COLDEST_NORMAL_DEGC <= degc <= HOTTEST_NORMAL_DEGC:
                lowest, highest = COLDEST_NORMAL_DEGC, HOTTEST_NORMAL_DEGC
                raise Unfit(f"write a temperature from {lowest:.0f} C to {highest:.0f} C")
        except (NotAMeasure, Unfit) as error:
            findings.add(dotted, one, f"for {month}, {error.mend}")
        else:
            degrees.append(degc)
    return tuple(degrees) if len(degrees) == 12 else None


def _lost_shares(climate: tables.ClimateTable, findings: Findings) -> tuple[float, ...] | None:
    days, shares = climate.wet_days, climate.wet_share
    if days is not None and shares is not None:
        mend = "keep either wet_days or wet_share"
        findings.add("site.climate.wet_share", f"{shares[0]:g}, ...", mend)
        return None
    if days is None and shares is None:
        if "site.climate.wet_share" not in findings.wrong:
            mend = "write twelve numbers of days, such as wet_days = [...], January first"
            findings.miss("site.climate.wet_days", mend)
        return None
    if days is not None:
        key, values, most = "wet_days", days, DAYS_OF_MONTH
        what = "a number of days from 0 to {:.0f}"
    else:
        key, values, most = "wet_share", shares or (), (1.0,) * 12
        what = "a share from 0 to {:.0f}"
    is_fit = True
    for month, value, largest in zip(MONTHS, values, most, strict=True):
        if not 0.0 <= value <= largest:
            is_fit = False
            mend = f"for {month}, write {what.format(largest)}"
            findings.add(f"site.climate.{key}", value, mend)
    if not is_fit:
        return None
    return tuple(value / largest for value, largest in zip(values, most, strict=True))
