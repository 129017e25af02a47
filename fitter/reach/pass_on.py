"""Lots that no project has a use for, and pieces beyond any use: candidates to pass on.

A lot is of use where some role of some variant of some recipe takes it in a set that passes, with the
demands at their easiest and anything else bought. First the checks of each function alone are judged
for all lots at once, the other roles being all that may fill them; what is left is searched for one by
one, and every set found speaks for all lots in it.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator, Mapping

from fitter.functions import Role
from fitter.kinds import kind_key
from fitter.reach.easiest import Easiest
from fitter.reach.models import PassOnAnswer, PassOnsAnswer
from fitter.reach.roles import every_role, known_demands, own_demands
from fitter.recipes import bind
from fitter.shed import Shed
from fitter.solve.limits import StoppedBy
from fitter.stock.lots import Lot


def pass_on(shed: Shed, settings: Mapping[str, str] | None = None) -> PassOnsAnswer:
    """Lots, or pieces of them, that are of no use to any recipe.

    Raises:
        FitterError: A demand that no recipe has, or that cannot be so.
    """
    known_demands(shed, settings)
    found = _Sorted(shed, settings or {})
    lots = [a for lot in sorted(shed.stock.lots, key=lambda lot: lot.id) if (a := found.answer(lot))]
    return PassOnsAnswer(
        lots=lots,
        not_known=sorted(found.not_known),
        outcome="stopped" if found.not_known else "complete",
        stopped_by=found.stopped_by,
        set_aside=shed.left_out,
    )


class _Sorted:
    """The lots of a stock, each found useful, useless or not known."""

    def __init__(self, shed: Shed, settings: Mapping[str, str]) -> None:
        self.shed = shed
        self.cases = [Easiest(shed, bind(r, own_demands(r, settings))) for r in shed.recipes.values()]
        self.fewest = _fewest(role for case in self.cases for role in every_role(case.project))
        self.useful: set[str] = set()
        self.not_known: set[str] = set()
        self.stopped_by: StoppedBy | None = None
        self._end = time.process_time() + shed.limit_seconds
        self._look(lot for lot in shed.stock.lots if self._placed(lot))

    def _placed(self, lot: Lot) -> bool:
        kept = lot.id not in self.shed.refused and lot.id not in self.shed.without
        return kept and lot.count > 0 and kind_key(lot.kind) in self.fewest

    def _look(self, lots: Iterable[Lot]) -> None:
        for lot in lots:
            if lot.id not in self.useful:
                answer = self._tried(lot.id)
                if answer is None:
                    self.not_known.add(lot.id)
        self.not_known -= self.useful

    def _tried(self, lot: str) -> bool | None:
        """Whether some set takes a lot; all lots of that set are useful then."""
        answers: set[bool | None] = set()
        for case, role in self._places(lot):
            found = case.goes(role, lot, self._end)
            self.stopped_by = self.stopped_by or case.stopped_by
            if found is None or isinstance(found, bool):
                answers.add(found)
                continue
            self.useful.update(c.lot.id for c in found.parts.values() if not c.bought)
            return True
        return None if None in answers else False

    def _places(self, lot: str) -> Iterator[tuple[Easiest, str]]:
        for case in self.cases:
            yield from ((case, role) for role, lots in case.accepted.items() if lot in lots)

    def answer(self, lot: Lot) -> PassOnAnswer | None:
        """A lot as a candidate to pass on; none where all of it may be of use."""
        if lot.id in self.not_known or lot.id in self.shed.without or lot.count < 1:
            return None
        refused = self.shed.refused.get(lot.id)
        if refused:
            reason = "faulty" if lot.condition == "faulty" else "never placed"
            return _answer(lot, lot.count, reason, refused.partition(": ")[2])
        if kind_key(lot.kind) not in self.fewest:
            return _answer(lot, lot.count, "no project takes it", "no project has a role for this kind")
        fewest = self.fewest[kind_key(lot.kind)]
        if lot.count < fewest:
            text = f"every role for it takes {fewest} alike or more, you have {lot.count}"
            return _answer(lot, lot.count, "too few", text)
        if lot.id not in self.useful:
            text = "in no role of any project does it pass, whatever the demands and the other parts"
            return _answer(lot, lot.count, "no set passes with it", text)
        most = sum(case.most_pieces(lot.id) for case in self.cases)
        if most >= lot.count:
            return None
        return _answer(lot, lot.count - most, "too many", f"all projects at once take {most} at most")


def _fewest(roles: Iterable[Role]) -> dict[str, int]:
    """Kinds that roles take, and the fewest pieces that one of them does."""
    found: dict[str, int] = {}
    for role in roles:
        for kind in map(kind_key, role.kinds):
            found[kind] = min(found.get(kind, role.count), role.count)
    return found


def _answer(lot: Lot, spare: int, reason: str, text: str) -> PassOnAnswer:
    return PassOnAnswer.model_validate(
        {
            "lot": lot.id,
            "kind": lot.kind,
            "name": lot.name,
            "bin": lot.bin,
            "count": lot.count,
            "spare": spare,
            "reason": reason,
            "text": text,
        }
    )
