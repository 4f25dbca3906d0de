"""How long a network takes to be judged, found and built: a three-way of 14 parts, 240 bands, both orbits, 5 seats.

Run as ``python tests/speed/bench_voice.py``. Prints milliseconds of processor time, and beside them, in the same run:
scipy's differential evolution on the same evaluator, and ngspice on the same network.
"""

import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy.optimize import differential_evolution

from forehear.design import Change, Design, NetworkPart, NetworkStep, load
from forehear.parts import ResistorPart
from forehear.spine.hearing import Hearing
from forehear.spine.situation import Situation, solve_situation
from forehear.voice import Asked, Draw, layout_of, wish_of, yield_of
from forehear.voice.choosing import Shelf, choose
from forehear.voice.circuit import Circuit, Joined, Slot, Tree
from forehear.voice.descent import Space, Watch, valleys
from forehear.voice.evaluator import Evaluator
from forehear.voice.layout import Layout
from forehear.voice.pruning import space_for
from forehear.voice.wish import begin_voicing

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema" / "trio.yaml"
REPEATS = 40
COPIES = 200  # of the network in one deck of ngspice, so that starting it does not count
TIMES = 20  # evaluations allowed to differential evolution, over ours


def best_ms(work: Callable[[], object]) -> float:
    """Shortest of several runs [ms of processor time]: the machine has neighbours."""
    spent = []
    for _ in range(REPEATS):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return 1000 * min(spent)


def with_14_parts(design: Design) -> Layout:
    """Return the network of the example with two resistors more."""
    layout = layout_of(design).with_wires()
    for way, ohm in ((1, 22.0), (2, 15.0)):
        part = NetworkPart(ResistorPart(ohm, 10.0), ())
        layout = layout.with_step(way, len(layout.ways[way].network), NetworkStep("shunt", part, ()))
    return layout


def deck_of(circuit: Circuit, values: np.ndarray, losses: np.ndarray, hz: np.ndarray) -> str:
    """Write the network with resistors for drivers many times."""
    lines, count = ["* network"], [0]

    def node() -> str:
        count[0] += 1
        return f"n{count[0]}"

    def tree(tree_: Tree, near: str, far: str) -> None:
        if isinstance(tree_, Joined):
            ends = [near, *(near if tree_.side_by_side else node() for _ in tree_.inner[1:])]
            for place, inner in enumerate(tree_.inner):
                last = tree_.side_by_side or place == len(tree_.inner) - 1
                tree(inner, ends[place], far if last else ends[place + 1])
            return
        assert isinstance(tree_, Slot)
        middle, letter = node(), {"coil": "l", "capacitor": "c", "resistor": "r"}[circuit.sorts[tree_.part]]
        lines.append(f"r{middle} {near} {middle} {max(losses[tree_.part], 1e-9)!r}")
        lines.append(f"{letter}{middle} {middle} {far} {values[tree_.part]!r}")

    for copy in range(COPIES):
        lines.append(f"vs{copy} t{copy} 0 dc 0 ac 1")
        for rungs in circuit.ways:
            at = f"t{copy}"
            for rung in rungs:
                end = node() if rung.kind == "series" else "0"
                tree(rung.tree, at, end)
                at = end if rung.kind == "series" else at
            lines.append(f"rl{node()} {at} 0 8")
    lines += [".options noopac", f".ac dec {len(hz) // 3} 20 20k", ".save i(vs0)", ".end"]
    return "\n".join(lines) + "\n"


def ngspice_ms(circuit: Circuit, values: np.ndarray, losses: np.ndarray) -> float | None:
    """Time of one network in ngspice [ms], its start taken out; None where it is not installed."""
    program = shutil.which("ngspice")
    if program is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        spent = []
        for text in (
            deck_of(circuit, values, losses, circuit.frequency_hz),
            "* none\nr1 1 0 1\nv1 1 0 1\n.op\n.end\n",
        ):
            (Path(folder) / "deck.cir").write_text(text)
            command = [program, "-n", "-b", "-r", "deck.raw", "deck.cir"]
            start = time.perf_counter()
            subprocess.run(command, cwd=folder, env={"HOME": folder}, capture_output=True, check=False)
            spent.append(time.perf_counter() - start)
    return 1000 * (spent[0] - spent[1]) / COPIES


def evolve(evaluator: Evaluator, space: Space, most: int) -> tuple[float, int]:
    """Let scipy's differential evolution search values and polarities; its goal and its evaluations."""
    count, parts = [0], len(space.low)
    ways = len(evaluator.circuit.polarity)

    def goals(x: np.ndarray) -> np.ndarray:
        found = np.empty(x.shape[1])
        turned = (x[parts:] > 0.5).T  # [build, way but the first]
        for turn in np.unique(turned, axis=0):
            same = (turned == turn).all(axis=1)
            judge = evaluator.with_polarity(np.array([1.0, *np.where(turn, 1.0, -1.0)]))
            found[same] = judge.goals(*space.filled(x[:parts, same].T))
        count[0] += found.size
        return found

    bounds = [*zip(space.low, space.high, strict=True), *[(0.0, 1.0)] * (ways - 1)]
    size = 15 * len(bounds)
    found = differential_evolution(
        goals, bounds, maxiter=max(-(-most // size) - 1, 1), popsize=15, rng=1, polish=False, vectorized=True,
        updating="deferred", tol=0.0,
    )  # fmt: skip
    return float(found.fun), count[0]


def searched(situation: Situation, layout: Layout, evaluator: Evaluator) -> None:
    """Find the optimum, then parts, and compare with differential evolution."""
    wish = wish_of(situation.design, Asked())
    own, space = space_for(layout, evaluator)
    found, watch = [], Watch()
    start = time.process_time()
    valleys(own, space, np.random.default_rng(1), watch, found)
    best = min(found, key=lambda one: one.goal_db)
    values_s = time.process_time() - start
    ours = watch.evaluations
    shelf = Shelf(tuple(wish.shop.offers(part.component) for part in layout.parts))
    choice = choose(own, space, best, shelf, watch)
    whole_s = time.process_time() - start
    print(
        f"optimum of values, all polarities    {values_s:7.2f} s, {ours} evaluations, {best.goal_db:.4f} dB"
    )
    print(
        f"and of E24 parts                     {whole_s:7.2f} s, {watch.evaluations} evaluations, "
        f"{choice.goal_db:.4f} dB"
    )
    start = time.process_time()
    goal, evaluations = evolve(own, space, TIMES * ours)
    print(
        f"differential evolution               {time.process_time() - start:7.2f} s, {evaluations} evaluations "
        f"({evaluations / ours:.1f} times ours), {goal:.4f} dB"
    )


def main() -> None:
    """Print all of it."""
    design = load(EXAMPLE)
    seat = "{position: [2.9 m, 0.9 m], ear height: 1.0 m}"
    design = design.with_brief_changes(
        [
            Change(("seats", "rug"), seat),
            Change(("goals", "main seats"), f"[{', '.join(s.name for s in design.brief.seats)}, rug]"),
        ]
    )
    start = time.process_time()
    situation = solve_situation(design, Hearing.standard())
    print(f"acoustics, once a shape              {1000 * (time.process_time() - start):7.0f} ms")
    begun, _ = begin_voicing(situation, wish_of(design, Asked()))
    layout = with_14_parts(design)
    evaluator, space = space_for(layout, begun.evaluator)
    values, losses = space.filled(space.start)
    print(f"{len(values)} parts, {evaluator.ears.seats.curves} seats")
    one = best_ms(lambda: evaluator.goals(values[np.newaxis], losses[np.newaxis]))
    both = best_ms(lambda: evaluator.goal_and_gradient(values, losses))
    many = best_ms(lambda: evaluator.goals(np.tile(values, (250, 1)), np.tile(losses, (250, 1)))) / 250
    print(f"goal                                 {one:7.3f} ms; {many:.3f} ms each of 250")
    print(f"goal and gradient                    {both:7.3f} ms")
    solve = best_ms(lambda: evaluator.circuit.solve(values[np.newaxis], losses[np.newaxis]))
    theirs = ngspice_ms(evaluator.circuit, values, losses)
    against = (
        "ngspice is not installed"
        if theirs is None
        else f"ngspice {theirs:.2f} ms, {theirs / solve:.0f} times"
    )
    print(f"the network alone                    {solve:7.3f} ms; {against}")
    searched(situation, layout, begun.evaluator)
    start = time.process_time()
    found = yield_of(situation, layout, begun.evaluator, Draw(spoilers=False))
    print(
        f"5000 builds, drivers too             {time.process_time() - start:7.2f} s, {100 * found.good:.1f} % good"
    )


if __name__ == "__main__":
    main()
