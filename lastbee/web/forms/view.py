"""A form as a page shows it: what stands in its fields, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from re import fullmatch
from typing import TYPE_CHECKING

from lastbee.web.forms.form import OTHER_SIDE, TICK, UNIT, Option

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from lastbee.errors import Problem
    from lastbee.web.forms.form import Field, Form, Posted, Scale, Section
    from lastbee.words import UnitSystem

_YES_NO = (Option("yes", "yes"), Option("no", "no"))
_LONGEST_BESIDE, _LONGEST_WORD_OF_THREE, _TWO_BY_TWO = 18, 9, 4
_UNIT_WORDS = {"C": "°C", "F": "°F", "dm2": "dm²"}


@dataclass(frozen=True, slots=True)
class FormView:
    """A form with what was written in it.

    `is_new` while nobody has written anything yet; `had_photos` if photographs came with a
    post that is shown again, for a browser does not keep them.
    """

    form: Form
    posted: Posted
    units: UnitSystem
    faults: Sequence[Problem] = ()
    is_new: bool = False
    had_photos: bool = False

    def said(self, name: str) -> str:
        """What stands under a name, empty if nothing does."""
        said = [one for one in self.posted.get(name, ()) if one.strip()]
        return said[-1] if said else ""

    def all_said(self, name: str) -> Sequence[str]:
        """All that stands under a name."""
        return self.posted.get(name, ())

    def wrong_at(self, name: str) -> tuple[str, ...]:
        """What is wrong with a field, as sentences, each once."""
        return tuple(dict.fromkeys(said for at, said in self.problems if at == name))

    @property
    def problems(self) -> tuple[tuple[str, str], ...]:
        """Every problem as the field that it is shown at, empty for none, and its sentence."""
        labels = self._labels()
        found = []
        for fault in self.faults:
            label = labels.get(fault.field)
            shown = fault if label is None else replace(fault, field=label)
            found.append((fault.field if label else "", shown.sentence))
        return tuple(dict.fromkeys(found))

    def is_open(self, section: Section) -> bool:
        """Whether a section that can be folded has something in it to see."""
        return any(self.has_something(field) for field in section.fields)

    def has_something(self, field: Field) -> bool:
        """Whether something stands in a field, or something is wrong with it."""
        return any(
            self.said(one.name + end) or self.wrong_at(one.name)
            for one in (field, *field.parts)
            for end in ("", OTHER_SIDE, TICK)
        )

    def choices(self, field: Field) -> tuple[Option, ...]:
        """What can be chosen: the answer left out first, and whatever else stands there."""
        known = _YES_NO if field.control == "yes-no" else field.options
        values = {option.value for option in known}
        others = tuple(
            Option(said, said)
            for said in dict.fromkeys(self.all_said(field.name))
            if said.strip() and said not in values
        )
        is_open = field.control == "ticks" or field.is_needed
        blank = () if is_open else (Option("", field.blank),)
        return (*blank, *known, *others)

    def is_stacked(self, options: Sequence[Option]) -> bool:
        """Whether there is more to read than fits side by side."""
        return any(
            option.note or option.mark or len(option.label) > _LONGEST_BESIDE for option in options
        )

    def are_wide(self, options: Sequence[Option]) -> bool:
        """Whether two of them fill a line of a phone better than three."""
        longest = max((len(word) for one in options for word in one.label.split()), default=0)
        return len(options) == _TWO_BY_TWO or longest > _LONGEST_WORD_OF_THREE

    def unit(self, field: Field) -> str:
        """The unit chosen for a measure, or the usual one."""
        if field.scale is None:
            return ""
        if field.name + UNIT in self.posted:
            return self.said(field.name + UNIT)
        return field.scale.unit(self.units)

    def unit_words(self, scale: Scale, unit: str) -> str:
        """A unit as it is read; units of a whole area say so."""
        words = _UNIT_WORDS.get(unit, unit)
        is_area = scale.usual_area is not None and unit not in scale.usual
        return f"{words} in all" if is_area else words

    def kind_of_day(self, name: str) -> str:
        """A picker for days, unless what stands there is none."""
        try:
            date.fromisoformat(self.said(name) or "2026-01-01")
        except ValueError:
            return "text"
        return "date"

    def kind_of_clock(self, name: str) -> str:
        """A picker for times, unless what stands there is none."""
        is_clock = fullmatch(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]", self.said(name) or "00:00")
        return "time" if is_clock else "text"

    def _labels(self) -> dict[str, str]:
        labels = {
            field.name: field.label
            for section in self.form.sections
            for field in _with_parts(section)
        }
        return labels | {"withdrawn": "Why"}


def _with_parts(section: Section) -> Iterator[Field]:
    for field in section.fields:
        yield field
        yield from field.parts
