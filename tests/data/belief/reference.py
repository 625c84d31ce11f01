"""Posteriors of suspects by an independent Bayesian-network library (pyagrum, with numpy).

Usage: reference.py IN OUT. IN is JSON with the keys of `halfsplit expect --json` (suspects with their
`prior`, tests, readings[test][suspect].outcomes) and `evidence`: lists of [test, outcome] pairs, the test by
position, the outcome by name. OUT gets, for each list, the probability of every suspect.

The network has one node for the suspect and one for each test, an arrow from the first to each of the others.
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
    names = []
    for at, rows in enumerate(case["readings"]):
        outcomes = list(rows[0]["outcomes"])
        net.add(pyagrum.LabelizedVariable(f"test {at}", "", outcomes))
        net.addArc("suspect", f"test {at}")
        table = [[row["outcomes"][outcome] for outcome in outcomes] for row in rows]
        net.cpt(f"test {at}")[:] = numpy.array(table)
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
