"""Every key of the order file: what it says, what is allowed, what it is without.

The reader, the writer and docs/order-file.md all work from this table, so none can know a key that another does not.
Limits are in mm and judgement (no source) unless a comment says otherwise: wide enough for any garment, narrow enough
to catch a slip of the unit.
"""

from __future__ import annotations

from dataclasses import fields
from typing import Final

from coutil.body import CUPS, MEASUREMENTS, SIDE_MEASUREMENTS
from coutil.order.build_keys import BUILD_TABLES, LAYERS, MADE_LISTED, MADE_TABLES, ROLES
from coutil.order.costs import Hours
from coutil.order.key import Key, Table, decimal_key, left_out, length_key
from coutil.order.packed import MOST_PACKED
from coutil.order.style_keys import STYLE_TABLES
from coutil.seaming.roles import CENTRE_BACK, CENTRE_FRONT

# What each key of [hours] stands for.
_HOURS: Final = {
    "measure": "talking with the client and measuring",
    "pattern": "printing, joining and checking the pattern",
    "cut": "laying and cutting",
    "fuse": "fusing the blocks",
    "pad": "setting and moulding the pads",
    "sew": "sewing and pressing the shell",
    "bone": "casings and bones",
    "closing": "eyelets, zip or hooks",
    "lining": "sewing the lining and setting it in",
    "fit": "fittings and what they change",
    "finish": "hand finishing and pressing off",
    "other": "anything else",
}

_HEIGHT: Final = "height of that level above the outline's lowest point"
_PLACE: Final = 5000
# The same keys stand in an order and in a file of their own beside the drawing, which is then named in the order.
OWN_TABLES: Final = (
    Table(
        "pattern",
        "A pattern that exists already, instead of a style: [style] may then only tell closing and lacing_gap. What is "
        "left out is taken from the file or proposed; `coutil trace` shows the proposals.",
        (
            Key("file", "text", "SVG or DXF file, or a .toml file with this table", high=400, required=True),
            length_key("scale", 1e-4, 1e3, "what one unit of the file measures", "that of the file"),
            Key("line", "choice", "what its outlines are", choices=("net", "cut"), default="what the file says"),
            length_key("allowance", 0, 80, "what lies between a cut line and the net line", "not stated"),
            Key(
                "corner",
                "decimal",
                "least turn of a corner of a polyline, in degrees; of curves a third",
                1,
                170,
                default="30",
            ),
            Key(
                "drawing",
                "text",
                "the file itself, packed, where the order carries it; coutil writes it as an order enters the book",
                high=MOST_PACKED,
                default="read from the disk, beside the order",
            ),
        ),
        ("panels", "seams"),
    ),
    Table(
        "pattern.panels",
        "One panel, from the centre front on; as many [[pattern.panels]] as there are. Without any, all are proposed.",
        (
            Key("outline", "text", "name of its outline in the file, or its number", high=120, required=True),
            Key("name", "text", "what it is called, such as side front", high=60, default="proposed"),
            Key(
                "side",
                "choice",
                "left or right where it serves one side only",
                choices=("both", "left", "right"),
                default='"both"',
            ),
            Key("fold", "choice", "its edge on the fold", choices=(CENTRE_FRONT, CENTRE_BACK), default="proposed"),
            Key("roles", "roles", "the roles of its sides, in their order", choices=ROLES, default="proposed"),
            Key("allowances", "lengths", "of a cut line: of its sides, in their order", 0, 80, default="allowance"),
            Key("corners", "places", "further corners, where its outline runs on smoothly", 0, _PLACE),
            Key("bust_point", "place", "the bust point", 0, _PLACE, default="what the file marks"),
            *(
                length_key(level, 0, _PLACE, _HEIGHT, "what the file marks")
                for level in ("bust", "underbust", "waist", "high_hip")
            ),
            Key(
                "grain", "places", "two places on the grain line", 0, _PLACE, default="what the file marks, or upright"
            ),
        ),
    ),
    Table(
        "pattern.seams",
        "Two edges that are sewn together; as many [[pattern.seams]] as there are. Without any, all are proposed.",
        (
            Key("name", "text", "what it is called, such as side", high=60, required=True),
            Key("a", "edge", "one edge", high=60, required=True),
            Key("b", "edge", "the other", high=60, required=True),
            length_key("ease", -60, 60, "by how much a is longer than b on purpose", "0"),
            length_key("peak", 0, 150, "how far b runs on above the end of a, unsewn", "0"),
        ),
    ),
)

# Tables of which there may be several, each under a header in double brackets.
LISTED: Final = ("cloth", "pattern.panels", "pattern.seams", "style.opening", "style.seam", *MADE_LISTED)

TABLES: Final[dict[str, Table]] = {
    t.name: t
    for t in (
        Table(
            "",
            "Before the first header.",
            (
                Key("coutil", "version", "version of this format", default="1"),
                Key("name", "text", "what the order is called on every sheet", high=120, default="the file's name"),
                Key("unit", "choice", "unit of plain numbers", choices=("cm", "mm", "in"), default='"cm"'),
            ),
            (
                "client",
                "body",
                "style",
                "pattern",
                "build",
                "cloth",
                "money",
                "hours",
                "notions",
                "maker",
                "bone",
                "eyelet",
                "cup",
                "wire",
                "house",
            ),
        ),
        Table(
            "client",
            "Who it is for.",
            (
                Key(
                    "label", "text", "how the client is called on the sheets, in any script", high=120, default="empty"
                ),
                Key("note", "text", "anything to remember", high=4000, default="empty", lines=True),
            ),
        ),
        Table(
            "body",
            "What the tape says. docs/measurements.md tells how each is taken. What stands here was taken; a needed "
            "reading that is left out is not taken, and nothing may be cut then; the others are filled by rule.",
            (
                *(
                    Key(m.key, "length", m.name, *m.possible, default=left_out(m), required=m.required)
                    for m in MEASUREMENTS
                ),
                Key(
                    "confirmed",
                    "flag",
                    "true: the readings are the client's own, although they are those of a standard size, as they "
                    "once stood in every new order",
                    default="false",
                ),
            ),
            ("left", "right", "standard"),
        ),
        Table(
            "body.standard",
            "The standard size (EN 13402-3) that is drawn in the place of needed readings that are left out of [body]. "
            "They are then not taken: a stop in the findings and a line on every sheet.",
            (
                Key("bust", "length", "bust girth of the size", 600, 1800, required=True),
                Key("cup", "choice", "cup of the size", choices=CUPS, required=True),
                Key(
                    "as_asked",
                    "flag",
                    "true: the order is for this size itself (a shop sample, a range, teaching); no reading may then "
                    "stand in [body], and the sheets name the size as the body",
                    default="false",
                ),
            ),
        ),
        *(
            Table(
                f"body.{side}",
                f"What differs on the wearer's {side} side.",
                tuple(Key(m.key, "length", m.name, *m.possible, default=m.rule or "") for m in SIDE_MEASUREMENTS),
            )
            for side in ("left", "right")
        ),
        *STYLE_TABLES,
        *OWN_TABLES,
        *BUILD_TABLES,
        Table(
            "cloth",
            "A material on the shelf; as many [[cloth]] as there are.",
            (
                Key("name", "text", "what it is", high=120, required=True),
                Key("for", "choices", "the layers that are cut from it", choices=LAYERS, required=True),
                length_key("width", 50, 4000, "full width, selvedges included", "not stated"),
                length_key("selvedge", 0, 100, "what cannot be used along each long side", "not stated"),
                length_key("on_hand", 0, 1e6, "length on the shelf", "not stated"),
                Key(
                    "price",
                    "money",
                    "price of price_per, or of a sheet; needs currency",
                    high=1e6,
                    default="not stated",
                ),
                Key("currency", "text", "ISO 4217 code in three capitals, such as EUR", high=3, default="not stated"),
                length_key("price_per", 10, 1e5, "the length that the price is for", "1 m"),
                length_key("sold_by", 1, 1e5, "the step in which it is sold", "not stated"),
                Key(
                    "direction",
                    "choice",
                    "one-way for nap and prints that have a top",
                    choices=("one-way", "two-way"),
                    default="not stated",
                ),
                Key("laid", "choice", "how it is laid to cut", choices=("single", "folded"), default="not stated"),
                length_key("gap", 0, 50, "least distance between pieces", "not stated"),
                Key(
                    "shrink_length", "percent", "shrinkage in length when fused or steamed", 0, 25, default="not stated"
                ),
                Key("shrink_width", "percent", "shrinkage in width when fused or steamed", 0, 25, default="not stated"),
                Key("sheet", "pair", "width and length of one sheet, if it comes in sheets", 20, 5000),
                Key("remnants", "pairs", "width and length of each remnant on hand", 10, 5000),
                length_key("thickness", 0.01, 30, "thickness of one ply, for the thread", "usual for its layer"),
                Key(
                    "pile",
                    "flag",
                    "whether it has a pile, as velvet: then not fused, and pressed otherwise",
                    default="false",
                ),
            ),
        ),
        Table(
            "money",
            "Rates from which the docket makes the price; without `hour` there is none. All amounts in one currency.",
            (
                Key(
                    "currency",
                    "text",
                    "ISO 4217 code in three capitals, such as EUR",
                    high=3,
                    default="that of the cloths",
                ),
                Key(
                    "locale",
                    "text",
                    "how amounts and dates are written: language and country, such as en_GB or de_AT",
                    high=30,
                    default='"en"',
                ),
                Key("hour", "money", "what one hour of work costs", high=1e6, default="not stated"),
                decimal_key("overhead", 0, 500, "percent on materials and labour, for rent, tools and the like"),
                decimal_key("margin", 0, 95, "percent of the price before tax that is left when all costs are paid"),
                decimal_key("tax", 0, 100, "percent of tax on the price"),
                Key("tax_name", "text", "what that tax is called on the quote", high=40, default='"tax"'),
                Key("valid_days", "whole", "for how many days a quote stands", 1, 3650, default="30"),
            ),
        ),
        Table(
            "hours",
            "Hours of work on this garment. Those left out are a start that your own clock should correct (no source). "
            "What the garment does not have (fusing, pads, lining, bones, a closing) is not counted.",
            tuple(decimal_key(f.name, 0, 1000, _HOURS[f.name], f"{getattr(Hours(), f.name)}") for f in fields(Hours)),
        ),
        *MADE_TABLES,
    )
}
