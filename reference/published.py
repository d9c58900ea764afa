"""Two published population models of a colony, as printed and apart from our own.

The engine of lastbee grew out of these; here they stand alone so that its limits, and
anyone's doubts, can be held against the papers. The two are different models with
different critical forager losses (0.355 and 0.462 a day): never mix their numbers.

- 2011 [1]_: hive bees H and foragers F. dH/dt = L N/(w + N) - H R, dF/dt = H R - m F,
  R = alpha - sigma F/N, N = H + F.
- 2013 [2]_: open brood B and stored food f as well; capped brood is a delay tau.
  dB/dt = L S - phi B, dH/dt = phi B(t - tau) - H R, dF/dt = H R - m F,
  df/dt = c F - gamma_A (F + H) - gamma_B B, S = u H/(H + v), u = f^2/(f^2 + b^2),
  R = alpha_min + alpha_max (1 - u) - sigma F/N.

Closed forms rest on the forager ratio J = F/H at rest, where recruitment balances
forager loss: alpha - sigma J/(1 + J) = m J.

References
----------
.. [1] Khoury, D. S., Myerscough, M. R. & Barron, A. B., "A quantitative model of honey
   bee colony population dynamics", PLoS ONE 6(4), e18491, 2011.
   doi:10.1371/journal.pone.0018491
.. [2] Khoury, D. S., Barron, A. B. & Myerscough, M. R., "Modelling food and population
   dynamics in honey bee colonies", PLoS ONE 8(5), e59084, 2013.
   doi:10.1371/journal.pone.0059084

Examples
--------
>>> round(critical_loss_2011(KHOURY_2011), 5)
0.3552
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Khoury2011:
    """Parameters of the two-compartment model; symbols of the paper in brackets.

    `laying_per_day` (L) eggs a day; `half_laying_bees` (w) bees at which half of them
    are raised; `recruitment_per_day` (alpha) recruitment without foragers;
    `inhibition_per_day` (sigma) its fall per unit share of foragers.
    """

    laying_per_day: float = 2000.0
    half_laying_bees: float = 27000.0
    recruitment_per_day: float = 0.25
    inhibition_per_day: float = 0.75


@dataclass(frozen=True, slots=True)
class Khoury2013:
    """Parameters of the model with brood and food; symbols of the paper in brackets.

    `laying_per_day` (L); `capping_per_day` (phi) 1 / days as open brood; `capped_days`
    (tau); `half_care_bees` (v) hive bees that raise half of the eggs; `half_food_g` (b)
    food at which half are raised; `recruitment_per_day` (alpha_min) when fed;
    `hunger_recruitment_per_day` (alpha_max) added without food; `inhibition_per_day`
    (sigma); `intake_g` (c) food per forager and day; `adult_need_g` (gamma_A) per adult
    and day; `brood_need_g` (gamma_B) per open brood cell and day.
    """

    laying_per_day: float = 2000.0
    capping_per_day: float = 1.0 / 9.0
    capped_days: float = 12.0
    half_care_bees: float = 5000.0
    half_food_g: float = 500.0
    recruitment_per_day: float = 0.25
    hunger_recruitment_per_day: float = 0.25
    inhibition_per_day: float = 0.75
    intake_g: float = 0.1
    adult_need_g: float = 0.007
    brood_need_g: float = 0.018

    @property
    def food_per_bee_g(self) -> float:
        """Food spent on one bee from egg to capping, kappa = gamma_B / phi. [g]."""
        return self.brood_need_g / self.capping_per_day


KHOURY_2011 = Khoury2011()
KHOURY_2013 = Khoury2013()


@dataclass(frozen=True, slots=True)
class RestingColony2011:
    """A colony at rest: hive bees and foragers. [bees]."""

    hive_bees: float
    foragers: float


@dataclass(frozen=True, slots=True)
class RestingColony2013:
    """A colony at rest: open brood cells, hive bees, foragers, and food.

    `food_g` is infinite for the colony with food without limit, whose stores then
    change by `food_gain_g` a day.
    """

    brood: float
    hive_bees: float
    foragers: float
    food_g: float
    food_gain_g: float


@dataclass(frozen=True, slots=True)
class RegimeEdges:
    """Forager losses that part the three fates of a colony in the 2013 model. [1/d].

    Below `stores_settle` food grows without limit; between the two, bees and food
    settle; above `colony_dies` no colony rests.
    """

    stores_settle: float
    colony_dies: float


def forager_ratio(
    recruitment_per_day: float, inhibition_per_day: float, loss_per_day: float
) -> float:
    """Foragers per hive bee at rest, J = F/H.

    Parameters
    ----------
    recruitment_per_day, inhibition_per_day
        alpha and sigma of either model. [1/d]
    loss_per_day
        Forager death rate m. [1/d]

    Returns
    -------
    The positive root of m J^2 - (alpha - sigma - m) J - alpha = 0. [unitless]

    Raises
    ------
    ValueError
        If the loss is not above 0.
    """
    if not loss_per_day > 0.0:
        msg = f"loss_per_day must be above 0, got {loss_per_day!r}"
        raise ValueError(msg)
    middle = recruitment_per_day - inhibition_per_day - loss_per_day
    root = math.sqrt(middle * middle + 4.0 * loss_per_day * recruitment_per_day)
    return (middle + root) / (2.0 * loss_per_day)


def rates_2011(
    hive_bees: float, foragers: float, loss_per_day: float, parameters: Khoury2011 = KHOURY_2011
) -> tuple[float, float]:
    """Rates of change of hive bees and foragers in the 2011 model.

    Parameters
    ----------
    hive_bees, foragers
        H and F, not both 0. [bees]
    loss_per_day
        Forager death rate m. [1/d]
    parameters
        Constants.

    Returns
    -------
    dH/dt and dF/dt. [bees/d]
    """
    bees = hive_bees + foragers
    emerging = parameters.laying_per_day * bees / (parameters.half_laying_bees + bees)
    recruitment = parameters.recruitment_per_day - parameters.inhibition_per_day * foragers / bees
    return (
        emerging - hive_bees * recruitment,
        hive_bees * recruitment - loss_per_day * foragers,
    )


def rest_2011(
    loss_per_day: float, parameters: Khoury2011 = KHOURY_2011
) -> RestingColony2011 | None:
    """Give the colony at rest in the 2011 model.

    Parameters
    ----------
    loss_per_day
        Forager death rate m, above 0. [1/d]
    parameters
        Constants.

    Returns
    -------
    F* = L/m - w J/(1 + J), H* = F*/J; None at and above the critical loss. [bees]

    Raises
    ------
    ValueError
        If the loss is not above 0.
    """
    ratio = _fed_ratio(loss_per_day, parameters)
    share = ratio / (1.0 + ratio)
    foragers = parameters.laying_per_day / loss_per_day - parameters.half_laying_bees * share
    if foragers <= 0.0:
        return None
    return RestingColony2011(hive_bees=foragers / ratio, foragers=foragers)


def critical_loss_2011(parameters: Khoury2011 = KHOURY_2011) -> float:
    """Forager death rate above which every colony of the 2011 model dwindles to nothing.

    Parameters
    ----------
    parameters
        Constants.

    Returns
    -------
    m_c = (L/2w) [alpha + sigma + sqrt((alpha - sigma)^2 + 4 sigma L/w)] / (alpha - L/w),
    or infinity where alpha <= L/w. [1/d]
    """
    alpha, sigma = parameters.recruitment_per_day, parameters.inhibition_per_day
    growth = parameters.laying_per_day / parameters.half_laying_bees
    if alpha <= growth:
        return math.inf
    root = math.sqrt((alpha - sigma) ** 2 + 4.0 * sigma * growth)
    return 0.5 * growth * (alpha + sigma + root) / (alpha - growth)


def age_at_onset_days_2011(loss_per_day: float, parameters: Khoury2011 = KHOURY_2011) -> float:
    """Mean age at which a bee begins to forage at rest.

    Parameters
    ----------
    loss_per_day
        Forager death rate m, above 0. [1/d]
    parameters
        Constants.

    Returns
    -------
    1/R* = 1/(m J); hive bees do not die in this model. [d]

    Raises
    ------
    ValueError
        If the loss is not above 0.
    """
    ratio = _fed_ratio(loss_per_day, parameters)
    return 1.0 / (loss_per_day * ratio)


def rates_2013(
    state: tuple[float, float, float, float],
    brood_then: float,
    loss_per_day: float,
    parameters: Khoury2013 = KHOURY_2013,
) -> tuple[float, float, float, float]:
    """Rates of change in the 2013 model.

    Parameters
    ----------
    state
        Open brood B [cells], hive bees H [bees], foragers F [bees], food f [g]. H and F
        not both 0.
    brood_then
        Open brood `capped_days` earlier, B(t - tau). [cells]
    loss_per_day
        Forager death rate m. [1/d]
    parameters
        Constants.

    Returns
    -------
    dB/dt, dH/dt, dF/dt, df/dt, per day. Nothing stops f at 0, as in the paper.
    """
    brood, hive_bees, foragers, food_g = state
    fed = food_g * food_g / (food_g * food_g + parameters.half_food_g**2)
    raised = fed * hive_bees / (hive_bees + parameters.half_care_bees)
    urge = parameters.recruitment_per_day + parameters.hunger_recruitment_per_day * (1.0 - fed)
    held = parameters.inhibition_per_day * foragers / (hive_bees + foragers)
    recruits = hive_bees * (urge - held)
    return (
        parameters.laying_per_day * raised - parameters.capping_per_day * brood,
        parameters.capping_per_day * brood_then - recruits,
        recruits - loss_per_day * foragers,
        parameters.intake_g * foragers
        - parameters.adult_need_g * (foragers + hive_bees)
        - parameters.brood_need_g * brood,
    )


def fed_rest_2013(
    loss_per_day: float, parameters: Khoury2013 = KHOURY_2013
) -> RestingColony2013 | None:
    """Give the colony at rest in the 2013 model while food is without limit.

    Parameters
    ----------
    loss_per_day
        Forager death rate m, above 0. [1/d]
    parameters
        Constants.

    Returns
    -------
    H* = L/(m J) - v, F* = J H*, B* = m F*/phi, and the daily gain of food; None where
    H* would not be above 0.

    Raises
    ------
    ValueError
        If the loss is not above 0.
    """
    ratio = _fed_ratio(loss_per_day, parameters)
    return _at_rest(ratio, 1.0, loss_per_day, parameters)


def rest_2013(
    loss_per_day: float, parameters: Khoury2013 = KHOURY_2013
) -> RestingColony2013 | None:
    """Give the colony whose bees and food both settle in the 2013 model.

    Parameters
    ----------
    loss_per_day
        Forager death rate m, above 0. [1/d]
    parameters
        Constants.

    Returns
    -------
    The colony at rest; None where food grows without limit or the colony dies.

    Raises
    ------
    ValueError
        If the loss is not above 0.

    Notes
    -----
    Food in balance fixes the forager ratio, J = gamma_A / (c - gamma_A - kappa m); the
    recruitment that holds this ratio fixes how well fed the colony is,
    1 - u = (m J + sigma J/(1 + J) - alpha_min) / alpha_max; then
    f* = b sqrt(u/(1 - u)) and H* = L u/(m J) - v.
    """
    if not loss_per_day > 0.0:
        msg = f"loss_per_day must be above 0, got {loss_per_day!r}"
        raise ValueError(msg)
    if paying_intake_share_2013(loss_per_day, parameters) >= 1.0:
        return None
    ratio, fed = _balanced(loss_per_day, parameters)
    if not 0.0 < fed < 1.0:
        return None
    return _at_rest(ratio, fed, loss_per_day, parameters)


def regime_edges_2013(parameters: Khoury2013 = KHOURY_2013) -> RegimeEdges:
    """Forager losses at which the fate of the colony changes in the 2013 model.

    Parameters
    ----------
    parameters
        Constants.

    Returns
    -------
    The two edges, found to 1e-12. [1/d]

    Raises
    ------
    ValueError
        If the constants have no such edges (a forager that never pays for herself).
    """
    from scipy.optimize import brentq

    # Beyond this loss no ratio of foragers feeds the colony.
    most = (parameters.intake_g - parameters.adult_need_g) / parameters.food_per_bee_g
    most *= 1.0 - 1e-9
    settle = brentq(lambda loss: _balanced(loss, parameters)[1] - 1.0, 1e-6, most, xtol=1e-12)
    dies = brentq(lambda loss: _spare_care(loss, parameters), settle, most, xtol=1e-12)
    return RegimeEdges(stores_settle=float(settle), colony_dies=float(dies))


def accumulation_intake_share_2013(
    loss_per_day: float, parameters: Khoury2013 = KHOURY_2013
) -> float:
    """Share of the usual intake below which a well-fed colony's stores stop growing.

    Parameters
    ----------
    loss_per_day
        Forager death rate m, above 0. [1/d]
    parameters
        Constants.

    Returns
    -------
    p = [gamma_A (1 + 1/J) + kappa m] / c with J of the well-fed colony. [unitless]

    Raises
    ------
    ValueError
        If the loss is not above 0.
    """
    ratio = _fed_ratio(loss_per_day, parameters)
    upkeep = parameters.adult_need_g * (1.0 + 1.0 / ratio)
    return (upkeep + parameters.food_per_bee_g * loss_per_day) / parameters.intake_g


def survival_intake_2013(
    loss_per_day: float, parameters: Khoury2013 = KHOURY_2013
) -> tuple[float, float]:
    """Share of the usual intake below which no colony rests, and the food left there.

    Parameters
    ----------
    loss_per_day
        Forager death rate m, above 0. [1/d]
    parameters
        Constants.

    Returns
    -------
    The share [unitless], found to 1e-12, and the food at which the last colony would
    rest [g].

    Raises
    ------
    ValueError
        If the loss is not above 0.
    """
    from scipy.optimize import brentq

    low = paying_intake_share_2013(loss_per_day, parameters) * (1.0 + 1e-9)
    high = accumulation_intake_share_2013(loss_per_day, parameters)

    def spare(share: float) -> float:
        scaled = replace(parameters, intake_g=share * parameters.intake_g)
        return _spare_care(loss_per_day, scaled)

    share = float(brentq(spare, low, high, xtol=1e-12))
    _, fed = _balanced(loss_per_day, replace(parameters, intake_g=share * parameters.intake_g))
    return share, parameters.half_food_g * math.sqrt(fed / (1.0 - fed))


def paying_intake_share_2013(loss_per_day: float, parameters: Khoury2013 = KHOURY_2013) -> float:
    """Share of the usual intake below which a forager never pays for herself.

    Parameters
    ----------
    loss_per_day
        Forager death rate m. [1/d]
    parameters
        Constants.

    Returns
    -------
    p = (gamma_A + kappa m) / c: her food and the rearing of her successor. [unitless]
    """
    need = parameters.adult_need_g + parameters.food_per_bee_g * loss_per_day
    return need / parameters.intake_g


def _fed_ratio(loss_per_day: float, parameters: Khoury2011 | Khoury2013) -> float:
    alpha, sigma = parameters.recruitment_per_day, parameters.inhibition_per_day
    return forager_ratio(alpha, sigma, loss_per_day)


def _balanced(loss_per_day: float, parameters: Khoury2013) -> tuple[float, float]:
    """Forager ratio that holds food in balance, and the fed share u it asks for."""
    surplus = parameters.intake_g * (1.0 - paying_intake_share_2013(loss_per_day, parameters))
    ratio = parameters.adult_need_g / surplus
    needed = loss_per_day * ratio + parameters.inhibition_per_day * ratio / (1.0 + ratio)
    hunger = (needed - parameters.recruitment_per_day) / parameters.hunger_recruitment_per_day
    return ratio, 1.0 - hunger


def _spare_care(loss_per_day: float, parameters: Khoury2013) -> float:
    """Eggs raised per hive bee and day in the smallest colony, less what replaces her."""
    ratio, fed = _balanced(loss_per_day, parameters)
    return parameters.laying_per_day * fed / parameters.half_care_bees - loss_per_day * ratio


def _at_rest(
    ratio: float, fed: float, loss_per_day: float, parameters: Khoury2013
) -> RestingColony2013 | None:
    hive_bees = parameters.laying_per_day * fed / (loss_per_day * ratio) - parameters.half_care_bees
    if hive_bees <= 0.0:
        return None
    foragers = ratio * hive_bees
    brood = loss_per_day * foragers / parameters.capping_per_day
    is_full = fed >= 1.0
    eaten = parameters.adult_need_g * (foragers + hive_bees) + parameters.brood_need_g * brood
    return RestingColony2013(
        brood=brood,
        hive_bees=hive_bees,
        foragers=foragers,
        food_g=math.inf if is_full else parameters.half_food_g * math.sqrt(fed / (1.0 - fed)),
        food_gain_g=parameters.intake_g * foragers - eaten if is_full else 0.0,
    )
