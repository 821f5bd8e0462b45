"""What a milling cut is, and the arc over which a tooth is in the work."""

from dataclasses import dataclass
from math import acos, asin, isfinite, pi
from typing import Literal

MillKind = Literal["side", "face", "slot"]


class CutError(ValueError):
    """A cut that no cutter can make; the message says what to change."""


def require(good: bool, message: str) -> None:
    """Raise CutError with the message unless good."""
    if not good:
        raise CutError(message)


@dataclass(frozen=True)
class MillCut:
    """One milling cut.

    diameter_m D, teeth z, axial depth_m ap, radial width_m ae, feed_m fz per tooth,
    lead_rad κ (between the edge and the feed plane, π/2 for a square shoulder),
    helix_rad β (None: not known), worn K (multiplies the force; 1 for a sharp edge),
    kc11_pa and mc: specific force at a chip 1 mm thick and wide, and its exponent.
    runout_m e: how much farther out the worst tooth runs.
    side: ae from one edge; face: ae centred on the cutter; slot: ae is D.
    """

    kind: MillKind
    diameter_m: float
    teeth: int
    depth_m: float
    width_m: float
    feed_m: float
    lead_rad: float
    kc11_pa: float
    mc: float
    helix_rad: float | None = None
    worn: float = 1.0
    runout_m: float = 0.0

    def __post_init__(self) -> None:
        require_force_law(self.kc11_pa, self.mc, self.worn)
        sizes = (self.diameter_m, self.depth_m, self.width_m, self.feed_m)
        require(
            all(isfinite(size) and size > 0 for size in sizes),
            "Diameter, depth, width and feed per tooth must be above 0.",
        )
        require(self.teeth >= 1, "A cutter has at least one tooth.")
        require(self.width_m <= self.diameter_m * (1 + 1e-9), "Width of cut exceeds the diameter.")
        require(0 < self.lead_rad <= pi / 2 + 1e-9, "Lead angle must lie above 0 and up to 90 deg.")
        require(
            self.helix_rad is None or 0 <= self.helix_rad < pi / 2,
            "Helix angle must lie from 0 to below 90 deg.",
        )
        require(self.runout_m >= 0, "Runout cannot be negative.")


def require_force_law(kc11_pa: float, mc: float, worn: float) -> None:
    """Refuse a specific force law that is no force law."""
    require(isfinite(kc11_pa) and kc11_pa > 0, "Specific cutting force must be above 0.")
    require(0 <= mc < 1, "The chip thickness exponent must lie from 0 to below 1.")
    require(isfinite(worn) and worn > 0, "The worn-edge factor must be above 0.")


@dataclass(frozen=True)
class Arc:
    """Where a tooth enters and leaves, measured so that the chip is fz sin κ sin φ thick."""

    entry_rad: float
    exit_rad: float

    @property
    def width_rad(self) -> float:
        return self.exit_rad - self.entry_rad


def engagement(kind: MillKind, diameter_m: float, width_m: float) -> Arc:
    """The arc in which a tooth cuts.

    side: φs = acos(1 - 2 ae/D) from 0; face: φs = 2 asin(ae/D) about π/2; slot: 0 to π.
    Derived from the circle and its chord. A side cut is taken with the thin end first;
    with the thick end first the arc is its mirror image and every force size is the same.
    """
    share = min(width_m / diameter_m, 1.0)
    if kind == "slot":
        return Arc(0.0, pi)
    if kind == "side":
        return Arc(0.0, acos(1 - 2 * share))
    return Arc(pi / 2 - asin(share), pi / 2 + asin(share))


def arc_of(cut: MillCut) -> Arc:
    """The arc of a milling cut."""
    return engagement(cut.kind, cut.diameter_m, cut.width_m)
