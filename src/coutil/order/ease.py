"""The usual ease, where the order does not state it: by what closes the bodice and how thick its cloth is."""

from __future__ import annotations

import math
from typing import Final

from coutil.body import Body
from coutil.order.model import Cloth, Style

# Parts of the body's girth. A strapless garment holds by fit: common figures are 2 to 4 cm less than the body at the
# underbust and 2 to 5 at the waist, to 8 where it is laced (common practice, no source); as parts of the girth they
# suit small and large bodies alike, and stay under what is remarked on as tight. A zip, hooks or a busk have to close
# and are not drawn in later: less off the waist, more off the ribs.
_LACED: Final = {"bust": 0.0, "underbust": -0.028, "waist": -0.065, "high_hip": 0.0}
_CLOSED: Final = {"bust": 0.0, "underbust": -0.036, "waist": -0.042, "high_hip": 0.0}
# Cloth up to this thick, in mm, takes up nothing that counts; what is thicker lies that much farther out all round
# (by geometry: twice pi for each millimetre).
THIN: Final = 0.6


def usual_ease(style: Style, body: Body, cloth: tuple[Cloth, ...] = ()) -> dict[str, float]:
    """The usual ease of the whole girth by level, in mm, for a style on a body in the cloth of its shell."""
    laced = any(o.closed_with in ("lacing", "elastic") for o in style.opens)
    thick = max((c.thickness or 0.0 for c in cloth if "shell" in c.layers), default=0.0)
    more = math.tau * max(thick - THIN, 0.0)
    return {level: part * getattr(body, level) + more for level, part in (_LACED if laced else _CLOSED).items()}


def eased(style: Style, body: Body, cloth: tuple[Cloth, ...] = ()) -> dict[str, float]:
    """The ease that is drawn by level, in mm: what the order states, else the usual."""
    usual = usual_ease(style, body, cloth)
    stated = {level: getattr(style.ease, level) for level in usual}
    return {level: usual[level] if mm is None else mm for level, mm in stated.items()}
