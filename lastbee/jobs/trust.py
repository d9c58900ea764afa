"""How sure the answer is: whether to rely on it, what it rests on, and what to look at first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from lastbee.evidence import cues
from lastbee.evidence.comb import CombColour
from lastbee.evidence.traffic import TrafficCount
from lastbee.jobs.plan import Trust
from lastbee.methods.looks import value_of_look

if TYPE_CHECKING:
    from lastbee.evidence.item import Item
    from lastbee.evidence.nest import Nest
    from lastbee.forecast.posterior import Posterior
    from lastbee.forecast.tracking import Tracked
    from lastbee.jobs.assemble import Question
    from lastbee.jobs.plan import EvidenceRow, Look
    from lastbee.methods.compare import Way
    from lastbee.methods.looks import LookValue

# Below these the cloud is too thin, or moves too seldom, to be relied on.
LEAST_EFFECTIVE = 100.0
LEAST_ACCEPTANCE = 0.03
# Visits are absorbed by several strands; fewer independent trap-outs make too rough an answer:
# assumed.
LEAST_EFFECTIVE_TRACKED = 15.0
# A visit less likely than this fits no course that the model knows.
UNLIKE_ANYTHING = 0.01
# Sightings that narrow the answer by less than this, in all, leave it nearly as usual.
LITTLE_KNOWN_BITS = 0.5
# Minutes of a further count, common practice.
COUNT_MINUTES = 5.0


def worth_of_looks(
    question: Question, nest: Nest, ways: tuple[Way, ...], rng: np.random.Generator
) -> tuple[LookValue, ...]:
    """Value the three usual further looks over the ways that a look could still open."""
    # A way that only the nest forbids counts as open with and without the look, so that a
    # look is worth what its reading tells and not what lifting the rule would be worth.
    open_ways = [w for w in ways if all(r.rests_on_nest for r in w.refusals)]
    if len(open_ways) < 2:
        return ()
    losses = np.column_stack([w.loss_visits for w in open_ways])
    unread = float("nan")
    count = TrafficCount(unread, COUNT_MINUTES, 1, 1.0, max(question.flying.flight_hours, 1.0))
    wanted: dict[str, tuple[Item[Nest], ...]] = {
        "count": (count,),
        "thermal": (cues.warm_area(unread),),
        "hole": (
            cues.capped_honey_seen(unread), cues.capped_brood_seen(unread), CombColour(unread),
        ),
    }  # fmt: skip
    done = {item.key for item in question.items}
    return tuple(
        value_of_look(key, items, nest, losses, rng)
        for key, items in wanted.items()
        if key == "count" or not done.issuperset(item.key for item in items)
    )


def trust_of(
    posterior: Posterior, question: Question, rows: tuple[EvidenceRow, ...], seed: int
) -> Trust:
    """Whether to rely on the answer, and the plain warnings if not."""
    cloud = posterior.cloud
    warnings = []
    if cloud.effective < LEAST_EFFECTIVE or cloud.acceptance < LEAST_ACCEPTANCE:
        warnings.append(
            f"The sampler found too few colonies that fit (worth {cloud.effective:.0f} independent "
            "ones): run it again with more colonies."
        )
    warnings += [
        f"{row.label} ({row.reading}) contradicts the other sightings: check it, or the others, "
        "before relying on any number here."
        for row in rows
        if row.verdict == "contradicts"
    ]
    if question.crosses_winter:
        warnings.append(
            "A winter lies in the way, which the model does not know: plan again in spring, before "
            "anything is started."
        )
    return Trust(not warnings, len(cloud.z), round(cloud.effective, 1), seed, tuple(warnings))


def how_sure(
    question: Question, rows: tuple[EvidenceRow, ...], looks: tuple[Look, ...]
) -> tuple[str, ...]:
    """What the answer rests on, in sentences."""
    bits = sum(r.information_bits for r in rows)
    found = [
        "Every range holds nine in ten of the simulated colonies that fit the sightings.",
        "The model rests on published figures and stated guesses; it has not yet been held against "
        "closed jobs of this firm.",
    ]
    if not rows:
        found.append("No sightings were given: this is what is usual at this place and date.")
    elif bits < LITTLE_KNOWN_BITS:
        found.append("The sightings say little: the answer is mostly what is usual here.")
    if not looks:
        found.append("None of the usual further looks would change the choice of way.")
    if question.normals_assumed:
        found.append(
            "The climate was guessed from the latitude; monthly normals in the job file sharpen "
            "every date."
        )
    if question.is_tropical:
        found.append(
            "So near the equator seasons follow rain, which is not modelled: mind the dates."
        )
    if question.flying.activity < 0.1 and any(r.key == "traffic" for r in rows):
        found.append("Bees hardly flew when they were counted, so that the count says little.")
    return tuple(found)


def missing_look(rows: tuple[EvidenceRow, ...], looks: tuple[Look, ...]) -> Look | None:
    """The best further look, if little has been seen and looking could change the choice."""
    known = sum(row.information_bits for row in rows)
    return looks[0] if looks and known < LITTLE_KNOWN_BITS else None


def trust_of_visits(
    tracked: Tracked, question: Question, surprise: float, colonies: int, seed: int
) -> Trust:
    """Whether to rely on the answer for a running trap-out.

    `surprise` is that of the last visit, `colonies` the number in the posterior.
    """
    effective = tracked.effective()
    warnings = []
    if effective < LEAST_EFFECTIVE_TRACKED:
        warnings.append(
            f"Too few simulated trap-outs fit the visits (worth {effective:.0f} independent "
            "ones): run it again with more colonies."
        )
    if surprise < UNLIKE_ANYTHING:
        warnings.append(
            "The last visit is unlike anything that was simulated: check what was written down, "
            "and count again, before relying on any number here."
        )
    if question.crosses_winter:
        warnings.append(
            "A winter lies in the way, which the model does not know: judge by counts alone."
        )
    return Trust(not warnings, colonies, round(effective, 1), seed, tuple(warnings))
