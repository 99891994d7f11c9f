"""Cables through 200 random houses (random_houses.py), judged by what knows nothing of the program.

The cheapest way of each cable alone through the network of spaces is found again by NetworkX (Dijkstra's algorithm written by
others); the works of all ways together are counted again; and each stretch of every way is laid back into the house as it was
written: in its run, void, wall or room, as long as its ends are apart, with a hole in each wall that it crosses.

The rules of a way (docs/cables.md): a cable that names runs passes them in this order and no others of the file; a straight
stretch through a void follows no other but at a corner; no cable turns back in the edge by which it came, none passes through a thing,
none has a longer cord at its end than the file gives it.

Without NetworkX (Debian: python3-networkx) the test is skipped.

  test_routes.py PROGRAM ROOT [FIRST COUNT]      PROGRAM is tests/cable_report.c"""
import json
import math
import os
import subprocess
import sys
import tempfile

try:
    import networkx
    import yaml
except ImportError as missing:
    print(f"skipped: {missing} (Debian packages python3-networkx, python3-yaml)")
    sys.exit(77)

from house_spaces import Spaces
from random_houses import House, PARTS

PROGRAM, ROOT = sys.argv[1:3]
FIRST, COUNT = [int(a) for a in sys.argv[3:5]] or (0, 200)
NEAR = 1e-9


class Network:
    def __init__(self, case):
        self.nodes, self.edges, self.works = case["nodes"], case["edges"], case["works"]
        self.at = [[] for _ in self.nodes]
        for i, edge in enumerate(self.edges):
            self.at[edge["a"]].append(i)
            self.at[edge["b"]].append(i)

    def works_of(self, edge):
        return range(edge["work"], edge["work"] + edge["n_work"])

    def laid(self, edge, per_m):
        return edge["price"] + edge["length_m"] * per_m

    def cost(self, edge, per_m):
        return self.laid(edge, per_m) + sum(self.works[w]["price"] for w in self.works_of(edge))

    def steps(self, ask, state):
        """From (node, runs passed, came by a hop): the edge and the next state of each way on."""
        node, passed, hopped = state
        for i in self.at[node]:
            edge = self.edges[i]
            after = passed
            if edge["run"] is not None:
                if not ask["route"]:
                    if edge["only_named"]:
                        continue
                elif passed < len(ask["route"]) and edge["run"] == ask["route"][passed]:
                    after = passed + 1
                elif not passed or edge["run"] != ask["route"][passed - 1]:
                    continue
            if edge["is_hop"] and hopped and not self.nodes[node]["is_bend"]:
                continue
            to = edge["b"] if edge["a"] == node else edge["a"]
            if self.nodes[to]["is_end"] and (to != ask["to"] or after < len(ask["route"])):
                continue
            if edge["cord_m"] > ask["cord_m"].get(node, ask["cord_m"].get(to, 0)) + NEAR:
                continue
            yield i, (to, after, edge["is_hop"] and to != ask["to"])

    def start(self, ask):
        return ask["from"], 0, False

    def is_goal(self, ask, state):
        return state[0] == ask["to"] and state[1] == len(ask["route"])


def fill(start, steps, cost):
    """All that can be reached, as a graph of NetworkX."""
    graph, todo = networkx.DiGraph(), [start]
    graph.add_node(start)
    seen = {start}
    while todo:
        here = todo.pop()
        for edge, there in steps(here):
            weight = cost(edge)
            if there not in seen:
                seen.add(there)
                todo.append(there)
            if not graph.has_edge(here, there) or weight < graph[here][there]["weight"]:
                graph.add_edge(here, there, weight=weight, edge=edge)
    return graph


def cheapest(net, ask):
    """The price of the cheapest way; None: there is none.  First with turning back allowed, which is a smaller graph: a way found
    there that does not turn back is the best of all.  Else over states that know the edge they came by."""
    cost = lambda i: net.cost(net.edges[i], ask["per_m"])
    graph = fill(net.start(ask), lambda s: net.steps(ask, s), cost)
    goals = [s for s in graph if net.is_goal(ask, s)]
    if not goals:
        return None
    price, path = networkx.single_source_dijkstra(graph, net.start(ask), goals[0])
    edges = [graph[s][t]["edge"] for s, t in zip(path, path[1:])]
    if all(e != f for e, f in zip(edges, edges[1:])):
        return price

    def steps(state):
        for i, there in net.steps(ask, state[0]):
            if i != state[1]:
                yield i, (there, i)

    start = (net.start(ask), None)
    graph = fill(start, steps, cost)
    prices = networkx.single_source_dijkstra_path_length(graph, start)
    goals = [s for s in graph if net.is_goal(ask, s[0])]
    TALLY["turns"] += 1
    return min((prices[s] for s in goals if s in prices), default=None)


def walk(net, ask, way):
    """Is it a way, by the rules?  Its price by itself."""
    states, price, before = {net.start(ask)}, 0.0, None
    for i in way:
        assert i != before, "turns back"
        states = {there for s in states for e, there in net.steps(ask, s) if e == i}
        assert states, "no such step"
        price, before = price + net.cost(net.edges[i], ask["per_m"]), i
    assert any(net.is_goal(ask, s) for s in states), "does not arrive"
    return price


def judge_prices(net, case, asks):
    total, used = 0.0, set()
    for cable, ask in zip(case["cables"], asks):
        want = cheapest(net, ask)
        assert (want is None) == (cable["alone_price"] is None) == (not cable["is_found"]), (cable["id"], want, cable["alone_price"])
        TALLY["cables"] += 1
        if want is None:
            continue
        TALLY["found"] += 1
        TALLY["named"] += bool(ask["route"])
        assert abs(cable["alone_price"] - want) < NEAR * max(1, want), (cable["id"], cable["alone_price"], want)
        assert abs(walk(net, ask, cable["alone"]) - want) < NEAR * max(1, want), cable["id"]
        walk(net, ask, cable["together"])
        for i in cable["together"]:
            total += net.laid(net.edges[i], ask["per_m"])
            used.update(net.works_of(net.edges[i]))
    total += sum(net.works[w]["price"] for w in used)
    assert abs(case["price"] - total) < NEAR * max(1, total), (case["price"], total)
    assert case["bound"] <= case["price"] + NEAR
    if total:
        GAPS.append(1 - case["bound"] / total)


def judge_legs(cable, written):
    legs = cable["legs"]
    for leg, following in zip(legs, legs[1:]):
        assert math.dist(leg["to_m"], following["from_m"]) < 0.011, (cable["id"], leg, following)
    if legs and "length_m" not in written:
        assert abs(sum(leg["length_m"] for leg in legs) + cable["slack_m"] - cable["fixed_m"]) < 1e-6, cable["id"]


def judge(house, case, per_m):
    net, spaces = Network(case), Spaces(house)
    asks = [{"from": c["from"], "to": c["to"], "route": house["cables"][c["id"]].get("route", []),
             "per_m": per_m[house["cables"][c["id"]]["part"]],
             "cord_m": {c[end]: house["cables"][c["id"]][f"cord_{end}_m"] for end in ("to", "from")}} for c in case["cables"]]
    judge_prices(net, case, asks)
    for cable in case["cables"]:
        judge_legs(cable, house["cables"][cable["id"]])
        for i in cable["together"]:
            edge = net.edges[i]
            spaces.judge(edge, case["ways"][edge["way"]], net.nodes[edge["a"]]["at_m"], net.nodes[edge["b"]]["at_m"],
                         [net.works[w] for w in net.works_of(edge)])
            TALLY["stretches"] += 1
    TALLY["holes"] += spaces.holes


def prices_per_m():
    with open(os.path.join(ROOT, PARTS), encoding="utf-8") as parts:
        cables = {k: v for k, v in yaml.safe_load(parts)["parts"].items() if v["kind"] == "cable"}
    return {k: max(v["price"] / v["per_m"], 0.05) for k, v in cables.items()}


TALLY, GAPS = dict.fromkeys(["cables", "found", "named", "turns", "stretches", "holes"], 0), []
with tempfile.TemporaryDirectory() as folder:
    paths = [os.path.join(folder, f"{seed}.house.yaml") for seed in range(FIRST, FIRST + COUNT)]
    houses = [House(seed) for seed in range(FIRST, FIRST + COUNT)]
    for made, path in zip(houses, paths):
        made.write(path, ROOT)
    output = subprocess.run([PROGRAM] + paths, check=True, capture_output=True, text=True).stdout
cases = [json.loads(line) for line in output.splitlines()]
assert len(cases) == COUNT
failed, per_m = 0, prices_per_m()
for seed, made, case in zip(range(FIRST, FIRST + COUNT), houses, cases):
    try:
        judge(made.file, case, per_m)
    except AssertionError as wrong:
        failed += 1
        print(f"house {seed}: {wrong}")
print(f"{COUNT} houses, {TALLY}; as NetworkX {networkx.__version__} finds")
print(f"gap to the bound: mean {sum(GAPS) / len(GAPS):.4f}, worst {max(GAPS):.4f}")
assert not failed, f"{failed} houses"
# the houses must be worth it
assert COUNT < 200 or (TALLY["found"] > 500 and TALLY["named"] > 50 and TALLY["holes"] > 300 and TALLY["found"] < TALLY["cables"])
