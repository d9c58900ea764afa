"""What is known around the colony before any forecast, so that cautions fit the place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lastbee.methods.circumstances import Circumstances
from lastbee.units import NotAMeasure, length_m

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lastbee.record.record import Record


def circumstances_told(record: Record) -> Circumstances:
    """Gather what call and inspection say of wall and people; what nobody said is unknown.

    Days are not looked at: no deadline, no spray and no flight hours are known here.
    """
    tree = record.tree
    building: Mapping[str, Any] = tree.get("building", {})
    people: Mapping[str, Any] = tree.get("people", {})
    return Circumstances(
        covering=building.get("covering", "other"),
        inside_finish=building.get("inside_finish", "other"),
        cavity=building.get("cavity", "other"),
        may_open_outside=building.get("may_open_outside", "unknown"),
        may_open_inside=building.get("may_open_inside", "unknown"),
        other_gaps_closable=building.get("other_gaps_closable", "unknown"),
        allergic_person=people.get("allergic_person", "unknown"),
        public_path_near=people.get("public_path_near", "unknown"),
        power_line_near=building.get("power_line_near", "unknown"),
        exposing_comb=tree["site"].get("exposing_comb", "unknown"),
        entrance_height_m=_height_m(building.get("entrance_height")),
        year_built=building.get("year_built"),
        gone_by=None,
        sprayed_ago_days=None,
        hanging_cluster_only=False,
        flight_h=(),
    )


def _height_m(written: object) -> float | None:
    try:
        return length_m(written) if isinstance(written, str) else None
    except NotAMeasure:
        return None
