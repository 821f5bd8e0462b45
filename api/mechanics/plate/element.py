"""The Bogner-Fox-Schmit rectangle, from products of cubic Hermite polynomials."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from skfem import ElementQuadBFS
from skfem.element import DiscreteField

Array = npt.NDArray[np.float64]


class HermiteRectangle(ElementQuadBFS):  # type: ignore[misc]
    """Unknowns w, w,x, w,y and w,xy at the corners of an upright rectangle; bicubic.

    The library's own element inverts powers of the places themselves, which leaves few right digits
    in small cells far from the origin: none with cells of 1/200 of the plate, or where two grid
    lines all but meet. Here every cell has its own coordinates from 0 to 1.
    """

    def gbasis(
        self,
        mapping: Any,
        X: Array,  # noqa: N803
        i: int,
        tind: npt.NDArray[np.int64] | None = None,
    ) -> tuple[Any]:
        """The i-th of 16 functions with its derivatives at places of the cells, each (..., cells, places)."""
        mesh = mapping.mesh
        cells = np.arange(mesh.nelements) if tind is None else tind
        corners = mesh.p[:, mesh.t[:, cells]]
        low, high = corners.min(axis=1)[:, :, None], corners.max(axis=1)[:, :, None]
        place = (np.asarray(mapping.F(X, tind=cells)) - low) / (high - low)
        node, kind = divmod(i, 4)
        far = corners[:, node, :, None] > (low + high) / 2
        x, y = (
            hermite(place[axis], (high - low)[axis], far[axis], slope=bool(kind >> axis & 1))
            for axis in (0, 1)
        )
        twist = x[1] * y[1]
        return (
            DiscreteField(
                value=x[0] * y[0],
                grad=np.array([x[1] * y[0], x[0] * y[1]]),
                hess=np.array([[x[2] * y[0], twist], [twist, x[0] * y[2]]]),
            ),
        )


def hermite(
    s: Array, size: Array, far: npt.NDArray[np.bool_], *, slope: bool
) -> tuple[Array, Array, Array]:
    """Cubic over s from 0 to 1 with value 1, or slope 1 per length, at its near or far end.

    With its first and second derivative by length.
    """
    s, sign = np.where(far, 1 - s, s), np.where(far, -1.0, 1.0)
    if slope:
        value, first, second = s * (1 - s) ** 2, (1 - s) * (1 - 3 * s), 6 * s - 4
        return sign * size * value, first, sign * second / size
    value, first, second = (1 - s) ** 2 * (1 + 2 * s), 6 * s * (s - 1), 12 * s - 6
    return value, sign * first / size, second / size**2
