"""What a case is made of. Millimetres, newtons, megapascals; heights are above the plate's top."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Material:
    e_mpa: float
    nu: float
    density_kg_m3: float = 0.0


@dataclass(frozen=True)
class Box:
    """A rectangle in plan with a height: a bar above the top, or a pocket below it."""

    x_mm: tuple[float, float]
    y_mm: tuple[float, float]
    height_mm: float


@dataclass(frozen=True)
class Bar:
    box: Box
    material: Material


@dataclass(frozen=True)
class FacePush:
    """A horizontal force on a bar's upright face, spread evenly over a small patch."""

    x_mm: float
    y_mm: float
    height_mm: float
    angle_deg: float
    force_n: float
    wide_mm: float = 10.0
    high_mm: float = 10.0


@dataclass(frozen=True)
class BodyPush:
    """A force on a clamp body: shear and couple brought into the top over a square footprint."""

    x_mm: float
    y_mm: float
    height_mm: float
    angle_deg: float
    force_n: float
    footprint_mm: float = 20.0


Push = FacePush | BodyPush


@dataclass(frozen=True)
class Pad:
    """A one-sided annular pad under the plate; the pull acts down, even over the bore."""

    x_mm: float
    y_mm: float
    outer_mm: float
    bore_mm: float
    stiffness_n_mm3: float
    pull_n: float


@dataclass(frozen=True)
class Case:
    title: str
    size_mm: tuple[float, float, float]
    material: Material
    bars: tuple[Bar, ...] = ()
    pockets: tuple[Box, ...] = ()
    pushes: tuple[Push, ...] = ()
    pads: tuple[Pad, ...] = ()
    base_stiffness_n_mm3: float = 0.0  # if given, the whole underside rests, pads only pull
    points_mm: tuple[tuple[float, float], ...] = ()
    plan_mesh_mm: float = 10.0

    def finer(self, plan_mesh_mm: float) -> Case:
        return replace(self, plan_mesh_mm=plan_mesh_mm)

    def corners_mm(self) -> tuple[tuple[float, float], ...]:
        length, width, _ = self.size_mm
        return ((0.0, 0.0), (length, 0.0), (0.0, width), (length, width))

    def grid_mm(self, across: int = 5) -> tuple[tuple[float, float], ...]:
        length, width, _ = self.size_mm
        return tuple(
            (length * i / (across - 1), width * j / (across - 1))
            for j in range(across)
            for i in range(across)
        )
