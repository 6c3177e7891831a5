"""Kill a process that edits the book, at any moment, and see what is left: shared by the tests and bench/kills.py.

A round: a fresh process opens the book and edits an order as fast as it can. Before each edit it says what it is about
to write, after each it passes on what the book acknowledged. At a random moment it is killed (SIGKILL). Then a new
connection must find every version that was acknowledged with the very text, the order as it was last acknowledged or
one whole edit further, and the book must pass its own check.
"""

from __future__ import annotations

import hashlib
import multiprocessing
import random
import signal
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from book_places import order_text

# The process is killed after so many edits at most, plus up to one and a half edits' time: kills fall into every part
# of an edit, and into the first as often as into a later one.
MOST_EDITS = 6
# A process that makes the book first is killed within so many seconds, some in the middle of making it.
LONGEST_MAKING = 0.3


@dataclass
class Tally:
    rounds: int = 0
    acknowledged: int = 0
    # Kills that fell into an edit that was on its way, and how many of those edits the book has.
    in_flight: int = 0
    in_flight_kept: int = 0
    nothing_acknowledged_yet: int = 0


def kill_rounds(
    address: Callable[[int], str], rounds: int, seed: int, *, per_book: int = 25, too_early: bool = False
) -> Tally:
    """Run the rounds; `address` gives the place of the book by its number. AssertionError tells what was lost.

    With `too_early` edits are passed on as acknowledged before they are written: the rounds must catch that.
    """
    from coutil.book import open_book

    # One clean process loads the book once; each round's is forked from it.
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["coutil.book", "book_kills"])
    rng = random.Random(seed)
    tally = Tally()
    place, last = "", None
    for number in range(rounds):
        fresh = number % per_book == 0
        if fresh:
            place, last = address(number // per_book), None
        mine, theirs = context.Pipe(duplex=False)
        process = context.Process(target=_edit, args=(place, seed + number, theirs, too_early))
        process.start()
        theirs.close()
        said = _kill_at_random(process, mine, rng, made_by_it=fresh)
        mine.close()
        process.join()
        assert process.exitcode == -signal.SIGKILL, f"round {number}: ended by itself, {process.exitcode}"
        process.close()
        with open_book(place) as book:
            last = _verify(book, said, tally, f"round {number} (seed {seed})")
            assert book.check() == (), f"round {number}"
            # Keeps the book, and with it the check, small.
            for line in book.orders():
                if line.id != last:
                    book.remove_order(line.id, based_on=line.edit)
        tally.rounds += 1
    return tally


def _kill_at_random(process: Any, pipe: Any, rng: random.Random, *, made_by_it: bool) -> list[tuple[Any, ...]]:
    """What the process said until it was killed. A process that makes the book may be killed while making it."""
    said: list[tuple[Any, ...]] = []
    if made_by_it:
        time.sleep(rng.uniform(0, LONGEST_MAKING))
    else:
        # Counted in edits, not in seconds, so that it hits the same parts of an edit on a slow machine.
        edits = rng.randint(0, MOST_EDITS)
        pace = 0.01
        begun = time.perf_counter()
        while sum(1 for s in said if s[0] == "acknowledged") < edits:
            said.append(pipe.recv())
            pace = (time.perf_counter() - begun) / len(said) * 2
        time.sleep(rng.uniform(0, 1.5 * pace))
    process.kill()
    # What it had said is in the pipe still; the last message may be half.
    with suppress(EOFError, OSError):
        while True:
            said.append(pipe.recv())
    return said


def _verify(book: Any, said: list[tuple[Any, ...]], tally: Tally, where: str) -> int | None:
    acknowledged = [s[1:] for s in said if s[0] == "acknowledged"]
    tally.acknowledged += len(acknowledged)
    if not acknowledged:
        tally.nothing_acknowledged_yet += 1
        lines = book.orders()
        return lines[0].id if lines else None
    order_id, edit = acknowledged[-1][0], acknowledged[-1][1]
    now = book.order(order_id)
    chain = {v.number: v for v in book.history(order_id)}
    # A version's number with the last text acknowledged under it.
    wanted = {a[2]: a[3] for a in acknowledged}
    if said[-1][0] == "about to":
        tally.in_flight += 1
        tally.in_flight_kept += now.edit - edit
        assert now.edit in (edit, edit + 1), f"{where}: {now.edit} after {edit}"
    else:
        assert now.edit == edit, f"{where}: {now.edit} after {edit}"
    if now.edit == edit:
        state = (edit, now.version, _digest(now.text), now.due, dict(now.typed))
        assert state == acknowledged[-1][1:], f"{where}: the last acknowledged edit is not there"
    else:
        wants = said[-1][1]
        if wants is not None:
            assert (_digest(now.text), now.due, dict(now.typed)) == wants, f"{where}: half an edit"
        # The edit that was on its way may have joined the last version.
        wanted.pop(now.version, None)
    for version, digest in wanted.items():
        assert version in chain, f"{where}: version {version} is lost"
        assert _digest(chain[version].text) == digest, f"{where}: version {version} says something else"
    return int(order_id)


def _edit(place: str, seed: int, pipe: Any, too_early: bool) -> None:
    """The process to be killed: edits without end. Joins, undoes, redoes, sets days, keeps what is half typed."""
    from coutil.book import BookError, open_book

    rng = random.Random(seed)
    with open_book(place) as book:

        def passed_on(o: Any) -> Any:
            pipe.send(("acknowledged", o.id, o.edit, o.version, _digest(o.text), o.due, dict(o.typed)))
            return o

        values: dict[str, object] = {}
        pipe.send(("about to", None))
        o = passed_on(book.begin_order(order_text(), new_client="Q."))
        for step in range(10**9):
            do = rng.choices(["key", "same key", "due", "typed", "undo", "redo", "tape"], [4, 6, 1, 2, 1, 1, 1])[0]
            if do in ("key", "same key"):
                key = "waist" if do == "same key" else rng.choice(["hem", "underbust", "bust"])
                base = {"waist": 60, "hem": 5, "underbust": 75, "bust": 90}[key]
                values[key] = base + step % 500 / 100
                text = order_text(**values)
                pipe.send(("about to", (_digest(text), o.due, dict(o.typed))))
                if too_early:
                    pipe.send(("acknowledged", o.id, o.edit + 1, o.version + 1, _digest(text), o.due, dict(o.typed)))
                    book.save(o.id, text, based_on=o.edit)
                    o = book.order(o.id)
                    continue
                o = passed_on(book.save(o.id, text, based_on=o.edit))
            elif do == "due":
                day = date(2026, 1 + step % 12, 1 + step % 28)
                pipe.send(("about to", (_digest(o.text), day, dict(o.typed))))
                o = passed_on(book.set_due(o.id, day, based_on=o.edit))
            elif do == "typed":
                typed = {"body.waist": f"{step} 1/"}
                pipe.send(("about to", (_digest(o.text), o.due, typed)))
                o = passed_on(book.keep_typed(o.id, typed, based_on=o.edit))
            elif do == "tape":
                # A day that is given anew counts as an edit of the order; the figures are another one.
                taken = book.tape_of(o.id, taken_on=date(2026, 1, 1 + step % 28))
                pipe.send(("about to", None))
                o = passed_on(book.use_tape(o.id, taken.id, based_on=o.edit))
                pipe.send(("about to", (_digest(o.text), o.due, dict(o.typed))))
                book.change_tape(taken.id, taken_on=date(2026, 2, 1 + step % 28))
                o = passed_on(book.order(o.id))
            else:
                pipe.send(("about to", None))
                with suppress(BookError):
                    o = (book.undo if do == "undo" else book.redo)(o.id, based_on=o.edit)
                passed_on(o)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def file_places(folder: Path) -> Callable[[int], str]:
    """Books in files of a folder."""
    return lambda number: str(folder / f"killed-{number}.sqlite3")
