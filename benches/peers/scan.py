"""Lays our times and errors on scans beside those of general-purpose libraries: same clouds, same run, asked in turn.

Usage: python benches/peers/scan.py [--write]    (from the repository's top folder)
Installs the peers of benches/peers/scan-requirements.txt into a virtual environment, has `cargo bench --bench scans` write the
scans, asks ours and the peers in turn, and prints two tables; with --write they replace those in docs/performance.md.
Times are the best of three. Registration goes from coarse to fine for every peer, with the cells and reaches that we use.
BAYWRIGHT_THREADS says how many threads each may use (1 unless told), BAYWRIGHT_POINTS and BAYWRIGHT_STARTS make a smaller run,
BAYWRIGHT_PEER_STARTS says how many of the starts the peers try (they take long); BAYWRIGHT_PEERS names a folder for what is
written, BAYWRIGHT_VENV one for the environment. With --keep the scans that are there are used again, with --pairs only registration is asked, with
--reading only how files are read.
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
FAR_PLACE = [600.0, 0.0, 900.0]
THREADS = int(os.environ.get("BAYWRIGHT_THREADS", "1"))


def in_environment():
    """Starts this script again inside an environment that has the peers."""
    home = Path(os.environ.get("BAYWRIGHT_VENV", FOLDER / "scan-venv"))
    python = home / "bin" / "python"
    if not python.exists():
        FOLDER.mkdir(parents=True, exist_ok=True)
        venv.create(home, with_pip=True)
    needs = TOP / "benches/peers/scan-requirements.txt"
    subprocess.run([python, "-m", "pip", "install", "-q", "-r", needs], check=True)
    own = {"BAYWRIGHT_IN": "1", "BAYWRIGHT_PEERS": str(FOLDER), "OMP_NUM_THREADS": str(THREADS)}
    sys.exit(subprocess.run([python, *sys.argv], env=os.environ | own, cwd=TOP).returncode)


class Ours:
    """Our answers, from a process of its own."""

    def __init__(self, bench):
        own = {"BAYWRIGHT_SCANS": "serve", "BAYWRIGHT_PEERS": str(FOLDER), "RAYON_NUM_THREADS": str(THREADS)}
        self.process = subprocess.Popen([bench], env=os.environ | own, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def ask(self, question):
        print(question, file=self.process.stdin, flush=True)
        return json.loads(self.process.stdout.readline())


def timed(ask):
    """Time by the clock, processor time, and the answer."""
    start, before = time.perf_counter(), time.process_time()
    answer = ask()
    return time.perf_counter() - start, time.process_time() - before, answer


def peers_of_one_cloud(ours, sizes, rows):
    import numpy as np
    import open3d as o3d
    import small_gicp

    kept = {}

    def compare(what, question, **peers):
        """Three rounds, in each of them ours and every peer."""
        mine, theirs = [], {name: [] for name in peers}
        for _ in range(3):
            told = ours.ask(question)
            mine.append((told["wall_s"], told["cpu_s"]))
            kept[question] = told
            for name, ask in peers.items():
                kept.pop(name, None)
                wall, cpu, answer = timed(ask)
                theirs[name].append((wall, cpu))
                kept[name] = answer
        least = lambda times: [min(column) for column in zip(*times)]
        own = least(mine)
        for name, times in theirs.items():
            peer = least(times)
            rows.append([what, name.replace("_", " "), *(f"{t:.2f} s" for t in (*peer, *own)),
                         f"{peer[0] / own[0]:.1f}", f"{peer[1] / own[1]:.1f}"])

    size, text_size = (f"{sizes[key] / 1e6:g} M" for key in ("points", "text_points"))
    for what, question, file in ((f"read {text_size}, text PLY", "read-text", "scan-text.ply"),
                                 (f"read {size}, binary PLY", "read-binary", "scan.ply")):
        path = str(FOLDER / file)
        compare(what, question, open3d_legacy=lambda: o3d.io.read_point_cloud(path),
                open3d_tensor=lambda: o3d.t.io.read_point_cloud(path))
    if "--reading" in sys.argv:
        print(table(HEADS, rows))
        sys.exit()
    del kept["open3d_tensor"]
    large, edge = kept.pop("open3d_legacy"), sizes["thin_mm"]
    points = np.asarray(large.points)
    compare(f"thin {size} to {edge:g} mm", "thin", open3d=lambda: large.voxel_down_sample(edge),
            small_gicp=lambda: small_gicp.voxelgrid_sampling(points, edge, num_threads=THREADS))
    counts = [len(kept["open3d"].points), kept["thin"]["points"]]
    ours.ask("forget")
    kept.clear()
    del large, points
    same = np.fromfile(FOLDER / "thin.f64").reshape(-1, 3)
    what = f"of {len(same) / 1e3:.0f} k points, 16 neighbours, tree too"
    cloud = o3d.geometry.PointCloud(o3d.utility.Vector3dVector(same))
    gicp = small_gicp.PointCloud(same)
    compare(f"normals {what}", "normals", open3d=lambda: cloud.estimate_normals(o3d.geometry.KDTreeSearchParamKNN(16)),
            small_gicp=lambda: small_gicp.estimate_normals(gicp, num_neighbors=16, num_threads=THREADS))
    theirs, mine = np.asarray(cloud.normals), np.fromfile(FOLDER / "thin-normals.f64").reshape(-1, 3)
    apart = np.degrees(np.arccos(np.clip(np.abs((theirs * mine).sum(axis=1)), 0, 1)))
    # Its neighbours count the point itself; ours do not.
    compare(f"outliers {what}", "outliers", open3d=lambda: cloud.remove_statistical_outlier(17, 2.0))
    return (f"Cells found: open3d {counts[0]}, ours {counts[1]} (its grid starts at the least point, ours at the origin). "
            f"Normals differ from open3d's by more than 0.01 degrees at {100 * (apart > 0.01).mean():.3f} % of the points. "
            f"Points kept: open3d {len(kept['open3d'][0].points)}, ours {kept['outliers']['points']}.")


def small_gicp_aligned(kind):
    import numpy as np
    import small_gicp

    def prepare(fixed, moving, voxel):
        return [(size, *(small_gicp.preprocess_points(points, downsampling_resolution=size, num_neighbors=12, num_threads=THREADS)
                         for points in (fixed, moving))) for size in (voxel, 3 * voxel, 9 * voxel)]

    def align(ready):
        pose, reach = np.eye(4), 300.0
        for size, (target, tree), (source, _) in reversed(ready):
            result = small_gicp.align(target, source, tree, init_T_target_source=pose, registration_type=kind,
                                      max_correspondence_distance=reach, num_threads=THREADS, max_iterations=60)
            pose, reach = result.T_target_source, 3 * size
        return pose
    return prepare, align


def open3d_aligned():
    import numpy as np
    import open3d as o3d

    def prepare(fixed, moving, voxel):
        ready = []
        whole = [o3d.geometry.PointCloud(o3d.utility.Vector3dVector(points)) for points in (fixed, moving)]
        for size in (voxel, 3 * voxel, 9 * voxel):
            both = [cloud.voxel_down_sample(size) for cloud in whole]
            for cloud in both:
                cloud.estimate_normals(o3d.geometry.KDTreeSearchParamKNN(12))
            ready.append((size, *both))
        return ready

    def align(ready):
        pose, reach = np.eye(4), 300.0
        method = o3d.pipelines.registration.TransformationEstimationPointToPlane(
            o3d.pipelines.registration.TukeyLoss(k=6.0))
        for size, target, source in reversed(ready):
            limits = o3d.pipelines.registration.ICPConvergenceCriteria(1e-7, 1e-7, 60)
            result = o3d.pipelines.registration.registration_icp(source, target, reach, pose, method, limits)
            pose, reach = result.transformation, 3 * size
        return pose
    return prepare, align


def off(found, truth):
    import numpy as np
    error = found @ np.linalg.inv(truth)
    middle = np.append(MIDDLE, 1.0)
    turn = np.arccos(np.clip((np.trace(error[:3, :3]) - 1) / 2, -1, 1))
    return np.linalg.norm((error @ middle - middle)[:3]), turn


def registrations(ours, cases, rows):
    import numpy as np
    some = int(os.environ.get("BAYWRIGHT_PEER_STARTS", len(cases)))
    peers = {"small_gicp, PLANE_ICP": small_gicp_aligned("PLANE_ICP"), "small_gicp, GICP": small_gicp_aligned("GICP"),
             "open3d, point to plane, Tukey": open3d_aligned()}
    # Of each: how far off in mm and rad, and wall and processor time of preparing and aligning.
    runs = {name: [] for name in ("ours", *peers, "ours, all starts")}
    far, place = [], np.append(FAR_PLACE, 1.0)
    for number, case in enumerate(cases):
        truth = np.array(case["truth"])
        told = ours.ask(f"register {number}")
        found = np.array(told["found"]) if "found" in told else np.full((4, 4), np.inf)
        times = [told[part][key] for part in ("prepare", "align") for key in ("wall_s", "cpu_s")]
        for name in ("ours", "ours, all starts")[number >= some:]:
            runs[name].append((*off(found, truth), *times))
        if "found" in told:
            far.append((np.linalg.norm(((found @ np.linalg.inv(truth) @ place) - place)[:3]), told["target_sigma_mm"]))
        if number >= some:
            continue
        clouds = [np.fromfile(FOLDER / case[part]).reshape(-1, 3) for part in ("fixed", "moving")]
        for name, (prepare, align) in peers.items():
            *prepared, ready = timed(lambda: prepare(*clouds, case["voxel_mm"]))
            *aligned, found = timed(lambda: align(ready))
            runs[name].append((*off(found, truth), *prepared, *aligned))
            del ready
    for name, all_of_it in runs.items():
        told = np.array(all_of_it)
        shift, turn = told[:, 0], told[:, 1]
        arrived = (shift < ARRIVED_MM) & (turn < ARRIVED_RAD)
        rms = lambda values: np.sqrt(np.mean(np.square(values[arrived]))) if arrived.any() else float("nan")
        means = 1e3 * np.median(told[:, 2:], axis=0)
        rows.append([name, f"{arrived.sum()} of {len(told)}", f"{rms(shift):.4f} mm", f"{1e3 * rms(turn):.4f} mrad",
                     f"{means[1]:.0f} ms", f"{means[3]:.0f} ms", f"{means[1] + means[3]:.0f} ms", f"{means[0] + means[2]:.0f} ms"])
    worst, stated = max(error for error, _ in far), np.sqrt(sum(e * e for e, _ in far) / sum(s * s for _, s in far))
    return (f"Ours at a place 600 mm above the middle: at most {worst:.3f} mm off; the root mean square error is {stated:.2f} times what "
            f"`target_sigma_mm` states.")


def table(heads, rows):
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


HEADS = ["question", "peer", "peer takes", "processor", "we take", "processor", "times as long", "in processor time"]


def main():
    if "--keep" not in sys.argv:
        subprocess.run(["cargo", "bench", "-q", "--no-default-features", "--bench", "scans"], check=True)
    told = json.loads((FOLDER / "scans.json").read_text())
    rows, fits, texts = [], [], []
    ours = Ours(told["bench"])
    if "--pairs" not in sys.argv:
        own = {"BAYWRIGHT_SCANS": "pipeline", "BAYWRIGHT_PEERS": str(FOLDER)}
        # Peers have no such question; of ours the times are told one after the other.
        whole = json.loads(subprocess.run([told["bench"]], env=os.environ | own, stdout=subprocess.PIPE, check=True).stdout)
        agree = peers_of_one_cloud(ours, told, rows)
        texts = [table(HEADS, rows),
                 agree, f"{whole['points'] / 1e6:g} M points of a binary PLY read and thinned to {told['thin_mm']:g} mm in "
                 f"{whole['thinned_s']:.2f} s ({whole['thinned']} left), neighbours and normals by {whole['normals_s']:.2f} s, segmented by "
                 f"{whole['all_s']:.2f} s ({whole['features']} features, {whole['left']} points left over) on all cores, "
                 f"{whole['cpu_s']:.2f} s of processor time; at most {whole['peak_gib']:.2f} GiB."]
    stated = registrations(ours, told["registration"], fits)
    texts += [table(["registration", "arrived", "rms shift", "rms turn", "prepare, processor", "align, processor", "both, processor",
                     "both, by the clock"], fits), stated]
    text = "\n\n".join(texts)
    print(text)
    if "--write" in sys.argv:
        page = PAGE.read_text()
        begin, end = (page.index(mark) for mark in MARKS)
        load = os.getloadavg()[2]
        note = (f"\nRun of {time.strftime('%Y-%m-%d')} on {os.cpu_count()} cores of a {platform.machine()} machine (load {load:.1f} over the last "
                f"quarter of an hour), {THREADS} thread(s) each, best of three in turn; registration: medians, {fits[1][1].split()[-1]} starts.\n\n")
        PAGE.write_text(page[:begin] + MARKS[0] + note + text + "\n" + page[end:])


if __name__ == "__main__":
    main() if os.environ.get("BAYWRIGHT_IN") else in_environment()
