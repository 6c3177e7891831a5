"""Curves, offsets and regions in the flat plane, in millimetres. Knows nothing of clothes."""

from coutil.plane.change import crossing, crossings, pinned, shifted
from coutil.plane.curve import Curve, Pt, arc_through, closed_points, cubic, flattened, line
from coutil.plane.ray import ray_to
from coutil.plane.upright import upright_line

__all__ = [
    "Curve",
    "Pt",
    "arc_through",
    "closed_points",
    "crossing",
    "crossings",
    "cubic",
    "flattened",
    "line",
    "pinned",
    "ray_to",
    "shifted",
    "upright_line",
]
