"""Builds to start from: each makes what its sentence says, and the command line tells the same ones."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from coutil.body import as_asked_body
from coutil.cli import coutil
from coutil.cli.commands import BUILDS
from coutil.make import work_out
from coutil.order import new_order, parse_order
from coutil.order.sets import SETS


def test_the_command_line_tells_the_same_sets() -> None:
    assert {name: s.says for name, s in SETS.items()} == BUILDS


@pytest.mark.parametrize("name", SETS)
def test_each_set_makes_what_it_says(name: str) -> None:
    chosen = SETS[name]
    order = parse_order(new_order(body=as_asked_body(960.0, "C"), build=name))
    assert order.build.layers == chosen.layers
    assert order.build.kit is not None
    assert (order.build.lining is not None) == chosen.lined == ("lining" in chosen.says)
    layers = {p.layer for p in work_out(order).pattern.pieces}
    assert set(chosen.layers) <= layers
    assert ("cups" in chosen.says) == ("foam" in layers)
    assert ("strength" in layers) == (order.build.bones.on == ("strength",))
    for word in ("lace",):
        assert (word in chosen.says) == (word in layers)
    assert (" fused" in chosen.says.replace("not fused", "")) == ("interfacing" in layers)


def test_a_new_order_is_begun_with_a_set() -> None:
    made = CliRunner().invoke(coutil, ["new", "--bust", "96", "--build", "velvet"])
    assert made.exit_code == 0
    assert "# Velvet, not fused" in made.output
    order = parse_order(made.output)
    assert order.build.layers == ("shell", "strength")
    # Its card says what a pile asks for: that hangs on the cloth.
    assert [(c.layers, c.pile, c.direction) for c in order.cloth] == [(("shell",), True, "one-way")]
    assert parse_order(new_order(build="corset")).cloth == ()
    assert parse_order(new_order()).build.kit is None
