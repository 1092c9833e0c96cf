"""The one error that the core raises for input it refuses."""

from __future__ import annotations


class CutsheetError(ValueError):
    """Input that is refused: a code for machines, a sentence for people, the place it is about.

    >>> str(CutsheetError("length", "“5..2” is not a length; write 5 1/2 or 5.5.", "lines[2].coat"))
    'lines[2].coat: “5..2” is not a length; write 5 1/2 or 5.5.'
    """

    def __init__(self, code: str, message: str, where: str = "") -> None:
        super().__init__(f"{where}: {message}" if where else message)
        self.code = code
        self.message = message
        self.where = where

    def at(self, place: str) -> CutsheetError:
        """Return the same error with `place` put before its own place (`at("lines[2]")` → `lines[2].coat`)."""
        glue = "" if not self.where or self.where.startswith("[") else "."
        return CutsheetError(self.code, self.message, f"{place}{glue}{self.where}")

    def as_dict(self) -> dict[str, str]:
        """Return `{"code", "where", "message"}`, the form in which the command line prints a refusal."""
        return {"code": self.code, "where": self.where, "message": self.message}
