"""Two other laying curves of a season, to hold against the one of the engine.

References
----------
.. [1] Becher, M. A. et al., Journal of Applied Ecology 51, 470-482, 2014.
.. [2] McLellan, A. R., "Growth and decline of honeybee colonies and inter-relationships
   of adult bees, brood, honey and pollen", Journal of Applied Ecology 15, 155-161, 1978.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.season import LayingCurve

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

BECHER_2014 = LayingCurve(x1=385.0, x2=25.0, x3=36.0, x4=155.0, x5=30.0)
"""Becher et al. 2014: the curve of Schmickl & Crailsheim 2007 rising earlier (x2 = 25 days)."""


def mclellan_eggs_per_day(days_into_season: ArrayLike) -> NDArray[np.float64]:
    """Eggs a day through a season as fitted to counts of McLellan 1978.

    Parameters
    ----------
    days_into_season
        Days since brood rearing began, >= 0, any shape. [d]

    Returns
    -------
    Eggs a day, peak about 2,047 on day 94, same shape. [1/d]

    References
    ----------
    .. [1] McLellan, A. R., Journal of Applied Ecology 15, 155-161, 1978; the fit
       4.34e-5 t^4.98293 exp(-0.05287 t) is as quoted in later models.
    """
    days = np.asarray(days_into_season, dtype=np.float64)
    eggs: NDArray[np.float64] = 4.34e-5 * days**4.98293 * np.exp(-0.05287 * days)
    return eggs
