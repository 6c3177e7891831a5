"""The seaming: which panels, seams and openings a half has, as data. The one room that knows panels by their names."""

from coutil.seaming.model import (
    LEVELS,
    Opening,
    Part,
    Seaming,
    SeamingError,
    SeamingPanel,
    SeamingSeam,
    Shares,
    seam_role,
)
from coutil.seaming.naming import (
    CUP_ROLE,
    USUAL,
    USUAL_ROLES,
    part_named,
    place_named,
    proposed_names,
    seam_roles,
    usual_name,
)
from coutil.seaming.ready import PRINCESS_4
from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT, HEM, PAD_RIM, SIDE, TOP, EdgeKind, edge_kind

__all__ = [
    "CENTRE_BACK",
    "CENTRE_FRONT",
    "CUP_ROLE",
    "HEM",
    "LEVELS",
    "PAD_RIM",
    "PRINCESS_4",
    "SIDE",
    "TOP",
    "USUAL",
    "USUAL_ROLES",
    "EdgeKind",
    "Opening",
    "Part",
    "Seaming",
    "SeamingError",
    "SeamingPanel",
    "SeamingSeam",
    "Shares",
    "edge_kind",
    "part_named",
    "place_named",
    "proposed_names",
    "seam_role",
    "seam_roles",
    "usual_name",
]
