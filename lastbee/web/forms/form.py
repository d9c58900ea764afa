"""What a form is: sections of fields, each with the control that takes it down.

A field's name is its dotted key in the body of the entry, so that what is wrong with a key can
be said at the field that wrote it. Controls differ in how a hand gives them, never in what may
be written: whatever stands in a field is handed on, and those who read bodies judge it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lastbee.units import Dimension
    from lastbee.words import UnitSystem

Control = Literal[
    "text", "long-text", "day", "clock", "choice", "yes-no", "number", "stepper", "counter",
    "measure", "phone", "person", "position", "photos", "picture", "tick", "ticks",
    "told",
]  # fmt: skip

Posted = Mapping[str, Sequence[str]]
"""What a browser posts: every value of every name, in order."""

UNIT, OTHER_SIDE, TICK = ":unit", ":other", ":tick"
"""Ends of the names under which a field posts more than one thing; no key has a colon."""


@dataclass(frozen=True, slots=True)
class Option:
    """One of the values to choose from.

    `note` is said below it; `mark` says what the forecast thinks of it.
    """

    value: str
    label: str
    note: str = ""
    mark: Literal["", "recommended", "refused"] = ""


@dataclass(frozen=True, slots=True)
class Tick:
    """A tick beside an amount, which stands where no amount is written.

    `value` is "none" for a thing that is not there, True for one done without measure.
    """

    label: str
    value: Literal["none"] | bool


@dataclass(frozen=True, slots=True)
class Scale:
    """Units that a measure is written in: the ones offered, and the usual one of each system.

    Areas have two sides: `usual` is the unit of a side and `usual_area` that of one number.
    """

    dimension: Dimension
    offered: tuple[str, ...]
    usual: tuple[str, str]
    usual_area: tuple[str, str] | None = None

    def unit(self, units: UnitSystem) -> str:
        """The unit of a number, or of a side, that has none."""
        return self.usual[units == "us"]

    def area_unit(self, units: UnitSystem) -> str:
        """The unit of a number that stands for a whole area."""
        return (self.usual_area or self.usual)[units == "us"]


LENGTH = Scale("length", ("m", "cm", "ft", "in"), ("m", "ft"))
SMALL_LENGTH = Scale("length", ("cm", "m", "in", "ft"), ("cm", "in"))
AREA = Scale("area", ("cm", "in", "dm2", "sq in", "sq ft"), ("cm", "in"), ("dm2", "sq in"))
MASS = Scale("mass", ("kg", "g", "lb", "oz"), ("kg", "lb"))
VOLUME = Scale("volume", ("l", "ml", "qt", "pt", "gal"), ("l", "qt"))
TEMPERATURE = Scale("temperature", ("C", "F"), ("C", "F"))


@dataclass(frozen=True, slots=True)
class Field:
    """One field.

    Attributes
    ----------
    name
        Dotted key in the body; of a field with parts, a name for them all.
    label
        In the words of the trade.
    control
        What takes it down.
    options
        Values of a choice or of ticks, or what is told and kept as it stands.
    hint
        One line below the label.
    blank
        What an answer left out is called, for choices and yes or no.
    scale
        Units of a measure.
    tick
        The tick beside an amount.
    step, low
        Of a stepper: how far one press goes, and where it ends.
    parts
        Fields that one control writes together: a count, a position.
    as_words
        Of yes or no: whether the body holds the words rather than true and false.
    is_needed
        Whether the entry cannot do without it.
    is_folded
        Of a counter: whether it is folded away until somebody wants it.
    is_beside
        Whether it belongs to other entries that the form makes, and not to the body.
    """

    name: str
    label: str
    control: Control
    options: tuple[Option, ...] = ()
    hint: str = ""
    blank: str = "not looked"
    scale: Scale | None = None
    tick: Tick | None = None
    step: float = 1.0
    low: float = 0.0
    parts: tuple[Field, ...] = ()
    as_words: bool = False
    is_needed: bool = False
    is_folded: bool = False
    is_beside: bool = False

    @property
    def leaves(self) -> tuple[Field, ...]:
        """The fields that hold one key of the body each."""
        return self.parts or (self,)


@dataclass(frozen=True, slots=True)
class Section:
    """Fields that belong together, with the caution of the work that fills them."""

    title: str
    fields: tuple[Field, ...]
    lead: str = ""
    caution: str = ""
    is_folded: bool = False


@dataclass(frozen=True, slots=True)
class Form:
    """A form: what kind of entry it makes, and what it asks for."""

    kind: str
    title: str
    sections: tuple[Section, ...]
    submit: str
    lead: str = ""

    @property
    def fields(self) -> Iterator[Field]:
        """Every field that holds a key of the body, in order."""
        for section in self.sections:
            for field in section.fields:
                if not field.is_beside:
                    yield from field.leaves


def options(*values: str, **labels: str) -> tuple[Option, ...]:
    """Make options of words that speak for themselves."""
    return tuple(Option(value, labels.get(value.replace(" ", "_"), value)) for value in values)
