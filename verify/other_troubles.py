"""What goes wrong with a trap-out of the other model, and what deeds mend.

Every job has at most one trouble; it begins on a day of its own and acts on things (the
width of a gap, what sticks in the cone, how many robbers know the box), not on rates.
A quarter of sound walls keep a tiny gap too. Deeds change things too and
may fail: a gap overlooked, a new leak at the base of a refitted cone, a queen that is not
accepted. No published figures exist: shares, onsets and severities are assumed.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from verify.other_bees import Place, Throw

if TYPE_CHECKING:
    import numpy as np

    from lastbee.jobs.visit import Deed
    from verify.other_trapout import Trapout

# Shares of jobs when no trouble is asked for.
SHARES = {
    "none": 0.46, "leak": 0.15, "clogged": 0.06, "walked_back": 0.05, "cluster": 0.08,
    "robbed": 0.05, "box_left": 0.04, "queen_stays": 0.05, "second_colony": 0.03,
    "stalled": 0.03,
}  # fmt: skip
# Chance to begin with the cone; else not before so many days, and so many more on average.
ONSETS = {
    "leak": (0.6, 2.0, 9.0), "clogged": (0.3, 1.0, 9.0), "walked_back": (0.5, 3.0, 7.0),
    "cluster": (0.8, 3.0, 7.0), "robbed": (0.1, 4.0, 11.0), "box_left": (0.1, 2.0, 10.0),
    "queen_stays": (0.6, 4.0, 6.0), "second_colony": (0.5, 3.0, 14.0),
    "stalled": (0.85, 2.0, 5.0),
}  # fmt: skip
CONE_BEES_PER_H = 1500.0
DEARTH_NECTAR = 0.5
RAISED_QUEEN_DAYS = 27
BROOD_FRAME_CELLS = 2600
FRAME_BEES = 500
SYRUP_G_PER_L = 650.0


@dataclass(slots=True)
class Fault:
    """The trouble of one job: what, from which day after the cone, how bad (0 to 1), till when."""

    key: str
    onset: int | None
    severity: float
    ended: int | None = None

    def is_on(self, day: int) -> bool:
        """Whether it is going on that day."""
        return self.onset is not None and self.onset <= day and self.ended is None


@dataclass(slots=True)
class Gear:
    """Cone, gaps and box as things.

    `gap_ease` is the chance that a bee alone finds the gap in an hour of search, `gap_per_h`
    what it lets through, and `tip_ease` the same for the cone's tip; `plug` the share of the
    cone that is filled, `sticks` how easily a drone or a dead bee sticks in it. `strangers`
    are foragers of another colony at the same wall, `robbers` bees that rob the box.
    """

    gap_ease: float = 0.0
    gap_per_h: float = 0.0
    tip_ease: float = 0.0002
    plug: float = 0.0
    sticks: float = 0.0005
    box_near: float = 1.0
    box_pleases: float = 1.0
    is_reduced: bool = False
    is_shaded: bool = False
    is_heat: bool = False
    strangers: float = 0.0
    strangers_grow: bool = False
    robbers: float = 0.0


def draw_fault(rng: np.random.Generator, key: str | None) -> Fault:
    """Draw a trouble, of any kind or of the one asked for, its onset and its severity."""
    drawn = str(rng.choice(list(SHARES), p=list(SHARES.values())))
    at_once, throw, severity = rng.random(), rng.exponential(), float(rng.beta(1.6, 1.6))
    key = drawn if key is None else key
    if key not in SHARES:
        raise ValueError(f"trouble must be one of {', '.join(SHARES)}, not {key!r}")
    if key == "none":
        return Fault("none", None, 0.0)
    share, wait, mean = ONSETS[key]
    return Fault(key, 0 if at_once < share else int(wait + throw * mean), severity)


def sound_gear(rng: np.random.Generator) -> Gear:
    """Draw gear as it is without trouble: a quarter of walls keep a tiny gap."""
    tiny = rng.random() < 0.25
    ease, width = 10.0 ** rng.uniform(-4.0, -2.7), rng.uniform(5.0, 40.0)
    return Gear(
        gap_ease=ease if tiny else 0.0,
        gap_per_h=width if tiny else 0.0,
        box_near=rng.lognormal(0.0, 0.3),
        is_shaded=rng.random() < 0.5,
    )


def begin(t: Trapout) -> None:
    """Let the trouble begin, or wait for its weather: robbers for dearth, heat for a warm day."""
    gear, bad = t.gear, t.fault.severity
    # A box that was shaded in time is left for some other reason.
    is_heat = t.dice.of(Throw.COLONY, 0, 9).random() < 0.6 and "box shaded" not in t.deeds_done
    in_flow = t.weather.nectar[t.day_of_year] >= DEARTH_NECTAR
    is_cool = t.weather.temperature_degc[t.day_of_year].max() < 25.0
    if (t.fault.key == "robbed" and in_flow) or (t.fault.key == "box_left" and is_heat and is_cool):
        t.fault.onset = t.day + 1
        return
    if t.fault.key == "leak":
        gear.gap_ease, gear.gap_per_h = 10.0 ** (-2.3 + 1.5 * bad), 80.0 * 30.0**bad
    elif t.fault.key == "clogged":
        gear.sticks = 0.01 * 12.0**bad
    elif t.fault.key == "walked_back":
        gear.tip_ease = 10.0 ** (-2.2 + 1.4 * bad)
    elif t.fault.key == "cluster":
        gear.box_near *= 0.35 - 0.25 * bad
        gear.box_pleases *= 0.2 - 0.15 * bad
    elif t.fault.key == "robbed":
        gear.robbers = 60.0 + 200.0 * bad
    elif t.fault.key == "box_left":
        gear.is_heat = is_heat
        gear.is_shaded = gear.is_shaded and not gear.is_heat
        gear.box_pleases *= 1.0 if gear.is_heat else 0.4
    elif t.fault.key == "second_colony":
        # Half are there with the cone and of some size; a swarm that comes later grows.
        gear.strangers = 300.0 * 12.0**bad
        gear.strangers_grow = bool(t.fault.onset)


def drones_and_dead_stick(t: Trapout, drones_out: int) -> None:
    """Fill the cone a little; each bee of a good day may drag something out again."""
    gear = t.gear
    gear.plug = min(1.0, gear.plug + gear.sticks * (0.15 * drones_out + 0.02 * t.corpses))
    if gear.plug > 0.0 and gear.sticks < 0.01:
        gear.plug = max(0.0, gear.plug - 0.02)


def cone_lets_through(t: Trapout) -> float:
    """Bees that can leave by the cone in an hour."""
    return CONE_BEES_PER_H * max(0.0, 1.0 - 1.15 * t.gear.plug) ** 2


def strangers_and_robbers(t: Trapout) -> None:
    """Let the other colony grow, and robbers gather while the box is worth it."""
    gear, nectar = t.gear, float(t.weather.nectar[t.day_of_year])
    if gear.strangers_grow:
        gear.strangers *= 1.02
    if gear.robbers <= 0.0:
        return
    most = 300.0 + 2500.0 * t.fault.severity
    # Robbers come in numbers in dearth, drop off in a flow, and go when nothing is left.
    grows = 0.5 if t.box.honey_g < 150.0 else 1.6 if nectar < DEARTH_NECTAR else 0.8
    if gear.is_reduced:
        grows = min(grows, 1.15)
    flyable = t.flight_h(t.day) > 2.0
    gear.robbers = min(most, gear.robbers * (grows if flyable else 0.95))
    if gear.robbers < 40.0:
        gear.robbers = 0.0
        end(t, "robbed")


def end(t: Trapout, key: str) -> None:
    """Write down that the trouble is over, if it is this one and is going on."""
    if t.fault.key == key and t.fault.is_on(t.day):
        t.fault.ended = t.day


def do(t: Trapout, deed: Deed) -> None:
    """Do something at the wall; it may fail.

    The luck of the first, second, ... time that a thing is done belongs to the job and not
    to the day on which it is done.
    """
    t.deeds_done[deed.kind] = nth = t.deeds_done.get(deed.kind, 0) + 1
    rng = t.dice.of(Throw.DEED, sorted(_DEEDS).index(deed.kind), nth)
    _DEEDS[deed.kind](t, deed.amount, rng)


def _clear_cone(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    t.gear.plug = 0.0 if rng.random() < 0.93 else 0.5 * t.gear.plug
    # Cleared, the same cone may clog again.
    if rng.random() < 0.55:
        t.gear.sticks = min(t.gear.sticks, 0.001)
        end(t, "clogged")


def _refit_cone(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    t.gear.plug = 0.0
    works, leaks = rng.random() < 0.85, rng.random() < 0.05
    if works:
        t.gear.sticks = min(t.gear.sticks, 0.0005)
        end(t, "clogged")
        t.gear.tip_ease = 0.0002
        t.bees.tip[:] = False
        end(t, "walked_back")
    if leaks and t.gear.gap_ease < 0.002:
        t.gear.gap_ease, t.gear.gap_per_h = 0.002, 60.0


def _close_gap(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    found, forced = rng.random() < 0.75, rng.random() < 0.08
    if not found:
        # One hole of several.
        t.gear.gap_per_h *= 0.6
        return
    t.gear.gap_ease, t.gear.gap_per_h = (0.001, 40.0) if forced else (0.0, 0.0)
    t.bees.gap[:] = False
    end(t, "leak")


def _brush_in(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    share = rng.uniform(0.5, 0.95)
    some = t.bees.at(Place.WALL)
    t.enter_box(some[t.dice.each(t.bees.name[some], t.clock, Throw.DUSK) < share])
    if rng.random() < 0.45:
        _box_pleases_again(t)


def _give_brood(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    frames = 1.0 if amount is None else amount
    t.box.brood[1:9] += int(frames * BROOD_FRAME_CELLS / 8)
    t.put_in_box(int(frames * FRAME_BEES), rng)
    if t.box.lays_from is None and rng.random() < 0.75:
        t.box.lays_from = t.day + RAISED_QUEEN_DAYS
    t.box.pull = max(t.box.pull, 0.65)
    if rng.random() < 0.6:
        _box_pleases_again(t)


def _give_queen(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    accepted, pleases = rng.random() < 0.8, rng.random() < 0.6
    if accepted:
        before = t.box.lays_from
        t.box.lays_from = t.day + 5 if before is None else min(t.day + 5, before)
        t.box.pull = max(t.box.pull, 0.8)
        if pleases:
            _box_pleases_again(t)


def _add_box(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    t.put_in_box(int(amount or 0.0), rng)
    t.box.honey_g += 800.0
    t.box.frames += 5
    if rng.random() < 0.4:
        _box_pleases_again(t)


def _bring_closer(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    if rng.random() < 0.55:
        t.gear.box_near = max(1.0, t.gear.box_near)
        if t.fault.key == "cluster" and rng.random() < 0.85:
            _box_pleases_again(t)


def _shade(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    t.gear.is_shaded = True
    if t.gear.is_heat and rng.random() < 0.85:
        t.gear.is_heat = False
        end(t, "box_left")


def _reduce_entrance(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    t.gear.is_reduced = True
    if t.gear.robbers > 0.0:
        t.gear.robbers *= 0.02 if rng.random() < 0.65 else 0.5


def _feed(t: Trapout, amount: float | None, rng: np.random.Generator) -> None:
    t.box.honey_g += SYRUP_G_PER_L * (1.0 if amount is None else amount)
    # Spilt syrup calls robbers, most in a dearth.
    if t.weather.nectar[t.day_of_year] < 0.2 and rng.random() < 0.1:
        t.gear.robbers = max(t.gear.robbers, 40.0)


def _box_pleases_again(t: Trapout) -> None:
    """Take away what kept bees out of the box, or drove them from it."""
    if t.fault.key == "cluster" or (t.fault.key == "box_left" and not t.gear.is_heat):
        t.gear.box_pleases = max(t.gear.box_pleases, 1.0)
        t.gear.box_near = max(t.gear.box_near, 0.8)
        end(t, t.fault.key)


_DEEDS = {
    "cone cleared": _clear_cone,
    "cone refitted": _refit_cone,
    "gap closed": _close_gap,
    "cluster brushed in": _brush_in,
    "brood given": _give_brood,
    "queen given": _give_queen,
    "box added": _add_box,
    "box moved closer": _bring_closer,
    "box shaded": _shade,
    "entrance reduced": _reduce_entrance,
    "fed": _feed,
}
