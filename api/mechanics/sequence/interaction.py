"""Links pressed by jacks that share an elastic plate, and the linear response of their forces.

A jack that is not turned keeps its spread, so turning another one changes its force.

    (diag(own) + G) f = J u - g      while every link touches

symbols: f link forces (m,) [N], compression positive; u spread of each jack (n,) [m]; own compliance
of each link with its jaws and contacts (m,) [m/N]; G coupling, the opening of link i per newton in
link j through the plate and anchors (m, m) [m/N]; J which jack presses which link (m, n); g gap to
close before a link touches (m,) [m]. The force a torque sets is the mean over a jack's links.
Source: the elastic interaction coefficient method for bolted joints, written with compliances.
Range: small displacement; compliances constant while the set of touching links does not change.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

LARGEST_CONDITION = 1e12
SYMMETRY_ERROR = 1e-8


class InteractionError(ValueError):
    """The compliances cannot belong to jacks and links that hold together."""


@dataclass(frozen=True, eq=False)
class Interaction:
    """Compliances of m links and which of n jacks press them; checked when made."""

    own_m_per_n: Floats  # (m,)
    coupling_m_per_n: Floats  # (m, m)
    presses: Floats  # (m, n), how many jaws of the jack press the link
    gap_m: Floats = field(default_factory=lambda: np.zeros(0))  # (m,), empty means just touching

    def __post_init__(self) -> None:
        for name in ("own_m_per_n", "coupling_m_per_n", "presses"):
            object.__setattr__(self, name, np.array(getattr(self, name), dtype=np.float64))
        gap = self.gap_m if np.size(self.gap_m) else np.zeros(self.own_m_per_n.shape)
        object.__setattr__(self, "gap_m", np.array(gap, dtype=np.float64))
        _check_shapes(self)
        _check_finite(self)
        _check_presses(self.presses)
        _check_compliance(self)

    @property
    def links(self) -> int:
        return int(self.own_m_per_n.size)

    @property
    def jacks(self) -> int:
        return int(self.presses.shape[1])

    @cached_property
    def compliance_m_per_n(self) -> Floats:
        """diag(own) + G, made exactly symmetric (m, m)."""
        coupling = (self.coupling_m_per_n + self.coupling_m_per_n.T) / 2
        return np.asarray(np.diag(self.own_m_per_n) + coupling, dtype=np.float64)

    @cached_property
    def stiffness_n_per_m(self) -> Floats:
        """(diag(own) + G)^-1 with every link touching (m, m)."""
        inverse = np.linalg.inv(self.compliance_m_per_n)
        return np.asarray((inverse + inverse.T) / 2, dtype=np.float64)

    @cached_property
    def mean(self) -> Floats:
        """Rows that take the mean over a jack's links (n, m): s = mean @ f."""
        return np.asarray((self.presses / self.presses.sum(axis=0)).T, dtype=np.float64)

    @cached_property
    def condition(self) -> float:
        """Condition number of diag(own) + G after scaling its diagonal to one."""
        scale = 1 / np.sqrt(np.diag(self.compliance_m_per_n))
        return float(np.linalg.cond(self.compliance_m_per_n * np.outer(scale, scale)))

    def jack_forces(self, link_n: Floats) -> Floats:
        """Mean force over each jack's links; any leading axes: (..., m) -> (..., n)."""
        return np.asarray(link_n @ self.mean.T, dtype=np.float64)


def _check_shapes(it: Interaction) -> None:
    m = it.own_m_per_n.shape[0] if it.own_m_per_n.ndim == 1 else 0
    if m == 0 or it.presses.ndim != 2 or it.presses.shape[1] == 0:
        raise InteractionError("There must be at least one link and one jack.")
    shapes = (it.coupling_m_per_n.shape, it.presses.shape[:1], it.gap_m.shape)
    if shapes != ((m, m), (m,), (m,)):
        raise InteractionError(
            f"{m} links need a coupling of {m} by {m}, {m} rows of presses and {m} gaps; got {shapes}."
        )


def _check_finite(it: Interaction) -> None:
    wrong = ~np.isfinite(it.own_m_per_n) | ~np.isfinite(it.gap_m)
    wrong |= ~np.isfinite(it.coupling_m_per_n).all(axis=1)
    if wrong.any():
        raise InteractionError(
            f"Links {np.flatnonzero(wrong).tolist()} have a compliance or gap that is not a finite number: "
            "a part, jaw or support there has zero stiffness. Give it a stiffness or a support."
        )
    if (it.own_m_per_n < 0).any():
        at = np.flatnonzero(it.own_m_per_n < 0).tolist()
        raise InteractionError(
            f"Links {at} have a negative compliance of their own. It must not be below 0."
        )


def _check_presses(presses: Floats) -> None:
    if not np.isfinite(presses).all() or (presses < 0).any():
        raise InteractionError("What a jack presses must be a number of jaws, 0 or more.")
    idle = np.flatnonzero(presses.sum(axis=0) == 0)
    if idle.size:
        raise InteractionError(
            f"Jacks {idle.tolist()} press on nothing. Give each a link to press on."
        )


def _check_compliance(it: Interaction) -> None:
    coupling = it.coupling_m_per_n
    largest = float(np.abs(coupling).max())
    if float(np.abs(coupling - coupling.T).max()) > SYMMETRY_ERROR * largest:
        raise InteractionError(
            "The coupling is not symmetric: what link i opens per newton in link j must equal what "
            "j opens per newton in i."
        )
    diagonal = np.diag(it.compliance_m_per_n)
    if (diagonal <= 0).any():
        at = np.flatnonzero(diagonal <= 0).tolist()
        raise InteractionError(
            f"Links {at} do not give at all under force. Give them a compliance above 0."
        )
    if not np.isfinite(it.condition) or it.condition > LARGEST_CONDITION:
        raise InteractionError(
            f"The compliances are too near a mechanism to solve (condition number {it.condition:.1e}). "
            "Look for a body held by almost nothing, or two links that are the same one."
        )
    if not _positive_definite(it.compliance_m_per_n):
        raise InteractionError(
            "The compliances are not positive definite: some pattern of forces would close gaps by itself "
            f"(condition number {it.condition:.1e}). Check the signs of the coupling."
        )


def _positive_definite(matrix: Floats) -> bool:
    try:
        np.linalg.cholesky(matrix)
    except np.linalg.LinAlgError:
        return False
    return True
