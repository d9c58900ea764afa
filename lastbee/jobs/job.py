"""The job record: one hidden colony, one building, one inspection, one plan asked for.

Everything here is SI and already checked; `lastbee.jobs.jobfile` reads the text a
person wrote into these records and is the only place that knows units and spellings.
`None` always means "not known" or "not looked at", never zero.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from lastbee.jobs.visit import Visit

YesNo = Literal["yes", "no", "unknown"]
CombColour = Literal["white", "yellow", "tan", "brown", "black"]
CavityKind = Literal[
    "stud bay", "joist bay", "soffit", "roof void", "chimney", "hollow column", "other"
]
Covering = Literal["wood", "vinyl", "metal", "stucco", "brick", "stone", "concrete", "other"]
InsideFinish = Literal["plasterboard", "plaster", "wood", "open", "other"]
BoxContents = Literal["empty comb", "lure", "open brood", "queenright nucleus"]


@dataclass(frozen=True, slots=True)
class Climate:
    """Monthly normals, January first, twelve values each.

    `high_degc` and `low_degc` are mean daily maximum and minimum; `wet_day_share`
    is the share of days lost to rain or strong wind, 0 to 1.
    """

    high_degc: tuple[float, ...]
    low_degc: tuple[float, ...]
    wet_day_share: tuple[float, ...]
    is_assumed: bool = False


@dataclass(frozen=True, slots=True)
class Site:
    """Where the colony is. `time_zone` is an IANA name."""

    place: str
    latitude_deg: float
    longitude_deg: float
    time_zone: str
    climate: Climate | None = None
    exposing_comb: Literal["allowed", "barred", "unknown"] = "unknown"


@dataclass(frozen=True, slots=True)
class Building:
    """What the colony sits in and what may be done to it."""

    cavity: CavityKind = "other"
    cavity_width_m: float | None = None
    cavity_depth_m: float | None = None
    cavity_length_m: float | None = None
    covering: Covering = "other"
    inside_finish: InsideFinish = "other"
    entrance_height_m: float | None = None
    year_built: int | None = None
    may_open_outside: YesNo = "unknown"
    may_open_inside: YesNo = "unknown"
    other_gaps_closable: YesNo = "unknown"
    power_line_near: YesNo = "unknown"


@dataclass(frozen=True, slots=True)
class People:
    """Who is at risk and when the bees must be gone."""

    allergic_person: YesNo = "unknown"
    public_path_near: YesNo = "unknown"
    gone_by: date | None = None


@dataclass(frozen=True, slots=True)
class Traffic:
    """Bees counted at the exit. `bees_in` and `bees_out` may each be None."""

    minutes: float
    bees_out: int | None
    bees_in: int | None


@dataclass(frozen=True, slots=True)
class CombSeen:
    """Comb that was visible. `extent` says whether all of it was in view.

    `combs` is the number of combs seen; `area_dm2` the area of comb sheet seen (one
    face counted once); `colour` the darkest comb seen.
    """

    extent: Literal["whole", "part"] = "part"
    combs: int | None = None
    area_dm2: float | None = None
    colour: CombColour | None = None


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was seen, heard and felt at the wall, and what the client told."""

    at: datetime
    temperature_degc: float | None = None
    sky: Literal["sun", "cloud", "rain"] | None = None
    wind: Literal["calm", "breeze", "strong"] | None = None
    traffic: Traffic | None = None
    comb: CombSeen | None = None
    first_seen: date | None = None
    swarm_seen: date | None = None
    sprayed: date | None = None
    warm_area_dm2: float | None = None
    warm_to_hand: bool | None = None
    hum_span_m: float | None = None
    pollen_carried: bool | None = None
    drones_flying: bool | None = None
    young_bees_orienting: bool | None = None
    capped_brood_seen: bool | None = None
    capped_honey_seen: bool | None = None
    hanging_cluster_only: bool | None = None
    notes: str = ""


@dataclass(frozen=True, slots=True)
class Setup:
    """What is intended: when the cone goes on and what the box holds."""

    cone_on: date | None = None
    box: BoxContents = "queenright nucleus"
    rob_out: bool = True


@dataclass(frozen=True, slots=True)
class Preferences:
    """How the firm weighs outcomes, in visits' worth of trouble, and the units it reads."""

    units: Literal["metric", "us"] = "metric"
    confidence: float = 0.95
    honey_limit_kg: float = 5.0
    bees_lost_weight: float = 20.0
    honey_left_weight_per_kg: float = 1.0
    week_weight: float = 0.5
    opening_weight: float = 12.0


@dataclass(frozen=True, slots=True)
class Job:
    """One job, from the first line of the file to what the firm prefers.

    `visits` are those to a running trap-out, no two at the same minute; however they are
    given, they are kept in order of time, each once.
    """

    title: str
    site: Site
    inspection: Inspection
    client: str = ""
    prepared_by: str = ""
    building: Building = field(default_factory=Building)
    people: People = field(default_factory=People)
    setup: Setup = field(default_factory=Setup)
    preferences: Preferences = field(default_factory=Preferences)
    visits: tuple[Visit, ...] = ()

    def __post_init__(self) -> None:
        """Put the visits in order."""
        in_order = tuple(sorted(dict.fromkeys(self.visits), key=lambda visit: visit.at))
        object.__setattr__(self, "visits", in_order)
