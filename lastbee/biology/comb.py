"""Comb: the room it takes, and the bees on it.

Area is area of comb *sheet*, each comb counted once though it has cells on both faces.
Many published figures count both faces; they are twice as large for the same comb.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Middle to middle of natural combs: 33.9 (Jardine 1840) to 36 mm; also the frame standard.
COMB_PITCH_MM = 35.0
# Bees on both faces of a deep frame, occupied combs on average: Simpson 1969 via Burgett &
# Burikam 1985.
BEES_PER_DEEP_FRAME = 1400.0


def comb_limit_dm2(volume_l: ArrayLike, pitch_mm: float = COMB_PITCH_MM) -> NDArray[np.float64]:
    """Comb sheet that a cavity holds when combs fill it.

    Parameters
    ----------
    volume_l
        Volume of the cavity, any shape. [L]
    pitch_mm
        Middle to middle of neighbouring combs. [mm]

    Returns
    -------
    Area of sheet, same shape. [dm2]
    """
    area: NDArray[np.float64] = np.asarray(
        np.asarray(volume_l, dtype=np.float64) * (100.0 / pitch_mm)
    )
    return area


def nest_volume_l(comb_dm2: ArrayLike, pitch_mm: float = COMB_PITCH_MM) -> NDArray[np.float64]:
    """Room that combs and the passages between them take, the inverse of `comb_limit_dm2`.

    Parameters
    ----------
    comb_dm2
        Area of sheet, any shape. [dm2]
    pitch_mm
        Middle to middle of neighbouring combs. [mm]

    Returns
    -------
    Volume, same shape. [L]
    """
    volume: NDArray[np.float64] = np.asarray(
        np.asarray(comb_dm2, dtype=np.float64) * (pitch_mm / 100.0)
    )
    return volume


def nest_extent_m(
    comb_dm2: ArrayLike, section_dm2: ArrayLike, pitch_mm: float = COMB_PITCH_MM
) -> NDArray[np.float64]:
    """Length of a bay that a nest fills from end to end of its combs.

    Parameters
    ----------
    comb_dm2
        Area of sheet. [dm2]
    section_dm2
        Cross-section of the bay, width times depth, > 0. [dm2]
    pitch_mm
        Middle to middle of neighbouring combs. [mm]

    Returns
    -------
    Length, of the shape that the inputs broadcast to. [m]
    """
    length_dm = nest_volume_l(comb_dm2, pitch_mm) / np.asarray(section_dm2, dtype=np.float64)
    length_m: NDArray[np.float64] = np.asarray(length_dm / 10.0)
    return length_m
