"""The sampler against posteriors that are known in closed form.

Each statistical check compares the mean of independent runs with its exact value by
Student's t over the runs. All seeds are fixed, so a check passes or fails for good; a
correct sampler had a chance of at most FALSE_ALARM to fail any one of them when the seeds
were chosen. About 40 comparisons are made in this file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr, ndtri

from lastbee.errors import DegenerateWeights, NotConverged
from lastbee.forecast import sampler
from lastbee.forecast.sampler import (
    Cloud,
    effective_size,
    family_effective_size,
    systematic_ancestors,
    temper,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    LogLikelihood = Callable[[Array, NDArray[np.uint64]], Array]

FALSE_ALARM = 1e-4
RUNS = 20


def clouds(log_likelihood: LogLikelihood, dimensions: int, count: int, seed: int) -> list[Cloud]:
    """Independent runs."""
    seeds = np.random.SeedSequence(seed).spawn(RUNS)
    return [temper(log_likelihood, dimensions, count, np.random.default_rng(s)) for s in seeds]


def agrees(values: list[float], exact: float, bias: float = 0.0) -> None:
    """Student's t of the runs' mean against `exact`, after an allowed bias of the method."""
    error = abs(np.mean(values) - exact) - bias
    limit = stats.t.isf(FALSE_ALARM / 2.0, len(values) - 1)
    assert error <= limit * np.std(values, ddof=1) / np.sqrt(len(values)), (np.mean(values), exact)


@pytest.mark.parametrize("sd", [2.0, 0.5, 0.01])
def test_one_gaussian_reading(sd: float) -> None:
    """Tests z ~ N(0, 1) read once as 1 with error `sd`, blunt to very sharp.

    Conjugate normal: mean 1/(1 + sd^2), variance sd^2/(1 + sd^2), evidence the density
    of 1 under N(0, 1 + sd^2) (any textbook). The log of an unbiased estimate lies low by
    half its variance, which is allowed for.
    """
    variance = sd * sd / (1.0 + sd * sd)
    found = clouds(lambda z, _: stats.norm.logpdf(z[:, 0], 1.0, sd), 1, 2000, seed=11)
    agrees([float(c.z.mean()) for c in found], 1.0 / (1.0 + sd * sd))
    agrees([float(c.z.var()) for c in found], variance, bias=2.0 * variance / 2000.0)
    log_z = [c.log_evidence for c in found]
    agrees(log_z, float(stats.norm.logpdf(1.0, 0.0, np.sqrt(1.0 + sd * sd))), bias=np.var(log_z))


def test_five_correlated_readings() -> None:
    """Tests a linear Gaussian reading of five correlated combinations.

    y = A z + e, e ~ N(0, R): posterior covariance (I + A' R^-1 A)^-1, mean that times
    A' R^-1 y, evidence N(y; 0, A A' + R).
    """
    mix = np.array(
        [
            [1.0, 0.8, 0.0, 0.0, 0.0],
            [0.0, 1.0, -0.7, 0.0, 0.0],
            [0.5, 0.0, 1.0, 0.3, 0.0],
            [0.0, 0.0, 0.0, 1.0, 0.9],
            [0.2, 0.0, 0.0, 0.0, 1.0],
        ]
    )
    error = 0.09 * (0.5 * np.eye(5) + 0.5)
    read = np.array([1.5, -0.5, 0.3, 2.0, 0.1])
    precision = np.linalg.inv(error)
    covariance = np.linalg.inv(np.eye(5) + mix.T @ precision @ mix)
    mean = covariance @ mix.T @ precision @ read

    def log_l(z: Array, _: NDArray[np.uint64]) -> Array:
        return stats.multivariate_normal.logpdf(read - z @ mix.T, np.zeros(5), error)

    found = clouds(log_l, 5, 2000, seed=12)
    for i in range(5):
        agrees([float(c.z[:, i].mean()) for c in found], float(mean[i]))
    for i, j in [(0, 0), (2, 2), (4, 4), (0, 1), (1, 2), (3, 4)]:
        found_ij = [float(np.cov(c.z, rowvar=False)[i, j]) for c in found]
        # Covariances of a finite cloud have a bias of the order of 1/n: 1 %.
        agrees(found_ij, float(covariance[i, j]), bias=0.01 * abs(covariance[i, j]))
    log_z = [c.log_evidence for c in found]
    exact = stats.multivariate_normal.logpdf(read, np.zeros(5), mix @ mix.T + error)
    agrees(log_z, float(exact), bias=np.var(log_z))


def test_two_modes_keep_their_weights() -> None:
    """Tests a likelihood of two narrow peaks at -2 and 2, heights 1 to 3.

    Each peak N(m, s) times the prior has mass height * N(m; 0, 1 + s^2): equal distance
    from the prior's centre leaves the weights 1/4 and 3/4.
    """
    spread = 0.2

    def log_l(z: Array, _: NDArray[np.uint64]) -> Array:
        low, high = (stats.norm.logpdf(z[:, 0], m, spread) for m in (-2.0, 2.0))
        return np.logaddexp(low, np.log(3.0) + high)

    found = clouds(log_l, 3, 2000, seed=13)
    agrees([float((c.z[:, 0] > 0.0).mean()) for c in found], 0.75)


@pytest.mark.parametrize("count", [600, 3000])
def test_narrow_mode_beside_the_prior_in_many_dimensions(count: int) -> None:
    """Tests a date known to a day or misremembered: a spike over a flat floor, 40 dimensions.

    Mass of the spike N(1, s): 0.92 N(1; 0, 1 + s^2); of the floor: its height. A cloud
    that proposes from a fit to itself loses most of the spike here. 1/n bias: 15/n.
    """
    spread, floor = 0.02, 0.005
    spike = 0.92 * float(stats.norm.pdf(1.0, 0.0, np.hypot(1.0, spread)))

    def log_l(z: Array, _: NDArray[np.uint64]) -> Array:
        return np.log(0.92 * stats.norm.pdf(z[:, 0], 1.0, spread) + floor)

    found = clouds(log_l, 40, count, seed=14)
    near = [float((np.abs(c.z[:, 0] - 1.0) < 6.0 * spread).mean()) for c in found]
    floor_near = floor * float(ndtr(1.0 + 6.0 * spread) - ndtr(1.0 - 6.0 * spread))
    agrees(near, (spike + floor_near) / (spike + floor), bias=15.0 / count)
    # What the reading does not speak of stays as the prior has it.
    agrees([float(c.z[:, 1:].mean()) for c in found], 0.0)
    agrees([float(c.z[:, 1:].var()) for c in found], 1.0, bias=3.0 / count)


@pytest.mark.parametrize(("yes", "asked"), [(7, 10), (0, 25), (180, 200)])
def test_beta_binomial_by_probit(yes: int, asked: int) -> None:
    """Tests a share with a flat prior, made from a normal deviate as the engine makes its own.

    Posterior Beta(yes + 1, asked - yes + 1), evidence 1/(asked + 1) for any `yes` (Bayes
    1763); the pooled cloud also against the whole Beta law by Kolmogorov and Smirnov,
    thinned by eight because particles are related.
    """
    exact = stats.beta(yes + 1, asked - yes + 1)
    found = clouds(lambda z, _: stats.binom.logpmf(yes, asked, ndtr(z[:, 0])), 1, 2000, seed=15)
    shares = [ndtr(c.z[:, 0]) for c in found]
    agrees([float(s.mean()) for s in shares], float(exact.mean()))
    agrees([float(s.var()) for s in shares], float(exact.var()), bias=float(exact.var()) / 1000.0)
    log_z = [c.log_evidence for c in found]
    agrees(log_z, -np.log(asked + 1.0), bias=np.var(log_z))
    thinned = np.concatenate([s[::8] for s in shares])
    assert stats.kstest(thinned, exact.cdf).pvalue > FALSE_ALARM


def test_randomness_inside_the_simulation_is_averaged_out() -> None:
    """Tests that the simulation's own noise is integrated over, not optimised.

    y = z + 0.6 g(seed) + e with g ~ N(0, 1), e ~ N(0, 0.3): z given y = 1.2 has precision
    1 + 1/(0.36 + 0.09), and g has posterior mean 0.6 y / 1.45.
    """

    def g(noise: NDArray[np.uint64]) -> Array:
        return ndtri((noise + 0.5) / 2.0**63)

    found = clouds(
        lambda z, noise: stats.norm.logpdf(1.2, z[:, 0] + 0.6 * g(noise), 0.3), 1, 2000, seed=16
    )
    variance = 1.0 / (1.0 + 1.0 / 0.45)
    agrees([float(c.z.mean()) for c in found], variance * 1.2 / 0.45)
    agrees([float(c.z.var()) for c in found], variance, bias=0.002 * variance)
    agrees([float(g(c.noise).mean()) for c in found], 0.6 * 1.2 / 1.45)


def test_half_of_space_forbidden() -> None:
    """Tests -inf: z > 1.5 only, mean of the truncated normal pdf/sf, evidence sf(1.5)."""
    found = clouds(lambda z, _: np.where(z[:, 0] > 1.5, 0.0, -np.inf), 2, 2000, seed=17)
    assert all((c.z[:, 0] > 1.5).all() for c in found)
    exact = float(stats.norm.pdf(1.5) / stats.norm.sf(1.5))
    agrees([float(c.z[:, 0].mean()) for c in found], exact)
    log_z = [c.log_evidence for c in found]
    agrees(log_z, float(stats.norm.logsf(1.5)), bias=np.var(log_z))


def test_effective_size_is_what_the_runs_show() -> None:
    """Tests the claimed worth against variance over variance of the runs' means, factor 2.5.

    The ratio of two variances from 20 runs alone spreads by a factor 2 each way (F law),
    averaged here over five coordinates.
    """
    found = clouds(lambda z, _: -0.5 * ((z - 1.0) ** 2).sum(axis=1) / 0.04, 5, 500, seed=18)
    means = np.array([c.z.mean(axis=0) for c in found])
    true = float(np.mean([c.z.var(axis=0) for c in found]) / means.var(axis=0, ddof=1).mean())
    claimed = float(np.mean([c.effective for c in found]))
    assert true / 2.5 < claimed < 2.5 * true


def test_family_of_copies_counts_once() -> None:
    """Tests 200 families of five copies: worth 200 but for the centring (1 - 1/200)."""
    values = np.random.default_rng(19).standard_normal(200)
    family = np.repeat(np.arange(200), 5)
    assert family_effective_size(values[family][:, None], family) == pytest.approx(199.0, abs=0.1)


def test_family_worth_is_taken_from_the_worst_dimension() -> None:
    """Tests a second dimension that is renewed in every particle beside one that is not."""
    rng = np.random.default_rng(20)
    family = np.repeat(np.arange(200), 5)
    kept, renewed = rng.standard_normal(200)[family], rng.standard_normal(1000)
    both = family_effective_size(np.column_stack([kept, renewed]), family)
    assert both == pytest.approx(family_effective_size(kept[:, None], family))
    assert family_effective_size(renewed[:, None], family) > 700.0


def test_one_family_is_worth_one() -> None:
    """Tests that a cloud of one ancestor claims nothing."""
    z = np.random.default_rng(21).standard_normal((50, 2))
    assert family_effective_size(z, np.zeros(50, dtype=np.intp)) == 1.0


def test_kish_effective_size() -> None:
    """Tests (sum w)^2 / sum w^2 (Kish 1965) on weights 1, 2, 3: 36/14; flat gives n."""
    assert effective_size(np.log([1.0, 2.0, 3.0]) - 700.0) == pytest.approx(36.0 / 14.0)
    assert effective_size(np.full(40, -1e4)) == pytest.approx(40.0)


class _Fixed:
    """Stands in for a generator: hands out one chosen uniform number."""

    def __init__(self, uniform: float) -> None:
        self.uniform = uniform

    def random(self) -> float:
        """Return the number."""
        return self.uniform


def test_systematic_resampling_is_unbiased_and_within_one() -> None:
    """Tests copies averaged over its one uniform number, by midpoints: n w to 1/400.

    Definition of systematic resampling (Carpenter, Clifford & Fearnhead 1999, from
    memory): each index gets the integer just below or above n w.
    """
    weights = np.random.default_rng(22).dirichlet(np.full(30, 0.3))
    count, steps = 50, 400
    copies = np.zeros((steps, 30))
    for k in range(steps):
        drawn = systematic_ancestors(weights, count, _Fixed((k + 0.5) / steps))  # type: ignore[arg-type]
        assert len(drawn) == count
        copies[k] = np.bincount(drawn, minlength=30)
    assert (np.abs(copies - count * weights) < 1.0).all()
    assert np.abs(copies.mean(axis=0) - count * weights).max() <= 1.0 / steps + 1e-9


def test_systematic_resampling_never_overruns() -> None:
    """Tests weights that sum to just under one with the last possible uniform number."""
    weights = np.full(3, (1.0 - 5e-7) / 3.0)
    drawn = systematic_ancestors(weights, 7, _Fixed(np.nextafter(1.0, 0.0)))  # type: ignore[arg-type]
    assert drawn.max() == 2
    assert (np.diff(drawn) >= 0).all()


@pytest.mark.parametrize(
    "weights", [[0.5, np.nan], [1.2, -0.2], [0.3, 0.3], [0.0, 0.0], [np.inf, 0.0]]
)
def test_systematic_resampling_refuses_bad_weights(weights: list[float]) -> None:
    """Tests weights that are no probabilities."""
    with pytest.raises(DegenerateWeights, match="sum"):
        systematic_ancestors(np.array(weights), 5, np.random.default_rng(0))


def test_same_seed_same_cloud() -> None:
    """Tests that a seed fixes everything and another seed changes it."""

    def run(seed: int) -> Cloud:
        return temper(lambda z, _: -8.0 * (z[:, 0] - 1.0) ** 2, 3, 200, np.random.default_rng(seed))

    first, again, other = run(1), run(1), run(2)
    for name in ("z", "noise", "log_likelihood"):
        np.testing.assert_array_equal(getattr(first, name), getattr(again, name))
    assert first.log_evidence == again.log_evidence
    assert not np.array_equal(first.z, other.z)


def test_cloud_carries_the_likelihood_of_its_own_points_and_seeds() -> None:
    """Tests that scores kept through resampling and moves belong to the particles."""

    def log_l(z: Array, noise: NDArray[np.uint64]) -> Array:
        return -3.0 * (z[:, 0] + noise / 2.0**63) ** 2

    cloud = temper(log_l, 2, 300, np.random.default_rng(3))
    np.testing.assert_allclose(cloud.log_likelihood, log_l(cloud.z, cloud.noise), rtol=1e-12)


def test_progress_climbs_to_one() -> None:
    """Tests that the power is told after each stage."""
    told: list[float] = []
    cloud = temper(
        lambda z, _: -500.0 * (z[:, 0] - 1.0) ** 2, 2, 500, np.random.default_rng(4), told.append
    )
    assert told[-1] == 1.0
    assert len(told) == cloud.stages > 2
    assert (np.diff(told) > 0.0).all()


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_bad_likelihood_is_refused(value: float) -> None:
    """Tests one bad value among good ones."""

    def log_l(z: Array, _: NDArray[np.uint64]) -> Array:
        found = np.zeros(len(z))
        found[3] = value
        return found

    with pytest.raises(DegenerateWeights, match="NaN or infinite"):
        temper(log_l, 2, 50, np.random.default_rng(5))


def test_impossible_evidence_is_refused() -> None:
    """Tests a likelihood that is -inf everywhere."""
    with pytest.raises(DegenerateWeights, match="no simulated colony"):
        temper(lambda z, _: np.full(len(z), -np.inf), 2, 50, np.random.default_rng(6))


def test_stopping_short_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tests that a climb cut short is never handed out as a posterior."""
    monkeypatch.setattr(sampler, "MOST_STAGES", 2)
    with pytest.raises(NotConverged, match="2 stages"):
        temper(lambda z, _: -1e6 * (z[:, 0] - 1.0) ** 2, 1, 100, np.random.default_rng(7))


def test_too_few_particles_are_refused() -> None:
    """Tests a count that cannot be split and fitted."""
    with pytest.raises(ValueError, match="count must be >= 8, got 3"):
        temper(lambda z, _: np.zeros(len(z)), 1, 3, np.random.default_rng(8))
