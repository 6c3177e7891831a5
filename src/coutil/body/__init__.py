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
from coutil.body.resolve import (
    EN_13402_3,
    Body,
    BodyError,
    BodySide,
    Standard,
    State,
    resolve_body,
    standard_hip,
    standard_row,
)
from coutil.body.standard import CUPS, band, cup_difference, cup_letter, size_name, standard_body
from coutil.body.states import (
    DEFAULT_STANDARD,
    as_asked_body,
    began_with,
    order_body,
    reading_words,
    rests_on,
    standard_words,
)

__all__ = [
    "BY_KEY",
    "CUPS",
    "DEFAULT_STANDARD",
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
    "Standard",
    "State",
    "as_asked_body",
    "band",
    "began_with",
    "cup_difference",
    "cup_letter",
    "guide",
    "judge",
    "measurements_page",
    "order_body",
    "reading_words",
    "require_possible",
    "resolve_body",
    "rests_on",
    "size_name",
    "standard_body",
    "standard_hip",
    "standard_row",
    "standard_words",
]
