"""What import and export answer, as models: the source of their JSON and its schema."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

Outcome = Literal["add", "update", "unchanged", "error"]


class _Answer(BaseModel):
    model_config = ConfigDict(frozen=True)


class ImportedField(_Answer):
    """A field of a lot that gets another value; ``old`` is null where it had none."""

    field: str
    old: str | None
    new: str


class ImportedRow(_Answer):
    """A row of the sheet: what it is to a lot of the stock, and what is wrong with it."""

    row: int
    lot: str | None
    kind: str | None
    outcome: Outcome
    file: str | None
    changes: list[ImportedField]
    errors: list[str]
    remark: str | None


class ImportAnswer(_Answer):
    """What a sheet would make of the stock, or made of it when ``written``."""

    file: str
    sheet: str | None
    other_sheets: list[str]
    read_as: str
    written: bool
    added: int
    updated: int
    unchanged: int
    wrong: int
    ignored: list[str]
    files: list[str]
    rows: list[ImportedRow]


class ExportAnswer(_Answer):
    """A table that was written."""

    file: str
    lots: int
    columns: list[str]
    not_carried: list[str]
