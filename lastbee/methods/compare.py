"""Every way of the trade side by side: outcome, refusal, caution, and which is best.

`compare` takes a posterior and a trap-out and returns one `Way` for each, the recommended
one first among equals: the way with the smallest expected loss of those not refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from lastbee.methods import cautions, rules
from lastbee.methods import outcomes as out
from lastbee.methods.loss import loss

if TYPE_CHECKING:
    import numpy as np
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
    """The same n colonies seen four ways: at inspection, trapped, robbed out, left alone."""

    nest: Nest
    trap: TrapOut
    honey_after_rob_g: NDArray[np.float64]
    honey_if_left_g: NDArray[np.float64]


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

    def way(
        key: str,
        label: str,
        note: str,
        outcome: Outcome,
        refusals: tuple[Refusal, ...],
        *said: str,
        must_ask: bool = False,
    ) -> Way:
        trouble = loss(outcome, weights, limit_times=c.limit_times, must_ask=must_ask)
        kept = tuple(s for s in said if s)
        status: Status = "refused" if refusals else "possible"
        return Way(key, label, note, outcome, refusals, kept, trouble, status)

    nest, trap = simulated.nest, simulated.trap
    sting = cautions.stings(c, brief=True)
    up, cut = cautions.height(c, brief=True), cautions.opening(c, brief=True)
    ways = [
        way(
            "trap-out", "Trap-out (cone and box)",
            "Bees leave through a one-way cone and are taken in by the box; comb stays behind.",
            out.trap_out_outcome(trap, simulated.honey_after_rob_g, then_open=False),
            rules.refuse_trap_out(c, f, then_open=False), sting, up,
        ),
        way(
            "trap-out then open", "Trap-out, then a quiet opening",
            "The bees leave first; then the empty nest is opened and cleaned without a cloud of "
            "bees.",
            out.trap_out_outcome(trap, trap.honey_left_g, then_open=True),
            rules.refuse_trap_out(c, f, then_open=True), sting, up, cut,
            must_ask="yes" not in (c.may_open_outside, c.may_open_inside),
        ),
        way(
            "cut-out outside", "Cut-out from outside",
            "The covering comes off, comb and bees come out in a day, the cavity is cleaned.",
            out.cut_out_outcome(nest, inside=False, rng=rng),
            rules.refuse_cut_out(c, inside=False), sting, up, cut,
            must_ask=c.may_open_outside != "yes",
        ),
        way(
            "cut-out inside", "Cut-out from inside",
            "The room is sheeted off and the inner face opened.",
            out.cut_out_outcome(nest, inside=True, rng=rng),
            rules.refuse_cut_out(c, inside=True), sting, cut, cautions.heat(),
            must_ask=c.may_open_inside != "yes",
        ),
        way(
            "swarm capture", "Take it as a swarm",
            "A hanging cluster with no comb goes into a box in an hour.",
            out.swarm_capture_outcome(nest, rng), rules.refuse_swarm_capture(c, f), sting, up,
        ),
        way(
            "repellent", "Drive out with repellent",
            "Works on bees that have nothing to stay for.",
            out.driven_outcome(nest, smoke=False, rng=rng),
            rules.refuse_driving(f, smoke=False), sting, up, cautions.chemicals(),
        ),
        way(
            "smoke", "Drive out with smoke",
            "Calms bees and moves a bare cluster; moves a nest nowhere.",
            out.driven_outcome(nest, smoke=True, rng=rng),
            rules.refuse_driving(f, smoke=True), sting, up,
            "Fire: no smoker near insulation, wax or dry boards without water at hand.",
        ),
        way(
            "vacuum", "Vacuum alone",
            "Takes the bees within reach of the hose.",
            out.vacuum_outcome(nest, rng), rules.refuse_vacuum(f), sting, up,
        ),
        way(
            "leave", "Leave them",
            "The colony lives on and stores; it may swarm, and the nest grows to what is shown.",
            out.leave_outcome(nest, simulated.honey_if_left_g), rules.refuse_leaving(c),
            "Never plug a live exit: bees find another way, often indoors.", sting,
        ),
    ]  # fmt: skip
    saving = sum(1 for w in ways if not w.refusals)
    ways.append(
        way(
            "eradication", "Killing by a licensed applicator",
            "The last resort: the nest is still full and must be opened, cleared and closed.",
            out.eradication_outcome(nest), rules.refuse_eradication(saving),
            sting, cautions.chemicals(), cut,
        )
    )  # fmt: skip
    return _recommend(ways)


def _recommend(ways: list[Way]) -> tuple[Way, ...]:
    """Mark the open way with the smallest expected loss; in a tie, leave the wall whole."""
    open_ways = [w for w in ways if not w.refusals]
    if not open_ways:
        return tuple(ways)
    least = min(w.expected_loss for w in open_ways)
    tied = [w for w in open_ways if w.expected_loss <= least + TIE_VISITS]
    best = min(tied, key=lambda w: (w.outcome.opening, w.expected_loss))
    return tuple(replace(w, status="recommended") if w is best else w for w in ways)
