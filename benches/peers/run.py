"""Lays our times beside those of general-purpose libraries: same meshes, same poses, same run, one thread.

Usage: python benches/peers/run.py [--write]    (from the repository's top folder)
Installs the peers of benches/peers/requirements.txt into a virtual environment, runs `cargo bench --bench peers`,
measures the peers on what that wrote, and prints a table of ratios; with --write it replaces the one in
docs/performance.md. Every time is the best of five; the ratios are over all 200 poses of a case.
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
FOLDER = TOP / "target" / "peers"
PAGE = TOP / "docs" / "performance.md"
MARKS = ("<!-- peers: begin -->", "<!-- peers: end -->")


def in_environment():
    """Starts this script again inside an environment that has the peers."""
    home = FOLDER / "venv"
    python = home / "bin" / "python"
    if not python.exists():
        FOLDER.mkdir(parents=True, exist_ok=True)
        venv.create(home, with_pip=True)
    subprocess.run([python, "-m", "pip", "install", "-q", "-r", TOP / "benches/peers/requirements.txt"], check=True)
    one = {"OMP_NUM_THREADS": "1", "RAYON_NUM_THREADS": "1", "BAYWRIGHT_IN": "1", "BAYWRIGHT_PEERS": str(FOLDER)}
    sys.exit(subprocess.run([python, *sys.argv], env=os.environ | one, cwd=TOP).returncode)


def best_us(ask):
    times = []
    for _ in range(5):
        start = time.perf_counter()
        answer = ask()
        times.append(time.perf_counter() - start)
    return min(times) * 1e6, answer


class Coal:
    name = "coal"

    def __init__(self, meshes):
        import coal
        self.coal, self.models = coal, []
        for vertices, triangles in meshes:
            model = coal.BVHModelOBBRSS()
            model.beginModel(len(triangles), len(vertices))
            points, faces = coal.StdVec_Vec3s(), coal.StdVec_Triangle()
            for vertex in vertices:
                points.append(vertex)
            for face in triangles:
                faces.append(coal.Triangle(*(int(i) for i in face)))
            model.addSubModel(points, faces)
            model.endModel()
            self.models.append(model)
        self.rest = coal.Transform3s()

    def place(self, matrix):
        self.at = self.coal.Transform3s(matrix[:3, :3], matrix[:3, 3])

    def distance(self):
        request, result = self.coal.DistanceRequest(), self.coal.DistanceResult()
        return self.coal.distance(self.models[0], self.rest, self.models[1], self.at, request, result)

    def contact(self):
        request, result = self.coal.CollisionRequest(), self.coal.CollisionResult()
        return self.coal.collide(self.models[0], self.rest, self.models[1], self.at, request, result) > 0


class Fcl:
    name = "python-fcl"

    def __init__(self, meshes):
        import fcl
        self.fcl, self.objects = fcl, []
        for vertices, triangles in meshes:
            model = fcl.BVHModel()
            model.beginModel(len(triangles), len(vertices))
            model.addSubModel(vertices, triangles)
            model.endModel()
            self.objects.append(fcl.CollisionObject(model, fcl.Transform()))

    def place(self, matrix):
        self.objects[1].setTransform(self.fcl.Transform(matrix[:3, :3], matrix[:3, 3]))

    def distance(self):
        return self.fcl.distance(*self.objects, self.fcl.DistanceRequest(), self.fcl.DistanceResult())

    def contact(self):
        return self.fcl.collide(*self.objects, self.fcl.CollisionRequest(), self.fcl.CollisionResult()) > 0


def rays_and_points(case, vertices, triangles):
    """Rows of a second table: rays by open3d and embreex, distances of points by open3d."""
    import numpy as np
    import open3d as o3d
    from embreex.mesh_construction import TriangleMesh
    from embreex.rtcore_scene import EmbreeScene

    about = case["about_fixed"]
    read = lambda end: np.fromfile(FOLDER / f"{case['fixed']}.{end}").reshape(-1, 3).astype(np.float32)
    points, along = read("points"), read("along")
    tensor = lambda array: o3d.core.Tensor(np.ascontiguousarray(array))
    scene = o3d.t.geometry.RaycastingScene(nthreads=1)
    scene.add_triangles(tensor(vertices.astype(np.float32)), tensor(triangles))
    rays = tensor(np.hstack([points, along]))
    embree = EmbreeScene()
    TriangleMesh(embree, vertices.astype(np.float32)[triangles])
    far = lambda distances: np.where(np.isfinite(distances) & (distances < 1e5), distances, -1.0)
    asked = tensor(points)
    signed = scene.compute_signed_distance if about["closed"] else scene.compute_distance
    rows = []
    for question, peer, ask in (
        ("ray", "open3d", lambda: far(scene.cast_rays(rays, nthreads=1)["t_hit"].numpy())),
        ("ray", "embreex", lambda: far(embree.run(points, along, query="DISTANCE"))),
        ("distance of a point", "open3d", lambda: signed(asked, nthreads=1).numpy()),
    ):
        took_us, theirs = best_us(ask)
        key = "rays" if question == "ray" else "distances"
        ours = np.array(about[f"{key}_mm"])
        off = np.abs(theirs - ours)
        # In f32 a ray past an edge may meet what it misses in f64: those are counted, the others compared.
        differ = int((off > 0.01).sum())
        rows.append([
            case["name"].split(" and ")[0], question, peer, f"{about[f'{key}_us'] / len(ours):.2f}",
            f"{took_us / about[f'{key}_us']:.2f}", f"{np.median(off):.0e}", f"{differ} of {len(ours)}",
        ])
    return rows


def table_of(heads, rows):
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    return "\n".join(lines + ["| " + " | ".join(row) + " |" for row in rows])


def median(values):
    ordered = sorted(values)
    return ordered[len(ordered) // 2]


def main():
    import numpy as np

    subprocess.run(["cargo", "bench", "-q", "--no-default-features", "--bench", "peers"], check=True)
    cases = json.loads((FOLDER / "ours.json").read_text())
    rows, worst, about = [], {}, []
    for case in cases:
        meshes = []
        for part in ("fixed", "moving"):
            vertices = np.fromfile(FOLDER / f"{case[part]}.f64").reshape(-1, 3)
            triangles = np.fromfile(FOLDER / f"{case[part]}.u32", dtype=np.uint32).reshape(-1, 3)
            meshes.append((vertices, triangles))
        poses = case["poses"]
        about += rays_and_points(case, *meshes[0])
        for kind in (Coal, Fcl):
            peer = kind(meshes)
            distance_us, contact_us, off, verdicts = [], [], 0.0, 0
            for pose in poses:
                peer.place(np.array(pose["matrix"]))
                took, touching = best_us(peer.contact)
                contact_us.append(took)
                verdicts += touching != pose["touches"]
                took, far = best_us(peer.distance)
                distance_us.append(took)
                if pose["gap_mm"] > 0:
                    off = max(off, abs(far - pose["gap_mm"]) / max(abs(pose["gap_mm"]), 1.0))
            beyond = [i for i, pose in enumerate(poses) if pose["gap_mm"] > case["limit_mm"]]
            ours = lambda key: sum(pose[key] for pose in poses)
            apart = [i for i, pose in enumerate(poses) if pose["gap_mm"] > 0]
            near = [i for i in apart if poses[i]["near_apart"]]
            of = lambda times, places: sum(times[i] for i in places)
            mine = lambda key, places: sum(poses[i][key] for i in places)
            rows.append([
                case["name"], peer.name, f"{len(poses) - len(apart)}",
                f"{of(distance_us, apart) / mine('gap_us', apart):.2f}",
                f"{of(distance_us, near) / mine('warm_us', near):.2f}",
                f"{sum(contact_us) / ours('touches_us'):.2f}",
                f"{of(distance_us, apart) / mine('under_us', apart):.1f}",
                f"{median([distance_us[i] / poses[i]['under_us'] for i in beyond]):.1f}",
                f"{off:.0e}", f"{verdicts}",
            ])
            if kind is Coal:
                worst[case["name"]] = (of(distance_us, apart) / len(apart), mine("gap_us", apart) / len(apart))
    heads = ["case", "peer", "in contact", "gap", "gap, warm", "contact", "under 25 mm", "under, median beyond",
             "greatest difference", "verdicts that differ"]
    heads_about = ["body", "question", "peer (f32, one thread)", "ours, us each", "peer takes, times as long",
                   "median difference, mm", "differ by over 0.01 mm"]
    text = table_of(heads, rows) + "\n\n" + table_of(heads_about, about)
    print(text)
    for name, (theirs, ours) in worst.items():
        print(f"{name}: distance of coal {theirs:.0f} us a pose that is apart, ours {ours:.0f} us")
    if "--write" in sys.argv:
        page = PAGE.read_text()
        begin, end = (page.index(mark) for mark in MARKS)
        note = f"\nRun of {time.strftime('%Y-%m-%d')} on {os.cpu_count()} cores of a {platform.machine()} machine, one thread each.\n\n"
        PAGE.write_text(page[:begin] + MARKS[0] + note + text + "\n" + page[end:])


if __name__ == "__main__":
    main() if os.environ.get("BAYWRIGHT_IN") else in_environment()
