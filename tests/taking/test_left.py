"""What is set aside is never used twice, and what is put back is as if it had never been away.

Judged on random stocks by adding up what all takes hold, against the lots as they stand in the file.
"""

from __future__ import annotations

import contextlib
import random
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from magnet_stock import magnets
from synthetic import lots as synthetic_lots

from fitter.errors import FitterError
from fitter.planning.answers import plan
from fitter.shed import Shed
from fitter.solve.candidates import Pool
from fitter.stock import cache
from fitter.stock.files import load_stock, open_stock, set_aside_files
from fitter.stock.left import held_by_lot, left_of
from fitter.stock.set_aside import Part, SetAside, read_all
from fitter.taking.leave import put_back
from fitter.taking.take import Wanted, take

STEPS = st.lists(st.sampled_from(["take", "take", "take", "put back"]), min_size=2, max_size=5)


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FITTER_CACHE", str(tmp_path / "cache"))


def held(stock: Path) -> list[SetAside]:
    return [b for file in read_all(set_aside_files(stock)) for b in file.builds]


@settings(max_examples=12, deadline=None)
@given(
    amps=st.lists(st.sampled_from([1.5, 2.0, 3.0, 4.0, 6.0]), min_size=1, max_size=3),
    watts=st.sampled_from([40, 80, 120, 300]),
    units=st.integers(1, 2),
    coils=st.integers(1, 4),
    steps=STEPS,
)
def test_no_piece_amp_watt_or_board_is_held_twice(
    tmp_path_factory: pytest.TempPathFactory,
    amps: list[float],
    watts: int,
    units: int,
    coils: int,
    steps: list[str],
) -> None:
    folder = tmp_path_factory.mktemp("s")
    stock = magnets(folder, amps=tuple(amps), watts=watts, units=units, coils=coils)
    own = folder / "recipes"
    whole = {lot.id: lot for lot in load_stock(stock).lots}
    for step in steps:
        builds = held(stock)
        if step == "put back" and builds:
            put_back(stock, builds[0].name)
        elif step == "take":
            with contextlib.suppress(FitterError):  # nothing is left
                take(stock, lambda: Shed.open(stock, own), Wanted("magnet", {}))
        for lot, by in held_by_lot(held(stock)).items():
            assert by.pieces + by.shares <= whole[lot].count
            for rail, drawn in by.drawn.amps.items():
                assert drawn <= whole[lot].rails[rail]["current"].hi * 1.001
            assert by.drawn.watts <= watts * 1.001
        answer = plan(Shed.open(stock, own), ["magnet"])
        used = Counter({lot: n for b in answer.builds for lot, n in b.pieces.items()})
        taken = held_by_lot(held(stock))
        for lot, pieces in used.items():
            assert pieces + (taken[lot].pieces if lot in taken else 0) <= whole[lot].count
    for build in held(stock):
        put_back(stock, build.name)
    back = Shed.open(stock, own).stock
    assert [vars(lot) for lot in back.lots] == [vars(lot) for lot in load_stock(stock).lots]


def random_builds(rng: random.Random, stock: Path) -> list[SetAside]:
    """Builds that hold this and that of a stock, one unit of each supply shared."""
    parts = []
    for lot in load_stock(stock).lots:
        rails = len(lot.rails) or 1
        if lot.kind in ("switch-mode supply", "adapter", "battery pack") and rng.random() < 0.7:
            rail = rng.randint(1, rails) if lot.rails else 0
            parts.append(Part("s.supply", lot.id, rail=rail, current=rng.choice((0.0, 0.7, 50.0)), power=9.0))
        if rng.random() < 0.3 and lot.count:
            parts.append(Part("r.part", lot.id, rng.randint(1, lot.count + 1)))
    rng.shuffle(parts)
    return [SetAside(f"b{n}", "x", "", tuple(parts[n::2])) for n in range(2)]


@pytest.mark.parametrize("seed", range(6))
def test_a_stock_kept_as_arrays_leaves_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    """Every candidate of every kind is the same in both, in all its figures."""
    monkeypatch.setattr(cache, "LEAST_BYTES", 0)
    file = tmp_path / "stock.yaml"
    lots = synthetic_lots(150, seed)
    file.write_text(yaml.dump({"lots": lots}, allow_unicode=True), encoding="utf-8")
    builds = random_builds(random.Random(seed), file)
    plain = left_of(load_stock(file), builds)
    for _ in ("read", "from the cache"):
        arrays = left_of(open_stock(file, lambda lot: 1.0), builds)
        assert arrays.figures is not None
        pools = Pool(plain.lots), Pool(arrays.lots, figures=arrays.figures)
        assert pools[0].pieces_by_kind == {k: n for k, n in pools[1].pieces_by_kind.items() if n} | {
            k: 0 for k, n in pools[0].pieces_by_kind.items() if not n
        }
        for kind in {lot["kind"] for lot in lots}:
            made, stored = (pool.table([kind]) for pool in pools)
            enough = np.flatnonzero(stored.count >= stored.pieces)
            mine = {
                made.candidate(i).id: made.candidate(i)
                for i in range(len(made))
                if made.count[i] >= made.pieces[i]
            }
            assert [stored.candidate(int(i)).id for i in enough] == list(mine)
            for row in map(int, enough):
                other = stored.candidate(row)
                assert vars(other.lot) == vars(mine[other.id].lot)
                assert other.offer == mine[other.id].offer
                for name in set(other.offer.ratings) & {"current", "unit_power", "voltage.low"}:
                    found, want = stored.rating(name), mine[other.id].rating(name)
                    assert (found.lo[row], found.hi[row], found.likely[row]) == (
                        want.lo,
                        want.hi,
                        want.likely,
                    )
                    assert found.minutes[row] == mine[other.id].minutes(name)


def test_rails_in_series_are_not_offered_of_a_unit_in_part_use(tmp_path: Path) -> None:
    stock = magnets(tmp_path, amps=(4, 4))
    file = stock / "parts.yaml"
    file.write_text(
        file.read_text(encoding="utf-8").replace("isolated: no", "isolated: yes"), encoding="utf-8"
    )
    shares = SetAside("a", "x", "", (Part("s", "unit", rail=1, current=1.0, power=24.0),))
    whole = load_stock(stock)
    less = left_of(whole, [shares])
    assert {"rail 1", "rails 1+2"} <= {o.key for o in whole.lot("unit").offers()}
    left = {o.key: o for o in less.lot("unit").offers()}
    assert set(left) == {"rail 1", "rail 2"}
    assert left["rail 1"].ratings["current"].hi == 3.0
    assert left["rail 2"].ratings["current"].hi == 4.0
    assert left["rail 2"].ratings["unit_power"].hi == 476.0
