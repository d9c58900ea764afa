"""Call triage: questions, sentences for the caller, urgency and advice."""

from __future__ import annotations

import pytest

from lastbee.errors import InvalidInput
from lastbee.triage.insects import INSECT_KEYS, prior_shares, season_month
from lastbee.triage.questions import NOT_KNOWN, QUESTIONS, question_of
from lastbee.triage.shares import FLOOR, TELLING, expected_bits, topic_weight
from lastbee.triage.table import TABLE
from lastbee.triage.triage import Triage, problems_of_answers, triage

NORTH = 45.0


def told(**answers: str) -> Triage:
    return triage(answers, 6, NORTH)


def keys_of(call: Triage) -> list[str]:
    return [telling.key for telling in call.tell_now]


def test_every_row_of_the_table_names_a_source_and_an_answer_that_is_asked_for() -> None:
    for row in TABLE:
        question = question_of(row.question)
        assert question is not None
        assert question.answer(row.answer) is not None, row
        assert row.source


@pytest.mark.parametrize("question", TELLING, ids=lambda q: q.key)
def test_each_insect_has_a_hundred_calls_over_the_answers_of_a_question(question) -> None:
    rows = [row for row in TABLE if row.question == question.key]
    assert [row.answer for row in rows] == [answer.key for answer in question.answers]
    for at in range(len(INSECT_KEYS)):
        assert sum(row.calls[at] for row in rows) == 100


def test_every_question_may_be_answered_by_not_known() -> None:
    for question in QUESTIONS:
        assert question.choices[-1].key == NOT_KNOWN
        assert 2 <= len(question.answers) <= 7


def test_a_question_alone_in_its_topic_counts_in_full_and_five_together_for_less() -> None:
    weights = {question.key: topic_weight(question) for question in TELLING}
    assert weights["indoors"] == 1.0
    assert weights["coat"] * 5 < 5 * weights["where"] < 5.0


def test_people_and_treatment_say_nothing_about_the_insect() -> None:
    assert expected_bits("stung", {}, 6, NORTH) == 0.0
    assert told(stung="many", sprayed="sprayed").shares == told().shares


@pytest.mark.parametrize(
    ("month", "latitude_deg", "same_as"),
    [(11, -40.0, 5), (2, -40.0, 8), (5, 40.0, 5), (12, -1.0, 6), (3, None, 3)],
)
def test_south_of_the_equator_the_year_is_turned(
    month: int, latitude_deg: float | None, same_as: int
) -> None:
    assert season_month(month, latitude_deg) == same_as


def test_the_prior_has_no_season_where_the_place_is_not_known_or_on_the_equator() -> None:
    assert prior_shares(1, None) == prior_shares(7, None) == prior_shares(5, 0.0)


def test_a_month_that_does_not_exist_is_the_programmers_mistake_in_the_prior() -> None:
    with pytest.raises(ValueError, match="month is 13"):
        prior_shares(13, NORTH)


def test_all_problems_of_a_call_come_at_once_and_in_sentences() -> None:
    with pytest.raises(InvalidInput) as caught:
        triage({"wher": "x", "where": "moon"}, 13, 100.0, "maybe")
    sentences = [problem.sentence for problem in caught.value.problems]
    assert len(sentences) == 5
    assert sentences[1].startswith("answers.where is 'moon': give building, ball,")
    assert sentences[1].endswith("or not-known.")


def test_a_question_that_nobody_asks_is_named_with_those_that_are() -> None:
    (problem,) = problems_of_answers({"weight": "heavy"})
    assert problem.field == "answers.weight"
    assert "stung, indoors, where" in problem.mend


def test_people_are_asked_after_first_and_then_the_question_that_tells_most() -> None:
    asked = told().ask_next
    assert asked[0].question.key == "stung"
    bits = [ask.bits for ask in asked[1:]]
    assert bits == sorted(bits, reverse=True)
    assert asked[1].question.key == "where"


def test_what_was_answered_by_not_known_is_not_asked_again() -> None:
    left = [ask.question.key for ask in told(where=NOT_KNOWN, stung=NOT_KNOWN).ask_next]
    assert "where" not in left
    assert "stung" not in left


def test_reasons_name_what_speaks_for_and_what_speaks_against() -> None:
    answers = {"where": "building", "coat": "some-hair", "colour": "yellow"}
    call = triage(answers, 11, NORTH)
    assert call.likeliest == "honey-bee-nest"
    speaks = {reason.question: reason.is_for for reason in call.reasons}
    assert speaks["where"]
    assert not speaks["colour"]
    against = next(reason for reason in call.reasons if not reason.is_for)
    assert "against a honey bee nest; it would sooner be wasps or hornets." in against.sentence
    assert len(call.reasons) <= 3


@pytest.mark.parametrize("stung", ["ill", "trapped", "many", "at-risk"])
def test_in_an_emergency_the_emergency_number_comes_before_everything(stung: str) -> None:
    call = told(stung=stung, where="building", indoors="many")
    assert call.tell_now[0].key == "emergency"
    assert call.tell_now[0].is_alarm
    assert call.urgency.value == 1.0
    assert call.advice.kind == "emergency"
    assert call.is_alarming


def test_who_cannot_get_away_is_told_to_run_and_not_to_jump_into_water() -> None:
    assert keys_of(told(stung="trapped"))[1] == "get-away"


def test_bees_indoors_close_the_room_before_anything_about_the_nest() -> None:
    keys = keys_of(told(indoors="few", stung="nobody"))
    assert keys[0] == "close-room"
    assert told(indoors="few").is_alarming


def test_whatever_it_is_nobody_goes_near_sprays_or_climbs() -> None:
    for where in ("building", "ball", "wood", "ground", NOT_KNOWN):
        assert {"keep-off", "no-spray", "no-ladder"} <= set(keys_of(told(where=where)))


def test_a_hole_is_never_to_be_stopped_up_and_a_ball_has_none() -> None:
    assert "no-plug" in keys_of(told(where="building"))
    assert "no-plug" in keys_of(told())
    assert "no-plug" not in keys_of(told(where="ball"))


def test_an_allergic_person_is_sent_away_and_told_the_signs() -> None:
    call = triage({"where": "building", "stung": "nobody"}, 6, NORTH, "yes")
    assert {"allergic-away", "signs"} <= set(keys_of(call))
    assert call.urgency.value >= 0.7
    assert call.advice.within_days == 2
    assert "maybe-allergic" not in keys_of(call)


def test_where_chemicals_or_heights_come_in_local_codes_decide() -> None:
    call = told(sprayed="sprayed", where="ground", coat="smooth", colour="yellow", waist="narrow")
    for telling in call.tell_now:
        if telling.key in {"no-spray", "was-sprayed", "no-ladder", "wasps"}:
            assert telling.sentence.endswith("Local codes and licensed practice decide.")


def test_every_sentence_has_a_source() -> None:
    for stung in ("ill", "trapped", "nobody"):
        assert all(telling.source for telling in told(stung=stung, indoors="many").tell_now)


def test_a_swarm_is_fetched_today() -> None:
    call = triage({"where": "ball", "since": "today"}, 5, NORTH)
    assert call.advice.kind == "swarm today"
    assert call.advice.within_days == 0
    assert call.urgency.value >= 0.75
    assert "swarm" in keys_of(call)


@pytest.mark.parametrize(
    ("answers", "days"),
    [({}, 7), ({"since": "days"}, 2), ({"indoors": "many"}, 1), ({"sprayed": "sprayed"}, 3)],
)
def test_a_nest_is_inspected_the_sooner_the_more_presses(
    answers: dict[str, str], days: int
) -> None:
    seen = {"where": "building", "coat": "some-hair", "traffic": "tens", "colour": "brown"}
    call = told(**seen, **answers)
    assert call.advice.kind == "inspection"
    assert call.advice.within_days == days
    assert "above 12 °C" in call.advice.hours


def test_in_winter_the_inspection_waits_for_a_mild_day() -> None:
    seen = {"where": "building", "coat": "some-hair", "since": "months"}
    assert triage(seen, 1, NORTH).advice.within_days == 21
    assert triage(seen, 7, -NORTH).advice.within_days == 21


def test_wasps_are_not_ours_and_bumblebees_are_left() -> None:
    wasps = triage({"where": "paper", "coat": "smooth", "colour": "yellow"}, 8, NORTH)
    assert (wasps.advice.result, wasps.advice.within_days) == ("not ours", None)
    bumble = triage({"where": "ground", "coat": "fuzzy", "size": "large"}, 6, NORTH)
    assert (bumble.advice.kind, bumble.advice.result) == ("advice only", "advice given")


def test_where_nothing_is_known_a_picture_is_asked_for() -> None:
    call = triage({}, 9, NORTH)
    assert call.advice.kind == "call back"
    assert "picture" in keys_of(call)


def test_nobody_is_sure_on_the_phone() -> None:
    every = {q.key: "sawdust" for q in QUESTIONS if q.key == "below"}
    sure = triage({**every, "where": "wood", "coat": "shiny-behind", "flight": "hover"}, 5, NORTH)
    assert sure.likeliest == "solitary-bees"
    assert sure.shares["solitary-bees"] <= 1.0 - 5 * FLOOR + 1e-12


def test_where_nothing_alarms_the_first_words_keep_people_from_making_it_worse() -> None:
    keys = keys_of(told(where="building", stung="nobody"))
    assert keys[:4] == ["keep-off", "maybe-allergic", "no-spray", "no-plug"]
