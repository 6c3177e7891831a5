"""Domes: what flat panels become when they are sewn up. The cup gauge, and what foam over a cup takes up."""

from coutil.dome.foam import foam_angle, foam_girth, foam_total
from coutil.dome.gauge import cup, cups, round_cup

__all__ = ["cup", "cups", "foam_angle", "foam_girth", "foam_total", "round_cup"]
