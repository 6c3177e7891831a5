"""What threads of the server share: the same result as alone, and no switch of a library left turned for another."""

from __future__ import annotations

import logging
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import ezdxf
import pytest

from bodice import made
from coutil.sheets import dxf
from coutil.sheets.dxf import pattern_dxf
from coutil.trace.dxf import read_dxf
from coutil.web import edits
from coutil.web.edits import Edit, edited

ORDER = (Path(__file__).parent.parent / "examples" / "sea-green.toml").read_text("utf-8")


@pytest.fixture
def hasty():
    """Threads that change places as often as they can."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(before)


def test_while_a_dxf_is_written_ezdxf_and_its_log_stay_as_they_were(monkeypatch) -> None:
    """Another thread that looked in the middle used to find ezdxf switched to its tests and its log muted."""
    log = logging.getLogger("ezdxf")
    before = ezdxf.options.write_fixed_meta_data_for_testing, log.level
    seen = []
    draw = dxf._draw

    def looked(*args):
        seen.append((ezdxf.options.write_fixed_meta_data_for_testing, log.level))
        return draw(*args)

    monkeypatch.setattr(dxf, "_draw", looked)
    pattern_dxf(made()[1])
    assert seen
    assert set(seen) == {before}


def test_while_a_dxf_is_read_the_log_of_ezdxf_stays_as_it_was(monkeypatch) -> None:
    log = logging.getLogger("ezdxf")
    before, seen = log.level, []
    document = sys.modules["coutil.trace.dxf"]._document

    def looked(*args, **named):
        seen.append(log.level)
        return document(*args, **named)

    data = pattern_dxf(made()[1])
    monkeypatch.setattr("coutil.trace.dxf._document", looked)
    read_dxf(data, scale=1.0)
    assert seen == [before]


def test_dxf_says_nothing_on_the_terminal(capfd) -> None:
    read_dxf(pattern_dxf(made()[1]), scale=1.0)
    assert capfd.readouterr() == ("", "")


def test_files_made_side_by_side_are_those_made_alone(hasty) -> None:
    """Whoever ended first used to turn ezdxf's switch back under the others, whose files then bore the time."""
    _, pattern = made()
    small = [pattern_dxf(pattern, client=name) for name in "ABCD"]
    with ThreadPoolExecutor(4) as pool:
        for _ in range(2):
            assert list(pool.map(lambda name: pattern_dxf(pattern, client=name), "ABCD")) == small


def test_a_dxf_bears_no_time_though_an_order_is_called_like_its_place() -> None:
    text = pattern_dxf(made()[1], order="$TDCREATE", client="CREATED_BY_EZDXF").decode()
    assert "Style: $TDCREATE" in text
    assert "\n$TDCREATE\n 40\n2451545.0\n" in text
    assert "\n$TDUPDATE\n 40\n2451545.0\n" in text
    assert text.count("2000-01-01T00:00:00") == 2


def test_one_text_that_was_read_is_taken_by_one_thread_alone(hasty) -> None:
    kept = edits._Read(4)
    wrong: list[object] = []

    def work(mine: int) -> None:
        try:
            for k in range(3000):
                kept.keep(f"{k % 7}", [mine])
                doc = kept.take(f"{(k + 3) % 7}")
                if doc is not None:
                    doc.append(mine)
                    if len(doc) != 2:
                        wrong.append(doc)
        except Exception as e:  # what a thread raises is lost otherwise
            wrong.append(e)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(6)]
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert not wrong
    assert len(kept._docs) <= 4


def test_edits_of_many_threads_come_out_as_alone(hasty) -> None:
    keys = [("body.bust", f"{90 + k} cm") for k in range(4)]
    alone = [edited(ORDER, Edit(key, text), "cm") for key, text in keys]
    with ThreadPoolExecutor(8) as pool:
        many = list(pool.map(lambda e: edited(ORDER, Edit(*e), "cm"), keys * 3))
    assert many == alone * 3


def test_texts_of_the_catalogue_cannot_be_changed() -> None:
    from coutil.words.catalogue import catalogue

    with pytest.raises(TypeError):
        catalogue()["spreads"] = "changed"  # type: ignore[index]
