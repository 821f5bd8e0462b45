"""Interactions that the tests of sequence share: worked examples and random ones."""

import numpy as np
from hypothesis import strategies as st

from api.mechanics.sequence.interaction import Floats, Interaction

MM_PER_N = 1e-3  # compliances of the worked examples are in mm/N


def single_links(own: list[float], coupling: list[list[float]]) -> Interaction:
    """One link per jack; values in 10^-6 mm/N."""
    return Interaction(
        np.array(own) * 1e-6 * MM_PER_N,
        np.array(coupling) * 1e-6 * MM_PER_N,
        np.eye(len(own)),
    )


def three_bolts() -> Interaction:
    return single_links([1.5] * 3, [[1, 0.4, 0.1], [0.4, 1, 0.4], [0.1, 0.4, 1]])


def chain(anchor: float) -> Interaction:
    """stop | part | jack | part | jack | part | stop; anchors `anchor` times as compliant as a part."""
    part = 1e-8
    presses = np.array([[1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    away = np.array([[1.0, 0.0], [-1.0, 1.0], [0.0, -1.0]])  # gap opened by a body moving along +x
    return Interaction(np.full(3, part), anchor * part * away @ away.T, presses)


ROW_M_PER_N = 1.1386066763425255e-05 * MM_PER_N
FLAT_M_PER_N = 7.095629737139172e-07 * MM_PER_N
FREE_M_PER_N = FLAT_M_PER_N * (1 + 12 * 27**2 / 30**2)


def rows_sharing_stops(rows: int, opening_m_per_n: float) -> Interaction:
    return Interaction(
        np.full(rows, ROW_M_PER_N), np.full((rows, rows), opening_m_per_n), np.eye(rows)
    )


def random_interaction(seed: int, links: int, jacks: int, strength: float = 1.0) -> Interaction:
    """Couplings of both signs; every link pressed by at least one jack, some by two."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(links, links))
    coupling = strength * 1e-8 * root @ root.T / links
    presses = np.zeros((links, jacks))
    presses[np.arange(links), np.arange(links) % jacks] = 1
    presses[rng.integers(0, links, jacks), np.arange(jacks)] = 1
    return Interaction(rng.uniform(0.3e-8, 3e-8, links), coupling, presses)


def unloading_interaction(seed: int, jacks: int, strength: float = 1.0) -> Interaction:
    """Couplings that fall off along a line, so that every jack only unloads the others."""
    rng = np.random.default_rng(seed)
    along = np.sort(rng.uniform(0, 1, jacks))
    coupling = strength * 1e-8 * np.exp(-2 * np.abs(along[:, None] - along))
    return Interaction(rng.uniform(0.5e-8, 2e-8, jacks), coupling, np.eye(jacks))


def targets(seed: int, jacks: int) -> Floats:
    return np.random.default_rng(seed).uniform(4e3, 16e3, jacks)


@st.composite
def problems(draw: st.DrawFn) -> tuple[Interaction, Floats]:
    jacks = draw(st.integers(1, 6))
    links = jacks + draw(st.integers(0, jacks))
    seed = draw(st.integers(0, 2**32 - 1))
    strength = draw(st.sampled_from([0.0, 0.05, 0.5, 2.0, 20.0]))
    return random_interaction(seed, links, jacks, strength), targets(seed + 1, jacks)
