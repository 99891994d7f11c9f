"""The cheapest way through 200 random networks, against NetworkX (Dijkstra's algorithm written by others).

Without NetworkX (Debian: python3-networkx) the test is skipped."""
import json
import subprocess
import sys

try:
    import networkx
except ImportError:
    print("skipped: NetworkX is not on this machine (Debian package python3-networkx)")
    sys.exit(77)

SEED, COUNT = "20261125", 200


def cost(case, edge):
    return edge["price"] + edge["works"] + edge["length_m"] * case["price_per_m"]


def judge(case):
    graph = networkx.MultiGraph()
    graph.add_nodes_from(range(case["nodes"]))
    for edge in case["edges"]:
        graph.add_edge(edge["a"], edge["b"], weight=cost(case, edge))
    try:
        want = networkx.dijkstra_path_length(graph, case["from"], case["to"])
    except networkx.NetworkXNoPath:
        assert case["found"] < 0, "a way where there is none"
        return False
    assert abs(case["found"] - want) < 1e-7, (case["found"], want)
    at, paid = case["from"], 0.0
    for index in case["way"]:
        edge = case["edges"][index]
        assert at in (edge["a"], edge["b"]), "the way is broken"
        at = edge["b"] if at == edge["a"] else edge["a"]
        paid += cost(case, edge)
    assert at == case["to"] and abs(paid - want) < 1e-7, "the way is not what it costs"
    return True


def cases(text):
    decoder, at = json.JSONDecoder(), 0
    while text[at:].strip():
        case, at = decoder.raw_decode(text, at)
        at += len(text[at:]) - len(text[at:].lstrip())
        yield case


output = subprocess.run([sys.argv[1], SEED, str(COUNT)], check=True, capture_output=True, text=True).stdout
found = [judge(case) for case in cases(output)]
assert len(found) == COUNT and 20 < sum(found) < COUNT, (len(found), sum(found))
print(f"{COUNT} networks, {sum(found)} with a way: as NetworkX {networkx.__version__} finds")
