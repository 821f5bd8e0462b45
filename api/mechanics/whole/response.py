"""The plate put down on its rests: any state, and how it answers small changes of force."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from api.mechanics.contact.rests import Receivers, Rests, pulls_of, rests_of
from api.mechanics.contact.settling import Settled, settle
from api.mechanics.whole.assembly import Assembly
from api.mechanics.whole.loaded import Loaded

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Memory:
    """States already found: without links by whether the studs pull, and where each kind last rested.

    `pushing` by (pulled, with links): the set from which the search for the next such state begins.
    """

    bare: dict[bool, State] = field(default_factory=dict)
    pushing: dict[tuple[bool, bool], Mask] = field(default_factory=dict)


@dataclass(frozen=True)
class Response:
    """Contacts first, then links: the small dense problem every state is solved from.

    `flexibility` (k + m, k + m) with own springs on its diagonal; `rigid` (k + m, 3) the gap each
    rigid motion opens; `loads` (unknowns, k + m) and their `halves` (places, k + m) per newton of each;
    `pull_load` and `pull_half` all studs together.
    """

    on: Loaded
    rests: Rests
    loads: Array
    halves: Array
    flexibility: Array
    rigid: Array
    pull_load: Array
    pull_half: Array
    memory: Memory = field(default_factory=Memory, repr=False)

    @property
    def contacts(self) -> int:
        return len(self.rests.x_m)


@dataclass(frozen=True)
class State:
    """The plate at rest: `field` over its unknowns, forces of links (m,) and of contacts (k,)."""

    field: Array
    link_n: Array
    contact_n: Array
    settled: Settled
    load: Array
    closing_m: Array | None


def response(on: Loaded, assembly: Assembly, near: Response | None = None) -> Response:
    """`near` is one of an assembly alike, in whose contacts to look first.

    Raises ValueError where a stud or pad lies off the plate.
    """
    solver, shape = on.solver, assembly.shape
    extent = (shape.length_m, shape.width_m)
    rests = rests_of(assembly.receivers, extent, assembly.contact_pa_m)
    contact_loads = solver.press_loads(rests.x_m, rests.y_m)
    pull_load = _pull_load(on, assembly.receivers)
    solved = solver.halves(np.column_stack([contact_loads, pull_load]))
    loads = np.column_stack([contact_loads, on.link_loads])
    halves = np.column_stack([solved[:, :-1], on.link_halves])
    flexibility = halves.T @ halves
    own = np.array([link.own_m_per_n for link in assembly.links])
    links = slice(len(rests.x_m), None)
    flexibility[links, links] = on.coupling_m_per_n
    flexibility[np.diag_indices_from(flexibility)] += np.concatenate([1 / rests.stiffness_n_m, own])
    rigid = loads.T @ solver.rigid
    memory = Memory()
    if near is not None and near.halves.shape[1] == halves.shape[1]:
        memory.pushing.update(near.memory.pushing)
    return Response(on, rests, loads, halves, flexibility, rigid, pull_load, solved[:, -1], memory)


def pulled_with(it: Response, factor: float) -> Response:
    """The same with `factor` times the pull of the studs."""
    memory = Memory(pushing=dict(it.memory.pushing))
    return replace(
        it, pull_load=it.pull_load * factor, pull_half=it.pull_half * factor, memory=memory
    )


def _pull_load(on: Loaded, receivers: Receivers) -> Array:
    x_m, y_m, pull_n = pulls_of(receivers)
    return np.asarray(on.solver.press_loads(x_m, y_m) @ pull_n)


def rest_state(it: Response, *, pulled: bool, closing_m: Array | None) -> State:
    """The plate at rest, pulled down or only lying there.

    `closing_m` (m,) is how far the jacks have closed each link, counted from the bare, unloaded plate;
    None leaves the links out. Raises NoEquilibrium where it cannot rest.
    """
    if closing_m is None and pulled in it.memory.bare:
        return it.memory.bare[pulled]
    k, kind = it.contacts, (pulled, closing_m is not None)
    some = slice(None) if closing_m is not None else slice(0, k)
    load, half = it.on.weight_load, it.on.weight_half
    if pulled:
        load, half = load + it.pull_load, half + it.pull_half
    gap = it.halves.T @ half
    if closing_m is not None:
        gap[k:] -= closing_m
    settled = settle(
        it.flexibility[some, some],
        gap[some],
        it.rigid[some],
        it.on.solver.rigid.T @ load,
        _where_to_begin(it, *kind),
    )
    it.memory.pushing[kind] = settled.pushing
    force = np.zeros(len(gap))
    force[some] = settled.force_n
    bent = it.on.solver.from_halves((half + it.halves @ force)[:, None])[:, 0]
    whole = bent + it.on.solver.rigid @ settled.rigid
    if closing_m is None:
        full = np.concatenate([settled.pushing, np.zeros(len(gap) - k, dtype=bool)])
        settled = replace(settled, force_n=force, pushing=full)
    state = State(whole, force[k:], force[:k], settled, load, closing_m)
    if closing_m is None:
        it.memory.bare[pulled] = state
    return state


def _where_to_begin(it: Response, pulled: bool, linked: bool) -> Mask | None:
    """What pushed in the last state of this kind, or in the bare plate with every link pressed.

    A plate that only lies there may rock on two of its pads, and where it comes to rest is then up to
    the search: it always begins anew for the first such state, and next time where it ended.
    """
    found = it.memory.pushing.get((pulled, linked))
    if found is None and linked and pulled and pulled in it.memory.bare:
        bare = it.memory.bare[pulled].settled.pushing[: it.contacts]
        found = np.concatenate([bare, np.ones(len(it.loads.T) - it.contacts, dtype=bool)])
    return found


def opening_m(it: Response, state: State) -> Array:
    """How far the plate, with no force of its own in the links, opens each link in this state."""
    return np.asarray(it.on.link_loads.T @ state.field)


def balance_error(it: Response, state: State) -> float:
    """Largest resultant left over, relative to the loads: forces and moments about the middle."""
    resultant = it.rigid.T @ state.settled.force_n + it.on.solver.rigid.T @ state.load
    size = np.abs(it.rigid).T @ np.abs(state.settled.force_n)
    return float(np.abs(resultant / np.maximum(size, 1e-9)).max())


def bonded(it: Response, pushing: npt.NDArray[np.bool_]) -> tuple[Array, Array]:
    """With the pushing contacts kept: the field per newton in each link, and the links' coupling.

    (unknowns, m) and G (m, m). Linear, so it holds as long as the same contacts push.
    """
    k = it.contacts
    on = np.flatnonzero(pushing[:k])
    bordered = np.block(
        [[it.flexibility[np.ix_(on, on)], it.rigid[on]], [it.rigid[on].T, np.zeros((3, 3))]]
    )
    scale = 1 / np.sqrt(np.maximum(np.abs(np.diag(bordered)), 1e-30))
    scale[-3:] = 1 / (scale[0] * np.abs(it.rigid[on]).max(axis=0))
    sides = np.vstack([it.flexibility[on, k:], it.rigid[k:].T])
    answer = -scale[:, None] * np.linalg.solve(
        bordered * scale[:, None] * scale, sides * scale[:, None]
    )
    solver = it.on.solver
    bent = solver.from_halves(it.halves[:, k:] + it.halves[:, on] @ answer[:-3])
    fields = bent + solver.rigid @ answer[-3:]
    coupling = it.on.coupling_m_per_n + sides.T @ answer
    return fields, (coupling + coupling.T) / 2


def lying(it: Response, state: State) -> Array:
    """For a plate that only lies there: the field per newton in each link, (unknowns, m).

    Its weight hardly bends it, so it keeps its own shape; the plane it lies in is fitted to the
    contacts that carry it, each weighed by its force.
    """
    k = it.contacts
    weight = np.sqrt(np.maximum(state.contact_n, 0.0))
    heights = it.flexibility[:k, k:]
    plane, *_ = np.linalg.lstsq(
        weight[:, None] * it.rigid[:k], weight[:, None] * heights, rcond=None
    )
    return np.asarray(it.on.link_fields - it.on.solver.rigid @ plane)
