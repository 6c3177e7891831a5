"""Quantities, cutting list, price; the making-up of this build. Draws no paper."""

from coutil.docket.json import docket_json
from coutil.docket.make import cut_list, make_docket
from coutil.docket.making import making_up, toile_steps
from coutil.docket.model import (
    Amount,
    Bone,
    Buy,
    CutLine,
    Docket,
    DocketError,
    Fastening,
    FuseLine,
    Price,
    Thread,
    ThreadLine,
)
from coutil.docket.step import PARTS, MakingStep, Sketch
from coutil.docket.thread import thread_ratio

__all__ = [
    "PARTS",
    "Amount",
    "Bone",
    "Buy",
    "CutLine",
    "Docket",
    "DocketError",
    "Fastening",
    "FuseLine",
    "MakingStep",
    "Price",
    "Sketch",
    "Thread",
    "ThreadLine",
    "cut_list",
    "docket_json",
    "make_docket",
    "making_up",
    "thread_ratio",
    "toile_steps",
]
