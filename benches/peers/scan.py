"""Lays our times and errors on scans beside those of general-purpose libraries: same clouds, same run, all cores.

Usage: python benches/peers/scan.py [--write]    (from the repository's top folder)
Installs the peers of benches/peers/scan-requirements.txt into a virtual environment, runs `cargo bench --bench scans`,
measures the peers on what that wrote, and prints two tables; with --write they replace those in docs/performance.md.
Every time is the best of three. Registration goes from coarse to fine for every peer, with the cells and reaches that we use.
BAYWRIGHT_POINTS and BAYWRIGHT_STARTS make a smaller run, BAYWRIGHT_PEER_STARTS says how many of the starts the peers try
(they take long); BAYWRIGHT_PEERS names a folder for what is written. With --keep the last measurements of ours are used again.
"""
import json
import os
import platform
import subprocess
import sys
import time
import venv
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
FOLDER = Path(os.environ.get("BAYWRIGHT_PEERS", TOP / "target" / "peers"))
PAGE = TOP / "docs" / "performance.md"
MARKS = ("<!-- scans: begin -->", "<!-- scans: end -->")
# A start has arrived when the middle of the bay is within 1 mm and the turn within 2 mrad.
ARRIVED_MM, ARRIVED_RAD = 1.0, 2e-3
MIDDLE = [600.0, 0.0, 300.0]


def in_environment():
    """Starts this script again inside an environment that has the peers."""
    home = Path(os.environ.get("BAYWRIGHT_VENV", FOLDER / "scan-venv"))
    python = home / "bin" / "python"
    if not python.exists():
        FOLDER.mkdir(parents=True, exist_ok=True)
        venv.create(home, with_pip=True)
    needs = TOP / "benches/peers/scan-requirements.txt"
    subprocess.run([python, "-m", "pip", "install", "-q", "-r", needs], check=True)
    own = {"BAYWRIGHT_IN": "1", "BAYWRIGHT_PEERS": str(FOLDER)}
    sys.exit(subprocess.run([python, *sys.argv], env=os.environ | own, cwd=TOP).returncode)


def best(times, ask):
    least, answer = float("inf"), None
    for _ in range(times):
        start = time.perf_counter()
        answer = ask()
        least = min(least, time.perf_counter() - start)
    return least, answer


def peers_of_one_cloud(ours, rows):
    import numpy as np
    import open3d as o3d
    import small_gicp

    cores = os.cpu_count()
    add = lambda question, peer, theirs, mine: rows.append(
        [question, peer, f"{theirs:.2f} s", f"{mine:.2f} s", f"{theirs / mine:.1f}"])
    size, text_size = (f"{ours[key] / 1e6:g} M" for key in ("points", "text_points"))
    for key, what, mine in (("binary", f"read {size}, binary PLY", "read_s"), ("text", f"read {text_size}, text PLY", "read_text_s")):
        took, cloud = best(3, lambda: o3d.io.read_point_cloud(ours[key]))
        add(what, "open3d, legacy", took, ours[mine])
        took, tensor = best(3, lambda: o3d.t.io.read_point_cloud(ours[key]))
        add(what, "open3d, tensor", took, ours[mine])
        del tensor
        if key == "binary":
            large = cloud
    points = np.asarray(large.points)
    took, thin = best(3, lambda: large.voxel_down_sample(ours["thin_mm"]))
    add(f"thin {size} to {ours['thin_mm']:g} mm", "open3d", took, ours["thin_s"])
    counts = [len(thin.points), ours["thinned"]]
    took, _ = best(3, lambda: small_gicp.voxelgrid_sampling(points, ours["thin_mm"], num_threads=cores))
    add(f"thin {size} to {ours['thin_mm']:g} mm", "small_gicp", took, ours["thin_s"])
    del large, points
    same = np.fromfile(FOLDER / "thin.f64").reshape(-1, 3)
    what = f"of {len(same) / 1e3:.0f} k points"
    cloud = o3d.geometry.PointCloud(o3d.utility.Vector3dVector(same))
    took, _ = best(3, lambda: cloud.estimate_normals(o3d.geometry.KDTreeSearchParamKNN(16)))
    add(f"normals {what}, 16 neighbours, tree too", "open3d", took, ours["normals_s"] + ours["tree_s"])
    theirs, mine = np.asarray(cloud.normals), np.fromfile(FOLDER / "thin-normals.f64").reshape(-1, 3)
    apart = np.degrees(np.arccos(np.clip(np.abs((theirs * mine).sum(axis=1)), 0, 1)))
    gicp = small_gicp.PointCloud(same)
    took, _ = best(3, lambda: small_gicp.estimate_normals(gicp, num_neighbors=16, num_threads=cores))
    add(f"normals {what}, 16 neighbours, tree too", "small_gicp", took, ours["normals_s"] + ours["tree_s"])
    # Its neighbours count the point itself; ours do not.
    took, (kept, _) = best(3, lambda: cloud.remove_statistical_outlier(17, 2.0))
    add(f"outliers {what}, 16 neighbours, tree too", "open3d", took, ours["outliers_s"] + ours["tree_s"])
    return (f"Cells found: open3d {counts[0]}, ours {counts[1]} (its grid starts at the least point, ours at the origin). "
            f"Normals differ from open3d's by more than 0.01 degrees at {100 * (apart > 0.01).mean():.3f} % of the points. "
            f"Points kept: open3d {len(kept.points)}, ours {ours['kept']}.")


def small_gicp_aligned(kind):
    import numpy as np
    import small_gicp

    def ask(fixed, moving, voxel):
        threads = os.cpu_count()
        start = time.perf_counter()
        ready = []
        for size in (voxel, 3 * voxel, 9 * voxel):
            ready.append((size, *(small_gicp.preprocess_points(points, downsampling_resolution=size, num_neighbors=12,
                                                              num_threads=threads) for points in (fixed, moving))))
        prepared = time.perf_counter()
        pose, reach = np.eye(4), 300.0
        for size, (target, tree), (source, _) in reversed(ready):
            result = small_gicp.align(target, source, tree, init_T_target_source=pose, registration_type=kind,
                                      max_correspondence_distance=reach, num_threads=threads, max_iterations=60)
            pose, reach = result.T_target_source, 3 * size
        return pose, prepared - start, time.perf_counter() - prepared
    return ask


def open3d_aligned(fixed, moving, voxel):
    import numpy as np
    import open3d as o3d

    start = time.perf_counter()
    ready = []
    whole = [o3d.geometry.PointCloud(o3d.utility.Vector3dVector(points)) for points in (fixed, moving)]
    for size in (voxel, 3 * voxel, 9 * voxel):
        both = [cloud.voxel_down_sample(size) for cloud in whole]
        for cloud in both:
            cloud.estimate_normals(o3d.geometry.KDTreeSearchParamKNN(12))
        ready.append((size, *both))
    prepared = time.perf_counter()
    pose, reach = np.eye(4), 300.0
    method = o3d.pipelines.registration.TransformationEstimationPointToPlane(
        o3d.pipelines.registration.TukeyLoss(k=6.0))
    for size, target, source in reversed(ready):
        limits = o3d.pipelines.registration.ICPConvergenceCriteria(1e-7, 1e-7, 60)
        result = o3d.pipelines.registration.registration_icp(source, target, reach, pose, method, limits)
        pose, reach = result.transformation, 3 * size
    return pose, prepared - start, time.perf_counter() - prepared


def off(found, truth):
    import numpy as np
    error = found @ np.linalg.inv(truth)
    middle = np.append(MIDDLE, 1.0)
    turn = np.arccos(np.clip((np.trace(error[:3, :3]) - 1) / 2, -1, 1))
    return np.linalg.norm((error @ middle - middle)[:3]), turn


def registrations(cases, rows):
    import numpy as np
    some = cases[:int(os.environ.get("BAYWRIGHT_PEER_STARTS", len(cases)))]
    asks = {"ours": None, "ours, all starts": None, "small_gicp, PLANE_ICP": small_gicp_aligned("PLANE_ICP"),
            "small_gicp, GICP": small_gicp_aligned("GICP"), "open3d, point to plane, Tukey": open3d_aligned}
    for name, ask in asks.items():
        shifts, turns, prepare, align, arrived = [], [], [], [], 0
        tried = cases if name == "ours, all starts" else some
        for case in tried:
            truth = np.array(case["truth"])
            if ask is None:
                if "found" not in case:
                    continue
                found, p, a = np.array(case["found"]), case["prepare_s"], case["align_s"]
            else:
                clouds = [np.fromfile(FOLDER / case[part]).reshape(-1, 3) for part in ("fixed", "moving")]
                runs = [ask(*clouds, case["voxel_mm"]) for _ in range(2)]
                found, p, a = runs[0][0], min(run[1] for run in runs), min(run[2] for run in runs)
            shift, turn = off(found, truth)
            prepare.append(p)
            align.append(a)
            if shift < ARRIVED_MM and turn < ARRIVED_RAD:
                arrived += 1
                shifts.append(shift)
                turns.append(turn)
        rms = lambda values: np.sqrt(np.mean(np.square(values))) if values else float("nan")
        rows.append([name, f"{arrived} of {len(tried)}", f"{rms(shifts):.4f} mm", f"{1e3 * rms(turns):.4f} mrad",
                     f"{1e3 * np.mean(prepare):.0f} ms", f"{1e3 * np.mean(align):.0f} ms",
                     f"{1e3 * (np.mean(prepare) + np.mean(align)):.0f} ms"])


def table(heads, rows):
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


def main():
    if "--keep" not in sys.argv:
        subprocess.run(["cargo", "bench", "-q", "--no-default-features", "--bench", "scans"], check=True)
    ours = json.loads((FOLDER / "scans.json").read_text())
    rows, fits = [], []
    agree = peers_of_one_cloud(ours, rows)
    registrations(ours["registration"], fits)
    whole = ours["pipeline"]
    # Peers have no such question; of ours the times are told one after the other.
    pipeline = (f"{whole['points'] / 1e6:g} M points of a binary PLY read and thinned to {ours['thin_mm']:g} mm in {whole['thinned_s']:.2f} s "
                f"({whole['thinned']} left), neighbours and normals by {whole['normals_s']:.2f} s, segmented by {whole['all_s']:.2f} s "
                f"({whole['features']} features, {whole['left']} points left over); at most {whole['peak_gib']:.2f} GiB.")
    text = "\n\n".join([
        table(["question", "peer", "peer takes", "we take", "times as long"], rows), agree, pipeline,
        table(["registration", "arrived", "rms shift", "rms turn", "prepare", "align", "both"], fits)])
    print(text)
    cases = [case for case in ours["registration"] if "found" in case]
    stated = sum(case["target_sigma_mm"] ** 2 for case in cases)
    print("error at a place over the stated:", (sum(case["target_off_mm"] ** 2 for case in cases) / stated) ** 0.5)
    if "--write" in sys.argv:
        page = PAGE.read_text()
        begin, end = (page.index(mark) for mark in MARKS)
        note = f"\nRun of {time.strftime('%Y-%m-%d')} on {os.cpu_count()} cores of a {platform.machine()} machine, all cores each.\n\n"
        PAGE.write_text(page[:begin] + MARKS[0] + note + text + "\n" + page[end:])


if __name__ == "__main__":
    main() if os.environ.get("BAYWRIGHT_IN") else in_environment()
