"""Pairs of trees in a span window: ours beside a bare k-d tree, an R-tree join and SQL by an embedded engine.

Run: python tests/bench/bench_pairs.py [--read ROWS]

Trees stand at city density (5 a hectare, uniform) and, in a second scene, along streets; spans 20 to 100 m. The bare
search builds a k-d tree, asks it for all pairs within 100 m and drops those under 20 m. All ways must find as many
pairs before a ratio is printed (SQL and the R-tree only count them). Every way runs in a process of its own, so that
its peak memory is its own.
`--read ROWS` also writes and reads an invented inventory of so many rows, one of them torn.
"""

import argparse
import multiprocessing
import os
import resource
import tempfile
import time

import numpy as np
from scipy.spatial import cKDTree

from siteassess.survey.pairs import PairWindow
from siteassess.survey.tiles import Trees, cut, search_tiles

WINDOW = PairWindow(20.0, 100.0, 1.5)
PER_HECTARE = 5.0
SIZES = (10_000, 100_000, 700_000)
RTREE_MOST, SQL_MOST = 100_000, 700_000


def uniform(n):
    return np.random.default_rng(5).uniform(0, np.sqrt(n / PER_HECTARE * 1e4), (n, 2))


def streets(n):
    """Trees about 8 m apart along both sides of streets 90 m apart."""
    draw = np.random.default_rng(6)
    along = np.sqrt(n / PER_HECTARE * 1e4)
    street = draw.integers(0, max(2, int(along / 90)), n) * 90.0 + draw.choice([-5.0, 5.0], n)
    place = draw.uniform(0, along, n)
    turned = draw.random(n) < 0.5
    xy = np.where(turned[:, None], np.column_stack([street, place]), np.column_stack([place, street]))
    return xy + draw.normal(0, 0.3, (n, 2))


SCENES = {"uniform": uniform, "streets": streets}


def trees_of(xy):
    reach = WINDOW.half_width_m + np.random.default_rng(7).uniform(0.05, 0.4, len(xy))
    return Trees(xy, np.full(len(xy), -1), xy, reach, np.arange(len(xy)))


def bare(xy):
    pairs = cKDTree(xy).query_pairs(WINDOW.longest_m, output_type="ndarray")
    span = np.linalg.norm(xy[pairs[:, 0]] - xy[pairs[:, 1]], axis=1)
    return len(pairs[span >= WINDOW.shortest_m])


def ours(xy):
    return len(search_tiles(cut(trees_of(xy), WINDOW, every_pair=True)).pairs)


def with_corridors(xy):
    return search_tiles(cut(trees_of(xy), WINDOW)).in_window


def with_corridors_two_processes(xy):
    return search_tiles(cut(trees_of(xy), WINDOW), workers=2).in_window


def with_corridors_dask(xy):
    return search_tiles(cut(trees_of(xy), WINDOW), workers=2, engine="dask").in_window


def rtree(xy):
    import shapely

    points = shapely.points(xy)
    a, b = shapely.STRtree(points).query(points, predicate="dwithin", distance=WINDOW.longest_m)
    a, b = a[a < b], b[a < b]
    return int(np.count_nonzero(np.hypot(*(xy[a] - xy[b]).T) >= WINDOW.shortest_m))


def sql(xy):
    import duckdb

    engine = duckdb.connect(config={"threads": 1})
    x, y = np.ascontiguousarray(xy[:, 0]), np.ascontiguousarray(xy[:, 1])
    engine.register("arrays", {"i": np.arange(len(xy)), "x": x, "y": y})
    cell = WINDOW.longest_m
    engine.execute(
        f"create table t as select *, cast(floor(x/{cell}) as bigint) cx, cast(floor(y/{cell}) as bigint) cy "
        "from arrays"
    )
    engine.execute("create table near as select dx, dy from range(-1,2) a(dx), range(-1,2) b(dy)")
    d2 = "(a.x-b.x)*(a.x-b.x)+(a.y-b.y)*(a.y-b.y)"
    return engine.execute(
        "select count(*) from (select t.*, t.cx+dx nx, t.cy+dy ny from t, near) a join t b on a.nx=b.cx and a.ny=b.cy "
        f"where a.i<b.i and {d2} between {WINDOW.shortest_m**2} and {WINDOW.longest_m**2}"
    ).fetchone()[0]


def _child(pipe, scene, n, way):
    xy = SCENES[scene](n)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    way(xy[:1000])  # imports are not what is measured
    best, count = np.inf, None
    for _ in range(3 if n <= 100_000 else 2):
        start = time.perf_counter()
        count = way(xy)
        best = min(best, time.perf_counter() - start)
    pipe.send((best, count, (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024))


def measured(scene, n, way):
    """Best time [s], pairs found, growth of the peak memory [MB]; None where a library is missing."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    process = context.Process(target=_quiet, args=(there, scene, n, way))
    process.start()
    there.close()
    try:
        return here.recv()
    except EOFError:
        return None
    finally:
        process.join()


def _quiet(pipe, scene, n, way):
    try:
        _child(pipe, scene, n, way)
    except ImportError:
        pipe.close()


def compare(scene, n):
    base = measured(scene, n, bare)
    print(f"{scene}, {n} trees, {base[1]} pairs: bare k-d tree {base[0]:.2f} s, {base[2]:.0f} MB")
    ways = [("ours, corridors apart", ours), ("ours with corridors", with_corridors)]
    if n <= RTREE_MOST:
        ways.append(("R-tree join", rtree))
    if n <= SQL_MOST:
        ways.append(("SQL, embedded engine", sql))
    if n >= max(SIZES):
        ways.append(("corridors, 2 processes", with_corridors_two_processes))
        ways.append(("corridors, Dask on 2", with_corridors_dask))
    for name, way in ways:
        answer = measured(scene, n, way)
        if answer is None:
            print(f"  {name:24} library not installed")
            continue
        took, count, memory = answer
        if count != base[1]:
            raise SystemExit(f"{name} found {count} pairs, the bare search {base[1]}")
        print(f"  {name:24} {took / base[0]:6.2f} x the bare search  ({took:.2f} s, {memory:.0f} MB more)")


def compare_reading(rows):
    from siteassess.survey.importing import read_inventory

    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "invented.csv")
        draw = np.random.default_rng(8)
        with open(path, "w", encoding="utf-8") as stream:
            stream.write("tree_id,latitude,longitude,dbh_cm,species,site\n")
            for start in range(0, rows, 100_000):
                count = min(100_000, rows - start)
                lat, lon, d = draw.uniform(52, 52.5, count), draw.uniform(9, 9.7, count), draw.integers(5, 90, count)
                stream.writelines(
                    f'{start + i},{lat[i]:.6f},{lon[i]:.6f},{d[i]},Tilia cordata,street\n' for i in range(count)
                )
                if start <= rows // 2 < start + count:
                    stream.write('x,52.1,9.1,30,"Tilia\n')
        start = time.perf_counter()
        with open(path, encoding="utf-8", newline="") as stream:
            import csv

            # with its quotes unread: read the usual way, the torn line ends the csv module's reading with an error
            plain = sum(1 for _ in csv.reader(stream, quoting=csv.QUOTE_NONE))
        by_csv = time.perf_counter() - start
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        start = time.perf_counter()
        inventory = read_inventory(path)
        took = time.perf_counter() - start
        grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
        print(f"reading {rows} rows: {took:.1f} s, {took / by_csv:.1f} x the csv module alone (which saw {plain} rows)")
        print(f"  {grown:.0f} MB more, {1e6 * grown / rows:.0f} bytes a row; {inventory.counts}")


if __name__ == "__main__":
    options = argparse.ArgumentParser()
    options.add_argument("--read", type=int, default=0, metavar="ROWS")
    options.add_argument("--sizes", type=int, nargs="+", default=list(SIZES), metavar="TREES")
    chosen = options.parse_args()
    for size in chosen.sizes:
        compare("uniform", size)
    compare("streets", max(chosen.sizes))
    if chosen.read:
        compare_reading(chosen.read)
