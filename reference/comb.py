"""Comb: cells, honey, wax and bees from its area and thickness, to hold figures against.

Area is area of comb *sheet*, each comb counted once though it has cells on both faces;
names here say `side` where a single face is meant.

References
----------
.. [1] Betts, A. D., Bee World, September 1938, p. 106, after Justrich: cells on both
   faces of a dm2 are 2.309 times the square of the cells in a line of a dm.
.. [2] Seeley, T. D. & Morse, R. A., "The nest of the honey bee (Apis mellifera L.)",
   Insectes Sociaux 23, 495-512, 1976.
.. [3] Seeley, T. D., "Honeybee Ecology", Princeton, 1985, as quoted by Berry, J. A. &
   Delaplane, K. S., Journal of Apicultural Research 40, 3-8, 2001: 1,200 g of wax in
   100,000 cells, worth 7.5 kg of honey.
.. [4] Burgett, M. & Burikam, I., "Number of adult honey bees occupying a comb: a standard
   for estimating colony populations", Journal of Economic Entomology 78, 1154-1156,
   1985, which also quotes Simpson 1969 and Kauffeld.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Cell width between walls, worker comb (Justrich via Betts 1938: 800 cells).
WORKER_CELL_MM = 5.37
# 17 % water at 20 degC: 1.417 (18 %) to 1.423 kg/L (15 %).
HONEY_KG_PER_L = 1.42
# Midrib, walls' bases and cappings of a honey comb, and share of the rest that is honey:
# assumed, and checked by 2.7 kg of honey in a deep frame (common practice, no source).
HONEY_COMB_WAX_MM = 2.0
HONEY_FILL = 0.95
# Seeley 1985: 1,200 g and 7.5 kg of honey for 100,000 cells, 117 dm2 of sheet. New comb
# only; a used comb on foundation weighs 37 g/dm2 with its cocoons.
NEW_WAX_G_PER_DM2 = 10.2
HONEY_G_PER_WAX_G = 6.25
# One deep frame: 883 cm2 of sheet.
DEEP_FRAME_DM2 = 8.83
# Bees on both faces of a deep frame: one close layer (Kauffeld), as many as it holds
# (Burgett & Burikam 1985, from memory).
BEES_PER_DEEP_FRAME_LAYER = 1900.0
BEES_PER_DEEP_FRAME_FULL = 2430.0
# Mitchell 1970: swarm bees carry honey, shaken bees do not.
SWARM_BEES_PER_KG = 7700.0
UNFED_BEES_PER_KG = 11370.0


def cells_per_dm2(cell_width_mm: ArrayLike = WORKER_CELL_MM) -> NDArray[np.float64]:
    """Cells on both faces of a dm2 of comb sheet.

    Parameters
    ----------
    cell_width_mm
        Width between opposite walls, > 0, any shape. [mm]

    Returns
    -------
    Cells, same shape: two hexagons for each area of sqrt(3)/2 width^2. [1/dm2]

    References
    ----------
    .. [1] Betts 1938, factor 2.309 = 4/sqrt(3).
    """
    in_a_dm = 100.0 / np.asarray(cell_width_mm, dtype=np.float64)
    cells: NDArray[np.float64] = np.asarray(4.0 / math.sqrt(3.0) * in_a_dm * in_a_dm)
    return cells


def honey_capacity_g_per_dm2(thickness_mm: ArrayLike) -> NDArray[np.float64]:
    """Honey in a dm2 of comb sheet, capped on both faces.

    Parameters
    ----------
    thickness_mm
        Comb from capping to capping, any shape; free comb for honey alone is 30 to 50
        mm (common practice, no source), brood comb 21 to 24 mm. [mm]

    Returns
    -------
    Honey, 0 up to the thickness of the wax, same shape. [g/dm2]
    """
    depth_mm = np.maximum(np.asarray(thickness_mm, dtype=np.float64) - HONEY_COMB_WAX_MM, 0.0)
    # A dm2 one mm deep is 0.01 L.
    honey: NDArray[np.float64] = np.asarray(depth_mm * (10.0 * HONEY_KG_PER_L * HONEY_FILL))
    return honey


def honey_comb_dm2(honey_g: ArrayLike, thickness_mm: ArrayLike = 25.0) -> NDArray[np.float64]:
    """Comb sheet that holds an amount of honey.

    Parameters
    ----------
    honey_g
        Honey. [g]
    thickness_mm
        Comb from capping to capping, above the 2 mm of wax. [mm]

    Returns
    -------
    Area of sheet, of the shape that the inputs broadcast to. [dm2]
    """
    area: NDArray[np.float64] = np.asarray(
        np.asarray(honey_g, dtype=np.float64) / honey_capacity_g_per_dm2(thickness_mm)
    )
    return area


def new_wax_g(comb_dm2: ArrayLike) -> NDArray[np.float64]:
    """Wax in newly built comb, without cocoons.

    Parameters
    ----------
    comb_dm2
        Area of sheet, any shape. [dm2]

    Returns
    -------
    Wax, same shape; times `HONEY_G_PER_WAX_G` the honey spent on it. [g]

    References
    ----------
    .. [1] Seeley 1985 via Berry & Delaplane 2001.
    """
    wax: NDArray[np.float64] = np.asarray(
        np.asarray(comb_dm2, dtype=np.float64) * NEW_WAX_G_PER_DM2
    )
    return wax


def bees_on_comb(
    side_dm2: ArrayLike, bees_per_deep_frame: float = BEES_PER_DEEP_FRAME_LAYER
) -> NDArray[np.float64]:
    """Bees on covered comb.

    Parameters
    ----------
    side_dm2
        Area of comb *side* covered with bees, both faces added up. [dm2]
    bees_per_deep_frame
        Bees on both faces of a deep frame as closely covered. [bees]

    Returns
    -------
    Bees, same shape as `side_dm2`; foragers out at work not among them. [bees]

    References
    ----------
    .. [1] Burgett & Burikam 1985.
    """
    per_dm2 = bees_per_deep_frame / (2.0 * DEEP_FRAME_DM2)
    bees: NDArray[np.float64] = np.asarray(np.asarray(side_dm2, dtype=np.float64) * per_dm2)
    return bees


def eggs_per_day_behind(capped_cells: ArrayLike, capped_days: float = 12.0) -> NDArray[np.float64]:
    """Mean laying that a standing area of capped worker brood answers to, losses aside.

    Parameters
    ----------
    capped_cells
        Cells of capped worker brood, any shape. [cells]
    capped_days
        Days that worker brood stays capped. [d]

    Returns
    -------
    Eggs a day, same shape. [1/d]
    """
    eggs: NDArray[np.float64] = np.asarray(np.asarray(capped_cells, dtype=np.float64) / capped_days)
    return eggs
