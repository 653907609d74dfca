"""The engine against a general library: same network, evidence and process."""

from __future__ import annotations

import contextlib
import faulthandler
import multiprocessing
import resource
import time
from dataclasses import dataclass

import numpy as np

from diagnose.engine.evidence import Evidence
from diagnose.engine.posterior import infer
from diagnose.engine.ranking import rank
from diagnose.rulebook.model import AnswerRule
from tests.bench.simulate import Case
from tests.engine.exported import Exported

MOST_MEMORY = 4 * 2**30
MOST_SECONDS = 20


@dataclass
class Compared:
    """One complaint after some answers; processor seconds, None where the library failed."""

    answers: int
    difference: float | None
    """Largest difference of a cause's posterior."""
    own_update: float
    own_rank: float
    library_update: float | None
    joint_rank: float | None
    """By the joint posterior of each question and its causes, scaled up from a few."""
    requery_rank: float | None
    """By setting every answer as evidence, scaled up from a few."""


def compare(case: Case, answers: int, *, record: bool = False, sampled: int = 3) -> Compared:
    """Ask some questions at random, then time both.

    The library runs in a child with bounded memory and time, because on some
    complaints it needs more than there is.
    """
    network = case.network
    evidence: list[Evidence] = [*case.floor.complaint()]
    if record:
        evidence += case.floor.record()
    rng = np.random.default_rng(answers)
    asked = [str(each) for each in rng.permutation(list(network.questions))[:answers]]
    evidence += [case.floor.answer(question) for question in asked]
    open_ = [question for question in network.questions if question not in asked]
    posterior, own_update = _timed(lambda: infer(network, evidence), 5)
    _, own_rank = _timed(lambda: rank(posterior, open_), 5)
    updated = _in_a_child(_update, case, evidence)
    found = Compared(answers, None, own_update, own_rank, None, None, None)
    if updated is None:
        return found
    chances, found.library_update = updated
    causes = len(network.causes)
    found.difference = float(np.max(np.abs(posterior.chance[:causes] - chances[:causes])))
    single = [q for q in open_ if network.questions[q].rule is not AnswerRule.TICKS]
    linked = [q for q in single if 1 <= len(network.questions[q].findings[0].parents) <= 8]
    picked = linked[:: max(1, len(linked) // sampled)][:sampled]
    joint = [_in_a_child(_joint, case, evidence, question) for question in picked]
    requery = [_in_a_child(_requery, case, evidence, question) for question in picked]
    if None not in joint:
        found.joint_rank = float(np.mean(joint)) * len(open_)
    if None not in requery:
        found.requery_rank = float(np.mean(requery)) * len(open_)
    return found


def _update(case: Case, evidence: list[Evidence]) -> tuple[np.ndarray, float]:
    # Building the library's network is not counted; setting evidence and inferring is.
    exported = Exported(case.network, evidence)
    (chances, _), spent = _timed(exported.chances, 3)
    return chances, spent


def _joint(case: Case, evidence: list[Evidence], question: str) -> float:
    exported = Exported(case.network, evidence)
    finding = case.network.questions[question].findings[0]
    exported.add(question, finding)
    run = exported.engine()
    joint = {question, *(exported.name(int(v)) for v in finding.parents)}
    run.addJointTarget(joint)

    def posterior():
        run.makeInference()
        return run.jointPosterior(joint)

    return _timed(posterior, 1)[1]


def _requery(case: Case, evidence: list[Evidence], question: str) -> float:
    exported = Exported(case.network, evidence)
    finding = case.network.questions[question].findings[0]
    exported.add(question, finding)
    run = exported.engine()
    run.addEvidence(question, 0)
    start = time.process_time()
    for level in range(len(finding.base)):
        run.chgEvidence(question, level)
        run.makeInference()
        for variable in range(len(case.network.causes)):
            run.posterior(exported.name(variable))
    return time.process_time() - start


def _in_a_child(function, *arguments):
    """Run in a child process; None where it runs out of memory or time."""
    ours, theirs = multiprocessing.Pipe(duplex=False)

    def run():
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        theirs.send(function(*arguments))

    child = multiprocessing.get_context("fork").Process(target=_quietly, args=(run,))
    child.start()
    theirs.close()
    try:
        return ours.recv()
    except EOFError:
        return None
    finally:
        child.join()


def _quietly(run):
    faulthandler.disable()
    with contextlib.suppress(Exception):
        run()


def _timed(function, times):
    spent, result = [], None
    for _ in range(times):
        start = time.process_time()
        result = function()
        spent.append(time.process_time() - start)
    return result, float(np.median(spent))
