"""Stiffness matrices of a plate: bending on Bogner-Fox-Schmit rectangles, stretching on biquadratic ones."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.sparse import csc_array
from skfem import (
    Basis,
    BilinearForm,
    CellBasis,
    ElementQuad2,
    ElementVector,
    MeshQuad1,
    asm,
)

from api.mechanics.plate.element import HermiteRectangle
from api.mechanics.plate.rigidity import bending_rigidity, thickness_m
from api.mechanics.plate.shape import PlateShape

GAUSS_DEGREE = 6


def bending_basis(mesh: MeshQuad1) -> CellBasis:
    """Unknowns w, w,x, w,y and w,xy at every grid point: bicubic, slopes continuous."""
    return Basis(mesh, HermiteRectangle(), intorder=GAUSS_DEGREE)


def bending_stiffness(basis: CellBasis, shape: PlateShape) -> csc_array:
    """K of the plate's bending energy, 1/2 int k' D k dA with k = (-w,xx, -w,yy, -2 w,xy)."""
    places = np.asarray(basis.global_coordinates())
    rigidity = bending_rigidity(shape, places[0], places[1])

    def energy(w: Any, v: Any, _: Any) -> Any:
        return np.einsum("i...,ij...,j...->...", curvature(w), rigidity, curvature(v))

    return csc_array(asm(BilinearForm(energy), basis))


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

    def energy(u: Any, v: Any, _: Any) -> Any:
        return per_width * np.einsum("i...,ij,j...->...", strain(u), pattern, strain(v))

    return csc_array(asm(BilinearForm(energy), basis))


def strain(u: Any) -> Any:
    grad = u.grad
    return np.array([grad[0][0], grad[1][1], grad[0][1] + grad[1][0]])
