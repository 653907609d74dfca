"""Measure the engine on the real rules and write one report.

Times are processor time, so that other work on the machine does not count; run
with OMP_NUM_THREADS=1, so that one thread is measured.
"""

from __future__ import annotations

import argparse
import dataclasses
import resource
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np

from diagnose.data import data_folder
from diagnose.engine.network import build
from diagnose.engine.scores import scores
from diagnose.model import Floor
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules
from tests.bench import larger, simulate
from tests.bench.simulate import Case, Walked, walk

LONG = 20
"""Most questions of a walk that is followed to its stop."""


@dataclasses.dataclass(frozen=True)
class Sizes:
    """How many complaints each part draws."""

    calibration: int
    policies: int
    noise: int
    library: int
    larger: int


FULL = Sizes(calibration=2000, policies=240, noise=240, library=6, larger=15)
SMALL = Sizes(calibration=120, policies=16, noise=16, library=2, larger=2)


def calibration(rules: Rules, sizes: Sizes) -> Iterator[str]:
    """Right after intake: complaint and record, 20 to 30 % of it missing."""
    truths = simulate.networks(rules)
    rows = (("as the rules draw them", None), ("one or two causes present", (1, 2)))
    for name, faults in rows:
        drawn = simulate.cases(truths, sizes.calibration, 1, faults=faults)
        walked = [walk(case, None, most=0) for case in drawn]
        yield f"{name}: {_calibrated(drawn, walked)}"
        expected = np.mean([chance.sum() for each in walked for chance in each.chance])
        there = np.mean([len(case.floor.causes) for case in drawn])
        yield f"  causes expected {expected:.2f}, there {there:.2f}"
        cuts = np.array([each.cuts[0] for each in walked])
        yield f"  left out: median {np.median(cuts):.4f}, 99 % {np.percentile(cuts, 99):.3f}"


def policies(rules: Rules, sizes: Sizes) -> Iterator[str]:
    """The engine's choice against other ways to choose, same floors."""
    truths = simulate.networks(rules)
    for faults in (None, (1, 2)):
        drawn = simulate.cases(truths, sizes.policies, 11, faults=faults)
        fixed = simulate.best_fixed_order(simulate.cases(truths, sizes.policies, 12, faults=faults))
        choosers = {
            "the engine's choice": simulate.by_engine,
            "the engine's choice and stop": simulate.by_engine_and_stop,
            "gain per minute": simulate.by_gain_per_minute,
            "gain alone": simulate.by_gain,
            "random among those that matter": simulate.at_random(np.random.default_rng(13)),
            "random among all": simulate.at_random(np.random.default_rng(13), linked=False),
            "best fixed order": simulate.in_order(fixed),
        }
        yield "as the rules draw them:" if faults is None else "one or two causes present:"
        for name, choose in choosers.items():
            walked = [walk(case, choose, most=LONG, stop=True) for case in drawn]
            yield f"  {name}: {_walked(walked)}"
            if choose is simulate.by_engine:
                yield f"    {_milliseconds(walked)}"
                yield f"    {_at_stop(walked)}"


def noise(rules: Rules, sizes: Sizes) -> Iterator[str]:
    """The engine believes in disturbed numbers, or answers come about otherwise."""
    truths = simulate.networks(rules)
    for sd in (0.5, 1.0):
        believed = [simulate.disturbed(t, sd, n) for n, t in enumerate(truths)]
        drawn = simulate.cases(truths, sizes.noise, 21, believed=believed)
        yield f"errors of {sd} in log odds: {_asked(drawn)}"
    drawn = simulate.cases(truths, sizes.noise, 22, chances=simulate.by_mixture)
    yield f"answers drawn by the either-or rule: {_asked(drawn)}"
    plain = simulate.cases(truths, 3 * sizes.noise, 23)
    yield f"for comparison, nothing disturbed: {_asked(plain)}"


def library(rules: Rules, sizes: Sizes) -> Iterator[str]:
    """Against a general Bayesian-network library, when it is installed."""
    try:
        from tests.bench.against_library import MOST_MEMORY, MOST_SECONDS, compare
    except ImportError:
        yield "pyAgrum is not installed"
        return
    truths = simulate.networks(rules)
    for answers in (5, 20):
        drawn = simulate.cases(truths, 6 * sizes.library, 31)
        drawn = [c for c in drawn if len(c.network.candidates) <= 17][: sizes.library]
        found = [compare(case, answers) for case in drawn]
        done = [each for each in found if each.library_update is not None]
        yield (
            f"complaint and {answers} answers: the library finished {len(done)} of {len(found)} "
            f"within {MOST_MEMORY // 2**30} GiB and {MOST_SECONDS} s"
        )
        if done:
            worst = max(each.difference for each in done)
            update = _ratio([(each.library_update, each.own_update) for each in done])
            joint = _ratio([(e.joint_rank, e.own_rank) for e in done if e.joint_rank])
            requery = _ratio([(e.requery_rank, e.own_rank) for e in done if e.requery_rank])
            yield f"  largest difference {worst:.1e}"
            yield f"  library : ours, update {update}, ranking {joint} joint, {requery} re-query"


def ten_times(rules: Rules, sizes: Sizes) -> Iterator[str]:
    """A generated graph ten times as large."""
    network = larger.copies(build(rules, Floor(), symptoms=[]), 10)
    yield f"{len(network.causes)} causes, {len(network.questions)} questions"
    drawn = larger.cases(network, sizes.larger)
    walked = [walk(case, simulate.by_engine, most=5) for case in drawn]
    yield _milliseconds(walked)


PARTS: dict[str, Callable[[Rules, Sizes], Iterator[str]]] = {
    "calibration": calibration,
    "policies": policies,
    "noise": noise,
    "library": library,
    "larger": ten_times,
}


def _calibrated(drawn: Sequence[Case], walked: Sequence[Walked]) -> str:
    said, right = [], []
    for case, each in zip(drawn, walked, strict=True):
        for chance in each.chance[-1:]:
            said.append(chance)
            right.append(case.floor.present[: len(chance)])
    found = scores(np.concatenate(said), np.concatenate(right))
    return (
        f"{len(drawn)} complaints, {found.count} causes, ECE {found.ece:.4f}, z {found.z:+.1f}, "
        f"Brier {found.brier:.4f}, log score {found.log_score:.4f}"
    )


def _walked(walked: Sequence[Walked]) -> str:
    right = [np.mean([each.correct[each.at(n)] for each in walked]) for n in (0, 3, 6, 12)]
    stopped = [each for each in walked if each.stop is not None]
    cost = np.mean([each.cost_to_stop for each in walked])
    asked = np.mean([len(each.said) - 1 for each in walked])
    settled = f"{cost * len(walked) / len(stopped):.0f}" if stopped else "-"
    after = " ".join(f"{each:.2f}" for each in right)
    return (
        f"explanation right after 0 3 6 12: {after}; settled {len(stopped) / len(walked):.2f}, "
        f"questions {asked:.1f}, cost {cost:.1f} min, {settled} min a settled one"
    )


def _at_stop(walked: Sequence[Walked]) -> str:
    stopped = [each for each in walked if each.stop is not None]
    if not stopped:
        return "nothing settled"
    said = np.mean([each.said[each.stop] for each in stopped])
    right = np.mean([each.correct[each.stop] for each in stopped])
    error = np.sqrt(right * (1 - right) / len(stopped))
    return f"at the stop said {said:.3f}, right {right:.3f} +- {error:.3f} ({len(stopped)} stops)"


def _asked(drawn: Sequence[Case]) -> str:
    walked = [walk(case, simulate.by_engine, most=12, stop=True) for case in drawn]
    ece = _calibrated(drawn, walked)
    return f"{_walked(walked)}; {_at_stop(walked)}; causes then: {ece}"


def _milliseconds(walked: Sequence[Walked]) -> str:
    ms = np.array([second for each in walked for second in each.seconds]) * 1000
    return (
        f"state and ranking a question: median {np.median(ms):.1f} ms, "
        f"99 % {np.percentile(ms, 99):.1f} ms, worst {ms.max():.1f} ms"
    )


def _ratio(pairs: Sequence[tuple[float, float]]) -> str:
    if not pairs:
        return "not finished"
    ratios = sorted(theirs / ours for theirs, ours in pairs)
    return f"{np.median(ratios):.1f} ({ratios[0]:.1f} to {ratios[-1]:.1f})"


def report(sizes: Sizes, parts: Sequence[str] = tuple(PARTS)) -> Iterator[str]:
    """Yield the report, line by line."""
    rules = load_rules(data_folder("rules"))
    yield f"# Engine on the rules of edition {rules.edition[:12]}"
    for part in parts:
        yield f"\n## {(PARTS[part].__doc__ or part).splitlines()[0]}\n"
        for line in PARTS[part](rules, sizes):
            indent = len(line) - len(line.lstrip())
            yield f"{' ' * indent}- {line.lstrip()}"
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield f"\nPeak memory of the process: {peak:.0f} MiB."


def main() -> None:
    """Write the report to a file or to standard output."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", action="store_true", help="a few complaints only")
    parser.add_argument("--only", choices=tuple(PARTS), action="append")
    parser.add_argument("--walks", type=int, help="complaints for policies and noise")
    parser.add_argument("--out", type=Path)
    chosen = parser.parse_args()
    sizes = SMALL if chosen.small else FULL
    if chosen.walks:
        sizes = dataclasses.replace(sizes, policies=chosen.walks, noise=chosen.walks)
    lines = []
    for line in report(sizes, chosen.only or tuple(PARTS)):
        lines.append(line)
        sys.stderr.write(line + "\n")
    if chosen.out:
        chosen.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
