"""Trace rendered photographs (rendered, not real) and say how far the outlines are from the truth.

python bench/photos.py [first seed] [how many] [kind: the words of KINDS, plain if none is given]
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

import cv2
import numpy as np

import scene_truth
import scenes
from coutil.trace.model import TraceError
from coutil.trace.photo import read_photo

# What is photographed, by the word on the command line; words across the rim are beyond what is promised.
KINDS = {
    "plain": scenes.scene,
    "shadows": scenes.with_sharp_shadows,
    "sharpened": scenes.sharpened,
    "close": scenes.sheets_close_by,
    "words": scenes.with_words,
    "squared": scenes.on_squared_paper,
    "dotted": scenes.on_dotted_paper,
    "tracing": scenes.on_tracing_paper,
}


def main(first: int, many: int, kind: str) -> None:
    cv2.setNumThreads(1)
    errors, worst, seconds, failed = [], [], [], []
    nicks = np.zeros(3, int)
    for seed in range(first, first + many):
        s = KINDS[kind](seed)
        data = s.jpeg()
        start = time.perf_counter()
        try:
            got = read_photo(data)
        except TraceError as e:
            print(f"{seed:4d} refused: {e}")
            failed.append(seed)
            continue
        took = time.perf_counter() - start
        v = scene_truth.compare(s, got)
        right = v.corners_right and v.pieces_found == v.pieces_true
        bad = v.share_95 > 0.7 or v.worst > 2.0 or v.worst_seam > 0.5 or not right
        if bad:
            failed.append(seed)
        errors.append(v.errors)
        worst.append(v.worst)
        seconds.append(took)
        nicks += (v.nicks_true, v.nicks_found, v.nicks_false)
        print(
            f"{seed:4d} {'BAD' if bad else 'ok '} {s.look.table:6} {s.look.paper:5} tilt {s.tilt:2.0f}",
            f"pieces {v.pieces_found}/{v.pieces_true} 95 % {v.share_95:.2f} worst {v.worst:.2f}",
            f"seams {v.worst_seam:.2f} % corners {'right' if v.corners_right else 'WRONG'}",
            f"nicks {v.nicks_found}/{v.nicks_true} false {v.nicks_false} residual {got.residual:.2f}",
            f"unmarked {v.unmarked:.2f} mm, {v.corners_unmarked} corners",
            f"expected {got.expected_error:.2f} doubts {len(got.doubts)} {took:.1f} s",
            flush=True,
        )
    everything = np.concatenate(errors)
    print(
        f"{many} scenes, {len(failed)} not within what is promised {failed}:",
        f"95 % of all points within {np.quantile(everything, 0.95):.2f} mm,",
        f"worst {max(worst):.2f}; nicks true, found, false {nicks.tolist()};",
        f"{np.mean(seconds):.1f} s each, {max(seconds):.1f} at most",
    )


if __name__ == "__main__":
    first, many, kind = sys.argv[1:] + ["1", "100", "plain"][len(sys.argv) - 1 :]
    main(int(first), int(many), kind)
