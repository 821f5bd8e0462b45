"""Reading a picture back: its elements by class, and the places its paths go through."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

SVG = "{http://www.w3.org/2000/svg}"
ALLOWED = {"svg", "title", "desc", "g", "path", "rect", "circle", "text"}
Place = tuple[float, float]


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own picture


def of_class(root: ET.Element, css: str) -> list[ET.Element]:
    return [each for each in root.iter() if css in (each.get("class") or "").split()]


def texts(root: ET.Element, css: str) -> list[str]:
    return [each.text or "" for each in of_class(root, css)]


def places(path: ET.Element) -> list[Place]:
    """The corners of a path made of absolute moves and lines."""
    pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d") or "")
    return [(float(x), float(y)) for x, y in pairs]


def number(element: ET.Element, name: str) -> float:
    return float(element.get(name) or "nan")


def view(root: ET.Element) -> list[float]:
    return [float(part) for part in (root.get("viewBox") or "").split()]
