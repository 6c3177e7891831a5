"""Curves, offsets and regions in the flat plane, in millimetres. Knows nothing of clothes."""

from coutil.plane.change import crossing, crossings, pinned, shifted
from coutil.plane.curve import Curve, Pt, arc_through, closed_points, cubic, flattened, line
from coutil.plane.path import Box, Path, bend_bound, bezier, controls, is_straight, straight, turned_round, union
from coutil.plane.ray import rays_to
from coutil.plane.upright import upright_line

__all__ = [
    "Box",
    "Curve",
    "Path",
    "Pt",
    "arc_through",
    "bend_bound",
    "bezier",
    "closed_points",
    "controls",
    "crossing",
    "crossings",
    "cubic",
    "flattened",
    "is_straight",
    "line",
    "pinned",
    "rays_to",
    "shifted",
    "straight",
    "turned_round",
    "union",
    "upright_line",
]
