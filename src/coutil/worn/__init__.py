"""The pattern worn: sewn up on a form made from the tape, before the cloth is cut.

`form_of` makes the form, `stand_of` makes it ready to be tried on, `wear_order` tries an order's pattern on it, and
`read` says what comes of it; `Trying` does all that in a process of its own. Import them from their files: numpy and
scipy take a while to load.
"""

from coutil.worn.refusal import WornError as WornError

__all__ = ["WornError"]
