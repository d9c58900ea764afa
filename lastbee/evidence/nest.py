"""What a hidden nest looks like to each sense: the simulated side of every sighting.

A `Nest` holds one value a colony, at the moment of the inspection. Evidence items read
only from here, so that the kernel's layout stays the kernel's business.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology import constants as bio
from lastbee.biology.constants import Column
from lastbee.colony.layout import State

if TYPE_CHECKING:
    from typing import Any, Self

    from numpy.typing import NDArray

    from lastbee.colony.founding import Colonies

# Brood covers some 70 % of the cells of the sheet it stands on (brood frames are 60-80 %
# full: common practice, no source).
BROOD_FILL = 0.7


@dataclass(frozen=True, slots=True)
class Nest:
    """Colonies at one moment; every array has shape (n,), units in the names."""

    age_days: NDArray[np.float64]
    hypothesis: NDArray[np.int64]
    adults: NDArray[np.float64]
    foragers: NDArray[np.float64]
    drones: NDArray[np.float64]
    eggs: NDArray[np.float64]
    larvae: NDArray[np.float64]
    capped: NDArray[np.float64]
    drone_brood: NDArray[np.float64]
    honey_g: NDArray[np.float64]
    pollen_g: NDArray[np.float64]
    comb_dm2: NDArray[np.float64]
    orienting_per_day: NDArray[np.float64]
    trips_per_day: NDArray[np.float64]
    section_dm2: NDArray[np.float64]
    depth_dm: float

    @property
    def size(self) -> int:
        """Number of colonies."""
        return len(self.age_days)

    @property
    def brood_cells(self) -> NDArray[np.float64]:
        """Cells with brood of any stage and either sex."""
        return self.eggs + self.larvae + self.capped + self.drone_brood

    @property
    def brood_sheet_dm2(self) -> NDArray[np.float64]:
        """Comb sheet on which brood stands, both faces used."""
        return self.brood_cells / (bio.CELLS_PER_DM2 * BROOD_FILL)

    def take(self, index: NDArray[np.intp]) -> Self:
        """Return the colonies at `index`, repeats allowed."""
        values = ((f.name, getattr(self, f.name)) for f in fields(self))
        taken: dict[str, Any] = {k: v[index] for k, v in values if isinstance(v, np.ndarray)}
        return replace(self, **taken)


def nest_from(snapshot: NDArray[np.float64], colonies: Colonies, day: int) -> Nest:
    """Read a kernel snapshot of shape (n, len(State)) taken on day index `day`."""
    return Nest(
        age_days=day - colonies.params[:, Column.START_DAY],
        hypothesis=colonies.hypothesis,
        adults=snapshot[:, State.YOUNG] + snapshot[:, State.HOUSE] + snapshot[:, State.FORAGERS],
        foragers=snapshot[:, State.FORAGERS],
        drones=snapshot[:, State.DRONES],
        eggs=snapshot[:, State.EGGS],
        larvae=snapshot[:, State.LARVAE],
        capped=snapshot[:, State.CAPPED],
        drone_brood=snapshot[:, State.DRONE_BROOD],
        honey_g=snapshot[:, State.HONEY],
        pollen_g=snapshot[:, State.POLLEN],
        comb_dm2=snapshot[:, State.COMB],
        orienting_per_day=snapshot[:, State.ORIENTING],
        trips_per_day=colonies.trips,
        section_dm2=colonies.cavity_section_dm2,
        depth_dm=colonies.cavity_depth_dm,
    )
