"""Ways in: our planner beside OMPL's RRTConnect over FCL's meshes, same meshes, same step, same run.

Usage: python3 benches/peers/ways/ways.py [--seeds N] [--seconds S] [--peer-times K] [--write]    (from the repository's top folder)
Needs a C++ compiler and Debian's libompl-dev, libfcl-dev and libeigen3-dev. Builds peer.cpp, runs `cargo bench --bench ways`, which
writes the puzzles and times ours, and the peer, which uses one core. Prints a table of medians; with --write it replaces the one
in docs/performance.md. The peer may try for K times as much processor time as ours took in the median (6 unless told), at least 2 s and
at most as long as ours may, of its own processor time, so that a busy machine takes nothing from it. A puzzle not solved in time counts as
unsolved, and a median over those is given as more than the time. Once the peer has failed with more than half of the seeds, its median is
known to be more, and it is not asked again: the table says of how many seeds.
"""
import json
import os
import platform
import subprocess
import sys
import time
from pathlib import Path

TOP = Path(__file__).resolve().parents[3]
FOLDER = Path(os.environ.get("CARGO_TARGET_DIR", TOP / "target")) / "peers" / "ways"
PAGE = TOP / "docs" / "performance.md"
MARKS = ("<!-- ways: begin -->", "<!-- ways: end -->")


def given(name, otherwise):
    return float(sys.argv[sys.argv.index(name) + 1]) if name in sys.argv else otherwise


def include():
    for folder in sorted(Path("/usr/include").glob("ompl-*")):
        return [f"-I{folder}", "-I/usr/include/eigen3"]
    return ["-I/usr/include/eigen3"]


def median(values):
    ordered = sorted(values)
    return ordered[len(ordered) // 2]


def told(value, limit):
    return f"> {limit:.0f}" if value >= 1e9 else f"{value:.2f}"


def main():
    seeds, seconds = int(given("--seeds", 20)), given("--seconds", 60)
    times = given("--peer-times", 6)
    FOLDER.mkdir(parents=True, exist_ok=True)
    peer = FOLDER / "peer"
    subprocess.run(["g++", "-O3", "-DNDEBUG", "-std=c++17", "-o", peer, TOP / "benches/peers/ways/peer.cpp", *include(),
                    "-lompl", "-lfcl", "-lccd"], check=True)
    settings = {"BAYWRIGHT_PEERS": str(FOLDER), "WAYS_SEEDS": str(seeds), "WAYS_SECONDS": str(seconds)}
    ways = os.environ.get("WAYS_BINARY")
    command = [ways] if ways else ["cargo", "bench", "-q", "--no-default-features", "--bench", "ways"]
    lines = subprocess.run(command, env=os.environ | settings, check=True, capture_output=True, text=True, cwd=TOP).stdout
    ours = [json.loads(line) for line in lines.splitlines() if line.startswith("{")]
    heads = ["puzzle", "triangles", "ours solved", "ours, s", "ours, processor s", "peer solved", "peer, processor s",
             "times as much"]
    table = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    far = lambda runs, key: [run[key] if run["solved"] else 1e9 for run in runs]
    for at in sorted({run["puzzle"] for run in ours}):
        mine = [run for run in ours if run["puzzle"] == at]
        patience = min(seconds, max(2.0, times * median([run["cpu_seconds"] for run in mine])))
        theirs = []
        # One process a seed: the peer's library can be seeded only once.
        for seed in range(seeds):
            if 2 * sum(not run["solved"] for run in theirs) > seeds:
                break
            out = subprocess.run([peer, FOLDER / f"puzzle-{at}", str(patience), str(seed)], check=True, capture_output=True,
                                 text=True).stdout
            theirs += [json.loads(line) for line in out.splitlines()]
        # Seeds that were not asked would not have changed the median: it lies among the failures.
        unasked = [{"solved": False}] * (seeds - len(theirs))
        a = median(far(mine, "seconds"))
        c, d = median(far(mine, "cpu_seconds")), median(far(theirs + unasked, "cpu_seconds"))
        ratio = "-" if c >= 1e9 else (f"> {patience / c:.1f}" if d >= 1e9 else f"{d / c:.1f}")
        row = [mine[0]["name"], f"{mine[0]['fixed']} + {mine[0]['moving']}", f"{sum(r['solved'] for r in mine)} of {len(mine)}",
               told(a, seconds), "-" if c >= 1e9 else f"{c:.2f}", f"{sum(r['solved'] for r in theirs)} of {len(theirs)}",
               told(d, patience), ratio]
        table.append("| " + " | ".join(row) + " |")
        print(table[-1], flush=True)
    text = "\n".join(table)
    print(text)
    if "--write" in sys.argv:
        page = PAGE.read_text()
        begin, end = (page.index(mark) for mark in MARKS)
        load = os.getloadavg()[2]
        note = (f"\nRun of {time.strftime('%Y-%m-%d')} on {os.cpu_count()} cores of a {platform.machine()} machine "
                f"(load {load:.1f} over the last quarter of an hour), {seeds} seeds, at most {seconds:.0f} s each for ours and {times:.0f} times its median "
                f"of processor time, never under 2 s, for the peer, until its median was settled.\n\n")
        PAGE.write_text(page[:begin] + MARKS[0] + note + text + "\n" + page[end:])


if __name__ == "__main__":
    main()
