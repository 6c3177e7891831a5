"""Measurements: what each is, how it is taken, what is plausible; standard sizes to start from."""

from coutil.body.judge import Remark, RemarkKind, judge, require_possible
from coutil.body.measurements import (
    BY_KEY,
    MEASUREMENTS,
    REQUIRED,
    SIDE_BY_KEY,
    SIDE_MEASUREMENTS,
    Measurement,
    guide,
)
from coutil.body.page import measurements_page
from coutil.body.resolve import EN_13402_3, Body, BodyError, BodySide, resolve_body, standard_hip, standard_row
from coutil.body.standard import CUPS, band, cup_difference, cup_letter, size_name, standard_body

__all__ = [
    "BY_KEY",
    "CUPS",
    "EN_13402_3",
    "MEASUREMENTS",
    "REQUIRED",
    "SIDE_BY_KEY",
    "SIDE_MEASUREMENTS",
    "Body",
    "BodyError",
    "BodySide",
    "Measurement",
    "Remark",
    "RemarkKind",
    "band",
    "cup_difference",
    "cup_letter",
    "guide",
    "judge",
    "measurements_page",
    "require_possible",
    "resolve_body",
    "size_name",
    "standard_body",
    "standard_hip",
    "standard_row",
]
