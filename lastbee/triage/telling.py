"""What to tell the caller now, in the order of importance.

Each sentence is short enough to be said on the phone, and stands beside its source. They
are first words to keep people whole until somebody comes; where chemicals or heights come
in, local codes and licensed practice decide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lastbee.triage.situation import MENTIONED
from lastbee.triage.sources import (
    ARKANSAS,
    ASK_WSU,
    FIFTY,
    GOLDEN,
    IOWA_BUMBLE,
    MARYLAND,
    MUSSEN,
    NHS,
    NI_DIRECT,
    OSU_2075,
    PRACTICE,
    TENNESSEE,
    UC_2012,
    UC_DAVIS,
    UF_144,
    UF_146,
    UMN_BEE_LAB,
    USDA_STINGS,
    VISSCHER,
    both,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from lastbee.triage.insects import InsectKey
    from lastbee.triage.situation import Situation

LOCAL = "Local codes and licensed practice decide."

_SIGNS = (
    "Emergency number at once for trouble breathing, swelling of face or throat, faintness, or "
    "more than about 15 stings"
)
_SIGNS_LATER = _SIGNS[:1].lower() + _SIGNS[1:]


@dataclass(frozen=True, slots=True)
class Telling:
    """One sentence for the caller; `is_alarm` where life or health hangs on it."""

    key: str
    sentence: str
    source: str
    is_alarm: bool = False


@dataclass(frozen=True, slots=True)
class _Rule:
    telling: Telling
    applies: Callable[[Situation], bool]


def tell_now(s: Situation) -> tuple[Telling, ...]:
    """Everything that the caller should hear, most important first."""
    first = (_emergency(s.emergency),) if s.emergency else ()
    return first + tuple(rule.telling for rule in _RULES if rule.applies(s))


def every_telling() -> tuple[Telling, ...]:
    """Everything that any caller may be told, in order."""
    return (_emergency("somebody is ill"), *(rule.telling for rule in _RULES))


def _emergency(why: str) -> Telling:
    return Telling(
        "emergency",
        f"Call the emergency number of the place now, before anything else: {why}.",
        both(NHS, FIFTY),
        is_alarm=True,
    )


def _always(_: Situation) -> bool:
    return True


def _is_grave(s: Situation) -> bool:
    """Whether a sting has done harm, or would."""
    return s.allergic == "yes" or s.says("stung", "ill", "trapped", "many", "at-risk", "few")


def _speaks_of(insect: InsectKey) -> Callable[[Situation], bool]:
    return lambda s: s.shares[insect] >= MENTIONED


def _has_hole(s: Situation) -> bool:
    """Whether there may be a hole that somebody could stop up."""
    return not s.says("where", "ball", "paper", "nowhere", "many-holes", "wood")


_RULES: tuple[_Rule, ...] = (
    _Rule(
        Telling(
            "get-away",
            "Run to a car or a building and shut it; cover the face, do not swat, do not jump "
            "into water.",
            both(USDA_STINGS, UC_DAVIS),
            is_alarm=True,
        ),
        lambda s: s.says("stung", "trapped", "many"),
    ),
    _Rule(
        Telling(
            "injector",
            "If the person has an adrenaline auto-injector, it is used now; they lie flat with "
            "the legs up, or sit if breathing is hard, and do not walk about.",
            both(NHS, NI_DIRECT),
            is_alarm=True,
        ),
        lambda s: s.says("stung", "ill"),
    ),
    _Rule(
        Telling(
            "watch",
            "Somebody stays with the one who was stung; their own auto-injector is at hand, and "
            "used at the first sign, as their plan says.",
            both(NHS, GOLDEN),
            is_alarm=True,
        ),
        lambda s: s.says("stung", "at-risk", "many"),
    ),
    _Rule(
        Telling(
            "signs",
            f"{_SIGNS}.",
            both(NHS, USDA_STINGS),
            is_alarm=True,
        ),
        _is_grave,
    ),
    _Rule(
        Telling(
            "stings-out",
            "Away from the bees first; then take stings out at once: quickly matters, how does "
            "not.",
            both(VISSCHER, USDA_STINGS),
        ),
        lambda s: s.says("stung", "ill", "trapped", "many", "at-risk", "few"),
    ),
    _Rule(
        Telling(
            "allergic-away",
            "The allergic person leaves the place or stays indoors far from it, with their own "
            "auto-injector and a phone.",
            both(GOLDEN, PRACTICE),
            is_alarm=True,
        ),
        lambda s: s.allergic == "yes",
    ),
    _Rule(
        Telling(
            "close-room",
            "Leave the room, shut the door and lay a towel along it; lights off, curtains drawn "
            "but for one window, where they gather. Nobody sleeps there.",
            both(MUSSEN, PRACTICE),
            is_alarm=True,
        ),
        lambda s: s.comes_indoors,
    ),
    _Rule(
        Telling(
            "keep-off",
            "Keep off, and keep children and pets away: 10 m (30 ft) at the least, and out of "
            "their line of flight.",
            both(TENNESSEE, PRACTICE),
        ),
        _always,
    ),
    _Rule(
        Telling(
            "maybe-allergic",
            "Anybody allergic to stings stays away from there altogether.",
            both(GOLDEN, PRACTICE),
        ),
        lambda s: s.allergic not in {"yes", "no"},
    ),
    _Rule(
        Telling(
            "no-spray",
            "Spray nothing: it rouses them, and poisoned comb and honey have to come out of the "
            f"wall all the same. {LOCAL}",
            both(MUSSEN, TENNESSEE),
        ),
        _always,
    ),
    _Rule(
        Telling(
            "was-sprayed",
            "What was sprayed, and when? Keep the can and air the room; nothing more on top, "
            f"nobody eats the honey. {LOCAL}",
            both(MUSSEN, PRACTICE),
        ),
        lambda s: s.is_treated,
    ),
    _Rule(
        Telling(
            "no-plug",
            "Never stop the hole up: they look for another way and come out indoors.",
            both(MUSSEN, ASK_WSU),
        ),
        _has_hole,
    ),
    _Rule(
        Telling("signs-later", f"Should anybody be stung: {_SIGNS_LATER}.", both(NHS, USDA_STINGS)),
        lambda s: not _is_grave(s),
    ),
    _Rule(
        Telling(
            "was-plugged",
            "The hole was stopped up: shut the rooms behind that wall and watch lamps and "
            "windows; leave the plug for whoever comes in a suit.",
            both(MUSSEN, PRACTICE),
        ),
        lambda s: s.says("sprayed", "plugged"),
    ),
    _Rule(
        Telling(
            "no-ladder",
            "No ladder, no mower, no drilling near it: shaking rouses them, and one sting makes "
            f"a fall. {LOCAL}",
            both(UF_146, PRACTICE),
        ),
        _always,
    ),
    _Rule(
        Telling(
            "no-vacuum",
            "No vacuum cleaner: they live on in the bag and come out of it.",
            both(PRACTICE, f"that bees live on in the bag: {MUSSEN}, who allows it for spent bees"),
        ),
        lambda s: s.comes_indoors or s.honey_bees >= MENTIONED,
    ),
    _Rule(
        Telling(
            "swarm",
            "A swarm usually moves on within hours to days, and hanging it seldom stings. A "
            "collector is called at once: cheap today, dear once it is in a wall.",
            both(UMN_BEE_LAB, UC_2012),
        ),
        _speaks_of("swarm"),
    ),
    _Rule(
        Telling(
            "bumblebees",
            "If they are bumblebees they are usually left: the nest ends with the season and is "
            "not used again.",
            IOWA_BUMBLE,
        ),
        _speaks_of("bumblebees"),
    ),
    _Rule(
        Telling(
            "solitary-bees",
            "If they are solitary or carpenter bees they are usually left: they hardly ever "
            "sting, males that hover cannot, and it is over in weeks.",
            both(ARKANSAS, MARYLAND),
        ),
        _speaks_of("solitary-bees"),
    ),
    _Rule(
        Telling(
            "wasps",
            "If they are wasps or hornets that is not our work: a licensed operator; or, "
            f"where they trouble nobody, wait, since hard frost ends the nest. {LOCAL}",
            both(OSU_2075, UF_144),
        ),
        _speaks_of("wasps"),
    ),
    _Rule(
        Telling(
            "picture",
            "A photograph or a film helps, from a window or with the lens drawn close; nobody "
            "goes nearer for it.",
            PRACTICE,
        ),
        lambda s: not s.emergency and max(s.shares.values()) < 0.8,
    ),
)
