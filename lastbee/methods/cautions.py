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
# Above this the usual triggers for fall protection in building work begin: 6 ft
# (29 CFR 1926.501(b)(1), United States).
FALL_HEIGHT_M = 1.8


def stings(c: Circumstances, *, brief: bool = False) -> str:
    """Sting caution, stronger where somebody is allergic."""
    allergic = c.allergic_person == "yes"
    if brief:
        return "Stings: suit and veil, a way out clear" + (
            "; the allergic person off the site, auto-injector and phone ready."
            if allergic
            else "."
        )
    base = "Stings: full suit and veil, people and pets kept well back, a way out clear."
    if c.public_path_near == "yes":
        base += " The path is closed for 10 m (30 ft) round while work goes on."
    if allergic:
        return (
            f"{base} Somebody here is allergic: they leave the site before work starts, their own "
            "auto-injector and a phone stand ready, and emergency services are called at the "
            "first trouble breathing, swelling or faintness."
        )
    return (
        f"{base} More than about 15 stings, or any trouble breathing, swelling or faintness: "
        "emergency services at once."
    )


def height(c: Circumstances, *, brief: bool = False) -> str:
    """Caution for work at height, with overhead lines unless there are none."""
    h = c.entrance_height_m
    if h is not None and h < FALL_HEIGHT_M and c.power_line_near != "yes":
        return ""
    lines = c.power_line_near != "no"
    if brief:
        return "Height: ladder tied or held" + (", clear of overhead lines." if lines else ".")
    said = (
        "Height: ladder on firm ground, one out for four up, tied or held, hands free of loads; "
        "never open a veil on a ladder."
    )
    if lines:
        said += (
            " Overhead lines: 3 m (10 ft) clear at the least, more at high voltage; if in doubt "
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


def screws(c: Circumstances) -> str:
    """Old paint under a cone plate."""
    if not c.may_have_old_paint:
        return ""
    return f"Old paint may hold lead: no dry sanding or scraping. {LOCAL}"


def heat() -> str:
    """Roof spaces and suits in summer."""
    return "Heat: roof spaces and suits overheat people fast; early hours, water, two people."


def treated(c: Circumstances) -> str:
    """A sprayed nest: its comb and honey are waste."""
    if not c.is_treated:
        return ""
    return (
        "Sprayed nest: comb and honey are bagged, labelled and disposed of by local rules, never "
        "given to bees or people."
    )


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
