"""Design flows carried through a network of ways by continuity; what continuity leaves open is said, not guessed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemagen.network.groups import Groups, bridges

Shares = dict[int, float]
"""A flow as a sum of given flows: by the index of each given way how often it counts, mostly +1 or -1."""

BALANCED = 1e-6
"""Flows that should be alike agree if they differ by less than this share of the larger."""

IN_RING = "lies in a ring: how the water divides depends on pump and resistances"
DISAGREES = "the flows wanted along it do not agree"


@dataclass(frozen=True, slots=True)
class Carried:
    """The shares of every way that continuity settles, and why each of the others stays open; by index of the way."""

    shares: Mapping[int, Shares]
    open: Mapping[int, str]


def carry(points: int, ways: Sequence[tuple[int, int]], given_m3s: Mapping[int, float]) -> Carried:
    """Flows of all ways (point a, point b), positive from a to b, where the flows of some ways are given [m³/s].

    A way that lies on no ring of ways of unknown flow carries what is taken or given beyond it. Linear in the size.
    Source: continuity.
    """
    unknown = [w for w in range(len(ways)) if w not in given_m3s]
    on_ring = [not b for b in bridges(points, [ways[w] for w in unknown])]
    rings: Groups[int] = Groups(range(points))
    for w, ring in zip(unknown, on_ring, strict=True):
        if ring:
            rings.join(*ways[w])
    node = rings.numbered()[0]
    surplus: dict[int, Shares] = {}
    for w in given_m3s:
        _add(surplus.setdefault(node[ways[w][1]], {}), {w: 1.0}, 1)
        _add(surplus.setdefault(node[ways[w][0]], {}), {w: 1.0}, -1)
    trees = [w for w, ring in zip(unknown, on_ring, strict=True) if not ring]
    shares, roots = _peeled(node, ways, trees, surplus)
    agrees = {root: _balances(surplus.get(root, {}), given_m3s) for root in set(roots.values())}
    shares = {w: s for w, s in shares.items() if agrees[roots[node[ways[w][0]]]]}
    left = {w: IN_RING if ring else DISAGREES for w, ring in zip(unknown, on_ring, strict=True) if w not in shares}
    return Carried({**{w: {w: 1.0} for w in given_m3s}, **shares}, left)


def total(shares: Shares, given_m3s: Mapping[int, float]) -> float:
    """The flow [m³/s] that the shares stand for."""
    return sum(count * given_m3s[w] for w, count in shares.items())


def _peeled(node, ways, trees, surplus) -> tuple[dict[int, Shares], dict[int, int]]:
    """The shares of the ways of a forest, from its leaves inwards, and the root of the tree of each node."""
    at: dict[int, list[int]] = {}
    groups: Groups[int] = Groups(dict.fromkeys(node.values()))
    for w in trees:
        for point in ways[w]:
            at.setdefault(node[point], []).append(w)
        groups.join(*(node[p] for p in ways[w]))
    left = {n: len(there) for n, there in at.items()}
    leaves = [n for n in at if left[n] == 1]
    shares: dict[int, Shares] = {}
    while leaves:
        here = leaves.pop()
        w = next((w for w in at[here] if w not in shares), None)
        if w is None:
            continue
        outward = node[ways[w][0]] == here
        far = node[ways[w][1 if outward else 0]]
        sent = surplus.pop(here, {})
        shares[w] = {k: (v if outward else -v) for k, v in sorted(sent.items())}
        _add(surplus.setdefault(far, {}), sent, 1)
        left[far] -= 1
        left[here] = 0
        if left[far] == 1:
            leaves.append(far)
    return shares, _roots(groups, surplus)


def _roots(groups: Groups[int], surplus: dict[int, Shares]) -> dict[int, int]:
    """By node: the node of its tree where all that is left of the tree's surplus lies."""
    number, members = groups.numbered()
    root = [next((n for n in nodes if n in surplus), nodes[0]) for nodes in members]
    return {n: root[number[n]] for n in number}


def _balances(surplus: Shares, given_m3s: Mapping[int, float]) -> bool:
    most = max((abs(v * given_m3s[w]) for w, v in surplus.items()), default=0.0)
    return abs(total(surplus, given_m3s)) <= BALANCED * most


def _add(to: Shares, other: Shares, sign: int) -> None:
    for k, v in other.items():
        to[k] = to.get(k, 0.0) + sign * v
        if to[k] == 0:
            del to[k]
