"""From panels to pieces: allowances, pads, interfacing, lining, notches. Draws no paper."""

from coutil.layers.allowances import allowance, pad_cut, panel_cut
from coutil.layers.boning import clear_of_front
from coutil.layers.half import inset_from
from coutil.layers.kit import kit_up, toile
from coutil.layers.lesson import layer_steps
from coutil.layers.pads import pads
from coutil.layers.pieces import layer_up
from coutil.layers.words import LayerError

__all__ = [
    "LayerError",
    "allowance",
    "clear_of_front",
    "inset_from",
    "kit_up",
    "layer_steps",
    "layer_up",
    "pad_cut",
    "pads",
    "panel_cut",
    "toile",
]
