"""The seamings that come with coutil, with proportions that draw well."""

from __future__ import annotations

from typing import Final

from coutil.seaming.model import Seaming, SeamingPanel, SeamingSeam, Shares

# Front: of the whole half's reduction at the underbust 30, 40 and 10 of 100 lie on the princess seam's two edges and
# the side, 80 in all (common practice, no source). At the waist near 30 : 35 : 35 of the whole on common figures; at
# the high hip the flare lies mostly over the hip bone, at the side (both found by trial).
# Back: found by trial. The back princess seam takes part from the underbust down: the hollow of the back lies there and
# not at the side; without it the side back's side edge alone would slant by up to 5 cm at the waist.
PRINCESS_4: Final = Seaming(
    "princess-4",
    (
        SeamingPanel("centre front", "front"),
        SeamingPanel("side front", "front"),
        SeamingPanel("side back", "back"),
        SeamingPanel("centre back", "back"),
    ),
    (
        SeamingSeam(
            "front princess",
            near=Shares(0.375, 0.35, 0.25),
            far=Shares(0.5, 0.40, 0.30),
            cup=True,
            called="princess seam",
            edge_called="princess edge",
        ),
        SeamingSeam("side", near=Shares(0.125, 0.25, 0.45), far=Shares(0.5, 0.3, 0.5), side=True),
        SeamingSeam(
            "back princess",
            near=Shares(0.25, 0.35, 0.25),
            far=Shares(0.25, 0.35, 0.25),
            # Part of the back's width at the bust that the side back panel gets. Common practice.
            at=0.55,
            edge_called="princess edge",
        ),
    ),
)
