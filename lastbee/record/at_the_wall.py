"""What to do before leaving the wall, told from one visit alone and at once.

A forecast takes a minute and an office; a technician on a ladder without signal has neither.
What is plain to see there is answered by one table of rules on the keys of a visit as it was
written down. The page of a job and the phone (`web/static/advice.js`) read the same table, so
that both say the same.
"""

from __future__ import annotations

import re
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Literal

from lastbee.biology.flight import COLD_STOP_DEGC, FULL_FLIGHT_DEGC
from lastbee.colony.course import Trouble
from lastbee.forecast.clearance import LISTEN, WATCH_TWICE
from lastbee.jobs.closing import LABELS
from lastbee.jobs.sightings import FLYING, MORE_THAN_STRAYS
from lastbee.jobs.troubles import TOLD, caution_of
from lastbee.methods import cautions
from lastbee.methods.circumstances import Circumstances
from lastbee.units import UNITS, NotAMeasure, temperature_degc

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

Test = Literal["is", "at least", "at most", "colder", "some", "written", "done"]

TOO_COLD_DEGC = round(COLD_STOP_DEGC + FLYING * (FULL_FLIGHT_DEGC - COLD_STOP_DEGC), 1)
"""Below this a silent cone says little."""

NOTHING_PLAIN = "Nothing that was written down calls for more before you leave."

UNKNOWN = Circumstances(
    covering="other", inside_finish="other", cavity="other",
    may_open_outside="unknown", may_open_inside="unknown", other_gaps_closable="unknown",
    allergic_person="unknown", public_path_near="unknown", power_line_near="unknown",
    exposing_comb="unknown", entrance_height_m=None, year_built=None, gone_by=None,
    sprayed_ago_days=None, hanging_cluster_only=False, flight_h=(),
)  # fmt: skip
"""A site of which nothing is known: every caution that could apply is given."""


@dataclass(frozen=True, slots=True)
class Condition:
    """A test of what stands at one key of a visit, such as ``count.out``.

    Tests: `is` a word (yes and no for flags); `at least`, `at most` a number; `colder` than a
    temperature in degrees Celsius; `some`, an area that is not none; `written` at all; `done`,
    a deed. What is absent or cannot be read passes none of them.
    """

    key: str
    test: Test
    value: str | float | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """What a visit saw, what to do about it before leaving, and what that takes.

    It speaks if in each group of `when` at least one condition holds, and none in `unless`.
    """

    key: str
    sign: str
    do: str
    caution: str
    when: tuple[tuple[Condition, ...], ...]
    unless: tuple[Condition, ...] = ()


def _flag(key: str) -> Condition:
    return Condition(key, "is", "yes")


def _deeds(*names: str) -> tuple[Condition, ...]:
    return tuple(Condition(f"did.{name}", "done") for name in names)


_CONE_STUCK = (Condition("cone", "is", "blocked"), Condition("cone", "is", "partly blocked"))
_MANY_ELSEWHERE = Condition("elsewhere.in", "at least", MORE_THAN_STRAYS)
_ANY_ELSEWHERE = (_flag("elsewhere.seen"), Condition("elsewhere.in", "at least", 1))
_POLLEN = _flag("elsewhere.pollen")
_MANY_BACK = Condition("count.back_in", "at least", MORE_THAN_STRAYS)
_ROBBED = _flag("box.robbing")
_NO_BEES_IN_BOX = Condition("box.frames_of_bees", "at most", 0)
_CONE_CLEARED = Condition("did.cone", "is", "cleared")
_CONE_REFITTED = Condition("did.cone", "is", "refitted")
_NOBODY_FLIES = (
    Condition("temperature", "colder", TOO_COLD_DEGC),
    Condition("sky", "is", "rain"),
    Condition("wind", "is", "strong"),
)
_NOBODY_INSIDE = Condition("wall.bees_inside", "is", "no")
_ALIVE = (_flag("wall.hum"), Condition("wall.hand", "is", "warm"), _flag("wall.bees_inside"))
_PLAIN = (*_CONE_STUCK, _MANY_ELSEWHERE, _POLLEN, _MANY_BACK, _ROBBED, _NO_BEES_IN_BOX)


def rules(c: Circumstances = UNKNOWN) -> tuple[Rule, ...]:
    """Every rule, the most pressing first, with the cautions that a site calls for."""
    return (*_at_the_cone(c), *_at_the_box(c), *_nearly_over(c), *_worth_little())


def _told(
    trouble: Trouble,
    c: Circumstances,
    when: tuple[tuple[Condition, ...], ...],
    unless: tuple[Condition, ...],
) -> Rule:
    told = TOLD[trouble]
    return Rule(told.key, told.label, told.remedy, caution_of(trouble, c), when, unless)


def _at_the_cone(c: Circumstances) -> tuple[Rule, ...]:
    return (
        _told(Trouble.CLOGGED, c, (_CONE_STUCK,), (_CONE_CLEARED, _CONE_REFITTED)),
        _told(Trouble.WALKED_BACK, c, ((_MANY_BACK,),), (_CONE_CLEARED, _CONE_REFITTED)),
        _told(Trouble.LEAK, c, ((_MANY_ELSEWHERE, _POLLEN), _ANY_ELSEWHERE), _deeds("closed_gap")),
        Rule(
            "strays_or_leak",
            "A few bees go in elsewhere",
            f"Watch the place for ten minutes and count: {MORE_THAN_STRAYS} bees or more, or any "
            "with pollen, are no strays but use another way in.",
            cautions.stings(c, brief=True),
            (_ANY_ELSEWHERE,),
            (_MANY_ELSEWHERE, _POLLEN, *_deeds("closed_gap")),
        ),
        _told(
            Trouble.CLUSTER,
            c,
            ((Condition("cluster", "some"),),),
            _deeds("brushed_in", "gave_brood", "gave_queen", "moved_box_closer", "added_box"),
        ),
    )


def _at_the_box(c: Circumstances) -> tuple[Rule, ...]:
    return (
        _told(Trouble.ROBBED, c, ((_ROBBED,),), _deeds("reduced_entrance")),
        _told(
            Trouble.BOX_LEFT,
            c,
            ((_NO_BEES_IN_BOX,),),
            _deeds("shaded_box", "gave_brood", "gave_queen", "added_box"),
        ),
        Rule(
            "hanging_out",
            "Bees hang out of the box in the heat",
            "Shade the box, air it, and set out water; add a second one if its bees fill it. A "
            "box that overheats is left.",
            cautions.joined(
                cautions.stings(c, brief=True), cautions.height(c, brief=True), cautions.lifting()
            ),
            ((_flag("box.hanging_out"),),),
            _deeds("shaded_box", "added_box"),
        ),
        Rule(
            "many_dead",
            "Many dead bees",
            "Look into the cone and at the entrance of the box before you leave: bees that are "
            "locked in, robbed or poisoned die in numbers.",
            cautions.joined(cautions.stings(c, brief=True), cautions.treated(c)),
            ((Condition("dead_bees", "is", "many"),),),
            (*_CONE_STUCK, _ROBBED),
        ),
    )


def _nearly_over(c: Circumstances) -> tuple[Rule, ...]:
    again = f"Close nothing yet. {LABELS[WATCH_TWICE.key]}. Or sooner: {LABELS[LISTEN.key]}."
    caution = cautions.joined(cautions.stings(c, brief=True), cautions.height(c, brief=True))
    sign = "It may be empty"
    return (
        Rule(
            "silent", sign, again, caution,
            ((Condition("count.out", "at most", 0),),),
            (*_NOBODY_FLIES, *_ALIVE, _NOBODY_INSIDE, *_PLAIN),
        ),
        Rule(
            "nobody_inside", sign, again, caution, ((_NOBODY_INSIDE,),), (*_ALIVE, *_PLAIN),
        ),
    )  # fmt: skip


def _worth_little() -> tuple[Rule, ...]:
    counted = tuple(
        Condition(key, "written") for key in ("count.out", "elsewhere.in", "elsewhere.seen")
    )
    return (
        Rule(
            "no_flying_weather",
            "Hardly any bee flies in this weather",
            "Count again on a flying day: in cold, rain or strong wind a low count or a silent "
            "cone says little.",
            "",
            (_NOBODY_FLIES, counted),
        ),
    )


def advice(body: Mapping[str, Any], c: Circumstances = UNKNOWN) -> tuple[Rule, ...]:
    """What a visit calls for before leaving, the most pressing first.

    Parameters
    ----------
    body
        A visit as it was written down, a tree with the keys of the ``[[visit]]`` table of a job
        file; it need not be complete or right.
    c
        What is known of the site, for the cautions.

    Returns
    -------
    The rules that speak; empty where nothing is plain.
    """
    written = dict(_leaves(body))
    return tuple(rule for rule in rules(c) if _speaks(rule, written))


def as_data(c: Circumstances = UNKNOWN) -> dict[str, Any]:
    """The table as a tree of JSON values, with the spellings of temperatures beside it."""
    return {
        "rules": [asdict(rule) for rule in rules(c)],
        "temperatures": [asdict(unit) for unit in UNITS["temperature"]],
        "otherwise": NOTHING_PLAIN,
    }


def _leaves(tree: Mapping[str, Any], within: str = "") -> Iterator[tuple[str, Any]]:
    for name, value in tree.items():
        if isinstance(value, dict):
            yield from _leaves(value, f"{within}{name}.")
        else:
            yield f"{within}{name}", value


def _speaks(rule: Rule, written: Mapping[str, Any]) -> bool:
    def holds(condition: Condition) -> bool:
        return _holds(condition, written.get(condition.key))

    return all(any(map(holds, group)) for group in rule.when) and not any(map(holds, rule.unless))


def _holds(condition: Condition, value: object) -> bool:
    wanted = condition.value
    match condition.test:
        case "is":
            return _word(value) == wanted
        case "written":
            return _word(value) not in (None, "")
        case "done":
            return _word(value) not in (None, "", "no")
        case "some":
            return _word(value) != "none" and re.search("[1-9]", str(value)) is not None
        case "colder":
            found = _degc(value)
            return found is not None and found < float(wanted or 0.0)
        case "at least" | "at most":
            found, bound = _number(value), float(wanted or 0.0)
            if found is None:
                return False
            return found >= bound if condition.test == "at least" else found <= bound


def _word(value: object) -> str | None:
    """A word without regard to case and hyphens; true is yes, false is no."""
    if value is None:
        return None
    word = re.sub("[ \t\n\r_-]+", " ", str(value)).strip(" ").lower()
    return {"true": "yes", "false": "no"}.get(word, word)


def _number(value: object) -> float | None:
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    if isinstance(value, str) and re.fullmatch("-?[0-9]+([.,][0-9]+)?", value.strip(" ")):
        return float(value.strip(" ").replace(",", "."))
    return None


def _degc(value: object) -> float | None:
    try:
        return temperature_degc(value) if isinstance(value, str) else None
    except NotAMeasure:
        return None
