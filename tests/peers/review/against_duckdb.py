"""The summary of 100,000 cases beside DuckDB on the same columns, in turn, medians of five each.

Usage: against_duckdb.py BENCH, the program of tests/bench/review.rs built in release. DuckDB gets two threads, its
own columnar tables in memory, and every aggregation that a summary holds. Ends with 1 above twice DuckDB's time.
"""
import os
import subprocess
import sys
import tempfile
import time

# A check beside this one is called like a module of Python's own.
sys.path.pop(0)

import duckdb  # noqa: E402

LIMIT = 2.0
GROUPS = ["0", "pathway", "site", "machine", "size", "implants", "sides", "sacrum", "team", "0", "month"]
PARTS = "count(*), min({0}), quantile_cont({0}, [0.25, 0.5, 0.75]), max({0})"


def queries():
    live = "(SELECT * FROM cases WHERE live = 1)"
    for group in GROUPS:
        yield f"SELECT {group}, {PARTS.format('shots')} FROM {live} GROUP BY ALL"
        yield f"SELECT {group}, {PARTS.format('operation_min')} FROM {live} WHERE operation_min IS NOT NULL GROUP BY ALL"
        yield (f"SELECT {group}, machine, size, {PARTS.format('product')} FROM {live} "
               "WHERE product IS NOT NULL AND machine > 0 AND size > 0 GROUP BY ALL")
    join = "JOIN cases USING (case_id) WHERE live = 1"
    yield (f"SELECT step, {PARTS.format('places.shots')}, {PARTS.format('stay_s')}, sum(overridden) "
           f"FROM places {join} GROUP BY step")
    yield (f"SELECT step, sum((marks & 3 > 0)::int), sum((marks & 2 > 0)::int), sum((marks & 4 > 0)::int), "
           f"sum((marks & 8 > 0)::int) FROM checks {join} GROUP BY step")
    yield (f"SELECT name, {PARTS.format('checks.shots')}, sum((rejected = 0)::int) FROM checks {join} "
           "AND marks & 16 > 0 GROUP BY name")


def ours(bench, folder):
    told = subprocess.run([bench], env={**os.environ, "BRIMLINE_EXPORT_COLUMNS": folder}, check=True,
                          capture_output=True, text=True).stdout
    return float(told.split()[-1])


def middle(times):
    return sorted(times)[len(times) // 2]


with tempfile.TemporaryDirectory() as folder:
    mine, theirs = [ours(sys.argv[1], folder)], []
    base = duckdb.connect()
    base.execute("SET threads = 2")
    for name in ("cases", "places", "checks"):
        base.execute(f"CREATE TABLE {name} AS SELECT * RENAME ('case' AS case_id) FROM read_csv('{folder}/{name}.csv')")
    for _ in range(5):
        begun = time.perf_counter()
        for query in queries():
            base.execute(query).fetchall()
        theirs.append(time.perf_counter() - begun)
        mine.append(ours(sys.argv[1], folder))
    mine, theirs = middle(mine), middle(theirs)
    print(f"ours {mine * 1e3:.0f} ms, DuckDB {theirs * 1e3:.0f} ms, ratio {mine / theirs:.2f} (at most {LIMIT})")
    sys.exit(0 if mine <= LIMIT * theirs else 1)
