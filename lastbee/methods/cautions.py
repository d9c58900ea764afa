"""The usual cautions of each step, said where the step is.

They are reminders, never instructions that replace local codes and licensed practice;
figures name their source. Who is allergic, how high and how old decide which are said.
Each has a full form, for the first step that needs it, and a brief one for the rest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lastbee.methods.circumstances import Circumstances

LOCAL = "Local codes and licensed practice decide."


def stings(c: Circumstances, *, brief: bool = False) -> str:
    """Sting caution, with more where somebody is allergic or a path is near."""
    allergic = c.allergic_person == "yes"
    if brief:
        return "Stings: suit and veil, a way out clear" + (
            "; the allergic person off the site, auto-injector and phone ready."
            if allergic
            else "."
        )
    said = "Stings: full suit and veil, people and pets kept well back, a way out clear."
    if c.public_path_near == "yes":
        said += " The path is closed for 30 ft (10 m) round while work goes on."
    if allergic:
        said += (
            " Somebody here is allergic: they leave the site before work starts, and their own "
            "auto-injector and a phone stand ready."
        )
    return (
        f"{said} More than about 15 stings, or any trouble breathing, swelling or faintness: "
        "emergency services at once."
    )


def height(c: Circumstances, *, brief: bool = False, both_hands: bool = False) -> str:
    """Caution for work at height, with overhead lines unless there are none.

    `both_hands` is work that a ladder is no place for: cutting, lifting comb.
    """
    if not c.is_high and c.power_line_near != "yes":
        return ""
    lines = c.power_line_near != "no"
    scaffold = "scaffold, platform or lift, not a ladder" if both_hands else "ladder tied or held"
    if brief:
        return f"Height: {scaffold}" + (", clear of overhead lines." if lines else ".")
    said = (
        "Height: this needs both hands, so scaffold, platform or lift with a rail, not a ladder."
        if both_hands
        else "Height: ladder on firm ground, one out for four up, tied or held, hands free of "
        "loads; never open a veil on a ladder."
    )
    if lines:
        said += (
            " Overhead lines: 10 ft (3 m) clear at the least, more at high voltage; if in doubt "
            "the utility is called first."
        )
    return f"{said} {LOCAL}"


def opening(c: Circumstances, *, brief: bool = False) -> str:
    """Cautions before anything is cut."""
    if brief:
        old = c.may_have_old_paint or c.may_have_asbestos
        return "Cutting: wires, pipes and ducts first" + (
            "; old paint (lead) and boards (asbestos) tested first." if old else "."
        )
    said = "Before cutting: find wires, pipes and ducts, switch off and check."
    if c.may_have_old_paint:
        said += " Paint of this age may hold lead: test or treat as lead."
    if c.may_have_asbestos:
        said += " Boards and insulation of this age may hold asbestos: do not disturb untested."
    return f"{said} {LOCAL}"


def dust() -> str:
    """Cutting and scraping inside a building."""
    return "Dust: respirator and eye protection, the room sheeted off."


def overhead(c: Circumstances) -> str:
    """A nest over people's heads: load, and what one stands on."""
    if not c.is_overhead:
        return ""
    return (
        "Overhead: a ceiling loaded with comb may come down when it is cut: prop it, nobody under "
        "it; above, step on joists or boards only."
    )


def scraping(c: Circumstances) -> str:
    """Old paint under a cone plate, a closed gap or a scraper."""
    if not c.may_have_old_paint:
        return ""
    return f"Old paint may hold lead: no dry sanding or scraping. {LOCAL}"


def lifting() -> str:
    """A full box."""
    return "Two lift; a full box goes down by rope or lift, never by hand on a ladder."


def vents() -> str:
    """What is never sealed."""
    return "Flues and combustion air are never closed; vents are screened, not sealed."


def heat() -> str:
    """Roof spaces and suits in summer."""
    return "Heat: roof spaces and suits overheat people fast; early hours, water, two people."


def treated(c: Circumstances) -> str:
    """A sprayed nest: its comb and honey are waste; and the question, where it is not known."""
    if c.is_treated:
        return (
            "Sprayed nest: comb and honey are bagged, labelled and disposed of by local rules, "
            "never given to bees or people."
        )
    if c.sprayed_ago_days is None:
        return "Ask first whether anything was sprayed: treated comb and honey are waste."
    return ""


def chemicals() -> str:
    """Pesticides and repellents."""
    return (
        "Chemicals: only as the label says, and pesticides in buildings only by a licensed "
        f"applicator. {LOCAL}"
    )


def robbing() -> str:
    """What robbing does beyond saving honey."""
    return (
        "Robbing draws other colonies and wasps, brings stings, and can spread foulbrood; not "
        f"after any spray, not where the law bars exposing comb. {LOCAL}"
    )


def joined(*parts: str) -> str:
    """The parts that say something, as one text that defers to local codes once, at its end."""
    said = [part.replace(LOCAL, "").strip() for part in parts if part]
    defers = any(LOCAL in part for part in parts)
    return " ".join([*(s for s in said if s), *([LOCAL] if defers else [])])
