"""Mass of a loaded plate from its geometry: plate less pockets, stops and parts.

Screws, clamp bodies and holes are not in a design file and are not counted.
"""

from __future__ import annotations

import math

from api.domain.designs.document import Design
from api.domain.designs.geometry import bar_axis
from api.domain.stores import Stores

LIFTING_LIMIT_KG = 23.0


def loaded_mass_kg(design: Design, stores: Stores) -> float | None:
    """Kilograms, or None where a material is not in the stores."""
    density = {key: material.density_kg_m3 for key, material in stores.materials.items()}
    plate, part = design.plate, design.part
    stops = [(stop.material or plate.material, stop) for stop in design.stops]
    if not {plate.material, part.material, *(name for name, _ in stops)} <= set(density):
        return None
    pockets = sum(p.size[0].value * p.size[1].value * p.depth.value for p in plate.pockets)
    volume = math.prod(size.value for size in plate.size) - pockets
    mass = volume * density[plate.material]
    mass += sum(math.prod(size.value for size in stop.size) * density[name] for name, stop in stops)
    return (
        mass
        + sum(_part_volume_m3(design, s.shape) for s in design.stations) * density[part.material]
    )


def needs_hoist(design: Design, stores: Stores) -> bool:
    mass = loaded_mass_kg(design, stores)
    return mass is not None and mass > LIFTING_LIMIT_KG


def _part_volume_m3(design: Design, shape: str) -> float:
    x, y, z = (size.value for size in design.part.size)
    box = x * y * z
    return box * math.pi / 4 if shape == "round" and bar_axis((x, y, z)) else box
