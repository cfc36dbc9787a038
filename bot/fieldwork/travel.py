"""PURE. Minutes on a road and track network: shortest paths, then a slow walk from the track.

The graph is built once. Its nodes are the ends of lines and the points that lines share; what lies
between two nodes is one edge. A pickup place is searched from once, on the graph with every edge
turned round, so that one search tells how long each base takes to it. Times are minutes, degrees
WGS84, lengths geodesic.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import Geod
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from bot.folder.tracks import Track, Tracks, Travel

WGS84 = Geod(ellps="WGS84")
DEGREE_M = 111_195.0
"""Metres of one degree of latitude, near enough to tell which line is the nearest."""
AT_NODE_M = 2.0
"""So near to its end, a point of an edge counts as the end."""

Floats = NDArray[np.float64]
Ints = NDArray[np.integer[Any]]
Places = tuple[tuple[float, float], ...]
"""Places as (lat, lon)."""


class Spots(NamedTuple):
    """Where places lie on the network: an edge, the share of it that lies behind, and the
    kilometres from the line."""

    edge: Ints
    share: Floats
    off_km: Floats


@dataclass(frozen=True, eq=False)
class Network:
    """A network as a graph; edge n runs from `ends[n, 0]` to `ends[n, 1]`.

    `into`, `begins` and `costs` are its rows in compressed form (CSR), each edge turned round:
    row b holds the nodes from which b is reached next.
    """

    travel: Travel
    plane: tuple[float, float]
    tree: shapely.STRtree
    ends: Ints
    minutes: Floats
    oneway: NDArray[np.bool_]
    into: Ints
    begins: Ints
    costs: Floats
    pace: float = np.inf
    """Minutes for a straight kilometre, in which four of five ways to the middle are driven;
    inf where nothing tells."""

    @property
    def nodes(self) -> int:
        """How many nodes there are."""
        return len(self.begins) - 1


@lru_cache(maxsize=4)
def network_of(tracks: Tracks) -> Network | None:
    """The graph of a programme's tracks, built at the first call; None without any line."""
    return _built(tracks.lines, tracks.travel) if tracks.lines else None


@lru_cache(maxsize=8)
def spots_of(network: Network, places: Places) -> Spots:
    """The nearest point on any line for each place; kept, since bases seldom move."""
    lats, lons = np.array(places, dtype=float).reshape(-1, 2).T
    points = shapely.points(_on_plane(lons, lats, network.plane))
    edge = network.tree.nearest(points)
    lines = network.tree.geometries[edge]
    share = shapely.line_locate_point(lines, points, normalized=True)
    # What lies at an end is in the node itself, where every line that meets there may be taken.
    behind, ahead = share * shapely.length(lines), (1.0 - share) * shapely.length(lines)
    share = np.where(behind < AT_NODE_M, 0.0, np.where(ahead < AT_NODE_M, 1.0, share))
    feet = shapely.get_coordinates(shapely.line_interpolate_point(lines, share, normalized=True))
    foot_lons, foot_lats = _off_plane(feet, network.plane)
    _, _, off = WGS84.inv(lons, lats, foot_lons, foot_lats)
    return Spots(np.asarray(edge, dtype=np.int64), share, np.asarray(off) / 1000.0)


def is_known(network: Network, spots: Spots) -> NDArray[np.bool_]:
    """Which of these places are near enough to a line for the network to speak of them."""
    return spots.off_km <= network.travel.longest_walk_km


def minutes_to(
    network: Network, place: tuple[float, float], spots: Spots, limit: float = np.inf
) -> Floats | None:
    """Minutes from each spot to a place, inf where there is no way or none within `limit`.

    None where the place itself is too far from every line.
    """
    there = spots_of(network, (place,))
    if not is_known(network, there)[0]:
        return None
    walk = float(there.off_km[0]) / network.travel.walk_kmh * 60.0
    left = limit - walk
    if left < 0:
        return np.full(len(spots.edge), np.inf)
    found = _driven(network, int(there.edge[0]), float(there.share[0]), spots, left)
    found += spots.off_km / network.travel.yard_kmh * 60.0 + walk
    found[(found > limit) | ~is_known(network, spots)] = np.inf
    return found


def minutes_between(network: Network, places: Places) -> Floats | None:
    """The square table of minutes from each place (row) to each (column); None where one of
    them is too far from every line."""
    spots = spots_of(network, places)
    columns = [minutes_to(network, place, spots) for place in places]
    if any(column is None for column in columns) or not columns:
        return None
    table = np.column_stack([c for c in columns if c is not None])
    np.fill_diagonal(table, 0.0)
    return table


def cut_off(network: Network) -> int:
    """How many edges hang together with fewer others than the largest part of the network."""
    size = network.nodes
    graph = csr_matrix((np.ones(len(network.into)), network.into, network.begins), (size, size))
    _, part = connected_components(graph, directed=False)
    counts = np.bincount(part[network.ends[:, 0]])
    return int(counts.sum() - counts.max())


def _driven(network: Network, edge: int, share: float, spots: Spots, limit: float) -> Floats:
    """Minutes on the network itself, from each spot to one point of one edge."""
    reached = _search(network, edge, share, limit)
    cost, two_way = network.minutes[spots.edge], ~network.oneway[spots.edge]
    onward = reached[network.ends[spots.edge, 1]] + (1.0 - spots.share) * cost
    back = reached[network.ends[spots.edge, 0]] + spots.share * cost
    found = np.where(two_way | (spots.share == 0.0), np.minimum(onward, back), onward)
    # On one and the same edge the way need not pass through either of its ends.
    along = (share - spots.share) * cost
    direct = (spots.edge == edge) & (two_way | (along >= 0))
    return np.asarray(np.where(direct, np.minimum(found, np.abs(along)), found))


def _search(network: Network, edge: int, share: float, limit: float) -> Floats:
    """Minutes from every node to a point of an edge: the point is one more node at the end."""
    cost = network.minutes[edge]
    from_end = np.inf if network.oneway[edge] and share < 1.0 else (1.0 - share) * cost
    size = network.nodes + 1
    graph = csr_matrix(
        (
            np.concatenate([network.costs, [share * cost, from_end]]),
            np.concatenate([network.into, network.ends[edge].astype(np.int32)]),
            np.append(network.begins, np.int32(len(network.costs) + 2)),
        ),
        shape=(size, size),
    )
    return np.asarray(dijkstra(graph, indices=size - 1, limit=limit), dtype=float)


def _on_plane(lons: Floats, lats: Floats, plane: tuple[float, float]) -> Floats:
    """Degrees as metres on a plane about the network's middle (lat, shrinking of longitudes)."""
    return np.column_stack([lons * plane[1], lats]) * DEGREE_M


def _off_plane(metres: Floats, plane: tuple[float, float]) -> tuple[Floats, Floats]:
    return metres[:, 0] / DEGREE_M / plane[1], metres[:, 1] / DEGREE_M


def _built(lines: tuple[Track, ...], travel: Travel) -> Network:
    points = np.array([p for line in lines for p in line.points], dtype=float)
    line = np.repeat(np.arange(len(lines)), [len(t.points) for t in lines])
    middle = float((points[:, 1].min() + points[:, 1].max()) / 2)
    plane = (middle, float(np.cos(np.radians(middle))))
    metres = _on_plane(points[:, 0], points[:, 1], plane)
    vertex = _joined(metres, line, travel.snap_m)
    first, last = _pieces(vertex, line)
    along = _along(points, line)
    length = along[last] - along[first]
    first, last, length = first[length > 0], last[length > 0], length[length > 0]
    names, ends = np.unique(np.column_stack([vertex[first], vertex[last]]), return_inverse=True)
    ends = ends.reshape(-1, 2).astype(np.int64)
    minutes = length / 1000.0 / np.array([t.speed_kmh for t in lines])[line[first]] * 60.0
    oneway = np.array([t.oneway for t in lines])[line[first]]
    into, begins, costs = _turned(ends, minutes, oneway, len(names))
    tree = shapely.STRtree(_drawn(metres, first, last))
    places = np.empty((len(names), 2))
    places[ends[:, 0]], places[ends[:, 1]] = metres[first], metres[last]
    pace = _pace(places, csr_matrix((costs, into, begins), (len(names), len(names))))
    return Network(travel, plane, tree, ends, minutes, oneway, into, begins, costs, pace)


def _pace(places: Floats, graph: csr_matrix) -> float:
    """How slow straight kilometres are on a network, by one search to its middle: what the
    search for somebody begins with. A poor guess costs time, and changes no answer."""
    middle = int(np.argmin(np.hypot(*(places - np.median(places, axis=0)).T)))
    km = np.hypot(*(places - places[middle]).T) / 1000.0
    minutes = np.asarray(dijkstra(graph, indices=middle), dtype=float)
    tells = np.isfinite(minutes) & (km > 1.0)
    return float(np.quantile(minutes[tells] / km[tells], 0.8)) if tells.any() else float("inf")


def _tips(line: Ints) -> Ints:
    """The first and the last point of every line."""
    changes = np.flatnonzero(np.diff(line)) + 1
    return np.concatenate([[0], changes, changes - 1, [len(line) - 1]])


def _joined(metres: Floats, line: Ints, snap_m: float) -> Ints:
    """A number for each point: points that are one and the same share it, and a loose end
    shares it with the nearest point of another line within `snap_m`."""
    # A tenth of a metre: nobody draws two junctions so near.
    places, at, vertex, uses = np.unique(
        np.round(metres, 1), axis=0, return_index=True, return_inverse=True, return_counts=True
    )
    vertex = vertex.reshape(-1)
    tips = np.unique(vertex[_tips(line)])
    loose = tips[uses[tips] == 1]
    if not len(loose) or snap_m == 0:
        return vertex
    tree = cKDTree(places)
    _, near = tree.query(places[loose], k=8, distance_upper_bound=snap_m)
    # A point that is not there at all stands as len(places); no line has its number.
    owner = np.append(line[at], -1)
    other = (near < len(places)) & (owner[near] != owner[loose][:, None])
    which = np.flatnonzero(other.any(axis=1))
    partner = near[which, other[which].argmax(axis=1)]
    size = len(places)
    pairs = csr_matrix((np.ones(len(which)), (loose[which], partner)), shape=(size, size))
    return np.asarray(connected_components(pairs, directed=False)[1][vertex], dtype=np.int64)


def _pieces(vertex: Ints, line: Ints) -> tuple[Ints, Ints]:
    """Where each edge begins and ends among the points: between two neighbouring nodes."""
    is_node = np.bincount(vertex)[vertex] > 1
    is_node[_tips(line)] = True
    stops = np.flatnonzero(is_node)
    first, last = stops[:-1], stops[1:]
    same = line[first] == line[last]
    return first[same], last[same]


def _along(points: Floats, line: Ints) -> Floats:
    """Metres from the first of all points to each; the leap from line to line counts nothing."""
    lons, lats = points.T
    _, _, steps = WGS84.inv(lons[:-1], lats[:-1], lons[1:], lats[1:])
    return np.concatenate([[0.0], np.cumsum(np.where(np.diff(line) == 0, steps, 0.0))])


def _drawn(metres: Floats, first: Ints, last: Ints) -> NDArray[Any]:
    """The edges as lines on the plane."""
    counts = last - first + 1
    starts = np.cumsum(counts) - counts
    which = np.repeat(first - starts, counts) + np.arange(counts.sum())
    edge = np.repeat(np.arange(len(first)), counts)
    return np.asarray(shapely.linestrings(metres[which], indices=edge))


def _turned(
    ends: Ints, minutes: Floats, oneway: NDArray[np.bool_], nodes: int
) -> tuple[Ints, Ints, Floats]:
    """Every edge turned round, as rows of a compressed matrix; of two between the same nodes
    the quicker counts."""
    both = ~oneway
    rows = np.concatenate([ends[:, 1], ends[both, 0]])
    columns = np.concatenate([ends[:, 0], ends[both, 1]])
    costs = np.concatenate([minutes, minutes[both]])
    order = np.lexsort((costs, columns, rows))
    rows, columns, costs = rows[order], columns[order], costs[order]
    new = np.ones(len(rows), dtype=bool)
    new[1:] = (np.diff(rows) != 0) | (np.diff(columns) != 0)
    begins = np.concatenate([[0], np.cumsum(np.bincount(rows[new], minlength=nodes))])
    return columns[new].astype(np.int32), begins.astype(np.int32), costs[new]
