"""The order file: read, check, write."""

from coutil.order.build_keys import KIT, LAID, LAYERS, ROLES
from coutil.order.costs import BONED, Hours, Money, Notions
from coutil.order.ease import eased, usual_ease
from coutil.order.house import House, house_text, stamped
from coutil.order.judge import judge_order
from coutil.order.model import (
    ALLOWANCE,
    BackLine,
    BoneBuild,
    Build,
    Centre,
    Client,
    Cloth,
    Ease,
    HemLine,
    Kit,
    Lace,
    Lining,
    Neckline,
    Order,
    PadBuild,
    Style,
    Unit,
)
from coutil.order.new import new_order
from coutil.order.new_house import house_page, new_house
from coutil.order.own import OwnPanel, OwnPattern, OwnSeam
from coutil.order.packed import packed, unpacked
from coutil.order.page import order_page
from coutil.order.read import parse_house, parse_order, parse_own, read_house, read_order, read_own, tables_of
from coutil.order.refusal import OrderError, PackedError
from coutil.order.shelf import BoneKind, EyeletKind, Maker, ReadyCup, Shelf, Wire
from coutil.order.spot import Spot
from coutil.order.write import seam_table, with_own, with_upper, write_order

__all__ = [
    "ALLOWANCE",
    "BONED",
    "KIT",
    "LAID",
    "LAYERS",
    "ROLES",
    "BackLine",
    "BoneBuild",
    "BoneKind",
    "Build",
    "Centre",
    "Client",
    "Cloth",
    "Ease",
    "EyeletKind",
    "HemLine",
    "Hours",
    "House",
    "Kit",
    "Lace",
    "Lining",
    "Maker",
    "Money",
    "Neckline",
    "Notions",
    "Order",
    "OrderError",
    "OwnPanel",
    "OwnPattern",
    "OwnSeam",
    "PackedError",
    "PadBuild",
    "ReadyCup",
    "Shelf",
    "Spot",
    "Style",
    "Unit",
    "Wire",
    "eased",
    "house_page",
    "house_text",
    "judge_order",
    "new_house",
    "new_order",
    "order_page",
    "packed",
    "parse_house",
    "parse_order",
    "parse_own",
    "read_house",
    "read_order",
    "read_own",
    "seam_table",
    "stamped",
    "tables_of",
    "unpacked",
    "usual_ease",
    "with_own",
    "with_upper",
    "write_order",
]
