"""Records behave as frozen dataclasses do, and the roles of a check follow from its fields.

Judge: the standard library's frozen dataclasses, declared side by side.
"""

from __future__ import annotations

import copy
import pickle
from dataclasses import FrozenInstanceError, dataclass
from typing import Any, ClassVar

import numpy as np
import pytest
from boxes import all_boxes, checks_of, plans
from hypothesis import given
from hypothesis import strategies as st

from fitter.checks.base import Reader, RoleName
from fitter.records import Record


class Base(Record):
    kind: ClassVar[str] = "sort"
    width: float
    depth: float = 1.0


class Point(Base):
    label = "plain"
    depth: float = 2.0
    height: float = 3.0


@dataclass(frozen=True)
class BaseTwin:
    width: float
    depth: float = 1.0


@dataclass(frozen=True)
class PointTwin(BaseTwin):
    depth: float = 2.0
    height: float = 3.0


VALUES = st.lists(st.integers(0, 2), max_size=4)
NAMED = st.dictionaries(
    st.sampled_from(["width", "depth", "height", "colour"]), st.integers(0, 2), max_size=3
)


def made(cls: Any, args: list[int], named: dict[str, int]) -> Any:
    try:
        return cls(*args, **named)
    except TypeError:
        return None


@given(args=VALUES, named=NAMED)
def test_built_and_shown_as_a_dataclass_is(args: list[int], named: dict[str, int]) -> None:
    record, twin = made(Point, args, named), made(PointTwin, args, named)
    assert repr(record) == repr(twin).replace("Twin", "")


@given(one=st.tuples(*[st.integers(0, 1)] * 3), other=st.tuples(*[st.integers(0, 1)] * 3))
def test_equal_and_hashed_as_a_dataclass_is(one: Any, other: Any) -> None:
    assert (Point(*one) == Point(*other)) == (PointTwin(*one) == PointTwin(*other))
    assert len({Point(*one), Point(*other)}) == len({PointTwin(*one), PointTwin(*other)})
    assert Base(*one[:2]) != Point(*one)


def test_immutable_as_a_dataclass_is() -> None:
    record: Any = Point(1.0)
    for change in (lambda: setattr(record, "width", 2.0), lambda: delattr(record, "width")):
        with pytest.raises(AttributeError, match="immutable"):
            change()
    assert issubclass(FrozenInstanceError, AttributeError)  # what a dataclass raises


def test_copies_and_pickles_leave_kept_hashes_behind() -> None:
    record = Point(1.0)
    assert hash(record) == hash(record)
    for twin in (copy.copy(record), copy.deepcopy(record), pickle.loads(pickle.dumps(record))):
        assert twin == record
        assert "_hash" not in vars(twin)
    assert record.replace(width=5.0) == Point(5.0)


class Wheel(Reader):
    name: str
    role: RoleName


class Cart(Reader):
    about: str
    driver: RoleName
    wheels: tuple[Wheel, ...]
    guides: tuple[RoleName, ...]
    brake: Wheel | None
    axle: RoleName | None = None


def test_roles_are_read_off_the_fields_in_their_order() -> None:
    cart = Cart("a cart", "d", (Wheel("left", "w"), Wheel("right", "v")), ("g", "w"), None)
    assert cart.roles == ("d", "w", "v", "g")
    assert cart.replace(brake=Wheel("b", "x"), axle="a").roles == ("d", "w", "v", "g", "x", "a")
    assert cart.roles is cart.roles


@pytest.mark.parametrize("plan", plans(), ids=str)
def test_every_check_reads_the_roles_it_names(plan: Any) -> None:
    """Judged by recording what `judge` asks of each part: no more, and nothing for nothing."""

    rng = np.random.default_rng(1)
    graph, checks = checks_of(plan, rng)
    for check in checks:
        boxes = all_boxes(graph, 4, rng)
        check.judge(boxes)
        read = {role for role, part in boxes.items() if part.drawn}
        assert read <= set(check.roles), check
        assert len(set(check.roles)) == len(check.roles)
        assert set(graph.nodes) >= set(check.roles)
