"""Errors a user can act on."""

from __future__ import annotations


class InputError(Exception):
    """The input cannot be used: one line says what is wrong, where, and what to do (exit status 2)."""

    def __init__(self, what: str, where: str = "", do: str = "") -> None:
        self.what, self.where, self.do = what, where, do
        super().__init__(what)

    def __reduce__(self) -> tuple[type[InputError], tuple[str, str, str]]:
        """Whole again in another process."""
        return type(self), (self.what, self.where, self.do)

    def __str__(self) -> str:
        return "; ".join(" ".join(part.split()) for part in (self.what, self.where, self.do) if part)


class PlanError(InputError):
    """The rules and settings do not fit together; found before any model is opened."""
