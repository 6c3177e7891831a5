"""The order file: read, check, write."""

from coutil.order.costs import BONED, Hours, Money, Notions
from coutil.order.ease import eased, usual_ease
from coutil.order.judge import judge_order
from coutil.order.keys import LAYERS, ROLES
from coutil.order.model import (
    ALLOWANCE,
    BackLine,
    Build,
    Centre,
    Client,
    Cloth,
    Ease,
    HemLine,
    Lining,
    Neckline,
    Order,
    PadBuild,
    Style,
    Unit,
)
from coutil.order.new import new_order
from coutil.order.own import OwnPanel, OwnPattern, OwnSeam
from coutil.order.packed import packed, unpacked
from coutil.order.page import order_page
from coutil.order.read import parse_order, parse_own, read_order, read_own, tables_of
from coutil.order.refusal import OrderError, PackedError
from coutil.order.spot import Spot
from coutil.order.write import with_own, write_order

__all__ = [
    "ALLOWANCE",
    "BONED",
    "LAYERS",
    "ROLES",
    "BackLine",
    "Build",
    "Centre",
    "Client",
    "Cloth",
    "Ease",
    "HemLine",
    "Hours",
    "Lining",
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
    "Spot",
    "Style",
    "Unit",
    "eased",
    "judge_order",
    "new_order",
    "order_page",
    "packed",
    "parse_order",
    "parse_own",
    "read_order",
    "read_own",
    "tables_of",
    "unpacked",
    "usual_ease",
    "with_own",
    "write_order",
]
