"""Cloth, fusing blocks, placing: how much of each material an order needs, and where each piece lies on it."""

from coutil.lay.json import lay_json
from coutil.lay.model import Block, Lay, LayPlan, Placement
from coutil.lay.plan import plan
from coutil.lay.verify import lay_faults, verify

__all__ = ["Block", "Lay", "LayPlan", "Placement", "lay_faults", "lay_json", "plan", "verify"]
