"""One family of errors for bad input: each says where, what is wrong and what would be right."""

from __future__ import annotations

from collections.abc import Iterable


class FitterError(ValueError):
    """Bad input from the person at the bench; never a fault of the program.

    The parts stay available as attributes, so that a caller can sort or count errors without
    reading prose; ``str(error)`` is the one line that is shown.
    """

    def __init__(
        self,
        problem: str,
        *,
        expected: str | None = None,
        got: str | None = None,
        file: str | None = None,
        line: int | None = None,
        lot: str | None = None,
        field: str | None = None,
    ) -> None:
        super().__init__(problem)
        self.problem = problem
        self.expected = expected
        self.got = got
        self.file = file
        self.line = line
        self.lot = lot
        self.field = field

    def at(
        self,
        *,
        file: str | None = None,
        line: int | None = None,
        lot: str | None = None,
        field: str | None = None,
    ) -> FitterError:
        """The same error with the place filled in where it was still open."""
        return type(self)(
            self.problem,
            expected=self.expected,
            got=self.got,
            file=self.file or file,
            line=self.line or line,
            lot=self.lot or lot,
            field=self.field or field,
        )

    def __str__(self) -> str:
        place = self.file or ""
        if self.line is not None:
            place += f":{self.line}" if place else f"line {self.line}"
        where = [place] if place else []
        if self.lot:
            where.append(f"lot {self.lot}")
        if self.field:
            where.append(self.field)
        text = self.problem
        if self.got is not None:
            text += f" (got {self.got!r})"
        if self.expected:
            text += f"; {self.expected}"
        return ": ".join([*where, text])

    def __reduce__(self) -> tuple[object, ...]:
        return _rebuild, (type(self), self.problem, {k: v for k, v in vars(self).items() if k != "problem"})


class FitterErrors(FitterError):  # noqa: N818  (the plural of the family name says what it holds)
    """Several errors of one file, reported together."""

    def __init__(self, errors: Iterable[FitterError]) -> None:
        self.errors = list(errors)
        super().__init__("\n".join(map(str, self.errors)))

    def __str__(self) -> str:
        return self.problem

    def __reduce__(self) -> tuple[object, ...]:
        return type(self), (self.errors,)


def _rebuild(cls: type[FitterError], problem: str, fields: dict[str, object]) -> FitterError:
    return cls(problem, **fields)  # type: ignore[arg-type]
