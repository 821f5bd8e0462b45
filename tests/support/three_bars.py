"""A design file in code: three bars, clamps between them, each pressing a block on either side."""

from __future__ import annotations

ROWS_MM = (50, 100, 150, 200)
HEAD = """\
format = "clampbook-design/1"
code = "TRI-03"
revision = "A"
title = "Blocks between three bars"

[part]
number = "TRI-03-1"
material = "6061-T6"
size = ["50 mm", "36 mm", "24 mm"]
tolerance = {{ thickness = "0.10 mm", parallelism = "0.20 mm" }}

[plate]
size = ["400 mm", "250 mm", "{thickness} mm"]
material = "6061-T6"

[receivers]
rest = "pads"
pull = "{pull} kN"
pad = {{ diameter = "40 mm", bore = "20 mm" }}
at = {receivers}

[[spec]]
id = "m8-taper"
kind = "cone"
thread = "M8"
strength = "12.9"
half_angle = "10 deg"
contact_radius = "5.5 mm"
engagement = "14 mm"
lubricant = "ep-grease"
stiffness = "{stiffness} kN/mm"
rated = {{ torque = "15 N*m", force = "12 kN" }}
"""
TAIL = """
[[point]]
id = "A"
at = ["200 mm", "125 mm"]
zero = "snug free"
read = "torqued locked"
limit = "{limit} mm"

[[cut]]
name = "face"
kind = "face"
diameter = "50 mm"
teeth = 5
depth = "{depth} mm"
width = "35 mm"
feed_per_tooth = "0.10 mm"
speed = "400 m/min"
lead = "45 deg"
worn = 1.3
height = "24 mm"
minutes = "0.9 min"

[tightening]
passes = {passes}
order = {order}
plate = "{plate}"
recheck = true
"""
CORNERS = "[100, 60], [300, 60], [100, 190], [300, 190]"


def three_bars(
    *,
    thickness: float = 25,
    pull: float = 15,
    receivers_mm: str = CORNERS,
    stiffness: float = 60,
    torque: float = 12,
    limit: float = 0.2,
    depth: float = 0.8,
    passes: str = "[0.3, 0.7, 1.0]",
    order: str = '"auto"',
    plate: str = "free",
    face: str = "fine",
) -> str:
    """The TOML text; lengths in mm, torque in N·m."""
    places = [pair.strip(" []").split(",") for pair in receivers_mm.split("],")]
    at = ", ".join(f'["{float(x):g} mm", "{float(y):g} mm"]' for x, y in places)
    text = HEAD.format(thickness=thickness, pull=pull, stiffness=stiffness, receivers=f"[{at}]")
    for number, x_mm in enumerate((20, 180, 360), start=1):
        text += (
            f'\n[[stop]]\nid = "S{number}"\ncorner = ["{x_mm} mm", "20 mm"]\n'
            f'size = ["20 mm", "210 mm", "20 mm"]\nface = "{face}"\njoint = "one piece"\n'
        )
    sides = ((40, 180, "S1", "S2"), (200, 360, "S2", "S3"))
    rows = [(y_mm, *side) for y_mm in ROWS_MM for side in sides]
    for number, (y_mm, left, right, low, high) in enumerate(rows, start=1):
        text += (
            f'\n[[clamp]]\nid = "C{number}"\nspec = "m8-taper"\n'
            f'at = ["{(left + right) / 2:g} mm", "{y_mm} mm"]\naxis = "x"\ntorque = "{torque:g} N*m"\n'
        )
        for part, (anchors, x_mm) in enumerate(
            ((f'"{low}", "C{number}"', left + 25), (f'"C{number}", "{high}"', right - 25))
        ):
            text += (
                f'\n[[station]]\nid = "P{2 * number - 1 + part}"\nbetween = [{anchors}]\n'
                f'at = ["{x_mm} mm", "{y_mm} mm"]\ncontact_height = "10 mm"\nshape = "block"\n'
            )
    return text + TAIL.format(limit=limit, depth=depth, passes=passes, order=order, plate=plate)
