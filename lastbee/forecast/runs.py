"""Trap-outs as they may be running: colonies, each with its course.

A `Watch` is all that is known of one running trap-out: the site, the day of the cone, what
was seen at the inspection and at every visit, what was done. `Watch.runs` turns points of
the prior into `Runs`, which can be looked at on any day and followed to the end.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

import numpy as np

from lastbee.biology.constants import Column
from lastbee.colony.course import Courses, Trouble, course_dimensions, draw_courses
from lastbee.colony.founding import DIMENSIONS, Colonies, draw_colonies
from lastbee.colony.kernel import live
from lastbee.colony.turns import Turns
from lastbee.evidence.nest import Nest, nest_from
from lastbee.evidence.scene import Scene, scene_from, with_gifts
from lastbee.forecast.trapout import TrapOut, followed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.colony.course import Deed
    from lastbee.colony.founding import Founding
    from lastbee.evidence.item import Item

    Array = NDArray[np.float64]
    Noise = NDArray[np.uint64]


@dataclass(frozen=True, slots=True)
class Seen:
    """What one visit saw: its day index, and the items of evidence, which read a `Scene`.

    `rates_day` is the day index whose morning's rates held at that hour.
    """

    day: int
    items: tuple[Item[Scene], ...]
    rates_day: int


@dataclass(frozen=True, slots=True)
class Watch:
    """One running trap-out; `deeds` and `visits` are in order of time."""

    founding: Founding
    sky: Array
    cone_day: int
    inspected: tuple[Item[Nest], ...]
    visits: tuple[Seen, ...]
    deeds: tuple[Deed, ...]

    @property
    def dimensions(self) -> int:
        """Number of deviates of one colony and its course."""
        return DIMENSIONS + course_dimensions(self.deeds)

    def runs(self, z: Array, noise: Noise, trouble: Trouble) -> Runs:
        """Trap-outs at points `z` of the prior, shape (n, dimensions), all of one trouble."""
        colonies = draw_colonies(z[:, :DIMENSIONS], self.founding)
        if trouble == Trouble.QUEEN_STAYS:
            colonies.params[:, Column.QUEEN_LEAVES] = 0.0
        courses = draw_courses(
            z[:, DIMENSIONS:], colonies.params, trouble, self.deeds, self.cone_day
        )
        return Runs(colonies, courses, noise)


@dataclass(frozen=True, slots=True)
class Runs:
    """n running trap-outs: colonies, courses, and the seeds of their weather, shape (n,)."""

    colonies: Colonies
    courses: Courses
    noise: Noise

    @property
    def size(self) -> int:
        """Number of trap-outs."""
        return len(self.noise)

    def take(self, index: NDArray[np.intp]) -> Runs:
        """Return the trap-outs at `index`, repeats allowed."""
        c = self.colonies
        colonies = Colonies(
            c.params[index], c.hypothesis[index], c.cavity_section_dm2[index],
            c.cavity_depth_dm, c.trips[index],
        )  # fmt: skip
        return Runs(colonies, self.courses.take(index), self.noise[index])

    def views(
        self, sky: Array, inspection_day: int, cone_day: int, seen: tuple[Seen, ...]
    ) -> tuple[Nest, tuple[Scene, ...]]:
        """What the inspection and each visit found to look at."""
        days = tuple(sorted({inspection_day, *(visit.day for visit in seen)}))
        snapshots, _, _ = live(
            self.colonies.params, self.noise, sky, snap_days=days, cone_day=cone_day,
            turns=self.courses.turns,
        )  # fmt: skip
        at = {day: snapshots[:, i] for i, day in enumerate(days)}
        nest = nest_from(at[inspection_day], self.colonies, inspection_day)
        return nest, tuple(self._scene(at[visit.day], visit, cone_day) for visit in seen)

    def followed(self, sky: Array, cone_day: int) -> TrapOut:
        """Follow the trap-outs for TRAP_DAYS days from the cone's first."""
        return followed(self.colonies.params, self.noise, sky, cone_day, self.courses.turns)

    def _scene(self, snapshot: Array, visit: Seen, cone_day: int) -> Scene:
        courses = self.courses
        is_active = courses.is_seen(visit.day, visit.rates_day)
        is_robbed = is_active & (courses.trouble == Trouble.ROBBED)
        by_tip = is_active & (courses.trouble == Trouble.WALKED_BACK)
        now = courses.turns.in_force(self.colonies.params, visit.rates_day)
        other_ways = self.colonies.params[:, Column.LEAK]
        given = courses.turns.given(visit.day + 1, visit.rates_day)
        return scene_from(
            with_gifts(snapshot, given), self.colonies, now, visit.day, cone_day,
            tip=np.where(by_tip, np.maximum(now[:, Column.LEAK] - other_ways, 0.0), 0.0),
            strangers=np.where(is_active, courses.strangers, 0.0),
            is_robbed=is_robbed.astype(np.float64),
            count_bias=courses.count_bias, box_bias=courses.box_bias,
            cluster_bias=courses.cluster_bias,
        )  # fmt: skip


def joined(parts: list[Runs]) -> Runs:
    """Put trap-outs of several troubles together; their courses must have the same deeds."""
    first = parts[0].colonies
    colonies = Colonies(
        np.concatenate([p.colonies.params for p in parts]),
        np.concatenate([p.colonies.hypothesis for p in parts]),
        np.concatenate([p.colonies.cavity_section_dm2 for p in parts]),
        first.cavity_depth_dm,
        np.concatenate([p.colonies.trips for p in parts]),
    )
    turns = Turns(
        *(np.concatenate([getattr(p.courses.turns, f.name) for p in parts]) for f in fields(Turns))
    )
    rest = {
        f.name: np.concatenate([getattr(p.courses, f.name) for p in parts])
        for f in fields(Courses)
        if f.name != "turns"
    }
    noise = np.concatenate([p.noise for p in parts])
    return Runs(colonies, Courses(turns=turns, **rest), noise)
