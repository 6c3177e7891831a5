"""Whether the measurements can belong to one body, and which of them look like a slip of the tape.

`refuse` is kept for what cannot be, or cannot be drafted at all; whatever is merely rare is a `warn`, since bodies are
more varied than tables. The limits are judgement (no source) unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from coutil.body.measurements import BY_KEY, SIDE_BY_KEY
from coutil.body.resolve import Body, BodyError
from coutil.body.states import is_idle, reading_words, rests_on
from coutil.words import Key, Length, Told, in_words

RemarkKind = Literal["refuse", "warn", "note"]

# Two sides that differ by more than this factor are measured again; by more than the second, one of them is a slip.
_UNEVEN: Final = 1.25
_SLIP: Final = 3.0
# The part of a girth that the front may take. The side seam line falls from the armpit, so near a half; a full bust
# takes more of the bust girth.
_FRONT_USUAL: Final = (0.42, 0.66)
_FRONT_POSSIBLE: Final = (0.30, 0.80)
# The bust point lies within the front's half; beyond this part of it the side front would be a sliver.
_POINT_USUAL: Final = 0.62
# What of the ribs may differ between two ways to measure it, and of the body's own general value from the two sides'
# sum, in mm.
_SUM: Final = 15.0


@dataclass(frozen=True, slots=True)
class Remark:
    """What the judgement has to say. `refuse`: cannot be drafted; `warn`: measure again; `note`: good to know.

    `keys` are the measurements involved, a side's as "left.front_bust". `code` names its text in the catalogue
    (`found.CODE`), `args` fill it.
    """

    kind: RemarkKind
    code: str
    keys: tuple[str, ...]
    args: Mapping[str, Any] = field(default_factory=dict, hash=False)

    @property
    def told(self) -> Told:
        """What it says, as a part of something else."""
        return Told(f"found.{self.code}", self.args)

    @property
    def text(self) -> str:
        """What it says, without the full stop: it stands beside a value."""
        return in_words(self.told).removesuffix(".")


def judge(body: Body) -> list[Remark]:
    """All remarks on a body: first what is refused, then warnings, then notes, each in the order of the tape.

    Only what was taken is judged: a reading against a standard size's, or against what the garment does not use and
    nobody took, says nothing of the client.
    """
    together = [*_girths(body), *_lengths(body), *_fronts(body), *_sides(body)]
    taken = (r for r in together if not rests_on(body, r.keys) and not is_idle(body, r.keys))
    remarks = [*_ranges(body), *taken, *_assumed(body)]
    rank = {"refuse": 0, "warn": 1, "note": 2}
    return sorted(remarks, key=lambda r: rank[r.kind])


def require_possible(body: Body) -> None:
    """Raise BodyError with everything that `judge` refuses, naming the measurements; else do nothing."""
    refused = [r for r in judge(body) if r.kind == "refuse"]
    if refused:
        about = tuple(map(Key, dict.fromkeys(k for r in refused for k in r.keys)))
        raise BodyError("impossible", *about, why=tuple(r.told for r in refused))


def _ranges(body: Body) -> Iterator[Remark]:
    for key, m in BY_KEY.items():
        if body.state(key) == "taken":
            yield from _range(key, getattr(body, key), m.possible, m.usual)
    # Sides speak only where they differ from the general value, which has been judged already.
    left, right = body.measured_sides()
    for name, side in (("left", left), ("right", right)):
        for key, value in side.items():
            m = SIDE_BY_KEY[key]
            yield from _range(f"{name}.{key}", value, m.possible, m.usual)


def _range(key: str, value: float, possible: tuple[float, float], usual: tuple[float, float]) -> Iterator[Remark]:
    if not possible[0] <= value <= possible[1]:
        low, high = possible
        yield Remark("refuse", "body.impossible", (key,), _in_range(key, value, low, high))
    elif not usual[0] <= value <= usual[1]:
        low, high = usual
        yield Remark("warn", "body.rare", (key,), _in_range(key, value, low, high))


def _girths(body: Body) -> Iterator[Remark]:
    b = body
    if b.underbust >= b.bust:
        yield _pair("refuse", b, "underbust", "bust", "body.underbust_over_bust")
    elif b.bust - b.underbust < 40.0:
        yield _pair("warn", b, "underbust", "bust", "body.hardly_a_cup")
    elif b.bust - b.underbust > 0.45 * b.underbust:
        yield _pair("warn", b, "underbust", "bust", "body.very_full_bust")
    if "bust" in b.unused:
        if not 0.35 * b.underbust < b.waist < 2.0 * b.underbust:
            yield _pair("refuse", b, "waist", "underbust", "body.not_one_body")
        elif b.waist < 0.68 * b.underbust:
            yield _pair("warn", b, "waist", "underbust", "body.very_small_waist")
    elif not 0.30 * b.bust < b.waist < 1.8 * b.bust:
        yield _pair("refuse", b, "waist", "bust", "body.not_one_body")
    elif b.waist > b.bust:
        yield _pair("warn", b, "waist", "bust", "body.waist_over_bust")
    elif b.waist < 0.68 * b.underbust:
        yield _pair("warn", b, "waist", "underbust", "body.very_small_waist")
    if "hip" not in b.assumed and b.hip < b.waist:
        kind: RemarkKind = "refuse" if b.hip < 0.6 * b.waist else "warn"
        yield _pair(kind, b, "hip", "waist", "body.hip_under_waist")
    if "high_hip" not in b.assumed:
        if b.high_hip < 0.6 * b.waist:
            yield _pair("refuse", b, "high_hip", "waist", "body.not_one_body")
        elif b.high_hip < b.waist:
            yield _pair("warn", b, "high_hip", "waist", "body.high_hip_under_waist")
        elif b.high_hip > b.hip + 20.0 and "hip" not in b.assumed:
            yield _pair("warn", b, "high_hip", "hip", "body.high_hip_over_hip")
    if "upper_bust" not in b.assumed:
        if b.upper_bust > b.bust:
            yield _pair("warn", b, "upper_bust", "bust", "body.upper_bust_over_bust")
        elif b.upper_bust < 0.95 * b.underbust:
            yield _pair("warn", b, "upper_bust", "underbust", "body.upper_bust_under_underbust")


def _lengths(body: Body) -> Iterator[Remark]:
    b = body
    if b.bust_to_underbust >= b.bust_to_waist:
        yield _pair("refuse", b, "bust_to_underbust", "bust_to_waist", "body.waist_above_underbust")
    elif b.bust_to_waist - b.bust_to_underbust < 10.0:
        yield _pair("refuse", b, "bust_to_underbust", "bust_to_waist", "body.ribs_too_short")
    elif b.bust_to_waist - b.bust_to_underbust < 60.0:
        yield _pair("warn", b, "bust_to_underbust", "bust_to_waist", "body.ribs_short")
    if b.state("underbust_to_waist") == "taken":
        ribs = b.bust_to_waist - b.bust_to_underbust
        if abs(b.underbust_to_waist - ribs) > _SUM:
            keys = ("bust_to_underbust", "underbust_to_waist", "bust_to_waist")
            args: dict[str, Any] = {"keys": tuple(map(Key, keys[:2])), "key": Key(keys[2])}
            args |= {"total": _both(b.bust_to_underbust + b.underbust_to_waist), "value": _both(b.bust_to_waist)}
            yield Remark("warn", "body.lengths_do_not_add_up", keys, args)
    if b.high_hip_depth >= b.hip_depth:
        yield _pair("refuse", b, "high_hip_depth", "hip_depth", "body.high_hip_below_hip")
    # Drafted flat, about 35 % of bust minus underbust closes along the princess seam below each bust point
    # (docs/method.md, shares): on a radius shorter than that the cup would be steeper than a half ball.
    if b.bust > b.underbust and 0.35 * (b.bust - b.underbust) > 1.4 * b.bust_to_underbust:
        yield Remark(
            "warn",
            "body.short_breast",
            ("bust", "underbust", "bust_to_underbust"),
            {"length": _both(b.bust_to_underbust), "difference": _both(b.bust - b.underbust)},
        )
    if "side_length" not in b.assumed:
        ribs = b.bust_to_waist - b.bust_to_underbust
        if b.side_length < ribs and not rests_on(b, ("bust_to_underbust",)):
            yield _pair("warn", b, "side_length", "bust_to_waist", "body.low_armpit")
        elif b.side_length > b.bust_to_waist + 120.0:
            yield _pair("warn", b, "side_length", "bust_to_waist", "body.high_armpit")
    if "centre_back_length" not in b.assumed and not 0.19 * b.height < b.centre_back_length < 0.30 * b.height:
        yield _pair("warn", b, "centre_back_length", "height", "body.seldom_together")


def _fronts(body: Body) -> Iterator[Remark]:
    b = body
    if not 0.13 < b.bust_span / b.bust < 0.30:
        yield _pair("warn", b, "bust_span", "bust", "body.rare_span")
    if b.state("front_upper_arc") == "taken":
        yield from _upper(b)
    for front, girth in (("front_bust", "bust"), ("front_waist", "waist")):
        arc = f"{front}_arc"
        total = getattr(b.left, front) + getattr(b.right, front)
        share = total / getattr(b, girth)
        keys = (*_said(b, front, arc), girth)
        args = {
            "keys": tuple(map(Key, keys)),
            "total": _both(total),
            "share": 100 * share,
            "girth": girth,
            "round": _both(getattr(b, girth)),
        }
        if not _FRONT_POSSIBLE[0] < share < _FRONT_POSSIBLE[1]:
            yield Remark("refuse", "body.front_impossible", keys, args)
        elif not _FRONT_USUAL[0] < share < _FRONT_USUAL[1]:
            yield Remark("warn", "body.front_rare", keys, args)
        if arc not in b.assumed and abs(total - getattr(b, arc)) > _SUM:
            yield Remark("warn", "body.sides_do_not_add_up", keys, _sum(front, total, arc, getattr(b, arc)))
    points = b.left.bust_point + b.right.bust_point
    if abs(points - b.bust_span) > _SUM:
        keys = (*_said(b, "bust_point", "bust_span"), "bust_span")
        yield Remark(
            "warn",
            "body.sides_do_not_add_up",
            tuple(dict.fromkeys(keys)),
            _sum("bust_point", points, "bust_span", b.bust_span),
        )


def _upper(body: Body) -> Iterator[Remark]:
    total = body.front_upper_arc
    share = total / body.upper_bust
    keys = ("front_upper_arc", "upper_bust")
    args = {
        "keys": tuple(map(Key, keys)),
        "total": _both(total),
        "share": 100 * share,
        "girth": reading_words(keys[1:]),
        "round": _both(body.upper_bust),
    }
    if not _FRONT_POSSIBLE[0] < share < _FRONT_POSSIBLE[1]:
        yield Remark("refuse", "body.front_impossible", keys, args)
    elif not _FRONT_USUAL[0] < share < _FRONT_USUAL[1]:
        yield Remark("warn", "body.front_rare", keys, args)
    if "front_bust_arc" not in body.assumed and total > body.front_bust_arc:
        yield _pair("warn", body, "front_upper_arc", "front_bust_arc", "body.front_upper_over_bust")


def _sides(body: Body) -> Iterator[Remark]:
    b = body
    for name in ("left", "right"):
        side = b.left if name == "left" else b.right
        places = (*_said(b, "bust_point", "bust_span"), *_said(b, "front_bust", "front_bust_arc"))
        args: dict[str, Any] = {"side": name, "point": _both(side.bust_point), "seam": _both(side.front_bust)}
        if side.bust_point >= side.front_bust:
            yield Remark("refuse", "body.point_beyond_side", places, args)
        elif side.bust_point > _POINT_USUAL * side.front_bust:
            yield Remark("warn", "body.point_near_side", places, args)
        low, high = side.bust_to_underbust, side.bust_to_waist
        if low != b.bust_to_underbust or high != b.bust_to_waist:
            keys = (f"{name}.bust_to_underbust", f"{name}.bust_to_waist")
            args = {"a": Key(keys[0]), "a_is": _both(low), "b": Key(keys[1]), "b_is": _both(high)}
            if high - low < 10.0:
                yield Remark("refuse", "body.side_waist_above_underbust", keys, args)
            elif high - low < 60.0:
                yield Remark("warn", "body.side_ribs_short", keys, args)
    if b.symmetric:
        return
    for key in SIDE_BY_KEY:
        left, right = getattr(b.left, key), getattr(b.right, key)
        # The larger over the smaller, without dividing: values that cannot be may be 0.
        larger, smaller = max(left, right), min(left, right)
        keys = (f"left.{key}", f"right.{key}")
        args = {"key": Key(key), "left": _both(left), "right": _both(right)}
        if larger > _SLIP * smaller:
            yield Remark("refuse", "body.slip", keys, args)
        elif larger > _UNEVEN * smaller:
            yield Remark("warn", "body.uneven", keys, args)


def _assumed(body: Body) -> Iterator[Remark]:
    if body.as_asked:
        # All of it follows from the size, which is said once.
        return
    if unused := body.unused:
        yield Remark("note", "body.unused", unused, {"readings": reading_words(unused)})
    for key in body.assumed:
        drawn = BY_KEY[key].drawn_by_rule or key in body.needed
        if not drawn or is_idle(body, (key,)):
            continue
        args = {"key": Key(key), "value": _both(getattr(body, key)), "reason": body.reasons.get(key, "")}
        rests = rests_on(body, (key,))
        code = "body.assumed_standard" if rests else "body.assumed"
        yield Remark("note", code, (key,), {**args, "rests": reading_words(rests)} if rests else args)


def _said(body: Body, side_key: str, general: str) -> tuple[str, ...]:
    """Which keys a value of the sides comes from: the sides' own where said, else the general one or what fills it."""
    own = tuple(
        f"{name}.{side_key}"
        for name, said in zip(("left", "right"), body.measured_sides(), strict=True)
        if side_key in said
    )
    return own or (general,)


def _pair(kind: RemarkKind, body: Body, a: str, b: str, code: str) -> Remark:
    args = {"a": Key(a), "a_is": _both(getattr(body, a)), "b": Key(b), "b_is": _both(getattr(body, b))}
    return Remark(kind, code, (a, b), args)


def _in_range(key: str, value: float, low: float, high: float) -> dict[str, Any]:
    return {"key": Key(key), "value": _both(value), "low": _both(low), "high": _both(high)}


def _sum(side_key: str, total: float, key: str, value: float) -> dict[str, Any]:
    return {"side_key": Key(side_key), "total": _both(total), "key": Key(key), "value": _both(value)}


def _both(mm: float) -> Length:
    return Length(mm, "both")
