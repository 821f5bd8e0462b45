"""Stiffness and weight of a grid. Boxes of one size and one Poisson's ratio share one matrix."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.sparse import csr_matrix
from skfem import Basis, BilinearForm
from skfem.helpers import ddot, eye, sym_grad, trace

from tests.bench.solid.case import Case, Material
from tests.bench.solid.grid import Floats, Grid, Ints

GRAVITY_N_KG = 9.80665
MM3_PER_M3 = 1e9


def materials(case: Case) -> list[Material]:
    return [case.material, *(bar.material for bar in case.bars)]


def kinds(grid: Grid, nu: Floats) -> tuple[Ints, Ints]:
    """A sample element of every kind, and the kind of every element."""
    mesh = grid.basis.mesh
    sides = np.ptp(mesh.p[:, mesh.t], axis=1)
    key = np.round(np.vstack([sides, nu[None, :]]), 6)
    _, sample, kind = np.unique(key, axis=1, return_index=True, return_inverse=True)
    return sample, kind.ravel()


def unit_matrices(grid: Grid, sample: Ints, nu: Floats) -> Floats:
    """Element stiffness [kind, 60, 60] for a modulus of one."""
    basis = Basis(
        grid.basis.mesh, grid.basis.elem, intorder=3, elements=sample, mapping=grid.basis.mapping
    )
    poisson = nu[sample][:, None] * np.ones((1, basis.X.shape[1]))

    found = BilinearForm(elastic).coo_data(basis, nu=poisson).tolocal()
    return np.asarray(found, dtype=np.float64)


def elastic(u: Any, v: Any, w: Any) -> Any:
    """Isotropic Hooke's law for a modulus of one."""
    shear = 0.5 / (1 + w.nu)
    lame = w.nu / ((1 + w.nu) * (1 - 2 * w.nu))
    strain = sym_grad(u)
    return ddot(2 * shear * strain + eye(lame * trace(strain), 3), sym_grad(v))


def stiffness(grid: Grid, case: Case) -> csr_matrix:
    made_of = materials(case)
    nu = np.array([made_of[part].nu for part in grid.part])
    modulus = np.array([made_of[part].e_mpa for part in grid.part])
    sample, kind = kinds(grid, nu)
    local = unit_matrices(grid, sample, nu)[kind] * modulus[:, None, None]
    dofs = grid.basis.element_dofs.T
    rows = np.broadcast_to(dofs[:, :, None], local.shape)
    columns = np.broadcast_to(dofs[:, None, :], local.shape)
    flat = (local.ravel(), (rows.ravel(), columns.ravel()))
    return csr_matrix(flat, shape=(grid.dofs, grid.dofs))


def weight(grid: Grid, case: Case) -> Floats:
    """The downward force of every degree of freedom, N."""
    made_of = materials(case)
    density = np.array([made_of[part].density_kg_m3 for part in grid.part]) / MM3_PER_M3
    mesh = grid.basis.mesh
    volume = np.prod(np.ptp(mesh.p[:, mesh.t], axis=1), axis=0)
    # Consistent shares of a 20-node box under an even body force: corners -1/8, edges +1/6.
    share = np.repeat([-1 / 8, 1 / 6], [8, 12])
    force = np.zeros(grid.dofs)
    for node in range(20):
        where = grid.basis.element_dofs[3 * node + 2]
        np.add.at(force, where, -share[node] * density * volume * GRAVITY_N_KG)
    return force
