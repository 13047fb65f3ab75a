#!/usr/bin/env python3
"""Makes the surveys and the scan of the invented van, byte for byte the same from the same seed.

    python3 make/make.py                  writes surveys/ and scans/ beside the scene
    python3 make/make.py --out FOLDER     writes them there, to compare
    python3 make/make.py --seed 7         other readings of the same van

Needs Python 3.8 or later and nothing else.
"""

import argparse
import pathlib

from readings import probe_csv, stand_csv
from wing import scan_bytes

SEED = 20260314


def main():
    here = pathlib.Path(__file__).resolve().parent.parent
    options = argparse.ArgumentParser(description="Make the readings of an invented van.")
    options.add_argument("--seed", type=int, default=SEED, help=f"of all scatter (default {SEED})")
    options.add_argument("--out", type=pathlib.Path, default=here, help="folder to write into")
    chosen = options.parse_args()
    print(f"seed {chosen.seed}")
    for name, content in [
        ("surveys/stand.csv", stand_csv(chosen.seed).encode("ascii")),
        ("surveys/bay-probe.csv", probe_csv(chosen.seed + 1).encode("ascii")),
        ("scans/left-inner-wing.ply", scan_bytes(chosen.seed + 2)),
    ]:
        path = chosen.out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        print(f"{name}: {len(content)} bytes")


if __name__ == "__main__":
    main()
