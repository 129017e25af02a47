"""Stocks kept as arrays hold the same figures, prices and parts as the lots they were made of.

The slow twin is the table made of candidates one by one. Stocks are mixed from the repair shed's lots.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from synthetic import lots as synthetic_lots
from synthetic import shed_lots

from fitter import answers
from fitter.advice.data import shop
from fitter.kinds import KINDS
from fitter.shed import Shed
from fitter.solve.candidates import Candidate, Columns, OfferTable, Pool
from fitter.solve.score import Prices, Waste
from fitter.stock import cache
from fitter.stock.files import Stock, load_stock, open_stock
from fitter.stock.lots import CONDITIONS, Lot

STATES = ("condition", "unit", "rail")
SHED = shed_lots()
KEPT = ("id", "kind", "rails", "secondaries")  # fields that a lot cannot be read without
IDS = st.one_of(st.text("aZ9 /-ä", min_size=1, max_size=6), st.text(min_size=1, max_size=8))


@pytest.fixture(autouse=True)
def every_stock_is_kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cache, "LEAST_BYTES", 0)
        patch.setenv("FITTER_CACHE", str(tmp_path_factory.mktemp("cache")))
        yield


@st.composite
def stocks(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Some of the shed's lots, with odd ids, some of their ratings, and other counts and conditions."""
    made = []
    for name in draw(st.lists(IDS, min_size=1, max_size=8, unique_by=lambda i: " ".join(i.split()))):
        lot = draw(st.sampled_from(SHED))
        kept = {k: v for k, v in lot.items() if k in KEPT or draw(st.integers(0, 3))}
        count, condition = draw(st.integers(0, 5)), draw(st.sampled_from(CONDITIONS))
        made.append({**kept, "id": name, "count": str(count), "condition": condition})
    return made


def written(folder: Path, lots: list[dict[str, Any]]) -> Path:
    file = folder / "stock.yaml"
    file.write_text(yaml.dump({"lots": lots}, allow_unicode=True), encoding="utf-8")
    return file


def pool_of(stock: Stock) -> Pool:
    return Pool(stock.lots, [lot for lots in shop().values() for lot in lots], stock.figures)


def assert_alike(one: Lot, other: Lot) -> None:
    assert vars(one) == vars(other)


def assert_same_candidate(one: Candidate, other: Candidate) -> None:
    assert (one.id, one.bought, one.unit) == (other.id, other.bought, other.unit)
    assert one.offer == other.offer
    assert_alike(one.lot, other.lot)


def assert_same_tables(stored: OfferTable, made: OfferTable) -> None:
    assert len(stored) == len(made)
    assert stored.kinds == made.kinds
    for name in ("bought", "unit", "count", "pieces", "condition", "lot_ids"):
        np.testing.assert_array_equal(getattr(stored, name), getattr(made, name), err_msg=name)
    assert [stored.kind_names[k] for k in stored.kind] == [made.kind_names[k] for k in made.kind]
    for row in range(len(made)):
        assert_same_candidate(stored.candidate(row), made.candidate(row))
        assert stored.candidate(row) is stored.candidate(row)
    names = set(STATES)
    if len(made):
        names |= set.intersection(*(set(made.candidate(i).offer.ratings) for i in range(len(made))))
    for name in names:
        for one, other in zip(stored.rating(name).values, made.rating(name).values, strict=True):
            np.testing.assert_array_equal(one, other, err_msg=name)  # to the last bit


def assert_same(path: Path, kinds: list[tuple[str, ...]]) -> None:
    """A stock cold, warm and lot by lot."""
    plain = load_stock(path, skip_bad=True)
    made = pool_of(plain)
    waste = Waste(made, shop())
    for _ in ("cold", "warm"):
        stock = open_stock(path, Prices(shop()).of, skip_bad=True)
        assert stock.figures is not None
        assert [str(e) for e in stock.skipped] == [str(e) for e in plain.skipped]
        assert list(stock.places) == sorted(plain.places)
        pool = pool_of(stock)
        for one, other in zip(stock.lots, made.lots, strict=True):
            assert_alike(one, other)
        assert pool.refusals == made.refusals
        assert dict(pool.pieces_by_kind) == made.pieces_by_kind
        for some in kinds:
            stored, table = pool.table(some), made.table(some)
            assert_same_tables(stored, table)
            rows = np.arange(len(table))
            for count in (1, 3):
                cents = Waste(pool, shop()).cents(Columns(stored, rows), count)
                np.testing.assert_array_equal(
                    cents, [waste.of(table.candidate(i), count) for i in rows], err_msg=str(some)
                )


EACH = [(kind,) for kind in KINDS]
SEVERAL = [
    ("stepper motor", "dc motor"),
    ("adapter", "switch-mode supply", "battery pack"),
    ("capacitor", "gear"),
]


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(stocks())
def test_any_stock(tmp_path: Path, lots: list[dict[str, Any]]) -> None:
    kinds = {(lot["kind"],) for lot in lots}
    assert_same(written(tmp_path, lots), [*kinds, *SEVERAL])


@pytest.mark.parametrize("seed", range(4))
def test_any_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """The JSON of some questions about mixed stocks, cold, warm and lot by lot."""
    pick = random.Random(seed)
    path = written(tmp_path, [lot for lot in synthetic_lots(182, seed) if pick.random() < 0.3])
    found = []
    for least in (0, 0, 10**9):
        monkeypatch.setattr(cache, "LEAST_BYTES", least)
        shed = Shed.open(path)
        asked = [answers.match(shed, name, top=10) for name in ("drawer-rails", "lab-supply")]
        asked.append(answers.why(shed, "lab-supply"))
        found.append([answer.model_dump_json() for answer in asked])
    assert found[0] == found[1] == found[2]


def test_a_shed_of_every_kind(tmp_path: Path) -> None:
    assert_same(written(tmp_path, synthetic_lots(182, seed=3)), [*EACH, *SEVERAL])


def test_a_rating_that_some_offers_lack_is_read_of_none(tmp_path: Path) -> None:
    lots = [
        {"id": "a", "kind": "pulley", "teeth": "20"},
        {"id": "b", "kind": "timing belt", "belt_pitch": "2 mm"},
    ]
    pool = pool_of(open_stock(written(tmp_path, lots), Prices(shop()).of))
    table = pool.table(("pulley", "timing belt"))
    assert len(table.rating("belt_pitch").lo) == len(table)
    with pytest.raises(KeyError, match="teeth"):
        table.rating("teeth")


def test_an_empty_stock(tmp_path: Path) -> None:
    assert_same(written(tmp_path, []), [*EACH, *SEVERAL])


def test_prices_are_those_stated_or_of_the_nearest_size() -> None:
    sizes = shop()["stepper motor"]
    price = Prices(shop()).of
    near = sizes[3]
    twin = Lot("mine", "stepper motor", ratings=near.ratings)
    assert price(twin) == near.price_new
    assert price(Lot("dear", "stepper motor", price_new=99.0, ratings=near.ratings)) == 99.0
    assert price(Lot("odd", "hinge")) == price(Lot("bare", "hinge")) > 0
