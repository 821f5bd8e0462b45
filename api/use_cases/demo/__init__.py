"""The demonstration shop: registers and eight months of past setups, made the way people make them."""

from api.use_cases.demo.filling import SETUPS, Progress, fill
from api.use_cases.demo.stores import DemoPerson, demo_people, demo_stores

__all__ = ["SETUPS", "DemoPerson", "Progress", "demo_people", "demo_stores", "fill"]
