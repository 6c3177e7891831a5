"""The docket as JSON, for other programs. Lengths in mm; money, hours and percents as decimal text, never as floats."""

from __future__ import annotations

from dataclasses import asdict, replace
from decimal import Decimal
from typing import Any, Final

from coutil.docket.model import Docket
from coutil.pattern.json import finding_json

FORMAT: Final = "coutil-docket"
VERSION: Final = 1
# Figures are rounded to 1e-3 mm, as fine as anything that is cut.
DECIMALS: Final = 3


def docket_json(docket: Docket) -> dict[str, Any]:
    """The docket as dicts, lists, strings and numbers, ready for json.dumps; keys are those of coutil.docket.model."""
    plain = {k: _plain(v) for k, v in asdict(replace(docket, findings=())).items()}
    plain["findings"] = [finding_json(f) for f in docket.findings]
    plain["bones"] = [
        {**b, "casing": round(m.casing, DECIMALS)} for b, m in zip(plain["bones"], docket.bones, strict=True)
    ]
    return {"format": FORMAT, "version": VERSION, "unit": "mm", **plain}


def _plain(value: Any) -> Any:
    match value:
        case Decimal():
            return f"{value:f}"
        case float():
            return round(value, DECIMALS) + 0.0
        case dict():
            return {k: _plain(v) for k, v in value.items()}
        case list() | tuple():
            return [_plain(v) for v in value]
    return value
