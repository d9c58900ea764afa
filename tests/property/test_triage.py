"""What must hold of call triage whatever a caller says."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lastbee.triage.insects import INSECT_KEYS, prior_shares
from lastbee.triage.questions import NOT_KNOWN, QUESTIONS
from lastbee.triage.shares import FLOOR, TELLING, TOLD_BY, chances, expected_bits, shares_of
from lastbee.triage.triage import triage

months = st.integers(1, 12)
latitudes = st.none() | st.floats(-66.0, 66.0)
allergic = st.sampled_from(["yes", "no", "unknown"])
calls = st.fixed_dictionaries(
    {},
    optional={q.key: st.sampled_from([choice.key for choice in q.choices]) for q in QUESTIONS},
)


@given(calls, months, latitudes, allergic)
def test_shares_sum_to_one_and_none_falls_below_the_floor(call, month, latitude, who) -> None:
    shares = triage(call, month, latitude, who).shares
    assert sum(shares.values()) == pytest.approx(1.0, abs=1e-12)
    assert set(shares) == set(INSECT_KEYS)
    assert min(shares.values()) >= FLOOR
    assert list(shares.values()) == sorted(shares.values(), reverse=True)


@given(months, latitudes)
def test_prior_shares_sum_to_one(month, latitude) -> None:
    assert sum(prior_shares(month, latitude).values()) == pytest.approx(1.0, abs=1e-12)


@given(calls, months, latitudes, st.sampled_from([q.key for q in QUESTIONS]))
def test_what_is_not_known_changes_no_share(call, month, latitude, key) -> None:
    without = {k: v for k, v in call.items() if k != key}
    before = triage(without, month, latitude).shares
    assert triage({**without, key: NOT_KNOWN}, month, latitude).shares == before


@given(calls, months, latitudes, st.randoms(use_true_random=False))
def test_the_order_of_answers_does_not_matter(call, month, latitude, random) -> None:
    items = list(call.items())
    random.shuffle(items)
    assert triage(dict(items), month, latitude) == triage(call, month, latitude)


@given(calls, months, latitudes, st.sampled_from(sorted(TOLD_BY)))
def test_an_answer_for_an_insect_never_lowers_its_share(call, month, latitude, told) -> None:
    """Answers that an insect makes more often than every other are answers for it."""
    key, answer = told
    question = next(q for q in TELLING if q.key == key)
    likely = chances(question, answer)
    insect = max(likely, key=lambda one: likely[one])
    without = {k: v for k, v in call.items() if k != key}
    before = shares_of(without, month, latitude)
    after = shares_of({**without, key: answer}, month, latitude)
    assert after[insect] >= before[insect] - 1e-12


@given(calls, months, latitudes, st.sampled_from([q.key for q in QUESTIONS]))
def test_no_question_is_expected_to_tell_less_than_nothing(call, month, latitude, key) -> None:
    without = {k: v for k, v in call.items() if k != key}
    assert expected_bits(key, without, month, latitude) >= -1e-12


@given(calls, months, latitudes, allergic)
def test_urgency_stays_between_0_and_1_and_nothing_is_told_twice(
    call, month, latitude, who
) -> None:
    found = triage(call, month, latitude, who)
    assert 0.0 <= found.urgency.value <= 1.0
    keys = [telling.key for telling in found.tell_now]
    assert len(keys) == len(set(keys))
    assert {"keep-off", "no-spray"} <= set(keys)


@given(calls, months, latitudes, allergic, st.sampled_from(["ill", "trapped", "many", "at-risk"]))
def test_an_emergency_is_never_talked_down(call, month, latitude, who, stung) -> None:
    found = triage({**call, "stung": stung}, month, latitude, who)
    assert found.tell_now[0].key == "emergency"
    assert found.urgency.value == 1.0
