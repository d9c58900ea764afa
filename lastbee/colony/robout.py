"""Rob-out: with the nest empty and the exit opened, bees of the box carry its honey home.

Robbers are a share of the box; each carries a load on every trip of a flying day; the
last cells and the corners are never licked clean. Bees rob when nothing better is in
flower, so the share that turns to it falls as forage rises. Brood and wax stay.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

# A quarter of a colony forages (Khoury et al. 2011: 0.21-0.30).
ROBBING_SHARE = 0.25
# 40 mg of honey (most of a 50 mg crop, Winston 1987) on 12 short trips: trips assumed.
ROBBED_G_PER_ROBBER_DAY = 0.48
# Left in corners and cell bottoms: assumed.
UNREACHED_SHARE = 0.04


def rob_out(
    honey_g: NDArray[np.float64],
    box_bees: NDArray[np.float64],
    flight_share: NDArray[np.float64],
    forage_share: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Honey left in the nest after each day of robbing.

    Parameters
    ----------
    honey_g
        Honey in the empty nest, shape (n,), >= 0. [g]
    box_bees
        Bees in the box, shape (n,), >= 0.
    flight_share
        Flight hours of each day over those of the reference day, shape (days,). [unitless]
    forage_share
        Forage on offer each day, 0 (dearth) to 1 (main flow), shape (days,). [unitless]

    Returns
    -------
    Honey left on each evening, shape (n, days), never rising. [g]

    Raises
    ------
    ValueError
        If the two daily arrays differ in length.

    Examples
    --------
    >>> rob_out(np.array([1000.0]), np.array([8000.0]), np.ones(2), np.zeros(2)).round().tolist()
    [[40.0, 40.0]]
    """
    if flight_share.shape != forage_share.shape:
        raise ValueError(
            f"flight_share {flight_share.shape} and forage_share {forage_share.shape} must agree"
        )
    interest = ROBBED_G_PER_ROBBER_DAY * flight_share * (1.0 - forage_share)
    carried = np.outer(box_bees * ROBBING_SHARE, np.cumsum(interest))
    return np.asarray(np.maximum(UNREACHED_SHARE * honey_g[:, None], honey_g[:, None] - carried))
