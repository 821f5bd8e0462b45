"""Facets of the cone of what contacts can do."""

import numpy as np

from api.mechanics.grip.cones import friction_cones
from api.mechanics.grip.facets import cone_facets, holdable
from tests.mechanics.grip_pieces import block


def test_facets_of_a_wedge_of_rays_are_its_walls() -> None:
    rays = np.eye(4)
    facets = cone_facets(rays)
    assert facets is not None
    assert sorted(map(tuple, facets.round(9) + 0.0)) == sorted(map(tuple, np.eye(4)))


def test_rays_without_facets_are_left_to_the_programme() -> None:
    line = np.column_stack([np.eye(4), -np.eye(4)[:, :1]])
    flat = np.eye(4)[:, :3]
    assert cone_facets(line) is None
    assert cone_facets(flat) is None


def test_every_friction_ray_lies_inside_its_facets() -> None:
    hold = holdable(block(), 16)
    assert hold.whole.facets is not None
    rays = friction_cones(block(), 16).columns
    reach = hold.whole.facets @ (rays / np.linalg.norm(rays, axis=0))
    assert reach.min() > -1e-8
    assert ((reach < 1e-8).sum(axis=1) >= 6).all()
