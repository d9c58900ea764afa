"""Where the likelihoods and the sentences of call triage come from, each named once."""

from __future__ import annotations

# What the insects look like and where they nest.
UMN_CONFUSED = (
    "Hahn, Don't confuse yellowjackets and bees, University of Minnesota Extension, "
    "17 September 2014"
)
UMN_BUMBLE = "University of Minnesota Extension, Bumble bees (insect diagnosis page)"
UMN_BEE_LAB = "University of Minnesota Bee Lab, Wasps and bee removal"
UC_WASPS = "University of California IPM, Pest Notes: Yellowjackets and other social wasps"
UC_MARIN = "University of California Cooperative Extension Marin, Pest of the month: Yellowjackets"
OSU_2079 = "Ohio State University Extension, fact sheet HYG-2079 (second-hand)"
OSU_2075 = "Ohio State University Extension, fact sheet HYG-2075 (second-hand)"
KENTUCKY = (
    "Townsend, German yellowjackets are human space invaders, Kentucky Pest News, 11 Nov 2014"
)
PURDUE = "MacDonald & Williams, Bees, wasps, hornets and yellowjackets, Purdue University, E-44"
ARKANSAS = "University of Arkansas Arthropod Museum, Carpenter bee"
NC_STATE = "North Carolina State Extension, Bees in turf"
MARYLAND = "University of Maryland Extension, answer on bees in a lawn, 14 April 2024"
IOWA_BUMBLE = "Iowa State University Extension, Bumble bee"
TEXAS_PAPER = "Texas Apiary Inspection Service, Paper wasps"
TREE_BUMBLE = "Hill, Introducing the tree bumblebee, Bee Craft 95(5), May 2013"
ILLINOIS_FLIES = (
    "Mason, Hover flies may look like bees, University of Illinois Extension, 26 Sep 2014"
)

# Swarms, and bees in buildings.
GILLEY = (
    "Gilley, Courtright & Thom, Phenology of honey bee swarm departure in New Jersey, "
    "Environmental Entomology 47, 2018, doi:10.1093/ee/nvy039"
)
FELL = "Fell et al., Journal of Apicultural Research 16, 1977 (from memory)"
MUSSEN = (
    "Mussen, Removing honey bee swarms and established hives, University of California IPM "
    "Pest Notes, 2012"
)
UC_2012 = "University of California IPM, Annual report 2012, on bees in buildings"
VENTURA = "University of California Cooperative Extension Ventura, on swarm calls"
ASK_WSU = "Ask Extension 436066, King County, Washington, December 2017"
TENNESSEE = "Tennessee Department of Agriculture, Bees inside a wall"
UF_146 = "University of Florida IFAS, ENY-146 (second-hand)"
UF_144 = "University of Florida IFAS, ENY-144 (second-hand)"
UC_DAVIS = (
    "University of California Davis, master beekeeper programme, on defensive bees (second-hand)"
)

# Stings.
NHS = "National Health Service (UK), Anaphylaxis, reviewed June 2023"
NI_DIRECT = "nidirect (Northern Ireland), Anaphylaxis"
GOLDEN = "Golden, Immunology and Allergy Clinics of North America 27, 2007, PMC1961691"
FIFTY = "Invasion of the killer bees: separating fact from fiction, review of 1993, PMID 8341628"
USDA_STINGS = "United States Department of Agriculture advice on mass stinging (second-hand)"
VISSCHER = "Visscher, Vetter & Camazine, Lancet 348, 1996 (abstract)"

PRACTICE = "common practice, no source"
MEMORY = "from memory"


def both(*sources: str) -> str:
    """Several sources of one row."""
    return "; ".join(sources)
