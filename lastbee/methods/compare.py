"""Every way of the trade side by side: outcome, refusal, caution, and which is best.

`compare` takes a posterior and a trap-out and returns one `Way` for each, the recommended
one first among equals: the way with the smallest expected loss of those not refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from lastbee.methods import cautions, rules
from lastbee.methods import outcomes as out
from lastbee.methods.loss import loss

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lastbee.evidence.nest import Nest
    from lastbee.forecast.trapout import TrapOut
    from lastbee.methods.circumstances import Circumstances
    from lastbee.methods.loss import Weights
    from lastbee.methods.outcomes import Outcome
    from lastbee.methods.rules import Findings, Refusal

# Closer than this no forecast tells two ways apart: assumed.
TIE_VISITS = 1.0

Status = Literal["recommended", "possible", "refused"]


@dataclass(frozen=True, slots=True)
class Way:
    """One way with its result; `loss_visits` is the loss of each colony, shape (n,)."""

    key: str
    label: str
    note: str
    outcome: Outcome
    refusals: tuple[Refusal, ...]
    cautions: tuple[str, ...]
    loss_visits: NDArray[np.float64]
    status: Status = "possible"

    @property
    def expected_loss(self) -> float:
        """Mean loss over the colonies, in visits."""
        return float(self.loss_visits.mean())


@dataclass(frozen=True, slots=True)
class Simulated:
    """The same n colonies: at inspection, on the cone's morning, trapped, robbed out, left.

    Of a running trap-out, `nest` and `nest_then` are what is behind the cone today, and
    `trap` is what becomes of it from today on.
    """

    nest: Nest
    nest_then: Nest
    trap: TrapOut
    honey_after_rob_g: NDArray[np.float64]
    honey_if_left_g: NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Draft:
    """A way before it is weighed; `must_ask` if it opens what nobody has let be opened."""

    key: str
    label: str
    note: str
    outcome: Outcome
    refusals: tuple[Refusal, ...]
    cautions: tuple[str, ...]
    must_ask: bool = False


def compare(
    simulated: Simulated,
    c: Circumstances,
    f: Findings,
    weights: Weights,
    rng: np.random.Generator,
) -> tuple[Way, ...]:
    """Put every way on the same axes.

    Parameters
    ----------
    simulated
        The colonies, n of them.
    c, f
        Circumstances and findings that rules read.
    weights
        The firm's weights.
    rng
        Source of randomness for the ways that are not simulated by the engine.

    Returns
    -------
    All ways in a fixed order; exactly one is recommended unless all are refused.
    """
    drafts = [
        *_trap_ways(simulated, c, f),
        *_opening_ways(simulated.nest_then, c, f, rng),
        *_swarm_ways(simulated.nest, c, f, rng),
    ]
    drafts.append(_leave(simulated, c, f, _open_ways(drafts)))
    drafts.append(_eradication(simulated.nest_then, c, _open_ways(drafts)))
    return with_best([_weighed(draft, c, weights) for draft in drafts])


def _open_ways(drafts: list[_Draft]) -> int:
    return sum(1 for draft in drafts if not draft.refusals)


def _weighed(draft: _Draft, c: Circumstances, weights: Weights) -> Way:
    trouble = loss(draft.outcome, weights, limit_times=c.limit_times, must_ask=draft.must_ask)
    said = tuple(s for s in draft.cautions if s)
    status: Status = "refused" if draft.refusals else "possible"
    return Way(
        draft.key, draft.label, draft.note, draft.outcome, draft.refusals, said, trouble, status
    )


def _trap_ways(simulated: Simulated, c: Circumstances, f: Findings) -> list[_Draft]:
    """Cone and box, or going on with them; alone or with the empty nest opened afterwards."""
    trap, running = simulated.trap, f.is_running
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    scaffold = cautions.height(c, brief=True, both_hands=True)
    return [
        _Draft(
            "trap-out", "Go on with the trap-out" if running else "Trap-out (cone and box)",
            "Bees leave through a one-way cone and are taken in by the box; comb stays behind.",
            out.trap_out_outcome(
                trap, simulated.honey_after_rob_g, then_open=False, is_running=running
            ),
            rules.refuse_trap_out(c, f, then_open=False), (sting, up),
        ),
        _Draft(
            "trap-out then open",
            "Go on, then a quiet opening" if running else "Trap-out, then a quiet opening",
            "The bees leave first; then the empty nest is opened and cleaned without a cloud of "
            "bees.",
            out.trap_out_outcome(trap, trap.honey_left_g, then_open=True, is_running=running),
            rules.refuse_trap_out(c, f, then_open=True),
            (sting, scaffold, cautions.opening(c, brief=True), cautions.overhead(c)),
            must_ask="yes" not in (c.may_open_outside, c.may_open_inside),
        ),
    ]  # fmt: skip


def _opening_ways(
    nest: Nest, c: Circumstances, f: Findings, rng: np.random.Generator
) -> list[_Draft]:
    """Cut-out from either side."""
    sting, cut = cautions.stings(c, brief=True), cautions.opening(c, brief=True)
    above, treated = cautions.overhead(c), cautions.treated(c)
    return [
        _Draft(
            "cut-out outside", "Cut-out from outside",
            "The covering comes off, comb and bees come out in a day, the cavity is cleaned.",
            out.cut_out_outcome(nest, inside=False, rng=rng),
            rules.refuse_cut_out(c, f, inside=False),
            (sting, cautions.height(c, brief=True, both_hands=True), cut, above, treated),
            must_ask=c.may_open_outside != "yes",
        ),
        _Draft(
            "cut-out inside", "Cut-out from inside",
            "The room is sheeted off and the inner face opened.",
            out.cut_out_outcome(nest, inside=True, rng=rng),
            rules.refuse_cut_out(c, f, inside=True),
            (sting, cut, cautions.dust(), above, cautions.heat(), treated),
            must_ask=c.may_open_inside != "yes",
        ),
    ]  # fmt: skip


def _swarm_ways(
    nest: Nest, c: Circumstances, f: Findings, rng: np.random.Generator
) -> list[_Draft]:
    """What is done at once, to the bees as they are at the inspection."""
    sting, up = cautions.stings(c, brief=True), cautions.height(c, brief=True)
    return [
        _Draft(
            "swarm capture", "Take it as a swarm",
            "A hanging cluster with no comb goes into a box in an hour.",
            out.swarm_capture_outcome(nest, rng), rules.refuse_swarm_capture(c, f), (sting, up),
        ),
        _Draft(
            "repellent", "Drive out with repellent",
            "Works on bees that have nothing to stay for.",
            out.driven_outcome(nest, smoke=False, rng=rng),
            rules.refuse_driving(f, smoke=False), (sting, up, cautions.chemicals()),
        ),
        _Draft(
            "smoke", "Drive out with smoke",
            "Calms bees and moves a bare cluster; moves a nest nowhere.",
            out.driven_outcome(nest, smoke=True, rng=rng), rules.refuse_driving(f, smoke=True),
            (sting, up, "Fire: no smoker near insulation, wax or dry boards, water at hand."),
        ),
        _Draft(
            "vacuum", "Vacuum alone",
            "Takes the bees within reach of the hose.",
            out.vacuum_outcome(nest, rng), rules.refuse_vacuum(f), (sting, up),
        ),
    ]  # fmt: skip


def _leave(simulated: Simulated, c: Circumstances, f: Findings, others: int) -> _Draft:
    """Do nothing; `others` ways are open."""
    sting = cautions.stings(c, brief=True)
    refusals = rules.refuse_leaving(c)
    if f.is_running:
        refusals += rules.refuse_giving_up(others)
    if rules.is_open_cluster(c, f):
        nothing = np.zeros(simulated.nest.size)
        return _Draft(
            "leave", "Leave them",
            "A swarm hanging in the open mostly moves on by itself within days, perhaps into a "
            "building.",
            out.leave_outcome(simulated.nest, nothing), refusals,
            ("Keep people and pets back while it hangs.", sting),
        )  # fmt: skip
    return _Draft(
        "leave", "Take the cone off and leave them" if f.is_running else "Leave them",
        "The colony lives on and stores; it may swarm.",
        out.leave_outcome(simulated.nest_then, simulated.honey_if_left_g), refusals,
        ("Never plug a live exit: bees find another way, often indoors.", sting),
    )  # fmt: skip


def _eradication(nest: Nest, c: Circumstances, saving: int) -> _Draft:
    """Kill in place; `saving` other ways are open."""
    return _Draft(
        "eradication", "Killing by an applicator",
        "The last resort, by a licensed applicator only: the nest is still full and must be "
        "opened, cleared and closed.",
        out.eradication_outcome(nest), rules.refuse_eradication(saving),
        (cautions.stings(c, brief=True), cautions.chemicals(), cautions.opening(c, brief=True)),
    )  # fmt: skip


def recommended(ways: tuple[Way, ...]) -> Way | None:
    """The recommended way, None where all are refused."""
    return next((w for w in ways if w.status == "recommended"), None)


def with_best(ways: list[Way]) -> tuple[Way, ...]:
    """Recommend the open way with the smallest expected loss; in a tie, leave the wall whole."""
    open_ways = [w for w in ways if not w.refusals]
    if not open_ways:
        return tuple(ways)
    least = min(w.expected_loss for w in open_ways)
    tied = [w for w in open_ways if w.expected_loss <= least + TIE_VISITS]
    best = min(tied, key=lambda w: (w.outcome.opening, w.expected_loss))
    return tuple(replace(w, status="recommended") if w is best else w for w in ways)
