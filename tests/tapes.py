"""What a tape may say, for tests of the body and the order: plausible bodies, and odder ones (hypothesis)."""

from __future__ import annotations

from hypothesis import strategies as st

from coutil.body import MEASUREMENTS, SIDE_MEASUREMENTS, Body, resolve_body

# An even body in mm, no more than must be measured.
TAPE = {
    "bust": 960.0,
    "underbust": 780.0,
    "waist": 700.0,
    "bust_span": 195.0,
    "bust_to_underbust": 80.0,
    "bust_to_waist": 185.0,
}


@st.composite
def any_bodies(draw: st.DrawFn) -> Body:
    """Any values in their possible ranges, whether or not they belong to one body, with any sides."""
    said = {m.key: draw(st.floats(*m.possible)) for m in MEASUREMENTS if m.required or draw(st.booleans())}
    sides = [{m.key: draw(st.floats(*m.possible)) for m in SIDE_MEASUREMENTS if draw(st.booleans())} for _ in range(2)]
    return resolve_body(said, *sides)


@st.composite
def plausible_bodies(draw: st.DrawFn) -> Body:
    """Bodies with bust 72 to 150 cm and bust minus underbust 6 to 32 cm, the rest within what goes with them."""
    bust = draw(st.floats(720, 1500))
    cup = draw(st.floats(60, 320))
    underbust = bust - cup
    down = draw(st.floats(30, 60)) + cup / 5
    said = {
        "bust": bust,
        "underbust": underbust,
        "waist": underbust * draw(st.floats(0.75, 1.15)),
        "bust_span": bust * draw(st.floats(0.17, 0.22)),
        "bust_to_underbust": down,
        "bust_to_waist": down + draw(st.floats(70, 140)),
    }
    if draw(st.booleans()):
        return resolve_body(said)
    uneven = {
        "bust_to_underbust": down + draw(st.floats(-12, 12)),
        "bust_to_waist": said["bust_to_waist"] + draw(st.floats(-12, 12)),
        "front_bust": underbust / 4 + 0.4 * cup + draw(st.floats(-15, 15)),
        "bust_point": said["bust_span"] / 2 + draw(st.floats(-8, 8)),
    }
    return resolve_body(said, left={k: v for k, v in uneven.items() if draw(st.booleans())})
