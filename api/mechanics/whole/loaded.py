"""The plate with its links, before it is put down on anything."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from api.mechanics.plate.shape import PlateShape
from api.mechanics.plate.solving import PlateSolver, restiffened, solver_of
from api.mechanics.whole.assembly import Assembly, Link

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Loaded:
    """Per newton in each of m links, and under its own weight, with the corners held.

    `coupling_m_per_n` (m, m) is G = B' K^-1 B of bending, stretch and anchors: how far link i opens
    per newton in link j; `beside_bending_m_per_n` the part of the latter two. Loads and fields have one
    row per unknown of the plate, halves one per place of its factor.
    """

    solver: PlateSolver
    link_loads: Array
    link_halves: Array
    link_fields: Array
    weight_load: Array
    weight_half: Array
    beside_bending_m_per_n: Array
    coupling_m_per_n: Array


def loaded(assembly: Assembly, spacing_m: float) -> Loaded:
    solver = solver_of(assembly.shape, spacing_m)
    bending, stretching = _link_loads(solver, assembly.links)
    stretched = stretching.T @ solver.stretches(stretching)
    beside = (stretched + stretched.T) / 2 + _anchors(assembly)
    return _bent(solver, bending, solver.weight_loads(), beside)


def with_shares(on: Loaded, shape: PlateShape) -> Loaded:
    """The same plate but for the shares of its bars, which change its bending only."""
    solver = restiffened(on.solver, shape)
    return _bent(solver, on.link_loads, on.weight_load, on.beside_bending_m_per_n)


def _bent(solver: PlateSolver, links: Array, weight: Array, beside: Array) -> Loaded:
    halves = solver.halves(np.column_stack([links, weight]))
    link_halves, weight_half = halves[:, :-1], halves[:, -1]
    coupling = link_halves.T @ link_halves + beside
    fields = solver.from_halves(link_halves)
    return Loaded(solver, links, link_halves, fields, weight, weight_half, beside, coupling)


def _link_loads(solver: PlateSolver, links: tuple[Link, ...]) -> tuple[Array, Array]:
    pushes = [push for link in links for push in link.pushes]
    owner = np.repeat(np.arange(len(links)), [len(link.pushes) for link in links])
    gather = (owner[:, None] == np.arange(len(links))).astype(float)
    bending, stretching = solver.push_loads(pushes)
    return bending @ gather, stretching @ gather


def _anchors(assembly: Assembly) -> Array:
    """sum over anchors a v_i . v_j: a link opens when its own push, or another's, moves its anchor."""
    moves = np.zeros((len(assembly.links), len(assembly.anchors_m_per_n), 2))
    for i, link in enumerate(assembly.links):
        for end in link.ends:
            moves[i, end.anchor] += end.along
    return np.asarray(np.einsum("iad,a,jad->ij", moves, np.array(assembly.anchors_m_per_n), moves))
