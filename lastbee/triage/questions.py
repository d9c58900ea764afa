"""What is asked on the phone, in the order in which it is asked.

People first; then what a caller can see from a window. Answers are what callers say, not
what an entomologist would. Questions of one topic look at the same thing and are not
counted as if each were news (`lastbee.triage.shares`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Topic = Literal["people", "rooms", "place", "flight", "newness", "looks", "treatment"]

NOT_KNOWN = "not-known"


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: `label` is on the button, `told` says it back as a clause."""

    key: str
    label: str
    told: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question with its answers; "not known" may always be given besides."""

    key: str
    topic: Topic
    ask: str
    answers: tuple[Answer, ...]

    def answer(self, key: str) -> Answer | None:
        """The answer of that key, None where it says nothing."""
        return next((answer for answer in self.answers if answer.key == key), None)

    @property
    def choices(self) -> tuple[Answer, ...]:
        """The answers, and "not known"."""
        return (*self.answers, Answer(NOT_KNOWN, "Not known", "that is not known"))


QUESTIONS: tuple[Question, ...] = (
    Question(
        "stung",
        "people",
        "Is everybody well?",
        (
            Answer("ill", "Stung, and ill: breath, face, throat, faint", "somebody stung is ill"),
            Answer("trapped", "Being stung now, cannot get away", "somebody cannot get away"),
            Answer("many", "Many stings, more than about 15", "somebody was stung many times"),
            Answer(
                "at-risk",
                "A child or an allergic person was stung",
                "a child or an allergic person was stung",
            ),
            Answer("few", "A few stings, well", "somebody was stung and is well"),
            Answer("nobody", "Nobody was stung", "nobody was stung"),
        ),
    ),
    Question(
        "indoors",
        "rooms",
        "Do any come indoors?",
        (
            Answer("many", "Many, in rooms", "many come into rooms"),
            Answer("few", "A few, at windows or lamps", "a few come to windows and lamps indoors"),
            Answer("none", "None", "none come indoors"),
        ),
    ),
    Question(
        "where",
        "place",
        "Where do they go in, or sit?",
        (
            Answer("building", "Hole in a wall or roof", "they go in at a hole in the building"),
            Answer("ball", "Hanging in the open in a ball", "they hang in the open in a ball"),
            Answer("paper", "Paper ball, or small paper comb", "they have a nest of paper"),
            Answer("ground", "One hole in the ground", "they go into one hole in the ground"),
            Answer("wood", "Round holes in bare wood", "they use round holes in bare wood"),
            Answer(
                "many-holes",
                "Many small holes in soil or mortar",
                "they use many small holes in soil or mortar",
            ),
            Answer("nowhere", "Nowhere: flowers, water, about", "they go in nowhere"),
        ),
    ),
    Question(
        "traffic",
        "flight",
        "How many fly at once?",
        (
            Answer("few", "One to a few", "only a few fly at once"),
            Answer("tens", "Tens, a steady stream", "tens fly in a steady stream"),
            Answer("cloud", "A cloud, hundreds and more", "they fly in a cloud"),
        ),
    ),
    Question(
        "flight",
        "flight",
        "How do they fly?",
        (
            Answer("straight", "Straight in and out", "they fly straight in and out"),
            Answer("hover", "Hang in the air, chase each other", "they hang in the air and chase"),
            Answer("whirl", "Whirl all about", "they whirl all about"),
            Answer("low", "Low over the ground, back and forth", "they fly low over the ground"),
        ),
    ),
    Question(
        "since",
        "newness",
        "Since when have they been there?",
        (
            Answer("today", "Today or yesterday", "they came today or yesterday"),
            Answer("days", "Some days", "they have been there for days"),
            Answer("weeks", "Some weeks", "they have been there for weeks"),
            Answer("months", "Months, or a winter", "they have been there for months"),
        ),
    ),
    Question(
        "swarm",
        "newness",
        "Was a cloud of bees seen to arrive?",
        (
            Answer("yes", "Yes", "a cloud of bees was seen to arrive"),
            Answer("no", "No", "no cloud of bees was seen to arrive"),
        ),
    ),
    Question(
        "coat",
        "looks",
        "Fuzzy or shiny?",
        (
            Answer("fuzzy", "Fuzzy all over, like a teddy", "they are fuzzy all over"),
            Answer("some-hair", "Some hair, brownish", "they have some hair"),
            Answer(
                "shiny-behind",
                "Fuzzy in front, shiny black behind",
                "they are shiny black behind",
            ),
            Answer("smooth", "Smooth and shiny", "they are smooth and shiny"),
        ),
    ),
    Question(
        "waist",
        "looks",
        "Do they have a waist?",
        (
            Answer("narrow", "Yes, pinched", "they have a pinched waist"),
            Answer("none", "No, stout", "they have no waist to be seen"),
        ),
    ),
    Question(
        "size",
        "looks",
        "How large?",
        (
            Answer("small", "Small, under 1 cm (3/8 in)", "they are small"),
            Answer("middle", "Middling, 1 to 1.6 cm (1/2 in)", "they are about 1/2 in long"),
            Answer("large", "Large, about 2 cm (3/4 in) or more", "they are large"),
        ),
    ),
    Question(
        "colour",
        "looks",
        "What colour?",
        (
            Answer("brown", "Brown or amber, soft bands", "they are brown with soft bands"),
            Answer("yellow", "Bright yellow and black, sharp", "they are bright yellow and black"),
            Answer(
                "fur-bands",
                "Black with bands of coloured fur",
                "they are black with bands of coloured fur",
            ),
            Answer("black", "Black, or black and white", "they are mostly black"),
            Answer("other", "Grey, green, red, blue", "they are grey, green, red or blue"),
        ),
    ),
    Question(
        "legs",
        "looks",
        "What about their legs?",
        (
            Answer("lumps", "Yellow or orange lumps on them", "they carry lumps of pollen"),
            Answer("hang", "Long legs hang down in flight", "their long legs hang down in flight"),
            Answer("neither", "Neither", "their legs neither hang nor carry lumps"),
        ),
    ),
    Question(
        "below",
        "place",
        "What lies under the place?",
        (
            Answer("sawdust", "Sawdust", "there is sawdust below"),
            Answer("heaps", "Small heaps of soil", "there are small heaps of soil"),
            Answer(
                "bees",
                "Dead bees, crumbs of wax, honey stains",
                "there are dead bees, wax or honey below",
            ),
            Answer("nothing", "Nothing", "nothing lies below"),
        ),
    ),
    Question(
        "sprayed",
        "treatment",
        "Was anything sprayed or stuffed in?",
        (
            Answer("sprayed", "Sprayed or powdered", "something was sprayed"),
            Answer("plugged", "The hole was stopped up", "the hole was stopped up"),
            Answer("no", "No", "nothing was sprayed"),
        ),
    ),
)


def question_of(key: str) -> Question | None:
    """The question of that key, None where nothing of that name is asked."""
    return next((question for question in QUESTIONS if question.key == key), None)
