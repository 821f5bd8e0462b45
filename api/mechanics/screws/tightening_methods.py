"""How much the tension scatters by the way a screw is tightened."""

from __future__ import annotations

from dataclasses import dataclass

_VDI = "VDI 2230, table of tightening factors"


@dataclass(frozen=True)
class Method:
    """alpha_A = Fmax/Fmin: the best and the worst that are met."""

    alpha_low: float
    alpha_high: float
    source: str


TIGHTENING_METHODS: dict[str, Method] = {
    "length by ultrasound": Method(1.05, 1.2, _VDI),
    "length measured": Method(1.1, 1.5, _VDI),
    "to yield or by angle": Method(1.2, 1.4, _VDI),
    "hydraulic": Method(1.2, 1.6, _VDI),
    "torque wrench, torque found by test": Method(1.4, 1.6, _VDI),
    "torque wrench, friction estimated": Method(1.6, 2.0, _VDI),
    "torque wrench, friction estimated, solid lubricant": Method(1.7, 2.5, _VDI),
    "power driver": Method(1.7, 2.5, _VDI),
    "impact driver or plain key": Method(2.5, 4.0, _VDI),
}
