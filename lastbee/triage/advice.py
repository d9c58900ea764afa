"""How urgent a call is, and what is advised: rules in order, the first that applies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lastbee.biology.flight import COLD_STOP_DEGC
from lastbee.triage.situation import LIKELY, MENTIONED

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.triage.insects import InsectKey
    from lastbee.triage.situation import Situation

AdviceKind = Literal["emergency", "swarm today", "inspection", "call back", "advice only"]


@dataclass(frozen=True, slots=True)
class Urgency:
    """How soon somebody must act, 0 to 1, and why in one sentence."""

    value: float
    why: str


@dataclass(frozen=True, slots=True)
class Advice:
    """What the office does with the call.

    Attributes
    ----------
    kind
        What sort of answer it is.
    what
        In the imperative.
    why
        One sentence.
    within_days
        Days from the call within which it is done, 0 today; None where nothing is booked.
    hours
        Hours of the day at which bees fly and can be counted; empty where it does not matter.
    result
        What the call's own result would be, as a call is kept.
    """

    kind: AdviceKind
    what: str
    why: str
    within_days: int | None
    hours: str
    result: str


# What such calls usually press, and why: common practice, no source.
_CALM: dict[InsectKey, tuple[float, str]] = {
    "honey-bee-nest": (0.4, "A nest gains comb and honey by the week."),
    "swarm": (0.75, "A swarm may move on, or into a wall, within hours."),
    "bumblebees": (0.1, "Bumblebees can be left till the season ends them."),
    "solitary-bees": (0.05, "Solitary bees hardly sting and are gone in weeks."),
    "wasps": (0.2, "A wasps' nest grows till frost and is defended, but is not ours."),
    "something-else": (0.05, "Nothing that was told presses."),
}


def urgency_of(s: Situation) -> Urgency:
    """The most urgent of all that applies."""
    calm = sum(share * _CALM[key][0] for key, share in s.shares.items())
    found = [(calm, _CALM[s.likeliest][1])]
    found += [(value, why) for value, why, applies in _URGENT if applies(s)]
    if s.emergency:
        found.append((1.0, f"People first: {s.emergency}."))
    value, why = max(found)
    return Urgency(value, why)


_URGENT: tuple[tuple[float, str, Callable[[Situation], bool]], ...] = (
    (0.85, "Many come into rooms.", lambda s: s.says("indoors", "many")),
    (
        0.8,
        "A swarm may move on, or into the wall, within hours.",
        lambda s: s.shares["swarm"] >= LIKELY,
    ),
    (
        0.75,
        "The hole was stopped up, so they may come out indoors.",
        lambda s: s.says("sprayed", "plugged") and s.says("where", "building"),
    ),
    (0.7, "Somebody there is allergic to stings.", lambda s: s.allergic == "yes"),
    (
        0.65,
        "They came within days: there is little comb yet, and every week makes it dearer.",
        lambda s: s.is_new and s.honey_bees >= LIKELY,
    ),
    (0.6, "A few come indoors.", lambda s: s.says("indoors", "few")),
    (0.55, "Somebody was stung.", lambda s: s.says("stung", "few")),
    (
        0.5,
        "A sprayed nest has dying bees, and honey nobody tends.",
        lambda s: s.is_treated and s.honey_bees >= LIKELY,
    ),
)


def advice_of(s: Situation) -> Advice:
    """What is advised, by shares and answers."""
    if s.emergency:
        return Advice(
            "emergency",
            "Let the caller ring the emergency number, then ring them back",
            f"People first: {s.emergency}.",
            0,
            "",
            "call back",
        )
    nest, swarm = s.shares["honey-bee-nest"], s.shares["swarm"]
    if swarm >= LIKELY or (swarm >= MENTIONED and swarm > nest):
        return Advice(
            "swarm today",
            "Send a collector today",
            "A swarm hangs for hours to days; once it is in a wall it takes weeks to get out.",
            0,
            "any hour by daylight; towards evening all of them are at home",
            "inspection booked",
        )
    if nest >= LIKELY or (nest >= MENTIONED and s.likeliest == "honey-bee-nest"):
        days, why = _inspection(s)
        return Advice(
            "inspection",
            "Book an inspection",
            why,
            days,
            flying_hours(s.month),
            "inspection booked",
        )
    if s.honey_bees >= MENTIONED or max(s.shares.values()) < LIKELY:
        return Advice(
            "call back",
            "Ask for a picture and ring back tomorrow",
            "What was told does not say yet what it is.",
            1,
            "",
            "call back",
        )
    return _not_ours(s)


def _inspection(s: Situation) -> tuple[int, str]:
    """Days within which to inspect, and why; common practice, no source."""
    if s.says("indoors", "many") or s.says("sprayed", "plugged"):
        return 1, "They come, or may come, indoors."
    if s.allergic == "yes":
        return 2, "Somebody there is allergic to stings."
    if s.is_new:
        return 2, "They are new: each week adds comb and honey, and takes ways of taking them out."
    if s.is_treated:
        return 3, "A nest that was sprayed is to be looked at before its honey runs."
    if s.month in {11, 12, 1, 2}:
        return 21, "They hardly fly in the cold: on the first mild, dry day."
    return 7, "Nothing that was told presses; each week still adds comb and honey."


def flying_hours(month: int) -> str:
    """Hours at which honey bees fly, common practice, no source; `month` as north of the equator.

    The temperature below which there is little flight is that of `lastbee.biology.flight`.
    """
    hours = "11 to 15" if month in {10, 11, 12, 1, 2, 3} else "10 to 17"
    return f"{hours} o'clock, dry and above {COLD_STOP_DEGC:.0f} °C"


def _not_ours(s: Situation) -> Advice:
    if s.likeliest == "wasps":
        return Advice(
            "advice only",
            "Name a licensed operator",
            "Wasps and hornets are not bees, and not ours to take out.",
            None,
            "",
            "not ours",
        )
    return Advice(
        "advice only",
        "Advise, and leave them be",
        "They do no lasting harm, and the season ends them.",
        None,
        "",
        "advice given",
    )
