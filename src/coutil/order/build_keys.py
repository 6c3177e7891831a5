"""The keys that say how a bodice is made: layers, pads, kit and bones, notions, and what lies on the maker's shelf."""

from __future__ import annotations

from typing import Final

from coutil.order.costs import BONED
from coutil.order.key import Key, Table, decimal_key, length_key
from coutil.seaming import READY_ROLES
from coutil.seaming.roles import HEM, TOP

ROLES: Final = (*READY_ROLES, TOP, HEM)
# The layers that [build] can leave out or put in, from the outside in; the lining has a table of its own.
LAID: Final = ("lace", "shell", "flat_lining", "interfacing", "strength", "foam", "web")
# What the back kit is cut from.
KIT: Final = ("facing", "modesty_panel", "guard", "underlap")
LAYERS: Final = (
    "shell",
    "interfacing",
    "foam",
    "web",
    "lining",
    "lining_interfacing",
    "lace",
    "flat_lining",
    "strength",
    *KIT,
    "elastic",
    "net",
)
# What can carry bones: the allowances of the shell, or a layer to which channels are sewn.
CARRIERS: Final = ("shell", "strength", "lining")
EXTRA: Final = ("none", "fuller", "always")
# Kinds of bones that are sold (common practice, no source); the maker's own list names any of them.
KINDS: Final = ("flat_steel", "spiral_steel", "synthetic", "cane")
PLACES: Final = ("openings", "seams", "lines")

BUILD_TABLES: Final = (
    Table(
        "build",
        "How it is made.",
        (
            length_key("allowance", 0, 50, "seam allowance where [build.allowances] says nothing", "1/2 in"),
            Key(
                "layers",
                "choices",
                "the layers beside the lining, from the outside in; any but the shell can be left out",
                choices=LAID,
                default='["shell", "interfacing", "foam", "web"]',
            ),
        ),
        ("allowances", "pad", "lining", "lace", "kit", "bones"),
    ),
    Table(
        "build.allowances",
        "Seam allowance by edge role.",
        tuple(length_key(role, 0, 80, f"on {role.replace('_', ' ')} edges", "allowance of [build]") for role in ROLES),
    ),
    Table(
        "build.pad",
        "How the cup pad lies on the front panels.",
        (
            length_key("top_drop", 0, 60, "the pad starts this far below the centre front panel's end", "1 cm"),
            length_key("side_inset", 0, 100, "its outer top corner from the side seam", "1 in"),
            length_key("side_dip", 0, 60, "its outer top corner below the top edge", "1/4 in"),
            length_key("front_dip", 0, 60, "what it keeps from the neckline on the centre front panel", "1/4 in"),
            length_key("apart", 0, 60, "what the two pads keep from each other at the centre front", "1 cm"),
            length_key("beyond", 0, 150, "how far it reaches outwards beyond the root of the breast, at most", "3 cm"),
            length_key("catch", 0, 15, "what the princess seam catches of the pad", "1/8 in"),
            length_key("thickness", 0.5, 30, "thickness of the foam", "not known"),
            Key(
                "on",
                "choices",
                "the layers that carry pads; strength and lining only where they are made; an empty list means no pads",
                choices=("shell", "strength", "lining"),
                default='["shell"], or ["strength"] where there is one',
                empty=True,
            ),
        ),
    ),
    Table(
        "build.lining",
        "Write this header, even with nothing below it, to make a lining.",
        (
            Key("fused", "flag", "whether the lining is interfaced too", default="false"),
            Key(
                "smaller",
                "flag",
                "whether it is drawn smaller over the cup, by what the foam outside it takes up; needs thickness in "
                "[build.pad]",
                default="false",
            ),
        ),
    ),
    Table(
        "build.lace",
        "How lace or net lies over the shell, where it is among the layers: never fused, with allowances of its own.",
        (
            length_key("allowance", 0, 80, "its allowance on seams, centres and hem", "2 cm"),
            Key(
                "scallop",
                "flag",
                "whether its own finished edge lies on the top line; else the top has its allowance too",
                default="true",
            ),
        ),
    ),
    Table(
        "build.kit",
        "Write this header, even with nothing below it, for what an opening needs behind it: facings with channel "
        "lines and eyelet or hook places, modesty panel, guard, underlap, waist stay.",
        (
            Key("modesty", "flag", "a modesty panel behind a lacing", default="true"),
            length_key("overlap", 10, 120, "how far the modesty panel reaches under each laced edge", "4 cm"),
            length_key("guard", 10, 80, "finished width of the guard behind a zip or a busk", "3 cm"),
            length_key("underlap", 10, 60, "finished width of the underlap of hooks and buttons", "2.5 cm"),
            Key("stay", "flag", "a waist stay", default="true"),
            length_key("stay_less", 0, 40, "what the waist stay is shorter than the worn waist", "1.5 cm"),
            length_key("zip_allowance", 5, 60, "seam allowance along a zip, unless [build.allowances] tells", "2.5 cm"),
            Key("gripper", "flag", "gripper tape inside the top", default="false"),
            Key("loops", "flag", "two hanging loops at the side seams", default="true"),
            Key(
                "facing_of",
                "choice",
                "the layer whose cloth facings are cut from; as usual: the strength layer where there is one, else the "
                "shell, and if that has a pile or is lace the lining; a [[cloth]] for facings goes before it",
                choices=("usual", "shell", "strength", "lining"),
                default='"usual"',
            ),
        ),
    ),
    Table(
        "build.bones",
        "Where bones lie beside the seams and openings, and what carries them.",
        (
            Key(
                "on",
                "choices",
                "what carries the bones: the allowances of the shell, the strength layer, the lining; each named "
                "carries a set of its own",
                choices=CARRIERS,
                default='["strength"] where there is one, else ["shell"]',
            ),
            Key(
                "extra",
                "choice",
                "further lines at the centre front and beside the cup: none, for fuller busts, or always",
                choices=EXTRA,
                default='"none"',
            ),
        ),
    ),
)

MADE_LISTED: Final = ("bone", "eyelet", "cup", "wire")
MADE_TABLES: Final = (
    Table(
        "notions",
        "Bones, closing and thread: how they are used and what they cost, in the currency of [money].",
        (
            Key(
                "bones",
                "choices",
                "the seams and edges that bear bones",
                choices=BONED,
                default='["front_princess", "side", "back_princess", "centre_back"]',
            ),
            length_key("bone_clearance", 0, 50, "what a bone stops short of the lower end of its channel", "1 cm"),
            length_key("bone_clearance_top", 0, 50, "what a bone stops short of the upper end of its channel", "6 mm"),
            length_key("eyelet_spacing", 5, 100, "wished distance from eyelet to eyelet", "2.5 cm"),
            length_key(
                "eyelet_inset",
                3,
                50,
                "from the laced edge to the middle of the eyelets",
                "the first bone's channel and half of the eyelets' strip",
            ),
            Key("eyelet_spares", "whole", "eyelets that are bought beyond those that are set", 0, 100, default="4"),
            length_key("hook_spacing", 5, 100, "wished distance from hook to hook", "2 cm"),
            length_key("closing_inset", 0, 100, "first and last eyelet or hook from the hem and the top", "1 cm"),
            length_key("cord_open", 0, 500, "how far the lacing opens to dress, beyond its gap", "10 cm"),
            length_key("cord_tail", 0, 2000, "cord left to tie at each end", "40 cm"),
            Key("stitch", "choice", "ISO 4915 stitch of the seams", choices=("301", "401"), default='"301"'),
            length_key("stitch_length", 0.5, 10, "length of one stitch", "2.5 mm"),
            decimal_key("wastage", 0, 100, "percent of thread that is wasted", "12.5"),
            length_key("thread_spool", 1000, 1e7, "thread on one spool", "200 m"),
            *(
                Key(f"{name}_price", "money", f"price of {of}", high=1e6, default="not stated")
                for name, of in (
                    ("bone", "1 m of boning, tips included"),
                    ("casing", "1 m of casing"),
                    ("eyelet", "one eyelet"),
                    ("cord", "1 m of cord"),
                    ("zip", "the zip"),
                    ("hook", "one hook with its eye"),
                    ("thread", "one spool of thread"),
                    ("busk", "the busk"),
                    ("button", "one button with its loop"),
                    ("stay", "1 m of ribbon for the waist stay"),
                    ("gripper", "1 m of gripper tape"),
                    ("ribbon", "1 m of ribbon for hanging loops"),
                )
            ),
        ),
    ),
    Table(
        "maker",
        "Who makes it, as it stands on the quote.",
        (
            Key("name", "text", "name of the maker", high=120, default="empty"),
            Key("address", "text", "address, lines allowed", high=400, default="empty", lines=True),
            Key("tax_number", "text", "number under which the maker pays tax", high=60, default="empty"),
        ),
    ),
    Table(
        "bone",
        "A kind of bone on the shelf; as many [[bone]] as there are. The first that is for a place serves it; without "
        "any, flat steel of 7 mm serves openings and spiral steel of 6 mm all else, cut from a coil.",
        (
            Key("name", "text", "what it is", high=120, required=True),
            Key("kind", "choice", "what it is made of", choices=KINDS, required=True),
            length_key("width", 2, 30, "its width", required=True),
            Key(
                "for",
                "choices",
                "where it serves: beside openings, on seams, on lines within a panel",
                choices=PLACES,
                default="everywhere",
            ),
            Key("lengths", "lengths", "the lengths that are sold, tips included", 20, 1000, default="cut from a coil"),
            Key("price", "money", "price of 1 m, or of one where lengths are sold", high=1e6, default="not stated"),
        ),
    ),
    Table(
        "eyelet",
        "A kind of eyelet on the shelf; the first is used. Without any, one of 5 mm with a rim of 10 mm.",
        (
            Key("name", "text", "what it is", high=120, required=True),
            length_key("hole", 2, 20, "width of its hole", "5 mm"),
            length_key("rim", 4, 30, "outer width of its rim", "1 cm"),
            Key("price", "money", "price of one", high=1e6, default="eyelet_price of [notions]"),
        ),
    ),
    Table(
        "cup",
        "A moulded cup that can be bought ready; as many [[cup]] as there are. The best by base and depth is told.",
        (
            Key("name", "text", "what it is", high=120, required=True),
            Key("size", "text", "the bra size that it is sold as", high=30, default="not stated"),
            length_key("base", 40, 300, "width of its base across the root of the breast", required=True),
            length_key("depth", 10, 200, "its depth from the base to the apex", required=True),
            Key("volume", "decimal", "its volume in cm³", 10, 5000, default="not stated"),
            Key("price", "money", "price of a pair", high=1e6, default="not stated"),
            Key(
                "used",
                "flag",
                "true: it replaces the pads, which are cut away where it lies",
                default="false",
            ),
        ),
    ),
    Table(
        "wire",
        "An underwire; as many [[wire]] as there are. The best by length is told.",
        (
            Key("name", "text", "what it is", high=120, required=True),
            length_key("length", 80, 500, "length along its curve", required=True),
            length_key("diameter", 50, 300, "width between its ends", "not stated"),
            Key("price", "money", "price of a pair", high=1e6, default="not stated"),
        ),
    ),
)
