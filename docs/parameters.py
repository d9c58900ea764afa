"""Symbols of the model's parameters on its page, and the ends of their ranges."""

from __future__ import annotations

import math

from lastbee.biology.constants import Column

# 5 % and 95 % points of the standard normal lie this far from its middle.
Z_90 = 1.6448536269514722
SYMBOLS = {
    Column.START_DAY: "d_0",
    Column.START_BEES: "N_0",
    Column.START_HONEY: "f_0",
    Column.START_COMB: "A_0",
    Column.CAVITY_COMB: r"A_{\max}",
    Column.LAYING_DELAY: r"\tau_q",
    Column.START_POLLEN: "p_0",
    Column.YOUNG_DAYS: "a_y",
    Column.QUEEN_LEAVES: "q_{out}",
    Column.BOX_BEES: "X_0",
    Column.BOX_LAYING_DELAY: r"\tau_x",
    Column.LAY_MAX: "L",
    Column.CARE_HALF: "v",
    Column.FOOD_HALF: "b",
    Column.RECRUIT_MIN: r"\alpha_{\min}",
    Column.RECRUIT_HUNGER: r"\alpha_{\max}",
    Column.INHIBITION: r"\sigma",
    Column.FORAGER_LOSS: "m",
    Column.NEST_LOSS: r"\mu",
    Column.INCOME: "c",
    Column.DEARTH: r"\delta",
    Column.ADULT_NEED: r"\gamma_A",
    Column.BROOD_NEED: r"\gamma_B",
    Column.POLLEN_INCOME: "c_p",
    Column.LARVA_POLLEN: r"\pi",
    Column.PROTEIN_RESERVE: r"\rho",
    Column.BUILD: r"\beta",
    Column.WAX_HONEY: "w",
    Column.DRONE_SHARE: r"\eta",
    Column.COVER: "k_c",
    Column.LEAK: r"\ell",
    Column.REENTRY: "r_b",
    Column.FLY: r"\psi",
    Column.CARRY: "h_c",
    Column.LAY_COUPLING: r"\gamma",
    Column.DESERT: "u_0",
    Column.DESERT_HALF: "K",
    Column.JOIN: "r_j",
    Column.DRIFT: "r_d",
    Column.WALL_LOSS: "r_w",
    Column.PASSABLE: r"\omega",
    Column.BOX_LEAVE: "x_l",
    Column.BOX_ROBBED: "x_r",
    Column.TRAPPED_PACE: r"\theta",
    Column.BODY_PROTEIN: r"\pi_0",
    Column.WARMING: "H_w",
}


def ends_90(kind: str, median: float, spread: float) -> tuple[float, float]:
    """Give the 5 % and 95 % points of a lognormal law, or of a logit-normal one (any other kind).

    `spread` is the standard deviation of the logarithm, or of the logit.
    """
    low, high = (math.exp(sign * Z_90 * spread) for sign in (-1.0, 1.0))
    if kind == "lognormal":
        return median * low, median * high
    odds = median / (1.0 - median)
    return odds * low / (1.0 + odds * low), odds * high / (1.0 + odds * high)
