"""Every published motion fact is either used by a test or listed with the reason why not."""

from __future__ import annotations

import re
from pathlib import Path

from motion_facts import facts, unused


def ids_in_tests() -> set[str]:
    text = "".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_*.py"))
    return set(re.findall(r'"([A-Z]{2}-\d\d)"', text))


def test_every_fact_is_used_or_listed() -> None:
    assert facts().keys() - ids_in_tests() == unused().keys()


def test_every_fact_names_its_source_and_evidence() -> None:
    for known in facts().values():
        assert known.source, known.id
        assert re.search("read|from memory|own", known.evidence), known.id
        assert known.tolerance, known.id


def test_reasons_are_given() -> None:
    assert all(len(reason) > 20 for reason in unused().values())
