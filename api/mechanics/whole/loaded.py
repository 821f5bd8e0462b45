"""The plate with its links, before it is put down on anything."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from api.mechanics.plate.solving import PlateSolver, solver_of
from api.mechanics.whole.assembly import Assembly, Link

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Loaded:
    """Per newton in each of m links, and under its own weight, with the corners held.

    `coupling_m_per_n` (m, m) is G = B' K^-1 B of bending, stretch and anchors: how far link i opens
    per newton in link j. Every field has one row per unknown of the plate.
    """

    solver: PlateSolver
    link_loads: Array
    link_fields: Array
    weight_load: Array
    weight_field: Array
    coupling_m_per_n: Array


def loaded(assembly: Assembly, spacing_m: float) -> Loaded:
    solver = solver_of(assembly.shape, spacing_m)
    bending, stretching = _link_loads(solver, assembly.links)
    weight = solver.weight_loads()
    fields = solver.deflections(np.column_stack([bending, weight]))
    links = fields[:, :-1]
    coupling = bending.T @ links + stretching.T @ solver.stretches(stretching)
    coupling = (coupling + coupling.T) / 2 + _anchors(assembly)
    return Loaded(solver, bending, links, weight, fields[:, -1], coupling)


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
