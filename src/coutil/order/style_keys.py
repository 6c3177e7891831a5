"""The keys of [style]: the seaming, the lines of top and hem, the openings, the ease."""

from __future__ import annotations

from typing import Final

from coutil.order.key import Key, Table, length_key
from coutil.seaming import CLOSINGS, ELASTIC_DRAWN, OWN, PLACES, READY

_EASE: Final = "more (or, negative, less) than the body there"

STYLE_TABLES: Final = (
    Table(
        "style",
        "What the garment looks like.",
        (
            Key(
                "seaming",
                "choice",
                "which panels and seams a half has; own: those of [[style.seam]]",
                choices=(*READY, OWN),
                default='"princess-4"',
            ),
            Key(
                "neckline",
                "choice",
                "how the top runs over the front",
                choices=("plunge", "sweetheart", "straight", "scoop", "v", "pointed"),
                default='"sweetheart"',
            ),
            length_key(
                "plunge",
                -250,
                250,
                "lowest point of the neckline at the centre front, above the underbust level; negative: below it",
            ),
            length_key(
                "cup_height", 0, 250, "from the bust point up the princess seam to the centre front panel's end"
            ),
            length_key("peak", 0, 100, "how far the side front's princess edge runs on above that", "0"),
            Key(
                "upper",
                "part",
                "how much of what the top would stand off is taken in above the bust",
                0,
                1,
                default="0.5",
            ),
            length_key("side_top", 10, 350, "height of the top at the side seam, above the waist"),
            length_key("back_top", 10, 400, "height of the top at the centre back, above the waist"),
            Key(
                "back",
                "choice",
                "how the top runs over the back",
                choices=("straight", "scoop", "v"),
                default='"straight"',
            ),
            length_key("hem", -200, 450, "depth of the hem below the waist; negative: it ends above the waist"),
            length_key("hem_point", 0, 150, "how much deeper the hem hangs at the centre front", "0"),
            length_key("hem_point_back", 0, 150, "how much deeper the hem hangs at the centre back", "0"),
            Key(
                "hem_line",
                "choice",
                "whether that extra depth comes to a point or runs in a curve",
                choices=("pointed", "curved"),
                default='"pointed"',
            ),
            Key(
                "closing",
                "choice",
                "what closes the centre back, where no [[style.opening]] stands",
                choices=("lacing", "zip", "hooks"),
                default='"lacing"',
            ),
            length_key("lacing_gap", 0, 200, "what the lacing leaves open at the centre back", "5 cm"),
            *(
                Key(
                    f"centre_{part}",
                    "choice",
                    f"how the centre {part} is closed where it does not open",
                    choices=("fold", "seam"),
                    default='"fold"',
                )
                for part in ("front", "back")
            ),
            Key(
                "foam_ease",
                "flag",
                "add to the front what the foam's thickness takes up; needs thickness in [build.pad]",
                default="false",
            ),
        ),
        ("ease", "opening", "seam"),
    ),
    Table(
        "style.ease",
        "What the garment measures more than the body, around the whole body at each level. Negative draws in.",
        (
            length_key("bust", -200, 300, f"at the bust, {_EASE}", "the usual, by opening and cloth"),
            length_key("underbust", -200, 300, f"at the underbust, {_EASE}", "the usual, by opening and cloth"),
            length_key("waist", -250, 300, f"at the waist, {_EASE}", "the usual, by opening and cloth"),
            length_key("high_hip", -200, 400, f"at the high hip, {_EASE}", "the usual, by opening and cloth"),
        ),
    ),
    Table(
        "style.opening",
        "Where the bodice opens; as many [[style.opening]] as there are. With any, closing of [style] does not count.",
        (
            Key("at", "choice", "the place", choices=PLACES, required=True),
            Key(
                "with",
                "choice",
                "what closes it: a busk the centre front only, elastic the centre back only, a zip alone a side",
                choices=CLOSINGS,
                required=True,
            ),
            length_key(
                "gap",
                0,
                400,
                "what a lacing leaves open when worn; of elastic its flat width",
                "5 cm of a lacing, 8 cm of elastic",
            ),
            Key("drawn", "percent", "by how much elastic is drawn when worn", 0, 100, default=f"{ELASTIC_DRAWN:g}"),
        ),
    ),
    Table(
        "style.seam",
        'A seam of the seaming "own", from the centre front on; as many [[style.seam]] as there are. Without one at '
        "the side a panel lies under the arm; without one over the bust point the garment ends below the bust.",
        (
            Key("name", "text", "what it is called, such as front princess", high=60, required=True),
            Key("role", "choice", "where it lies", choices=("front", "side", "back"), required=True),
            Key(
                "at",
                "part",
                "where it stands at the highest level: in front the part of the front's width from the centre front, "
                "behind the part of the back's width from the side",
                0,
                1,
                default="settled by cup, or by role = side",
            ),
            Key(
                "near",
                "parts",
                "which part of what the front (or back) loses down to a level its edge towards the centre front takes; "
                "those of all edges of a front, and of a back, add up to 1",
                0,
                1,
                required=True,
            ),
            Key("far", "parts", "the same of its other edge", 0, 1, required=True),
            Key("cup", "flag", "whether it passes over the bust point", default="false"),
            Key("boned", "flag", "whether it bears a bone", default="true"),
        ),
    ),
)
