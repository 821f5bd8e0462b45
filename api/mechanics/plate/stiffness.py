"""Stiffness matrices of a plate: bending on Bogner-Fox-Schmit rectangles, stretching on biquadratic ones."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.sparse import csc_array
from skfem import (
    Basis,
    CellBasis,
    ElementQuad2,
    ElementVector,
    MeshQuad1,
)

from api.mechanics.plate.element import HermiteRectangle
from api.mechanics.plate.rigidity import bending_rigidity, thickness_m
from api.mechanics.plate.shape import PlateShape

Array = npt.NDArray[np.float64]
GAUSS_DEGREE = 6


def bending_basis(mesh: MeshQuad1) -> CellBasis:
    """Unknowns w, w,x, w,y and w,xy at every grid point: bicubic, slopes continuous."""
    return Basis(mesh, HermiteRectangle(), intorder=GAUSS_DEGREE)


def bending_stiffness(basis: CellBasis, shape: PlateShape) -> csc_array:
    """K of the plate's bending energy, 1/2 int k' D k dA with k = (-w,xx, -w,yy, -2 w,xy)."""
    places = np.asarray(basis.global_coordinates())
    rigidity = bending_rigidity(shape, places[0], places[1])

    curvatures = [curvature(functions[0]) for functions in basis.basis]
    return _assembled(basis, np.array(curvatures), rigidity)


def curvature(w: Any) -> Any:
    second = w.hess
    return np.array([-second[0][0], -second[1][1], -2 * second[0][1]])


def stretching_basis(bending: CellBasis) -> CellBasis:
    """Unknowns u and v in the plate's plane on the same grid."""
    return bending.with_element(ElementVector(ElementQuad2()))


def stretching_stiffness(basis: CellBasis, shape: PlateShape) -> csc_array:
    """K of plane stress, 1/2 int e' A e dA with e = (u,x, v,y, u,y + v,x), A = E t/(1 - nu^2) [...].

    Bars are left out: they cross the pull rather than carry it.
    """
    places = np.asarray(basis.global_coordinates())
    nu = shape.nu
    pattern = np.array([[1.0, nu, 0.0], [nu, 1.0, 0.0], [0.0, 0.0, (1 - nu) / 2]])
    per_width = shape.e_pa / (1 - nu**2) * thickness_m(shape, places[0], places[1])

    strains = [strain(functions[0]) for functions in basis.basis]
    return _assembled(basis, np.array(strains), np.multiply.outer(pattern, per_width))


def strain(u: Any) -> Any:
    grad = u.grad
    return np.array([grad[0][0], grad[1][1], grad[0][1] + grad[1][0]])


def _assembled(basis: CellBasis, strains: Array, moduli: Array) -> csc_array:
    """Sum over cells of int e_i' D e_j dA for the functions' strains e (functions, 3, cells, places).

    `moduli` D (3, 3, cells, places). All cells at once, which the library's loop over pairs of
    functions is too slow for.
    """
    stresses = np.einsum("ij...,fj...->fi...", moduli * basis.dx, strains)
    count, cells = basis.Nbfun, basis.mesh.nelements
    rows, columns = (
        part.transpose(2, 0, 1, 3).reshape(cells, count, -1) for part in (strains, stresses)
    )
    element = rows @ columns.transpose(0, 2, 1)
    unknowns = basis.element_dofs.T
    at = np.broadcast_to(unknowns[:, :, None], element.shape).ravel()
    beside = np.broadcast_to(unknowns[:, None, :], element.shape).ravel()
    return csc_array((element.ravel(), (at, beside)), shape=(basis.N, basis.N))
