"""The grip as one linear programme per load, beside the facets."""

from __future__ import annotations

from api.mechanics.grip.cones import (
    SIDES,
    Wrench,
    friction_cones,
    scaled,
)
from api.mechanics.grip.contacts import Contacts
from api.mechanics.grip.programme import (
    NOT_HELD,
    Margin,
    holds_at_rest,
    multiple_from_rest,
    rest_vector,
)


def largest_multiple(
    contacts: Contacts, side_n: float, weight: Wrench, load: Wrench, sides: int = SIDES
) -> Margin:
    """The largest m for which contacts, weight and m times the load are in balance.

    maximise m  subject to  G λ + w0 + m w = 0,  p·λ = S,  λ >= 0,  m >= 0
    with the cone generators G (friction_cones), weight w0, load w and push S: the pressed
    contacts together push with exactly S, never more; fixed ones with what balance asks.
    Balance within the cones is necessary for holding. Real contacts may settle on a less
    favourable distribution, so with Coulomb friction the multiple is an upper estimate; the small
    reach of the patches and low values of friction and push are there to offset that.
    Raises GripError for a negative push.
    """
    cones = friction_cones(contacts, sides)
    at_rest = rest_vector(cones, side_n, weight)
    if not holds_at_rest(cones, at_rest):
        return Margin(0.0, reason=NOT_HELD)
    return multiple_from_rest(cones, at_rest, scaled(cones, load))
