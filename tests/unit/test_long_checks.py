"""Long checks and the benchmark of visits run through, on sizes too small to say anything."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

import numba
import numpy as np
import pytest

from bench import against_smcpy
from bench import run as bench_run
from bench.eight_visits import job_with_eight_visits
from lastbee.forecast import scores
from lastbee.jobs.assemble import assemble
from lastbee.jobs.assemble_visits import watch_of
from verify import other_running, run, running, visits_saving

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

PARTS = tuple(section.name for section in run.SECTIONS if section.name != "long_tests")
# One of each trouble, a leak and none, is two cases.
TWO_CASES = (
    "--inspections", "2", "--jobs", "2", "--trap-outs", "2", "--forecasts", "2", "--visited", "2",
    "--named", "1", "--colonies", "400", "--processes", "1",
)  # fmt: skip


@pytest.fixture(scope="module", autouse=True)
def one_thread() -> Iterator[None]:
    """Simulate small clouds without waking other cores for each."""
    threads = numba.get_num_threads()
    numba.set_num_threads(1)
    yield
    numba.set_num_threads(threads)


@pytest.fixture(scope="module")
def figures(tmp_path_factory: pytest.TempPathFactory) -> dict[str, float]:
    """Give what every part but the long tests writes about two cases of each."""
    out = tmp_path_factory.mktemp("verify") / "new" / "verify.json"
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "LEAST_RANKED", 2)
        patch.setattr(running, "uniformity", lambda *_: 1.0)
        patch.setattr(scores, "uniformity", lambda *_: 1.0)
        patch.setattr(other_running, "TROUBLES", ("leak",))
        for name, size in (("COLONIES", 400), ("RUNS", 60), ("LAST_DAY", 15)):
            patch.setattr(visits_saving, name, size)
        assert run.main(["--only", *PARTS, *TWO_CASES, "--out", str(out)]) == 0
    found: dict[str, float] = json.loads(out.read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize("part", PARTS)
def test_every_part_runs_and_says_how_long_it_took(figures: dict[str, float], part: str) -> None:
    assert figures[f"seconds_{part}"] > 0.0


@pytest.mark.parametrize("level", [50, 80, 90])
def test_coverage_of_the_clear_day_is_a_share(figures: dict[str, float], level: int) -> None:
    assert figures[f"coverage{level}"] in {0.0, 0.5, 1.0}


def test_forecasts_namings_and_savings_have_their_figures(figures: dict[str, float]) -> None:
    """Tests the names that others read, and that a saving is what its costs say."""
    assert figures["crps_vs_rule"] > 0.0
    assert figures["trouble_first"] in {0.0, 1.0}
    saved = 1.0 - figures["saving_planned_cost"] / figures["saving_weekly_cost"]
    assert figures["visits_saving"] == pytest.approx(saved)


@pytest.mark.parametrize("name", ["sbc_p_age", "running_p_empty_day"])
def test_only_broken_calibration_fails(name: str) -> None:
    """Tests ranks that are not uniform, and forecasts that are as bad as can be."""
    bad_elsewhere = {"coverage90": 0.0, "crps_vs_rule": 9.0, "trouble_first": 0.0}
    assert run.failures(bad_elsewhere | {name: 0.01}) == []
    (sentence,) = run.failures(bad_elsewhere | {name: 1e-5})
    assert name in sentence


def test_failed_long_tests_fail() -> None:
    assert run.failures({"long_tests_passed": 1.0}) == []
    assert run.failures({"long_tests_passed": 0.0}) != []


@pytest.mark.parametrize("size", ["inspections", "trap-outs"])
def test_too_few_ranks_to_judge_are_refused(size: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Tests the sentence: five ranks expected in each bin, the usual rule for chi-square."""
    with pytest.raises(SystemExit, match="2"):
        run.main([f"--{size}", "49"])
    assert f"--{size} 49 is too few" in capsys.readouterr().err


def test_a_later_part_that_breaks_down_leaves_the_figures_before_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_down(_: object) -> tuple[list[str], dict[str, float]]:
        raise RuntimeError("no more")

    parts = (
        run.Section("one", "One", 0, lambda _: (["told"], {"first": 1.0, "never": math.nan})),
        run.Section("two", "Two", 0, break_down),
    )
    monkeypatch.setattr(run, "SECTIONS", parts)
    out = tmp_path / "verify.json"
    with pytest.raises(RuntimeError, match="no more"):
        run.main(["--out", str(out)])
    assert json.loads(out.read_text(encoding="utf-8")).keys() == {"first", "seconds_one"}


def test_the_job_of_the_benchmark_has_eight_visits_of_nine_sightings() -> None:
    job = job_with_eight_visits()
    watch = watch_of(job, assemble(job))
    assert [len(visit.items) for visit in watch.visits] == [9] * 8
    assert len(watch.deeds) == 1


def test_an_update_of_few_colonies_is_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests the process of its own, on one thread: seconds, not hours; megabytes, not bytes."""
    monkeypatch.setenv("NUMBA_NUM_THREADS", "1")
    seconds, peak_mb = bench_run.visits_update(colonies=400, repeats=1)
    assert (seconds.key, peak_mb.key) == ("visits_update_seconds", "visits_peak_mb")
    assert 0.0 < seconds.value < 120.0
    assert 50.0 < peak_mb.value < 2000.0


def test_both_samplers_of_the_benchmark_find_the_same_trap_out() -> None:
    """Tests against smcpy, by less than a spread; the statistical tests are sharper."""
    ours, theirs = against_smcpy.compare(particles=300, runs=2)
    assert (np.abs(ours.mean - theirs.mean) < np.maximum(ours.spread, theirs.spread)).all()
    assert ours.seconds > 0.0
    assert theirs.scored > 0.0
