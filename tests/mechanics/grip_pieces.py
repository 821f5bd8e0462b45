"""Held pieces that several tests of the grip share."""

from math import cos, pi, sin

from api.mechanics.grip.contacts import Contacts, Patch, Vector, spread

SIDE_N = 8000.0
WIDTH_M, LENGTH_M, HEIGHT_M, CONTACT_M = 0.050, 0.036, 0.024, 0.010


def block(
    friction: float = 0.12,
    seat_friction: float = 0.12,
    strip_m: tuple[float, float] = (0.012, 0.012),
    size_m: Vector = (WIDTH_M, LENGTH_M, HEIGHT_M),
    contact_m: float = CONTACT_M,
) -> Contacts:
    """A block between a fixed face at x = 0 and a pressed one, on a seat at z = 0."""
    width, length, _ = size_m
    middle = length / 2
    return spread(
        [
            Patch((0, middle, contact_m), (1, 0, 0), friction, "fixed", *strip_m),
            Patch((width, middle, contact_m), (-1, 0, 0), friction, "pressed", *strip_m),
            Patch((width / 2, middle, 0), (0, 0, 1), seat_friction, "seat", length, width),
        ]
    )


def round_bar(undercut_rad: float, friction: float, *, seat: bool = True) -> Contacts:
    """A bar of 25 mm along y, between faces that lean over it, on a line of a seat."""
    radius, out, down = 0.0125, cos(undercut_rad), sin(undercut_rad)
    up = radius + radius * down
    patches = [
        Patch((-radius * out, 0, up), (out, 0, -down), friction, "fixed", width_m=0.02),
        Patch((radius * out, 0, up), (-out, 0, -down), friction, "pressed", width_m=0.02),
    ]
    level = Patch((0, 0, 0), (0, 0, 1), 0.0, "seat", height_m=0.03)
    return spread([*patches, level] if seat else patches)


def upright_round(friction: float) -> Contacts:
    """A round of 25 mm standing between two flats."""
    return spread(
        [
            Patch((-0.0125, 0, 0.01), (1, 0, 0), friction, "fixed", height_m=0.01),
            Patch((0.0125, 0, 0.01), (-1, 0, 0), friction, "pressed", height_m=0.01),
        ]
    )


def vee(friction: float) -> Contacts:
    """A round of 25 mm pushed into an upright V of 90 degrees."""
    radius, slope = 0.0125, pi / 4
    faces = [
        Patch(
            (-radius * cos(slope), sign * radius * sin(slope), 0.01),
            (cos(slope), -sign * sin(slope), 0),
            friction,
            "fixed",
            height_m=0.01,
        )
        for sign in (-1, 1)
    ]
    pressed = Patch((radius, 0, 0.01), (-1, 0, 0), friction, "pressed", height_m=0.01)
    return spread([*faces, pressed])


CORNERS: list[Vector] = [(x, y, HEIGHT_M) for x in (0.0, WIDTH_M) for y in (0.0, LENGTH_M)]
