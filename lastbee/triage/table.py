"""How likely each insect makes each answer: the table that call triage reasons from.

Nobody has published how callers describe insects, so the figures are judgements: how often,
of 100 calls about an insect, a caller who can say at all would answer so. What a published
description says about the insect fixes which figures of a row are large; the source beside
the row is for that, not for the figure. Questions about people and treatment have no rows:
they say what to do, not what it is.
"""

from __future__ import annotations

from dataclasses import dataclass

from lastbee.triage.sources import (
    ARKANSAS,
    ILLINOIS_FLIES,
    IOWA_BUMBLE,
    KENTUCKY,
    MARYLAND,
    MEMORY,
    MUSSEN,
    NC_STATE,
    OSU_2079,
    PRACTICE,
    PURDUE,
    TENNESSEE,
    TEXAS_PAPER,
    TREE_BUMBLE,
    UC_MARIN,
    UC_WASPS,
    UMN_BEE_LAB,
    UMN_BUMBLE,
    UMN_CONFUSED,
    VENTURA,
    both,
)


@dataclass(frozen=True, slots=True)
class Row:
    """One answer of one question.

    Attributes
    ----------
    question, answer
        Keys as in `lastbee.triage.questions`.
    calls
        Of 100 calls about each insect, in the order of `INSECTS`, how many would answer so;
        the rows of a question add up to 100 for each insect.
    source
        What the row rests on.
    """

    question: str
    answer: str
    calls: tuple[int, int, int, int, int, int]
    source: str


# Columns: honey bee nest, swarm, bumblebees, solitary or carpenter bees, wasps or hornets,
# something else.
TABLE: tuple[Row, ...] = (
    Row("indoors", "many", (5, 1, 1, 1, 10, 5), both(KENTUCKY, MUSSEN)),
    Row("indoors", "few", (25, 6, 11, 9, 28, 35), both(MUSSEN, PRACTICE)),
    Row("indoors", "none", (70, 93, 88, 90, 62, 60), PRACTICE),
    #
    Row("where", "building", (84, 8, 25, 8, 32, 15), both(VENTURA, UMN_CONFUSED, UMN_BUMBLE)),
    Row("where", "ball", (5, 84, 2, 1, 4, 3), both(MUSSEN, UMN_BEE_LAB)),
    Row("where", "paper", (1, 1, 1, 1, 28, 3), both(UMN_CONFUSED, TEXAS_PAPER)),
    Row("where", "ground", (3, 2, 58, 8, 30, 14), both(IOWA_BUMBLE, UC_WASPS)),
    Row("where", "wood", (2, 1, 5, 37, 2, 8), ARKANSAS),
    Row("where", "many-holes", (1, 1, 3, 38, 2, 15), both(NC_STATE, MARYLAND)),
    Row("where", "nowhere", (4, 3, 6, 7, 2, 42), PRACTICE),
    #
    Row("traffic", "few", (10, 3, 50, 62, 20, 55), both(PURDUE, IOWA_BUMBLE)),
    Row("traffic", "tens", (55, 12, 42, 26, 64, 35), both(PURDUE, PRACTICE)),
    Row("traffic", "cloud", (35, 85, 8, 12, 16, 10), both(MUSSEN, TREE_BUMBLE, MARYLAND)),
    #
    Row("flight", "straight", (72, 9, 50, 16, 80, 18), both(UMN_CONFUSED, PRACTICE)),
    Row("flight", "hover", (5, 5, 13, 46, 5, 40), both(ARKANSAS, ILLINOIS_FLIES)),
    Row("flight", "whirl", (19, 82, 12, 8, 8, 12), both(MUSSEN, TREE_BUMBLE)),
    Row("flight", "low", (4, 4, 25, 30, 7, 30), both(MARYLAND, MEMORY)),
    #
    Row("since", "today", (6, 62, 8, 10, 8, 25), both(UMN_BEE_LAB, PRACTICE)),
    Row("since", "days", (18, 30, 22, 32, 22, 30), PRACTICE),
    Row("since", "weeks", (34, 6, 50, 42, 54, 25), both(UC_WASPS, NC_STATE)),
    Row("since", "months", (42, 2, 20, 16, 16, 20), both(OSU_2079, PRACTICE)),
    #
    Row("swarm", "yes", (25, 72, 8, 8, 5, 6), both(MUSSEN, TREE_BUMBLE)),
    Row("swarm", "no", (75, 28, 92, 92, 95, 94), PRACTICE),
    #
    Row("coat", "fuzzy", (22, 24, 87, 28, 2, 14), both(UMN_BUMBLE, IOWA_BUMBLE)),
    Row("coat", "some-hair", (68, 66, 7, 24, 12, 22), both(UMN_CONFUSED, UC_MARIN)),
    Row("coat", "shiny-behind", (3, 3, 4, 40, 4, 12), ARKANSAS),
    Row("coat", "smooth", (7, 7, 2, 8, 82, 52), both(OSU_2079, UMN_CONFUSED)),
    #
    Row("waist", "narrow", (8, 8, 4, 6, 68, 25), both(UC_WASPS, UC_MARIN)),
    Row("waist", "none", (92, 92, 96, 94, 32, 75), both(UC_MARIN, PRACTICE)),
    #
    Row("size", "small", (8, 8, 4, 26, 8, 34), both(NC_STATE, ILLINOIS_FLIES)),
    Row("size", "middle", (85, 85, 22, 32, 66, 44), UMN_CONFUSED),
    Row("size", "large", (7, 7, 74, 42, 26, 22), both(IOWA_BUMBLE, ARKANSAS)),
    #
    Row("colour", "brown", (78, 78, 6, 20, 7, 22), both(UMN_CONFUSED, OSU_2079)),
    Row("colour", "yellow", (12, 12, 25, 7, 80, 40), both(UMN_CONFUSED, UC_MARIN)),
    Row("colour", "fur-bands", (4, 4, 58, 16, 1, 6), both(UMN_BUMBLE, IOWA_BUMBLE)),
    Row("colour", "black", (5, 5, 9, 40, 10, 14), both(ARKANSAS, UMN_CONFUSED)),
    Row("colour", "other", (1, 1, 2, 17, 2, 18), NC_STATE),
    #
    Row("legs", "lumps", (52, 10, 36, 22, 1, 8), both(PURDUE, PRACTICE)),
    Row("legs", "hang", (2, 2, 2, 3, 30, 10), MEMORY),
    Row("legs", "neither", (46, 88, 62, 75, 69, 82), PRACTICE),
    #
    Row("below", "sawdust", (3, 1, 2, 42, 4, 6), both(ARKANSAS, PRACTICE)),
    Row("below", "heaps", (1, 1, 9, 36, 8, 16), NC_STATE),
    Row("below", "bees", (30, 3, 5, 1, 5, 8), both(TENNESSEE, PRACTICE)),
    Row("below", "nothing", (66, 95, 84, 21, 83, 70), PRACTICE),
)
