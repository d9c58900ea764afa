"""Rows of the tables on troubles and deeds in docs/model.md, from `lastbee.colony.course`.

`python -m docs.constants_table` puts them into the page.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from docs.parameters import SYMBOLS, ends_90
from lastbee.biology.constants import PARAMETERS
from lastbee.colony.course import (
    MENDS,
    NOTICED,
    ONSETS,
    PRIOR,
    WORSE,
    DeedKind,
    Trouble,
    put_right_chance,
)
from lastbee.jobs.troubles import TOLD

if TYPE_CHECKING:
    from lastbee.biology.constants import Column
    from lastbee.colony.course import Worse


def trouble_rows() -> list[str]:
    """How often each course is taken, when it begins, whether a visit ends it; header first."""
    rows = [
        "| trouble | in the code | how often | with the cone | not before day | then on average "
        "| noticed | ended by a visit |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for trouble in Trouble:
        onset = ONSETS.get(trouble)
        when = ("", "", "") if onset is None else (
            percent(onset.at_once), f"{onset.wait_days:g}", f"{onset.mean_days:g} days more"
        )  # fmt: skip
        noticed = NOTICED.get(trouble)
        cells = (
            TOLD[trouble].label,
            f"`{trouble.name}`",
            percent(PRIOR[trouble]),
            *when,
            "" if noticed is None else percent(noticed),
            "" if noticed is None else f"{put_right_chance(trouble):.2f}",
        )
        rows.append(f"| {' | '.join(cells)} |")
    return rows


def worse_rows() -> list[str]:
    """What each trouble does to the rates; header first."""
    rows = ["| trouble | rate | becomes | nine times in ten |", "|---|---|---|---|"]
    for trouble, rates in WORSE.items():
        for column, worse in rates.items():
            becomes, span = _becomes(column, worse)
            rate = f"{PARAMETERS[column].name}, ${SYMBOLS[column]}$"
            rows.append(f"| `{trouble.name}` | {rate} | {becomes} | {span} |")
    return rows


def mend_rows() -> list[str]:
    """Which troubles each deed ends, and how often; header first."""
    rows = ["| deed | ends |", "|---|---|"]
    for deed in DeedKind:
        ends = [
            f"`{trouble.name}` {percent(chances[deed])}"
            for trouble, chances in MENDS.items()
            if deed in chances
        ]
        rows.append(f"| {deed.value} | {', '.join(ends) or 'none'} |")
    return rows


def _becomes(column: Column, worse: Worse) -> tuple[str, str]:
    """A rate under trouble in words, and its 90 % range."""
    low, high = ends_90(
        "logit" if worse.kind == "share" else "lognormal", worse.middle, worse.spread
    )
    if worse.kind == "share":
        return percent(worse.middle), f"{percent(low)} to {percent(high)}"
    if worse.kind == "rate":
        return f"{worse.middle:g} a day", f"{low:.2g} to {high:.2g}"
    return f"{worse.middle:g} times ${SYMBOLS[column]}$", f"{low:.2g} to {high:.2g} times"


def percent(share: float) -> str:
    """A share in whole per cent."""
    return f"{100.0 * share:.0f} %"
