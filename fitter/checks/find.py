"""Finding the checks of a component graph by walking it: recipes never list them.

Each finder looks for one pattern of nodes and links and gives the checks that follow from it. An
engineer adds a check by adding a finder here or in a module of its own, decorated with
:func:`finder`; nothing else changes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import networkx as nx

from fitter.checks import drives, fits, guides, lab, placing, power, signals, steppers, strength
from fitter.checks.base import Check
from fitter.checks.motion import BeltReduction, Load, Reduction, Stage, Train
from fitter.checks.rails import PartRail, Rail, RectifiedRail

Graph = nx.DiGraph  # nodes are role names and loads, edges carry `link`
Finder = Callable[["nx.DiGraph[str]"], Iterator[Check]]
FINDERS: list[Finder] = []
STEPPERS = ("stepper driver", "unipolar driver")


def finder(find: Finder) -> Finder:
    """Register a finder."""
    FINDERS.append(find)
    return find


def find_checks(graph: nx.DiGraph[str]) -> list[Check]:
    """All checks of a graph, in the order of the finders, each once."""
    found: dict[Check, None] = {}
    for find in FINDERS:
        for check in find(graph):
            found.setdefault(check)
    return list(found)


def links(graph: nx.DiGraph[str], kind: str) -> Iterator[tuple[str, str, dict[str, object]]]:
    """All edges of one kind with their data."""
    return ((a, b, data) for a, b, data in graph.edges(data=True) if data["link"] == kind)


def before(graph: nx.DiGraph[str], node: str, kind: str) -> str | None:
    """The node from which a link of this kind comes, if any."""
    return next((a for a, _, data in graph.in_edges(node, data=True) if data["link"] == kind), None)


def kinds(graph: nx.DiGraph[str], node: str) -> tuple[str, ...]:
    """Kinds a role accepts; none for a load."""
    role = graph.nodes[node].get("role")
    return role.kinds if role else ()


def rail_at(graph: nx.DiGraph[str], node: str) -> Rail:
    """The rail that a node puts out: one part, or transformer, bridge and capacitor behind it."""
    bridge = before(graph, node, "dc")
    transformer = before(graph, bridge, "ac") if bridge else None
    if bridge and transformer:
        return RectifiedRail(transformer, bridge, node)
    return PartRail(node)


def rail_of(graph: nx.DiGraph[str], consumer: str) -> Rail | None:
    """The rail that feeds a node."""
    source = before(graph, consumer, "power")
    return rail_at(graph, source) if source else None


def trains(graph: nx.DiGraph[str]) -> Iterator[Train]:
    """Every drive train: from each load back along what moves it to the motor and its driver."""
    for node, data in graph.nodes(data=True):
        load = data.get("load")
        if isinstance(load, Load):
            yield from _train(graph, node, load)


_MOVERS = ("pull", "thread", "turn", "belt", "loop", "mesh", "shaft")


def _train(graph: nx.DiGraph[str], node: str, load: Load) -> Iterator[Train]:
    carried = tuple(sorted(a for a, _, d in graph.in_edges(node, data=True) if d["link"] == "carries"))
    path, stages = [node], []
    while before(graph, path[-1], "winding") is None:
        mover = _mover(graph, path)
        if mover is None:
            return
        path.append(mover)
        stage = graph.nodes[mover].get("stage")
        if stage is not None:
            stages.append(stage(mover))
    motor = path[-1]
    driver = before(graph, motor, "winding")
    if driver is not None:
        yield Train(load.replace(guides=carried), motor, driver, rail_of(graph, driver), _in_order(stages))


def _in_order(stages: list[Stage]) -> tuple[Stage, ...]:
    return tuple(reversed(stages))


def _mover(graph: nx.DiGraph[str], path: list[str]) -> str | None:
    """The next node back towards the motor; a coupler is crossed from its driven side."""
    node = path[-1]
    for a, _, data in graph.in_edges(node, data=True):
        turns_it = data["link"] in _MOVERS and not data.get("turns")
        if turns_it and a not in path and _leads_to_motor(graph, a):
            return a
    for _, b, data in graph.out_edges(node, data=True):
        if data["link"] == "shaft" and data.get("turns") and b not in path:
            return b
    return None


def _leads_to_motor(graph: nx.DiGraph[str], node: str) -> bool:
    """Whether anything turns this node; an idler is turned by nothing."""
    if before(graph, node, "winding") is not None:
        return True
    turned = any(d["link"] in _MOVERS and not d.get("turns") for _, _, d in graph.in_edges(node, data=True))
    crossed = any(d.get("turns") for _, _, d in graph.out_edges(node, data=True))
    return turned or crossed


def _stepping(graph: nx.DiGraph[str], train: Train) -> bool:
    return any(k in STEPPERS for k in kinds(graph, train.driver))


@finder
def drive_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Torque, currents, resolution and holding of every train."""
    for train in trains(graph):
        stepping = _stepping(graph, train)
        if stepping:
            yield steppers.Winding(train.driver, train.motor)
            yield steppers.StepperCurrent(train.driver, train)
        else:
            yield strength.GearStrength(train)
            yield drives.MotorHeat(train)
            yield drives.BridgeHours(train.driver, train)
        if train.rail is not None:
            torque = steppers.StepperTorque if stepping else drives.DCTorque
            yield torque(train.rail, train.driver, train)
            if not stepping:
                yield drives.BridgeCurrent(train.rail, train.driver, train.motor)
        if train.load.holds_unpowered:
            yield strength.HoldsUnpowered(train, stepping)
        yield from _placing(graph, train, stepping)


def holding_checks(graph: nx.DiGraph[str]) -> Iterator[strength.HoldsUnpowered]:
    """Whether each train holds its load without power, also where nobody asks for it."""
    for train in trains(graph):
        yield strength.HoldsUnpowered(train, _stepping(graph, train))


def _placing(graph: nx.DiGraph[str], train: Train, stepping: bool) -> Iterator[Check]:
    strip = before(graph, train.load.name, "reads")
    if stepping and train.load.resolution < float("inf"):
        load = train.load
        yield placing.Resolution(train.driver, train.motor, train.stages, load.resolution, load.rotary)
    elif strip:
        yield placing.EncoderResolution(strip, train.load.resolution)
        yield placing.EncoderLength(strip, train.load.travel)


@finder
def travel_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Travel that belts, screws and racks leave, and the speed a screw stands."""
    for train in trains(graph):
        load = train.load
        for a, _, data in graph.in_edges(load.name, data=True):
            if "timing belt" in kinds(graph, a):
                yield strength.BeltPull(a, load)
                yield placing.BeltTravel(a, train.stages[-1].role, load.travel, load.carriage_length)
            elif data["link"] == "thread":
                yield placing.ScrewTravel(a, load.travel, load.carriage_length)
                yield placing.ScrewNut(a)
                yield strength.ScrewBuckling(a, load)
                yield strength.ScrewWhip(a, train.stages[-1:], load.speed)
            elif "rack" in kinds(graph, a):
                yield strength.ToothStrength(train.stages[-1].role, load)
                yield placing.ScrewTravel(a, load.travel, load.carriage_length)


@finder
def loop_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Endless belts between two shafts: their length, and the pull they carry."""
    for train in trains(graph):
        for stage in train.stages:
            if isinstance(stage, BeltReduction):
                belt = before(graph, stage.wheel, "loop")
                if belt is not None:
                    yield strength.LoopPull(belt, stage.wheel, train.load)
                    yield placing.LoopLength(belt, stage.role, stage.wheel)
                    yield placing.LoopClosed(belt)


@finder
def coupler_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """What couplers pass on: a stepper may give all it has at any stop, other motors what the load takes."""
    for train in trains(graph):
        for coupler, stages in _couplers(graph, train):
            if "stepper motor" in kinds(graph, train.motor):
                yield strength.CouplerTorque(coupler, train.motor, stages)
            else:
                behind = train.replace(stages=train.stages[len(stages) :])
                yield strength.CouplerLoad(coupler, behind if stages else train)


def _couplers(graph: nx.DiGraph[str], train: Train) -> Iterator[tuple[str, tuple[Stage, ...]]]:
    """Couplers of a train that something before them turns, each with the stages before it."""
    turned: list[Stage] = []
    for node in (train.motor, *(s.role for s in train.stages if isinstance(s, Reduction))):
        turned += [s for s in train.stages if s.role == node]
        for _, b, data in graph.out_edges(node, data=True):
            if "coupler" in kinds(graph, b) and data["link"] in ("shaft", "turn") and not data.get("turns"):
                yield b, tuple(turned)


@finder
def reduction_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Torque of a reduction between motor and load, and the shaft and the bore that it is cut to."""
    for train in trains(graph):
        for stage in train.stages:
            if isinstance(stage, Reduction):
                yield strength.ReductionTorque(stage.role, train.behind(stage.role))
    for a, b, data in links(graph, "turn"):
        if "shaft" in data:
            yield fits.CutToFit(b, "bore", a, str(data["shaft"]))
        if "bore" in data:
            yield fits.CutToFit(a, "shaft_diameter", b, str(data["bore"]))


@finder
def fit_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Bores, belts, gears and rods that touch."""
    for a, b, data in links(graph, "shaft"):
        yield fits.Shaft(b, str(data["bore"]), a, str(data["shaft"]))
    for a, b, _ in links(graph, "belt"):
        yield fits.BeltPitch(a, b)
        yield fits.BeltWidth(a, b)
    for a, b, _ in links(graph, "mesh"):
        yield fits.Mesh(a, b)
    for a, b, _ in links(graph, "rod"):
        yield fits.RodBore(a, b)


@finder
def guide_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Travel, load, play and sag of guides, from what their roles must carry."""
    for node, data in graph.nodes(data=True):
        accepts = kinds(graph, node)
        if "rod" in accepts:
            carriage = data["carriage_length"]
            yield guides.RodTravel(node, data["travel"], carriage)
            yield guides.RodSag(node, data["mass"], data["max_sag"], data["travel"] + carriage)
        elif "linear bearing" in accepts:
            yield guides.BearingLoad(node, data["mass"])
        elif "drawer slide" in accepts:
            yield guides.SlideTravel(node, data["travel"])
            yield guides.SlideLoad(node, data["mass"])
            yield guides.SlidePlay(node, data["max_play"])
            if data["max_closed_length"] is not None:
                yield guides.SlideClosed(node, data["max_closed_length"])


_STACKED = ("switch-mode supply", "adapter", "battery pack")
_WINDOWED = ("stepper driver", "unipolar driver", "h-bridge", "controller board", "servo")


@finder
def rail_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Voltage windows, and the sum of everything each rail feeds."""
    fed: dict[str, tuple[Rail, list[power.Consumer]]] = {}
    by_driver = {t.driver: t for t in trains(graph)}
    for source, node, _ in links(graph, "power"):
        rail = rail_at(graph, source)
        if graph.nodes[node].get("windowed") or any(k in _WINDOWED for k in kinds(graph, node)):
            yield drives.HighestVoltage(rail, node)
            yield drives.LowestVoltage(rail, node)
        consumer = _consumer(graph, node, by_driver)
        if consumer is not None:
            fed.setdefault(source, (rail, []))[1].append(consumer)
    for node, data in graph.nodes(data=True):
        if data.get("least_voltage", 0.0) > 0:
            yield drives.UsefulVoltage(rail_at(graph, node), data["least_voltage"])
    for source, (rail, consumers) in fed.items():
        yield power.RailCurrent(rail, tuple(consumers))
        seconds = graph.nodes[source].get("run_time")
        if seconds and isinstance(rail, PartRail):
            yield power.RunTime(rail, tuple(consumers), seconds)
        if isinstance(rail, RectifiedRail):
            yield power.RectifierLoad(rail, tuple(consumers))
    yield from _shared(graph, fed)


def _consumer(graph: nx.DiGraph[str], node: str, by_driver: dict[str, Train]) -> power.Consumer | None:
    """What a node draws; of several pieces in one role as many as may be on at once."""
    one = _one_consumer(graph, node, by_driver)
    data = graph.nodes[node]
    at_once = data.get("at_once") or data["role"].count
    return one if one is None or at_once == 1 else power.Several(one, float(at_once))


def _one_consumer(graph: nx.DiGraph[str], node: str, by_driver: dict[str, Train]) -> power.Consumer | None:
    train, own = by_driver.get(node), graph.nodes[node].get("consumer")
    if own is not None:
        made: power.Consumer = own(node)
        return made
    if train is not None:
        return (
            power.StepperConsumer(train.driver, train)
            if _stepping(graph, train)
            else power.MotorConsumer(train)
        )
    accepts = kinds(graph, node)
    if "servo" in accepts:
        return power.RatedConsumer(node, "stall_current")
    if "controller board" in accepts:
        return power.RatedConsumer(node, "supply_current")
    if any(k in accepts for k in ("solenoid", "electromagnet")):
        return power.CoilConsumer(node)
    return None


def _shared(graph: nx.DiGraph[str], fed: dict[str, tuple[Rail, list[power.Consumer]]]) -> Iterator[Check]:
    units = [
        power.Supplied(source, rail, tuple(consumers))
        for source, (rail, consumers) in fed.items()
        if "switch-mode supply" in kinds(graph, source)
    ]
    for i, first in enumerate(units[:-1]):
        others = tuple(units[i + 1 :])
        yield power.SharedUnit(first, others)
        yield power.SharedRail(first, others)


@finder
def rectifier_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Ratings of the bridge and the capacitor behind a transformer."""
    for _, capacitor, _ in links(graph, "dc"):
        rail = rail_at(graph, capacitor)
        if isinstance(rail, RectifiedRail):
            yield lab.RectifierVoltage(rail)
            yield lab.CapacitorVoltage(rail)


@finder
def linear_supply_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Headroom, ripple, currents and heat of a series-regulated supply."""
    for front, part, data in links(graph, "regulate"):
        rail, output = rail_at(graph, front), data["output"]
        with_pass = bool(data["with_pass"])
        assert isinstance(output, lab.LinearOutput)
        if "linear regulator" in kinds(graph, part):
            yield lab.Headroom(rail, part, output, with_pass)
            yield lab.OutputRange(part, output)
            yield lab.FrontCurrent(rail, output)
            if isinstance(rail, RectifiedRail):
                yield lab.RectifierCurrent(rail.bridge, output.current)
            yield lab.InputLimit(rail, part, "max_input_voltage")
            yield lab.OutputRipple(rail, part, output)
            if not with_pass:
                yield lab.SeriesCurrent(part, output, False)
        else:
            yield lab.InputLimit(rail, part, "max_voltage")
            yield lab.SeriesCurrent(part, output, True)
    for hot, sink, data in links(graph, "mount"):
        source = before(graph, hot, "regulate")
        output = data["output"]
        assert isinstance(output, lab.LinearOutput)
        if source is not None:
            yield from _heat(graph, rail_at(graph, source), hot, sink, output, bool(data["with_pass"]))


def _heat(
    graph: nx.DiGraph[str], rail: Rail, hot: str, sink: str, output: lab.LinearOutput, with_pass: bool
) -> Iterator[Check]:
    yield lab.JunctionHeat(rail, hot, sink, output, with_pass)
    if with_pass:
        yield lab.SafeArea(rail, hot, sink, output)
        front = before(graph, hot, "regulate")
        for other, part, _ in links(graph, "regulate"):
            if other == front and "linear regulator" in kinds(graph, part):
                yield lab.RegulatorHeat(rail, part, hot, sink, output)


@finder
def signal_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Levels between a controller and what it commands or reads, and the outputs and inputs it needs."""
    wanted: dict[tuple[str, str], int] = {}
    for a, b, _ in links(graph, "signal"):
        if "controller board" in kinds(graph, a):
            yield from _commanded(graph, a, b, wanted)
        else:
            yield from _sensed(graph, a, b, wanted)
    for (board, rating), count in wanted.items():
        yield signals.Outputs(board, rating, count)


def _commanded(
    graph: nx.DiGraph[str], board: str, node: str, wanted: dict[tuple[str, str], int]
) -> Iterator[Check]:
    accepts = kinds(graph, node)
    output = "step_outputs" if any(k in STEPPERS for k in accepts) else "pwm_outputs"
    wanted[board, output] = wanted.get((board, output), 0) + graph.nodes[node]["role"].count
    if "transistor switch" in accepts:
        yield signals.GateVoltage(board, node)
    elif "servo" not in accepts:
        yield signals.SignalHigh(board, node)
        yield signals.SignalLow(board, node)


def _sensed(
    graph: nx.DiGraph[str], node: str, board: str, wanted: dict[tuple[str, str], int]
) -> Iterator[Check]:
    count = graph.nodes[node]["role"].count
    if "encoder strip" in kinds(graph, node):
        count = 2
    else:
        yield signals.SensorSupply(board, node)
    wanted[board, "inputs"] = wanted.get((board, "inputs"), 0) + count


@finder
def push_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Force, stroke, voltage and heat of servos and coils."""
    for node, data in graph.nodes(data=True):
        accepts = kinds(graph, node)
        if "servo" in accepts:
            yield signals.ServoForce(node, data["force"], data["arm"])
        elif "solenoid" in accepts:
            yield signals.CoilForce(node, data["force"])
            yield signals.Stroke(node, data["stroke"])
            yield from _coil(graph, node, data["duty"])


def _coil(graph: nx.DiGraph[str], coil: str, duty: float) -> Iterator[Check]:
    rail = rail_of(graph, coil)
    switch = before(graph, coil, "switches")
    if rail is not None:
        yield signals.CoilVoltage(rail, coil)
        yield signals.CoilHeat(rail, coil, duty)
        if switch is not None:
            yield signals.SwitchRating(rail, switch, coil)


@finder
def series_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Whether supplies may stand in series, where they do."""
    for node in graph.nodes:
        if any(k in _STACKED for k in kinds(graph, node)):
            yield signals.FreeOutputs(node)


@finder
def condition_checks(graph: nx.DiGraph[str]) -> Iterator[Check]:
    """Every part in a build must be known to work."""
    for node, data in graph.nodes(data=True):
        if "role" in data:
            yield signals.Condition(node)
