"""What forbids a way, and which fact would change the refusal.

A `Refusal` is a sentence for a person and the sentence that would lift it. Rules read
only `Circumstances` and `Findings` (probabilities out of the posterior); where a rule
has no published source it says common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.methods.circumstances import STRUCTURAL_COVERINGS
from lastbee.words import chance_words

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances

# A way is refused when what forbids it is at least this probable: assumed.
TOO_LIKELY = 0.25
# A trap-out not empty in ten weeks is not worth starting: common practice gives 4 to 8. One
# that is running gets as long from its start, or else a brood cycle and two weeks: assumed.
LONGEST_WEEKS = 10
GO_ON_WEEKS = 5
# A day with less fine flight than this empties nothing: assumed.
LEAST_FLIGHT_H = 2.0
# At even odds of no comb it is treated as a cluster: assumed.
SWARM_CHANCE = 0.5


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a way is refused, and what would change that.

    `rests_on_nest` says that the refusal follows from what is thought to be inside, so
    that a further look might lift it.
    """

    reason: str
    would_change: str
    rests_on_nest: bool = False


@dataclass(frozen=True, slots=True)
class Findings:
    """Probabilities that rules ask for.

    `honey_over_limit` is the chance that more honey than the limit stays in the cavity
    when the bees are out, before any rob-out; `honey_words` that honey in words;
    `empty_in_time` the chance of being empty in `weeks_allowed`; `empty_by_deadline` the
    same for the client's date, None without one; `safe_day` the day offset at which
    emptiness reaches the firm's confidence, None if never; `swarm_without_comb` the
    chance that there is next to no comb; `is_running` whether a trap-out is going on, all
    days then being counted from today.
    """

    honey_over_limit: float
    honey_words: str
    limit_words: str
    empty_in_time: float
    empty_by_deadline: float | None
    safe_day: int | None
    swarm_without_comb: float
    is_running: bool = False
    weeks_allowed: int = LONGEST_WEEKS


def refuse_trap_out(c: Circumstances, f: Findings, *, then_open: bool) -> tuple[Refusal, ...]:
    """Refuse the trap-out, alone or followed by a quiet opening of the empty nest."""
    if is_open_cluster(c, f):
        return (
            Refusal(
                "The bees hang in the open: there is no exit to put a cone on.",
                "Bees that have gone into the cavity.",
                rests_on_nest=True,
            ),
        )
    found = []
    if c.other_gaps_closable == "no":
        found.append(
            Refusal(
                "The other gaps cannot be closed, so the bees will come and go around the cone.",
                "A way to close every gap but one.",
            )
        )
    if f.empty_in_time < 0.5:
        found.append(
            Refusal(
                f"The chance that it is empty within {f.weeks_allowed} weeks is only "
                f"{chance_words(f.empty_in_time)}.",
                "What holds it up, found and put right."
                if f.is_running
                else "A count or a look inside that shows a smaller colony.",
                rests_on_nest=True,
            )
        )
    if f.empty_by_deadline is not None and f.empty_by_deadline < 0.5:
        found.append(
            Refusal(
                "The bees must be gone sooner than a trap-out empties the nest "
                f"(chance by that date: {chance_words(f.empty_by_deadline)}).",
                "A later date.",
            )
        )
    found += _season(c, f)
    found += _sprayed(c, "Bees and honey may be poisoned")
    if then_open:
        found += refuse_opening_empty(c)
    else:
        found += refuse_much_honey(
            c, f.honey_over_limit, f.honey_words, f.limit_words, is_empty=False
        )
    return tuple(found)


def refuse_much_honey(
    c: Circumstances, over_limit: float, honey: str, limit: str, *, is_empty: bool
) -> tuple[Refusal, ...]:
    """Refuse to leave so much honey; once it is empty, or foreseen before that.

    `over_limit` is the chance of more than the limit; `honey` and `limit` are in words.
    """
    if over_limit < TOO_LIKELY:
        return ()
    where = "behind a finished surface" if c.is_finished_inside else "in an open cavity"
    doubt = "" if is_empty else ", and a rob-out cannot be counted on"
    later = "" if is_empty else " afterwards"
    return (
        Refusal(
            f"It would leave {honey} of honey {where}; the chance of more than {limit} is "
            f"{chance_words(over_limit)}{doubt}.",
            f"Permission to open the cavity{later}, or a look that shows little honey.",
            rests_on_nest=True,
        ),
    )


def is_open_cluster(c: Circumstances, f: Findings) -> bool:
    """Whether it is a swarm hanging in the open, without comb."""
    return c.hanging_cluster_only and f.swarm_without_comb >= SWARM_CHANCE


def refuse_opening_empty(c: Circumstances) -> tuple[Refusal, ...]:
    """Refuse a quiet opening of the empty nest."""
    if c.may_open_inside == "no" and c.may_open_outside == "no":
        return (
            Refusal(
                "Neither the outside nor the inside may be opened.",
                "Permission from the owner to open one side once the bees are out.",
            ),
        )
    return ()


def _season(c: Circumstances, f: Findings) -> list[Refusal]:
    day = f.safe_day if f.safe_day is not None else len(c.flight_h) - 1
    if c.flight_h and c.flight_h[min(day, len(c.flight_h) - 1)] < LEAST_FLIGHT_H:
        return [
            Refusal(
                "It would not be finished before the flying season ends; bees that cannot fly "
                "cannot leave, and those outside cannot build up for winter.",
                "A start in spring, with the colony left alone until then.",
            )
        ]
    return []


def _sprayed(c: Circumstances, what: str) -> list[Refusal]:
    if c.is_treated:
        return [
            Refusal(
                f"The nest was sprayed {c.sprayed_ago_days} days ago. {what}, and must not reach "
                "other bees or people.",
                "Proof of what was sprayed, and that it does no harm to bees.",
            )
        ]
    return []


def refuse_cut_out(c: Circumstances, f: Findings, *, inside: bool) -> tuple[Refusal, ...]:
    """Refuse opening from one side."""
    if is_open_cluster(c, f):
        return (
            Refusal(
                "The bees hang in the open: there is nothing to open.",
                "Bees that have gone into the cavity.",
                rests_on_nest=True,
            ),
        )
    found = []
    if c.flight_h and c.flight_h[0] < LEAST_FLIGHT_H:
        found.append(
            Refusal(
                "It is too cold: brood chills, bees cannot fly home, and the colony cannot build "
                "up again before winter.",
                "A warm flying day in spring or summer.",
            )
        )
    permission = c.may_open_inside if inside else c.may_open_outside
    side = "inside" if inside else "outside"
    if permission == "no":
        found.append(
            Refusal(
                f"The {side} may not be opened.", f"Permission from the owner to open the {side}."
            )
        )
    elif not inside and c.covering in STRUCTURAL_COVERINGS and permission != "yes":
        found.append(
            Refusal(
                f"A wall of {c.covering} is not opened and put back in a day's work.",
                "A builder who opens it, with the owner's permission.",
            )
        )
    return tuple(found)


def refuse_swarm_capture(c: Circumstances, f: Findings) -> tuple[Refusal, ...]:
    """Refuse taking it as a swarm: it is in the cavity, or there is comb behind the bees."""
    if is_open_cluster(c, f):
        return ()
    reason = (
        "There is a nest with comb, not only a hanging cluster "
        f"(chance of no comb yet: {chance_words(f.swarm_without_comb)})."
    )
    if f.swarm_without_comb >= SWARM_CHANCE:
        reason = "No cluster was seen hanging in the open, within reach of a box."
    return (Refusal(reason, "A cluster in the open that has built no comb.", True),)


def refuse_driving(f: Findings, *, smoke: bool) -> tuple[Refusal, ...]:
    """Refuse repellent or smoke once there is brood: bees do not leave it."""
    if f.swarm_without_comb >= SWARM_CHANCE:
        return ()
    what = "Smoke" if smoke else "A repellent"
    return (
        Refusal(
            f"{what} moves bees away from it, not out: they do not leave brood and stores.",
            "A cluster that has built no comb.",
        ),
    )


def refuse_vacuum(f: Findings) -> tuple[Refusal, ...]:
    """Refuse the vacuum as the only measure while there is comb."""
    if f.swarm_without_comb >= SWARM_CHANCE:
        return ()
    return (
        Refusal(
            "A vacuum through the exit takes the bees it reaches and leaves queen, brood, comb "
            "and honey.",
            "The nest laid open, so that the vacuum is a tool of the cut-out.",
        ),
    )


def refuse_eradication(other_ways: int) -> tuple[Refusal, ...]:
    """Refuse killing while any way that saves the bees is open."""
    if other_ways == 0:
        return ()
    return (
        Refusal(
            "Bees can be saved here, and killing leaves brood, comb and honey to be opened and "
            "cleared all the same.",
            "No other way left, and danger to people; then a licensed applicator only.",
        ),
    )


def refuse_leaving(c: Circumstances) -> tuple[Refusal, ...]:
    """Refuse to leave them where people are at risk or the client has a date."""
    found = []
    if c.allergic_person == "yes":
        found.append(
            Refusal("Somebody on the site is allergic to stings.", "Nobody allergic on the site.")
        )
    if c.gone_by is not None:
        found.append(Refusal("The client needs them gone by a date.", "No such date."))
    return tuple(found)


def refuse_giving_up(other_ways: int) -> tuple[Refusal, ...]:
    """Refuse to leave them after work has begun, while another way is open."""
    if other_ways == 0:
        return ()
    return (
        Refusal(
            "Work has begun to have them out, and another way to do so is open.",
            "A client who would rather keep the bees.",
        ),
    )
