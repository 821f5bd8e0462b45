"""A design with all that is looked up for it, and what had to be assumed on the way."""

from __future__ import annotations

from dataclasses import dataclass, field

from api.domain.designs import geometry as g
from api.domain.designs.document import Clamp, Design, Spec, Station, Stop
from api.domain.designs.layout import Layout, layout_of
from api.domain.designs.specs import specs_of
from api.domain.stores import Material, Stores

USUAL_STIFFNESS_N_M = 50e6


@dataclass(frozen=True)
class Ground:
    """`leaning` names, for clamps that press one part only, the stop their other jaw leans on."""

    design: Design
    stores: Stores
    specs: dict[str, Spec]
    layout: Layout
    clamps: dict[str, Clamp]
    stops: dict[str, Stop]
    assumed: dict[str, None] = field(default_factory=dict)
    leaning: dict[str, str] = field(default_factory=dict)

    def assume(self, sentence: str) -> None:
        """Notes what was assumed, once."""
        self.assumed.setdefault(sentence)

    @property
    def plate_material(self) -> Material:
        return self.stores.materials[self.design.plate.material]

    def material_of(self, stop: Stop) -> Material:
        return self.stores.materials[stop.material or self.design.plate.material]

    def pressing(self, station: Station) -> list[Clamp]:
        """The clamps, one or two, among a station's anchors."""
        return [self.clamps[name] for name in station.between if name in self.clamps]

    def along(self, station: Station) -> g.Point:
        """The line of force through a station, a unit vector."""
        return g.direction(self.pressing(station)[0].axis_deg)

    def stations_of(self, clamp: Clamp) -> list[Station]:
        return [station for station in self.design.stations if clamp.id in station.between]

    def stiffness_n_m(self, clamp: Clamp) -> float:
        """Side stiffness of a clamp with its part and contacts."""
        given = self.specs[clamp.spec].stiffness
        if given is not None:
            return given.value
        self.assume(
            f"Side stiffness of {clamp.spec} with part and contacts: "
            f"{USUAL_STIFFNESS_N_M / 1e6:g} kN/mm."
        )
        return USUAL_STIFFNESS_N_M


def ground_of(design: Design, stores: Stores) -> Ground:
    """Needs a design whose materials and specs are all known, as the checker demands."""
    specs = specs_of(design, stores)
    return Ground(
        design,
        stores,
        specs,
        layout_of(design, specs),
        {clamp.id: clamp for clamp in design.clamps},
        {stop.id: stop for stop in design.stops},
    )
