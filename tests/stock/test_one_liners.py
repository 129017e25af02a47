"""Lines as makers type them: a table of what they mean, and of what is refused with a remedy."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import pytest
import yaml

from fitter.entering.lexicon import KINDS, kind_words, kinds_called, templates
from fitter.entering.line import understand
from fitter.entering.meaning import Unclear
from fitter.errors import FitterError
from fitter.stock.entries import parsed

TABLE = yaml.safe_load((Path(__file__).parent / "one_liners.yaml").read_text(encoding="utf-8"))


def typed(line: str) -> list[str]:
    return shlex.split(line) if "'" in line else line.split()


@pytest.mark.parametrize("case", TABLE["understood"], ids=lambda c: c["line"])
def test_a_line_means(case: dict[str, Any]) -> None:
    assert dict(understand(typed(case["line"])).fields) == case["fields"]


@pytest.mark.parametrize("case", TABLE["refused"], ids=lambda c: c["line"])
def test_a_line_is_refused_with_its_word_and_a_remedy(case: dict[str, Any]) -> None:
    with pytest.raises(FitterError) as caught:
        understand(typed(case["line"]))
    assert str(caught.value).startswith(case["says"])
    assert caught.value.expected


@pytest.mark.parametrize("case", TABLE["understood"], ids=lambda c: c["line"])
def test_every_word_is_told_back(case: dict[str, Any]) -> None:
    found = understand(typed(case["line"]))
    told = " ".join(m.words for m in found.meant)
    small = {"with", "of", "from", "and", "x1"}
    assert [w for w in typed(case["line"]) if w.strip(",") not in told and w not in small] == []
    said = {m.field for m in found.meant}
    if found.template is None:
        codes = {"name", "rails", "secondaries"}
        assert set(found.fields) - said - codes - {n for n in found.fields if "kind" not in said} == set()


def test_the_order_of_words_does_not_matter() -> None:
    pieces = ["stepper", "42x40", "4 wires", "2.9 ohm", "bin B3", "x8", "tested"]
    meant = [understand(" ".join(p).split()).fields for p in (pieces, pieces[::-1], pieces[3:] + pieces[:3])]
    assert meant[0] == meant[1] == meant[2]


@pytest.mark.parametrize("kind", KINDS)
def test_words_of_a_kind_are_ratings_it_has(kind: str) -> None:
    of = kind_words(kind)
    fields = {**of.kind.ratings, "note": None}
    assert set(of.ask) <= set(of.kind.ratings)
    assert {n for n in of.bare.values() if isinstance(n, str)} <= set(of.kind.ratings)
    assert {n for size in of.sizes for n in size.ratings} <= set(of.kind.ratings)
    for name, value in ((n, v) for each in of.words.values() for n, v in each.items()):
        assert name in fields
        parsed(name, of.kind.ratings[name], value)
    assert kinds_called()[kind] == (kind,)


@pytest.mark.parametrize("template", templates(), ids=lambda t: f"{t.donor}, {t.name}")
def test_a_template_is_entered_by_its_machine_and_name(template: Any) -> None:
    found = understand(["from", *template.donor.split(), *template.name.split(), "x2"])
    assert (found.kind, found.fields["donor"]) == (KINDS[template.kind].name, template.donor)
    for name, value in found.fields.items():
        if name in KINDS[template.kind].ratings:
            assert str(value).endswith(", estimated")


def test_what_is_typed_counts_more_than_a_template() -> None:
    found = understand(["copier", "feed", "motor", "42x48", "measured", "x4"])
    assert found.fields["body_length"] == "48 mm, measured"
    assert found.fields["step_angle"] == "1.8 deg, estimated"


def test_nothing_is_guessed_where_two_ratings_or_machines_may_be_meant() -> None:
    for line in ("stepper 40mm", "motor 12V", "feed motor x4", "stepper from printer", "dc motor 0.2A"):
        with pytest.raises(Unclear):
            understand(line.split())


def test_a_long_line_is_refused_soon() -> None:
    with pytest.raises(FitterError, match="too many words"):
        understand(["stepper"] + ["x2"] * 100)
    with pytest.raises(FitterError, match="no words"):
        understand([])
