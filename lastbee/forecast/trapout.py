"""What happens after the cone goes on: daily bands, when it is empty, what stays behind.

"Empty" means at most EMPTY_BEES living bees, adults and brood that would still emerge
together: too few to hold a nest or to be noticed. A simulated colony carries expected
numbers; the last few bees come and go by chance, so the number really left is taken as
Poisson around the expected one, and P(empty) is its distribution function. The last bee
is P(none) of the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import pdtr

from lastbee.colony.founding import draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.layout import QUEEN_DIED, QUEEN_LEFT, Daily, State

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.colony.founding import Founding
    from lastbee.colony.turns import Turns
    from lastbee.forecast.sampler import Cloud

# A queen with a court of a few dozen holds no nest: common practice, no source.
EMPTY_BEES = 50
# Days followed after the cone: longer than any trap-out worth starting.
TRAP_DAYS = 120
# Laying has stopped when fewer eggs than this are laid in a day.
NO_LAYING_EGGS = 5.0
# Median, half and nine tenths of the colonies.
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)
# A dead capped cell 0.14 g, a dead worker 0.1 g (Mitchell 1970: 88-102 mg).
DEAD_CELL_G = 0.14
DEAD_BEE_G = 0.1


@dataclass(frozen=True, slots=True)
class TrapOut:
    """A trap-out of many colonies; n colonies, TRAP_DAYS days from the cone's first.

    `expected_left` (n, days) is bees and brood still to come; `records` (n, days,
    len(Daily)); per colony (n,): `honey_left_g`, `comb_left_dm2`, `dead_brood_g`,
    `dead_bees_g`, `joined_share` (bees that reached the box out of all that had to leave
    or die), `queen` (a state of `lastbee.colony.layout`); `empty_day` and
    `no_laying_day`, `no_brood_day` are day offsets, TRAP_DAYS where not reached.
    `empty_by` (days,) is P(at most EMPTY_BEES left) on each evening, `last_bee_by` (days,)
    P(nobody left).
    """

    records: NDArray[np.float32]
    expected_left: NDArray[np.float64]
    honey_left_g: NDArray[np.float64]
    comb_left_dm2: NDArray[np.float64]
    dead_brood_g: NDArray[np.float64]
    dead_bees_g: NDArray[np.float64]
    joined_share: NDArray[np.float64]
    queen: NDArray[np.float64]
    empty_day: NDArray[np.int64]
    no_laying_day: NDArray[np.int64]
    no_brood_day: NDArray[np.int64]
    empty_by: NDArray[np.float64]
    last_bee_by: NDArray[np.float64]

    def band(self, column: Daily) -> NDArray[np.float64]:
        """QUANTILES of a daily record, shape (5, days)."""
        return np.quantile(self.records[:, :, column].astype(np.float64), QUANTILES, axis=0)

    def queen_shares(self) -> tuple[float, float, float]:
        """Shares of colonies whose queen left with the bees, died inside, is still inside."""
        left = float((self.queen == QUEEN_LEFT).mean())
        died = float((self.queen == QUEEN_DIED).mean())
        return left, died, 1.0 - left - died


def thinned(cloud: Cloud, most: int) -> tuple[NDArray[np.intp], Cloud]:
    """At most `most` particles of a cloud, evenly taken, and where they stood.

    Bands and shares need no more, and daily records are the largest thing held in memory.
    """
    index = np.arange(0, len(cloud.z), -(-len(cloud.z) // most))
    return index, cloud.taken(index)


def trap_out(cloud: Cloud, founding: Founding, sky: NDArray[np.float64], cone_day: int) -> TrapOut:
    """Put a cone on each colony of a posterior and follow it.

    Parameters
    ----------
    cloud
        The posterior, equally weighted.
    founding, sky
        Calendar and daily drivers of the site; `sky` must reach TRAP_DAYS past the cone.
    cone_day
        Day index on which the cone goes on.

    Returns
    -------
    The trap-out.

    Raises
    ------
    ValueError
        If `sky` is too short.
    """
    params = draw_colonies(cloud.z, founding).params
    return followed(params, cloud.noise, sky, cone_day)


def followed(
    params: NDArray[np.float64],
    noise: NDArray[np.uint64],
    sky: NDArray[np.float64],
    cone_day: int,
    turns: Turns | None = None,
) -> TrapOut:
    """Follow trap-outs for TRAP_DAYS days from the cone's first.

    Parameters
    ----------
    params, noise
        Kernel parameters (n, len(Column)) and weather seeds (n,) of each colony.
    sky, cone_day
        See `trap_out`.
    turns
        How each trap-out changes course; None for no turns.

    Returns
    -------
    The trap-outs.
    """
    _, records, final = live(
        params, noise, sky, snap_days=(cone_day,), cone_day=cone_day, trap_days=TRAP_DAYS,
        turns=turns,
    )  # fmt: skip
    left = (records[:, :, Daily.NEST_BEES] + records[:, :, Daily.BROOD]).astype(np.float64)
    staying = left[:, -1]
    joined = final[:, State.JOINED]
    others = final[:, State.DRIFTED] + final[:, State.DIED_ON_WALL]
    lost = others + final[:, State.DEAD_IN_CAVITY] + final[:, State.WALL] + staying
    return TrapOut(
        records=records,
        expected_left=left,
        honey_left_g=final[:, State.HONEY],
        comb_left_dm2=final[:, State.COMB],
        dead_brood_g=DEAD_CELL_G * final[:, State.DEAD_CAPPED],
        dead_bees_g=DEAD_BEE_G * final[:, State.DEAD_IN_CAVITY],
        joined_share=joined / np.maximum(joined + lost, 1.0),
        queen=final[:, State.QUEEN],
        empty_day=first_below(left, EMPTY_BEES + 1.0),
        no_laying_day=first_below(records[:, :, Daily.LAID], NO_LAYING_EGGS),
        no_brood_day=first_below(records[:, :, Daily.BROOD], EMPTY_BEES / 2.0),
        empty_by=pdtr(EMPTY_BEES, left).mean(axis=0),
        last_bee_by=np.exp(-left).mean(axis=0),
    )


def first_below(series: NDArray[np.floating], limit: float) -> NDArray[np.int64]:
    """First day from which each row stays below `limit`; its length where it never does.

    Parameters
    ----------
    series
        One row a colony, one column a day, shape (n, days).
    limit
        Exclusive limit, in the unit of `series`.

    Returns
    -------
    Day offsets, shape (n,).

    Examples
    --------
    >>> first_below(np.array([[9.0, 2.0, 7.0, 1.0]]), 5.0).tolist()
    [3]
    """
    above = series >= limit
    days = series.shape[1]
    last_above = days - 1 - np.argmax(above[:, ::-1], axis=1)
    return np.where(above.any(axis=1), last_above + 1, 0).astype(np.int64)


def first_reached(probability: NDArray[np.float64], level: float) -> int | None:
    """First day on which a rising probability reaches `level`; None if it never does."""
    reached = np.flatnonzero(probability >= level)
    return int(reached[0]) if len(reached) else None
