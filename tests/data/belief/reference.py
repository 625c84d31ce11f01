"""Posteriors of suspects by an independent Bayesian-network library (pyagrum, with numpy).

Usage: reference.py IN OUT. IN is JSON with the keys of `halfsplit expect --json` (suspects with their `prior`
and `severities`, tests, readings[test][suspect] with `outcomes` and `severities`) and `evidence`: lists of
[test, outcome] pairs, the test by position, the outcome by name. OUT gets, for each list, the probability of
every suspect.

The network has one node for the suspect, one for its severity, below it, and one for each test, with an arrow
from both. A suspect without severities has one.
"""

import json
import sys

import numpy
import pyagrum


def severities(suspect):
    """The shares of a suspect's severities."""
    return [one["share"] for one in suspect.get("severities", [{"share": 1.0}])]


def shown(row, at, outcomes):
    """The probability of each outcome under a severity; where there is none of that number, of the first."""
    rows = row.get("severities", [row])
    return [rows[at if at < len(rows) else 0]["outcomes"][outcome] for outcome in outcomes]


def network(case):
    """The network, and the outcome names of each test in the order of its node."""
    suspects = case["suspects"]
    shares = [severities(suspect) for suspect in suspects]
    most = max(len(one) for one in shares)
    net = pyagrum.BayesNet("circuit")
    net.add(pyagrum.RangeVariable("suspect", "", 0, len(suspects) - 1))
    net.cpt("suspect")[:] = numpy.array([suspect["prior"] for suspect in suspects])
    net.add(pyagrum.RangeVariable("severity", "", 0, most - 1))
    net.addArc("suspect", "severity")
    net.cpt("severity")[:] = numpy.array([one + [0.0] * (most - len(one)) for one in shares])
    names = []
    for at, rows in enumerate(case["readings"]):
        outcomes = list(rows[0]["outcomes"])
        name = f"test {at}"
        net.add(pyagrum.LabelizedVariable(name, "", outcomes))
        net.addArc("suspect", name)
        net.addArc("severity", name)
        table = [[shown(row, severity, outcomes) for severity in range(most)] for row in rows]
        fill(net.cpt(name), numpy.array(table))
        names.append(outcomes)
    return net, names


def fill(cpt, table):
    """Fills a table whose axes are suspect, severity, outcome, whatever order the library keeps them in."""
    order = {"suspect": 0, "severity": 1}
    axes = [order.get(name, 2) for name in cpt.names]
    # The library lists its variables from the one that varies fastest.
    cpt[:] = numpy.ascontiguousarray(numpy.transpose(table, list(reversed(axes))))


def main(source, target):
    with open(source, encoding="utf-8") as file:
        case = json.load(file)
    net, names = network(case)
    inference = pyagrum.LazyPropagation(net)
    inference.setTargets({"suspect"})
    posteriors = []
    for evidence in case["evidence"]:
        seen = {f"test {test}": names[test].index(outcome) for test, outcome in evidence}
        inference.setEvidence(seen)
        inference.makeInference()
        posteriors.append(inference.posterior("suspect").toarray().tolist())
    with open(target, "w", encoding="utf-8") as file:
        json.dump(posteriors, file)


main(sys.argv[1], sys.argv[2])
