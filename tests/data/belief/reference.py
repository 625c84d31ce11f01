"""Posteriors of suspects by an independent Bayesian-network library (pyagrum, with numpy).

Usage: reference.py IN OUT. IN is JSON with suspects with their `prior`, severities[suspect] (the probability of
each grade), readings[test][suspect].outcomes, or .grades[grade].outcomes where the test tells the severity, and
`evidence`: lists of [test, outcome] pairs, the test by position, the outcome by name. OUT gets, for each list,
the probability of every suspect.

The network has one node for the suspect, one for the severity, with an arrow from the suspect, and one for each
test, with an arrow from both.
"""

import json
import sys

import numpy
import pyagrum


def network(case):
    """The network, and the outcome names of each test in the order of its node."""
    suspects = case["suspects"]
    net = pyagrum.BayesNet("circuit")
    net.add(pyagrum.RangeVariable("suspect", "", 0, len(suspects) - 1))
    net.cpt("suspect")[:] = numpy.array([suspect["prior"] for suspect in suspects])
    severities = numpy.array(case["severities"])
    count = severities.shape[1]
    net.add(pyagrum.RangeVariable("severity", "", 0, count - 1))
    net.addArc("suspect", "severity")
    net.cpt("severity")[:] = severities
    names = []
    for at, rows in enumerate(case["readings"]):
        graded = [row.get("grades", [row] * count) for row in rows]
        outcomes = list(graded[0][0]["outcomes"])
        net.add(pyagrum.LabelizedVariable(f"test {at}", "", outcomes))
        net.addArc("suspect", f"test {at}")
        net.addArc("severity", f"test {at}")
        table = [[[one["outcomes"][outcome] for outcome in outcomes] for one in row] for row in graded]
        # The library has the parent added last first.
        net.cpt(f"test {at}")[:] = numpy.ascontiguousarray(numpy.array(table).swapaxes(0, 1))
        names.append(outcomes)
    return net, names


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
