"""The draft's one way to say no."""

from __future__ import annotations


class DraftError(ValueError):
    """The pattern cannot be drafted: `conflict` names the measurements or style values that contradict each other."""

    def __init__(self, conflict: tuple[str, ...], because: str) -> None:
        self.conflict = conflict
        self.because = because
        names = conflict[0] if len(conflict) == 1 else ", ".join(conflict[:-1]) + " and " + conflict[-1]
        verb = "cannot be used" if len(conflict) == 1 else "conflict"
        super().__init__(f"{names} {verb}: {because}")
