"""What everything that reads must do with any input, in short: seeds bent at random, and all that was found.

The same targets run for as long as wanted, guided by coverage, under ``fuzz_run.py``.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from fuzz_targets import TARGETS, Fuzzed, hold
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

FINDINGS = yaml.safe_load(Path(__file__).with_name("findings.yaml").read_text(encoding="utf-8"))["findings"]
Bend = tuple[float, int, bytes]  # where in the seed, how many bytes go, and what comes in


@pytest.mark.parametrize("name", TARGETS)
def test_every_seed_holds_and_most_are_good(name: str, tmp_path: Path) -> None:
    outcomes = [hold(TARGETS[name], seed, tmp_path) for seed in TARGETS[name].seeds]
    assert outcomes.count("good") > len(outcomes) / 2


@pytest.mark.parametrize("found", FINDINGS, ids=lambda found: found["what"])
def test_what_was_found_once_holds(found: dict[str, str], tmp_path: Path) -> None:
    target = TARGETS[found["target"]]
    assert hold(target, found["data"].encode("latin-1"), tmp_path) == found["comes out"]


def bends(target: Fuzzed) -> st.SearchStrategy[list[Bend]]:
    pieces = st.one_of(
        st.sampled_from([word.encode() for word in target.words]),
        st.binary(max_size=4),
        st.text(max_size=4).map(str.encode),
    )
    return st.lists(st.tuples(st.floats(0, 1), st.integers(0, 12), pieces), min_size=1, max_size=6)


def bent(seed: bytes, how: list[Bend]) -> bytes:
    for where, gone, come in how:
        at = int(where * len(seed))
        seed = seed[:at] + come + seed[at + gone :]
    return seed


@pytest.mark.parametrize("name", TARGETS)
def test_bent_seeds_are_understood_or_refused(name: str, tmp_path: Path) -> None:
    target = TARGETS[name]

    @settings(
        max_examples=40,
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(seed=st.sampled_from(target.seeds), how=bends(target))
    def holds(seed: bytes, how: list[Bend]) -> None:
        hold(target, bent(seed, how), tmp_path)

    holds()


def test_a_fault_would_be_seen(tmp_path: Path) -> None:
    """The harness itself: a stray file, a foreign exception, an error of two lines, and one that is slow."""

    def strays(data: bytes, folder: Path) -> None:
        (folder / "stray").write_bytes(data)

    def breaks(data: bytes, folder: Path) -> None:
        raise KeyError(data)

    with pytest.raises(AssertionError, match="written besides"):
        hold(Fuzzed(strays, [b""]), b"", tmp_path)
    assert not list(tmp_path.iterdir())
    with pytest.raises(KeyError):
        hold(Fuzzed(breaks, [b""]), b"", tmp_path)
