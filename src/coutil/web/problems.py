"""What the server refuses, and how that is told: one code, one sentence, never a traceback."""

from __future__ import annotations

from coutil.words import say


class ProblemError(Exception):
    """A request that is not answered as asked. `status` is HTTP's, `code` is for the page, `says` for the eye."""

    def __init__(self, status: int, code: str, says: str | None = None) -> None:
        self.status = status
        self.code = code
        self.says = says if says is not None else say(f"error.{code}")
        super().__init__(f"{status} {code}")

    def told(self) -> dict[str, str]:
        return {"error": self.code, "says": self.says}


def not_understood(says: str | None = None) -> ProblemError:
    return ProblemError(400, "not_understood", says)


def too_large(most: int) -> ProblemError:
    size = f"{most // 1_000_000} MB" if most >= 1_000_000 else f"{most // 1000} kB"
    return ProblemError(413, "too_large", say("error.too_large", most=size))
