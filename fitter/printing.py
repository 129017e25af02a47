"""How commands print an answer: as one JSON document, or by a function of the terminal."""

from __future__ import annotations

import json as json_text
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pydantic import BaseModel


def print_answer(answer: BaseModel, as_json: bool, show: Callable[[], Any]) -> None:
    """An answer as JSON, or by the function given."""
    if as_json:
        print_json(answer.model_dump(mode="json"))
    else:
        show()


def print_json(document: object) -> None:
    """One JSON document on standard output; plain ASCII where that is not UTF-8."""
    plain = (getattr(sys.stdout, "encoding", None) or "utf-8").casefold().replace("-", "") != "utf8"
    print(json_text.dumps(document, indent=2, allow_nan=False, ensure_ascii=plain))
