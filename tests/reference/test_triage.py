"""Insects as published guidance describes them: the one described must come first.

Each case is what a caller would say who sees what the source describes, in the month that the
source gives. The descriptions are the sources'; turning them into answers is ours.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from lastbee.triage.insects import prior_shares
from lastbee.triage.triage import triage

NORTH, SOUTH = 42.0, -38.0


@dataclass(frozen=True)
class Described:
    source: str
    insect: str
    month: int
    answers: dict[str, str]
    latitude_deg: float = NORTH


DESCRIBED = [
    Described(
        # Tree bumblebees in eaves or a bird box, May to July: drones whirl before the nest,
        # which callers take for a swarm; fur tawny, black, white; drones twice a honey bee.
        "Hill, Introducing the tree bumblebee, Bee Craft 95(5), May 2013",
        "bumblebees",
        6,
        {"where": "building", "flight": "whirl", "coat": "fuzzy", "colour": "fur-bands",
         "size": "large", "traffic": "tens"},
        53.0,
    ),
    Described(
        # Big, fuzzy, robust, black and yellow, 3/4 in or more; in the ground in a deserted
        # mouse nest; a few hundred at most.
        "Iowa State University Extension, Bumble bee",
        "bumblebees",
        7,
        {"where": "ground", "coat": "fuzzy", "size": "large", "colour": "fur-bands",
         "traffic": "few"},
    ),
    Described(
        # 3/8 to 3/4 in, stout, hairy; in wall voids too; spring to autumn.
        "University of Minnesota Extension, Bumble bees (insect diagnosis page)",
        "bumblebees",
        7,
        {"where": "building", "coat": "fuzzy", "colour": "fur-bands", "waist": "none",
         "traffic": "few", "size": "large"},
    ),
    Described(
        # Half an inch, black and yellow, slender, few hairs; subterranean nests in old
        # burrows; mid-September, when it is yellowjackets that people see.
        "Hahn, Don't confuse yellowjackets and bees, University of Minnesota Extension, 2014",
        "wasps",
        9,
        {"where": "ground", "coat": "smooth", "colour": "yellow", "size": "middle",
         "flight": "straight"},
    ),
    Described(
        # Ground nests, noticed in August when workers are many.
        "University of California IPM, Pest Notes: Yellowjackets and other social wasps",
        "wasps",
        8,
        {"where": "ground", "traffic": "tens", "colour": "yellow"},
    ),
    Described(
        # German yellowjackets: nest in attic or wall void, first noticed by hundreds in the
        # living rooms; yellow and black.
        "Townsend, Kentucky Pest News, 11 November 2014",
        "wasps",
        10,
        {"where": "building", "indoors": "many", "colour": "yellow"},
    ),
    Described(
        # The usual wrong call for honey bees in a wall: smooth and hairless.
        "Ohio State University Extension, HYG-2079 (second-hand)",
        "wasps",
        8,
        {"where": "building", "coat": "smooth", "traffic": "tens"},
    ),
    Described(
        # A grey paper envelope hanging from trees or buildings; mostly black, 5/8 in.
        "Hahn, Don't confuse yellowjackets and bees, 2014, on the baldfaced hornet",
        "wasps",
        8,
        {"where": "paper", "colour": "black", "size": "middle", "coat": "smooth"},
    ),
    Described(
        # A single umbrella comb without envelope; narrow waist and long legs.
        "Texas Apiary Inspection Service, Paper wasps",
        "wasps",
        6,
        {"where": "paper", "waist": "narrow", "legs": "hang", "traffic": "few"},
    ),
    Described(
        # Up to an inch, black, bare above behind; round half-inch holes in structural wood;
        # emerge in spring; males harass whoever comes near.
        "University of Arkansas Arthropod Museum, Carpenter bee",
        "solitary-bees",
        5,
        {"where": "wood", "size": "large", "coat": "shiny-behind", "flight": "hover"},
    ),
    Described(
        # The same told by someone who has only seen holes, sawdust and one big "bumblebee".
        "University of Arkansas Arthropod Museum, Carpenter bee",
        "solitary-bees",
        5,
        {"where": "wood", "below": "sawdust", "size": "large", "traffic": "few"},
    ),
    Described(
        # Individual holes in bare ground with small mounds, many close together like a city;
        # March to May; black, blue, green or copper.
        "North Carolina State Extension, Bees in turf",
        "solitary-bees",
        4,
        {"where": "many-holes", "below": "heaps", "colour": "other"},
        35.8,
    ),
    Described(
        # Piles of soil and small holes in a lawn in April, a flurry of bees over the ground.
        "University of Maryland Extension, answer of 14 April 2024",
        "solitary-bees",
        4,
        {"where": "many-holes", "traffic": "cloud", "flight": "low"},
        39.0,
    ),
    Described(
        # Mean date of 689 swarm clusters: 15 May.
        "Gilley, Courtright & Thom 2018, doi:10.1093/ee/nvy039",
        "swarm",
        5,
        {"where": "ball", "since": "today"},
        40.2,
    ),
    Described(
        # Bees gather on a limb until scouts find a home, usually in 12 to 36 hours.
        "University of Minnesota Bee Lab, Wasps and bee removal",
        "swarm",
        6,
        {"where": "ball", "since": "today", "swarm": "yes", "traffic": "cloud"},
        45.0,
    ),
    Described(
        # The same half a year later, south of the equator.
        "Gilley, Courtright & Thom 2018, the season turned by six months",
        "swarm",
        11,
        {"where": "ball"},
        SOUTH,
    ),
    Described(
        # Half an inch, brown and black, hairy; in a cavity of a house.
        "Hahn, Don't confuse yellowjackets and bees, 2014, on honey bees",
        "honey-bee-nest",
        9,
        {"where": "building", "coat": "some-hair", "colour": "brown", "size": "middle"},
    ),
    Described(
        # Hairy, amber-brown, with pollen baskets; inside walls, chimneys, utility boxes.
        "University of California Cooperative Extension Ventura; Purdue E-44 on pollen",
        "honey-bee-nest",
        6,
        {"where": "building", "coat": "some-hair", "legs": "lumps", "traffic": "tens"},
        34.3,
    ),
    Described(
        # Wasps are dead after hard frosts and only queens winter (HYG-2075), while honey bees
        # winter in their nest: traffic at a wall in a thaw of February.
        "Ohio State University Extension, HYG-2075 (second-hand); Ask Extension 436066",
        "honey-bee-nest",
        2,
        {"where": "building", "traffic": "few", "since": "months"},
    ),
    Described(
        # A quarter of an inch, black and yellow, hang in the air, at flowers; no nest.
        "Mason, Hover flies may look like bees, University of Illinois Extension, 2014",
        "something-else",
        9,
        {"where": "nowhere", "flight": "hover", "size": "small", "coat": "smooth",
         "colour": "yellow"},
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", DESCRIBED, ids=lambda c: f"{c.insect}, {c.source[:24]}")
def test_the_insect_described_comes_first(case: Described) -> None:
    shares = triage(case.answers, case.month, case.latitude_deg).shares
    first, second = list(shares.values())[:2]
    assert next(iter(shares)) == case.insect, shares
    # First by a margin that a person would act on, not by a hair: half as much again.
    assert first > 1.5 * second, shares


def test_swarms_are_called_in_most_about_mid_may() -> None:
    """Mean date of swarm clusters in New Jersey: 15 May (Gilley, Courtright & Thom 2018)."""
    shares = {month: prior_shares(month, 40.2)["swarm"] for month in range(1, 13)}
    assert max(shares, key=lambda month: shares[month]) == 5
    by_weight = sum(month * share for month, share in shares.items()) / sum(shares.values())
    assert by_weight == pytest.approx(5.5, abs=1.0)


def test_wasps_are_called_in_most_in_late_summer() -> None:
    """Mid-September it is mostly yellowjackets that people see (Hahn 2014)."""
    shares = prior_shares(9, 45.0)
    assert max(shares, key=lambda key: shares[key]) == "wasps"
    assert shares["wasps"] > prior_shares(6, 45.0)["wasps"] > prior_shares(4, 45.0)["wasps"]


def test_solitary_bees_are_called_in_most_in_april() -> None:
    """April brings solitary bee season (University of Maryland Extension, 14 April 2024)."""
    shares = {month: prior_shares(month, 39.0)["solitary-bees"] for month in range(1, 13)}
    assert max(shares, key=lambda month: shares[month]) == 4
