"""Every constant of the colony model: value, unit, how sure, and where from.

A `Parameter` that varies between colonies has a prior: `lognormal` (spread is the
standard deviation of the natural log), `logit` (a share; spread on the logit scale)
or `fixed`. The order of `PARAMETERS` is the order of columns that the kernel reads;
`Column` names them. Structural columns say when and how the colony was founded (first) and
what nothing troubles (last); `lastbee.colony.founding` fills them.

Figures with no published source say "assumed"; their spreads are wide on purpose.

>>> PARAMETERS[Column.LAY_MAX].unit
'eggs/day'
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

Kind = Literal["lognormal", "logit", "fixed", "structural"]


@dataclass(frozen=True, slots=True)
class Parameter:
    """One model parameter with its prior and its source."""

    name: str
    unit: str
    median: float
    kind: Kind
    spread: float
    source: str


# Worker development, Becher et al. 2014 parameters citing Winston 1987.
EGG_DAYS = 3
LARVA_DAYS = 6
CAPPED_DAYS = 12
WORKER_DAYS = EGG_DAYS + LARVA_DAYS + CAPPED_DAYS
# Drone development, same source citing Jay 1963 and Fukuda & Ohtani 1977.
DRONE_DAYS = 24

# Daily brood losses in a well-kept nest: Schmickl & Crailsheim 2007 p. 230.
EGG_LOSS_PER_DAY = 0.03
LARVA_LOSS_PER_DAY = 0.01
PUPA_LOSS_PER_DAY = 0.001
# Drones: 44 % of eggs are lost by emergence (Fukuda & Ohtani 1977): 0.56**(1/24).
DRONE_BROOD_LOSS_PER_DAY = 0.0239

# Worker cells on both faces of a dm2 of comb sheet at 5.37 mm: Betts 1938.
CELLS_PER_DM2 = 801.0
# 310 g of capped honey in a dm2 of 25 mm comb (density 1.42 kg/L) over 801 cells.
HONEY_PER_CELL_G = 0.387
# A full cell of pollen: Becher et al. 2014.
POLLEN_PER_CELL_G = 0.23
# Nurses carry three brood cells each (Free & Racey 1968); foragers count a fifth (Becher et
# al. 2014).
BROOD_PER_NURSE = 3.0
FORAGER_NURSE_SHARE = 0.2
# Engorged swarm bee 130 mg less mature worker 88 mg (Mitchell 1970).
SWARM_CROP_G = 0.042
# Bees in one close layer over both faces of a dm2 of sheet (Kauffeld via Burgett & Burikam 1985).
BEES_PER_DM2_SHEET = 215.0
# Drone adults live about 14 days in summer, 0.05 a day (Fukuda & Ohtani 1977).
DRONE_LOSS_PER_DAY = 0.05
# Flight hours of the reference day on which forager loss and income are stated: assumed.
REFERENCE_FLIGHT_H = 10.0
# On a wet or windy day this share of the fine-weather flight hours is left: assumed.
WET_DAY_FLIGHT_SHARE = 0.15
# Share of unfed young larvae lost per day: after five days without foraging they are
# gone (Schmickl & Crailsheim 2001); 0.4**5 leaves one in a hundred.
YOUNG_LARVA_NEGLECT = 0.6
# Older larvae are spared longer: factor of Schmickl & Crailsheim 2007.
OLD_LARVA_NEGLECT = 0.15
# Uncovered brood dying per day in air 24 degC or more below the nest's 34 degC: assumed.
CHILL_PER_DAY = 0.6
# Bees dying per day for want of food, share of the unmet need: assumed.
STARVE_PER_DAY = 0.4
# Below this many bees in the nest the queen goes with the last of them or stays: assumed.
QUEEN_DECIDES_BEES = 60.0

MAX_YOUNG_DAYS = 14


class Column(IntEnum):
    """Column of each parameter in the array that the kernel reads."""

    START_DAY = 0
    START_BEES = 1
    START_HONEY = 2
    START_COMB = 3
    CAVITY_COMB = 4
    LAYING_DELAY = 5
    START_POLLEN = 6
    YOUNG_DAYS = 7
    QUEEN_LEAVES = 8
    BOX_BEES = 9
    BOX_LAYING_DELAY = 10
    LAY_MAX = 11
    CARE_HALF = 12
    FOOD_HALF = 13
    RECRUIT_MIN = 14
    RECRUIT_HUNGER = 15
    INHIBITION = 16
    FORAGER_LOSS = 17
    NEST_LOSS = 18
    INCOME = 19
    DEARTH = 20
    ADULT_NEED = 21
    BROOD_NEED = 22
    POLLEN_INCOME = 23
    LARVA_POLLEN = 24
    PROTEIN_RESERVE = 25
    BUILD = 26
    WAX_HONEY = 27
    DRONE_SHARE = 28
    COVER = 29
    LEAK = 30
    REENTRY = 31
    FLY = 32
    CARRY = 33
    LAY_COUPLING = 34
    DESERT = 35
    DESERT_HALF = 36
    JOIN = 37
    DRIFT = 38
    WALL_LOSS = 39
    PASSABLE = 40
    BOX_LEAVE = 41
    BOX_ROBBED = 42
    TRAPPED_PACE = 43
    BODY_PROTEIN = 44
    WARMING = 45


def _structural(
    name: str, unit: str, source: str = "set by the founding of each colony"
) -> Parameter:
    return Parameter(name, unit, 0.0, "structural", 0.0, source)


PARAMETERS: tuple[Parameter, ...] = (
    _structural("start day", "day index"),
    _structural("bees at the start", "bees"),
    _structural("honey at the start", "g"),
    _structural("comb at the start", "dm2 sheet"),
    _structural("comb that the cavity can hold", "dm2 sheet"),
    _structural("days until the queen lays", "days"),
    _structural("pollen at the start", "g"),
    _structural("youngest foraging age", "days"),
    _structural("queen leaves with the last bees", "0 or 1"),
    _structural("bees in the box when it is set", "bees"),
    _structural("days until a queen lays in the box", "days"),
    Parameter(
        "greatest laying rate",
        "eggs/day",
        2000.0,
        "lognormal",
        0.15,
        "2000 (Khoury et al. 2013; Bodenheimer 1937); 1600 in Schmickl & Crailsheim 2007",
    ),
    Parameter(
        "nest bees at half brood care", "bees", 5000.0, "lognormal", 0.25, "Khoury et al. 2013, v"
    ),
    Parameter("stores at half effect", "g", 500.0, "lognormal", 0.25, "Khoury et al. 2013, b"),
    Parameter(
        "least recruitment", "1/day", 0.25, "lognormal", 0.25, "Khoury et al. 2013, alpha_min"
    ),
    Parameter(
        "recruitment by hunger", "1/day", 0.25, "lognormal", 0.25, "Khoury et al. 2013, alpha_max"
    ),
    Parameter("social inhibition", "1/day", 0.75, "lognormal", 0.15, "Khoury et al. 2011, sigma"),
    Parameter(
        "forager loss on a reference day",
        "1/day",
        0.12,
        "lognormal",
        0.25,
        "foraging life 6.5 d (baseline with Khoury et al. 2013) to 7.7 d (Visscher & Dukas), and "
        "longer here so that a swarm keeps about half its bees for three weeks: assumed",
    ),
    Parameter(
        "loss of bees inside",
        "1/day",
        0.006,
        "lognormal",
        0.4,
        "between 0.004 (Martin 2001, winter) and 0.01 (Schmickl & Crailsheim 2007)",
    ),
    Parameter(
        "honey brought home",
        "g/(forager day)",
        0.18,
        "lognormal",
        0.6,
        "between 0.1 (Khoury et al. 2013, c) and ten full 50 mg crops at 0.4 honey a nectar "
        "(Winston 1987; Becher et al. 2014): 0.2; spread by place and year assumed",
    ),
    Parameter(
        "depth of the summer dearth", "share", 0.4, "logit", 1.0, "common practice, no source"
    ),
    Parameter(
        "adult's food",
        "g/(bee day)",
        0.009,
        "lognormal",
        0.2,
        "between 0.007 (Khoury et al. 2013) and 0.011 (Rortais et al. 2005)",
    ),
    Parameter(
        "open brood's food",
        "g/(cell day)",
        0.018,
        "lognormal",
        0.15,
        "Khoury et al. 2013, gamma_B",
    ),
    Parameter(
        "pollen brought home",
        "g/(forager day)",
        0.05,
        "lognormal",
        0.3,
        "15 mg a trip (Seeley 1995), a third of ten trips",
    ),
    Parameter(
        "larva's pollen",
        "g/(larva day)",
        0.024,
        "lognormal",
        0.15,
        "125-187.5 mg a larva (Hrassnigg & Crailsheim 2005) over 6 days",
    ),
    Parameter(
        "protein reserve",
        "days of demand",
        9.0,
        "lognormal",
        0.5,
        "6 days of pollen (Schmickl & Crailsheim 2007) and part of 7 in nurses (Crailsheim 1990)",
    ),
    Parameter(
        "comb built",
        "dm2 sheet/(1000 bees day)",
        0.45,
        "lognormal",
        0.35,
        "assumed; keeps below 4.7 dm2 a day (Jardine 1840) and near the first-season curve",
    ),
    Parameter(
        "honey spent on comb",
        "g/dm2 sheet",
        64.0,
        "lognormal",
        0.15,
        "10.2 g wax a dm2, 6.25 g honey a g (Seeley 1985 via Berry & Delaplane 2001)",
    ),
    Parameter(
        "drone eggs",
        "share of worker eggs",
        0.04,
        "lognormal",
        0.4,
        "Allen 1963; Wilkinson & Smith 2002",
    ),
    Parameter(
        "bees that cover a brood cell",
        "bees/cell",
        0.2,
        "lognormal",
        0.5,
        "one close layer of 108 bees over 400 cells, packed closer when few: assumed",
    ),
    Parameter(
        "leak",
        "share of shut-out foragers a day",
        0.02,
        "logit",
        1.0,
        "common practice, no source: a missed gap is normal",
    ),
    Parameter(
        "bees that walk back in through the cone",
        "1/day",
        0.004,
        "logit",
        0.8,
        "common practice, no source",
    ),
    Parameter(
        "foragers leaving on a reference day",
        "1/day",
        0.75,
        "logit",
        0.35,
        "22-26 % of foraging days are rest (Tian et al. 2014)",
    ),
    Parameter(
        "honey carried out by a leaving bee",
        "g",
        0.02,
        "lognormal",
        0.4,
        "mean load 25 mg nectar (Seeley 1995), full crop 50 mg",
    ),
    Parameter(
        "laying and brood care follow income",
        "share",
        0.7,
        "logit",
        1.6,
        "Phillips 1911 and the trade disagree: left wide",
    ),
    Parameter(
        "desertion of a tiny nest", "1/day", 1.0, "lognormal", 0.7, "common practice, no source"
    ),
    Parameter(
        "bees at half desertion", "bees", 400.0, "lognormal", 0.7, "common practice, no source"
    ),
    Parameter(
        "shut-out bees joining the box",
        "1/day",
        0.35,
        "lognormal",
        0.8,
        "common practice, no source; scaled by what the box holds",
    ),
    Parameter(
        "shut-out bees drifting away",
        "1/day",
        0.04,
        "lognormal",
        0.5,
        "common practice, no source",
    ),
    Parameter(
        "loss of bees on the wall",
        "1/day",
        0.08,
        "lognormal",
        0.4,
        "2-5 d at rest on a full crop, less in the cold: assumed",
    ),
    _structural("cone's opening that is free", "share", "1 until the trap-out changes course"),
    _structural("box bees leaving for good", "1/day", "0 until the trap-out changes course"),
    _structural("box honey robbed", "share a day", "0 until the trap-out changes course"),
    Parameter(
        "recruitment behind a cone",
        "times that of a free nest",
        1.0,
        "lognormal",
        0.5,
        "assumed: nobody has measured a trapped nest",
    ),
    Parameter(
        "brood that a trapped nest rears without pollen",
        "share",
        0.35,
        "logit",
        1.2,
        "bees fed none rear some for weeks from their own bodies (Haydak 1935, from memory): "
        "share assumed",
    ),
    Parameter(
        "bees that keep a nest warm besides those on brood",
        "bees",
        200.0,
        "lognormal",
        1.1,
        "a handful cannot hold the heat of a nest; number assumed",
    ),
)
