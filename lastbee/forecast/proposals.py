"""Where the sampler's proposals come from: Gaussians fitted to the cloud itself.

A random part of a particle is drawn afresh from a Gaussian fitted to the other half of the
cloud: some of the coordinates, or some of the principal axes. See `lastbee.forecast.sampler`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

# Each particle draws the share of coordinates to change from this range.
LEAST_CHANGED, MOST_CHANGED = 0.05, 0.5
# Correlations below this over the root of the particles may be chance.
CHANCE_CORRELATION = 4.0
# Least variance along an axis, as a share of the coordinates' own.
LEAST_AXIS = 1e-3


@dataclass(frozen=True, slots=True)
class Gaussian:
    """A Gaussian as z = mean + sd turn u, u ~ N(0, I); `back` undoes `turn`.

    Both are None where the coordinates stand apart.
    """

    mean: Array
    sd: Array
    turn: Array | None = None
    back: Array | None = None

    def change(self, z: Array, rng: np.random.Generator) -> Array:
        """Draw a random part of each particle's u, at least one, afresh."""
        count, dimensions = z.shape
        share = rng.uniform(LEAST_CHANGED, MOST_CHANGED, (count, 1))
        is_changed = rng.random(z.shape) < share
        is_changed[np.arange(count), rng.integers(0, dimensions, count)] = True
        step = np.where(is_changed, -self._scaled(z), 0.0)
        step[is_changed] += rng.standard_normal(np.count_nonzero(is_changed))
        return np.asarray(z + self.sd * (step if self.turn is None else step @ self.turn.T))

    def log_ratio(self, z: Array) -> Array:
        """Log of prior over this Gaussian, up to a constant."""
        scaled = self._scaled(z)
        return 0.5 * np.asarray(np.einsum("ij,ij->i", scaled, scaled) - np.einsum("ij,ij->i", z, z))

    def _scaled(self, z: Array) -> Array:
        """The particles' u."""
        scaled = (z - self.mean) / self.sd
        return scaled if self.back is None else np.asarray(scaled @ self.back.T)


@dataclass(frozen=True, slots=True)
class Reference:
    """What proposals are drawn from: for each half of the cloud a fit to the other half.

    Resampling keeps families together and in order, so that the halves are unrelated but
    for the one family that straddles the middle.
    """

    first: Gaussian
    second: Gaussian

    @classmethod
    def of(cls, z: Array, *, along_axes: bool) -> Reference:
        """Fit each half of the cloud to the other half."""
        half = len(z) // 2
        return cls(_fit(z[half:], along_axes=along_axes), _fit(z[:half], along_axes=along_axes))

    def change(self, z: Array, rng: np.random.Generator) -> Array:
        """Propose for every particle."""
        half = len(z) // 2
        return np.concatenate([self.first.change(z[:half], rng), self.second.change(z[half:], rng)])

    def log_ratio(self, z: Array) -> Array:
        """Log of prior over reference, each half up to its own constant."""
        half = len(z) // 2
        return np.concatenate([self.first.log_ratio(z[:half]), self.second.log_ratio(z[half:])])


def _fit(z: Array, *, along_axes: bool) -> Gaussian:
    """Fit coordinates apart, or along principal axes where correlations are beyond chance.

    The prior counts as one particle, so that no fit collapses.
    """
    distinct = len(np.unique(z[:, 0]))
    mean = z.mean(axis=0)
    sd = np.sqrt((distinct * z.var(axis=0) + 1.0) / (distinct + 1.0))
    if not along_axes:
        return Gaussian(mean, sd)
    scaled = (z - mean) / sd
    correlation = scaled.T @ scaled / len(z)
    correlation[np.abs(correlation) < CHANCE_CORRELATION / np.sqrt(distinct)] = 0.0
    np.fill_diagonal(correlation, 1.0)
    spread, turn = np.linalg.eigh(correlation)
    root = np.sqrt(np.maximum(spread, LEAST_AXIS))
    return Gaussian(mean, sd, turn * root, (turn / root).T)
