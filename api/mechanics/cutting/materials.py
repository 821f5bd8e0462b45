"""Specific cutting force by material group of VDI 3323."""

from dataclasses import dataclass
from typing import Final

KC_SPREAD_NOTE: Final = (
    "Specific cutting force from a table: ±15 to 20 % at best; sharp polished tools in aluminium"
    " can need 20 to 30 % less."
)

TABLE: Final = "carbide tool makers' tables by groups of VDI 3323, neutral rake, sharp edge"
MEMORY: Final = f"{TABLE}; exponent from general practice, not from the table"


@dataclass(frozen=True)
class SpecificForce:
    """kc1.1 and mc of one group in one edition of the table; hardness in Brinell or None."""

    group: str
    title: str
    hardness_hb: int | None
    kc11_pa: float
    mc: float
    source: str = TABLE
    edition: int | None = None


def _row(group: str, title: str, hb: int | None, kc11_mpa: float, mc: float) -> SpecificForce:
    return SpecificForce(group, title, hb, kc11_mpa * 1e6, mc)


def _edition(year: int, group: str, title: str, kc11_mpa: float, mc: float) -> SpecificForce:
    return SpecificForce(group, title, None, kc11_mpa * 1e6, mc, f"{TABLE}, {year}", year)


def _weak(group: str, title: str, kc11_mpa: float, mc: float) -> SpecificForce:
    return SpecificForce(group, title, None, kc11_mpa * 1e6, mc, MEMORY)


GROUPS: Final = (
    _row("P1", "steel below 0.25 % C, annealed", 125, 1350, 0.21),
    _row("P2", "steel from 0.25 % C, annealed", 190, 1500, 0.22),
    _row("P3", "steel below 0.55 % C, quenched and tempered", 250, 1675, 0.24),
    _row("P4", "steel from 0.55 % C, annealed", 220, 1700, 0.24),
    _row("P5", "steel from 0.55 % C, quenched and tempered", 300, 1900, 0.24),
    _row("P6", "low alloy steel, annealed", 200, 1775, 0.24),
    _row("P7", "low alloy steel, quenched and tempered", 275, 1675, 0.24),
    _row("P8", "low alloy steel, quenched and tempered", 300, 1725, 0.24),
    _row("P9", "low alloy steel, quenched and tempered", 350, 1800, 0.24),
    _row("P10", "tool or high alloy steel, annealed", 200, 2450, 0.23),
    _row("P11", "tool or high alloy steel, quenched and tempered", 325, 2500, 0.23),
    _row("P12", "ferritic or martensitic stainless steel", 200, 1875, 0.21),
    _row("P13", "martensitic stainless steel, quenched and tempered", 240, 1875, 0.21),
    _row("M14", "austenitic or duplex stainless steel", 180, 2150, 0.20),
    _row("K15", "grey iron, ferritic and pearlitic", 180, 1150, 0.20),
    _row("K16", "grey iron, pearlitic", 260, 1350, 0.28),
    _row("K17", "ductile iron, ferritic", 160, 1225, 0.25),
    _row("K18", "ductile iron, pearlitic", 250, 1350, 0.28),
    _row("K19", "malleable iron, ferritic", 130, 1225, 0.25),
    _row("K20", "malleable iron, pearlitic", 230, 1420, 0.30),
    _row("N21", "wrought aluminium, soft", 60, 700, 0.25),
    _row("N22", "wrought aluminium, hardened", 100, 800, 0.25),
    _row("N23", "cast aluminium up to 12 % Si", 75, 700, 0.25),
    _row("N24", "cast aluminium up to 12 % Si, hardened", 90, 700, 0.25),
    _row("N25", "cast aluminium above 12 % Si", 130, 750, 0.25),
    _row("N26", "free-cutting copper alloy", 110, 700, 0.27),
    _row("N27", "brass", 90, 700, 0.27),
    _row("N28", "copper", 100, 700, 0.27),
    _row("S31", "iron-base heat resisting alloy, annealed", 200, 2600, 0.24),
    _row("S32", "iron-base heat resisting alloy, aged", 280, 3100, 0.24),
    _row("S33", "nickel or cobalt base alloy, annealed", 250, 3300, 0.24),
    _row("S34", "nickel or cobalt base alloy, aged", 350, 3300, 0.24),
    _row("S35", "nickel or cobalt base alloy, cast", 320, 3300, 0.24),
    _edition(2017, "S36", "commercially pure titanium", 1700, 0.23),
    _edition(2022, "S36", "commercially pure titanium", 1160, 0.24),
    _edition(2017, "S37", "titanium alloy, alpha and beta", 2110, 0.22),
    _edition(2022, "S37", "titanium alloy, alpha and beta", 1245, 0.24),
    _weak("H38", "hardened steel, 55 HRC", 4600, 0.25),
    _weak("H39", "hardened steel, 60 HRC", 4700, 0.25),
    _weak("H40", "chilled cast iron", 4600, 0.25),
    _weak("H41", "hardened cast iron", 4600, 0.25),
    _weak("plastic", "acetal and similar plastics", 300, 0.20),
)


def specific_force(group: str, edition: int | None = None) -> SpecificForce:
    """The row of a group; of two editions the one with the higher force unless one is named.

    Raises KeyError if the group, or that edition of it, is not in the table.
    """
    rows = [
        row for row in GROUPS if row.group == group and (edition is None or row.edition == edition)
    ]
    if not rows:
        known = ", ".join(dict.fromkeys(row.group for row in GROUPS))
        year = "" if edition is None else f" in an edition of {edition}"
        raise KeyError(f"No material group {group}{year}; the groups are {known}.")
    return max(rows, key=lambda row: row.kc11_pa)
