"""Judges our answers with general-purpose libraries: coal, trimesh, manifold3d, scipy, numpy, pypdfium2.

Usage: python outside.py FOLDER [PART ...], the folder in which tests/outside.rs left its cases; parts are the names below,
`fits` say, and all when none is named.
Prints one line a kind of case and `N passed, N failed`; exits 1 when any case fails.
"""
import json
import struct
import sys
from pathlib import Path

import coal
import manifold3d
import numpy as np
import pypdfium2
import trimesh
from scipy import linalg
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import brentq, least_squares, minimize
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation, Slerp

FOLDER = Path(sys.argv[1])


def cases(name):
    with open(FOLDER / name) as file:
        head = json.loads(file.readline())
        print(f"{name}: seed {head['seed']}")
        for line in file:
            yield json.loads(line)


def rotation(pose):
    x, y, z, w = pose["quaternion_xyzw"]
    return np.array([
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ])


def support(shape, directions):
    """Support function of a convex shape in its own frame; closed forms. directions: (n, 3) unit rows."""
    d = np.atleast_2d(directions)
    flat = np.hypot(d[:, 0], d[:, 1])
    kind = shape["kind"]
    if kind == "ball":
        return np.full(len(d), shape["radius"])
    if kind == "block":
        return np.abs(d) @ (np.array(shape["size"]) / 2)
    if kind == "cylinder":
        return shape["radius"] * flat + shape["length"] / 2 * np.abs(d[:, 2])
    if kind == "capsule":
        return shape["radius"] + shape["core"] / 2 * np.abs(d[:, 2])
    if kind == "frustum":
        half = shape["length"] / 2
        return np.maximum(shape["bottom"] * flat - half * d[:, 2], shape["top"] * flat + half * d[:, 2])
    return (d @ np.array(shape["points"]).T).max(axis=1)


def gap_along(case, turn, at, normals):
    """How far apart the two are along each direction: no gap is smaller than the greatest of these, and
    no overlap deeper than the least amount below zero."""
    n = np.atleast_2d(normals)
    return n @ at - support(case["fixed"], n) - support(case["moving"], -n @ turn)


def coal_shape(shape):
    kind = shape["kind"]
    if kind == "ball":
        return coal.Sphere(shape["radius"])
    if kind == "block":
        return coal.Box(*shape["size"])
    if kind == "cylinder":
        return coal.Cylinder(shape["radius"], shape["length"])
    if kind == "capsule":
        return coal.Capsule(shape["radius"], shape["core"])
    return None


def coal_mesh(mesh):
    model = coal.BVHModelOBBRSS()
    triangles = mesh["triangles"]
    model.beginModel(len(triangles), len(mesh["vertices"]))
    vertices = coal.StdVec_Vec3s()
    for vertex in mesh["vertices"]:
        vertices.append(np.array(vertex))
    faces = coal.StdVec_Triangle()
    for triangle in triangles:
        faces.append(coal.Triangle(*triangle))
    model.addSubModel(vertices, faces)
    model.endModel()
    return model


def transform(pose):
    return coal.Transform3s(rotation(pose), np.array(pose["at"]))


def coal_distance(one, other, pose):
    request, result = coal.DistanceRequest(), coal.DistanceResult()
    # Its defaults stop at 1e-6 of a distance; these make it as exact as it can be.
    request.gjk_tolerance, request.gjk_max_iterations = 1e-10, 1000
    request.epa_tolerance, request.epa_max_iterations = 1e-8, 1000
    return coal.distance(one, coal.Transform3s(), other, transform(pose), request, result)


def coal_touches(one, other, pose):
    request, result = coal.CollisionRequest(), coal.CollisionResult()
    return coal.collide(one, coal.Transform3s(), other, transform(pose), request, result) > 0


def inside(mesh, point):
    """Whether a point lies in a closed mesh: its triangles' solid angles add up to a whole sphere.

    Formula: van Oosterom & Strackee 1983, IEEE Trans. Biomed. Eng. 30:125 (from memory).
    """
    if not mesh.get("closed", True):
        return False
    if "corners" not in mesh:
        mesh["corners"] = np.array(mesh["vertices"])[np.array(mesh["triangles"])]
        mesh["box"] = list(zip(mesh["corners"].min((0, 1)).tolist(), mesh["corners"].max((0, 1)).tolist()))
    if not all(low <= at <= high for (low, high), at in zip(mesh["box"], point.tolist())):
        return False
    corners = mesh["corners"] - point
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    over = np.einsum("ij,ij->i", a, np.cross(b, c))
    under = la * lb * lc + (a * b).sum(1) * lc + (b * c).sum(1) * la + (c * a).sum(1) * lb
    return abs(2 * np.arctan2(over, under).sum()) > 2 * np.pi


def contained(case):
    """Whether either mesh of a case holds the other's first vertex."""
    turn, at = rotation(case["fixed_from_moving"]), np.array(case["fixed_from_moving"]["at"])
    first = [np.array(case[name]["vertices"][0]) for name in ("fixed", "moving")]
    return inside(case["fixed"], turn @ first[1] + at) or inside(case["moving"], turn.T @ (first[0] - at))


class Tally:
    def __init__(self, name):
        self.name, self.passed, self.failed, self.worst = name, 0, 0, 0.0

    def judge(self, case, off, limit, why):
        self.worst = max(self.worst, off / limit)
        if off <= limit:
            self.passed += 1
        else:
            self.failed += 1
            if self.failed <= 5:
                print(f"  FAILED {self.name} case {case}: {why} (off {off:.3g}, allowed {limit:.3g})")

    def close(self):
        print(f"  {self.name}: {self.passed} passed, {self.failed} failed; worst used {self.worst:.2f} of its tolerance")


def convex():
    """12 000 convex pairs: by duality (closed-form supports), and by coal where it has the shape."""
    proof, peer, depth = Tally("gap by supports"), Tally("gap by coal"), Tally("depth by directions")
    rare, deeper = Tally("coal overruled seldom"), []
    rng = np.random.default_rng(7)
    directions = rng.normal(size=(2000, 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    for case in cases("convex.jsonl"):
        answer = case["answer"]
        gap, normal = answer["gap"], np.array(answer["normal"])
        turn, at = rotation(case["fixed_from_moving"]), np.array(case["fixed_from_moving"]["at"])
        on_fixed, on_moving = np.array(answer["on_fixed"]), np.array(answer["on_moving"])
        # The bodies are this far apart along the normal, and the witness points no further: both are proved.
        along = gap_along(case, turn, at, normal)[0]
        proof.judge(case["case"], abs(along - gap), 1e-6, f"gap {gap}, supports say {along}")
        apart = (on_moving - on_fixed) @ normal
        proof.judge(case["case"], abs(apart - gap), 1e-6, f"witness points are {apart} apart, gap {gap}")
        # Witness points lie in their bodies: no direction has them outside.
        out_fixed = (directions @ on_fixed - support(case["fixed"], directions)).max()
        local = turn.T @ (on_moving - at)
        out_moving = (directions @ local - support(case["moving"], directions)).max()
        proof.judge(case["case"], max(out_fixed, out_moving, 0.0), 1e-6, "a witness point lies outside its body")
        if gap < 0:
            # No direction parts them by less than the depth.
            best = gap_along(case, turn, at, directions).max()
            depth.judge(case["case"], max(best - gap, 0.0), 1e-6, f"depth {-gap}, but {-best} parts them")
        one, other = coal_shape(case["fixed"]), coal_shape(case["moving"])
        if one is not None and other is not None:
            theirs = coal_distance(one, other, case["fixed_from_moving"])
            if theirs < gap - 1e-6 and along > gap - 1e-6 and gap < 0:
                # The supports prove that ours parts them: coal's expansion stopped at a deeper face.
                deeper.append(case["case"])
            else:
                peer.judge(case["case"], abs(theirs - gap), 1e-6, f"gap {gap}, coal {theirs}")
    print(f"  coal gave a depth that is not the least, by closed-form supports, in {len(deeper)} cases: {deeper}")
    rare.judge("count", len(deeper), 0.01 * peer.passed, "too many cases in which coal would have to be wrong")
    return [proof, peer, depth, rare]


def tessellated():
    """Bent and pierced solids against coal on their tessellations, within the stated chord error."""
    gaps, contact, volume = Tally("gap of tessellations"), Tally("contact of tessellations"), Tally("volume")
    for case in cases("tessellated.jsonl"):
        gap, chord = case["answer"]["gap"], case["chord"]
        one, other = coal_mesh(case["fixed"]), coal_mesh(case["moving"])
        if gap > 2 * chord:
            theirs = coal_distance(one, other, case["fixed_from_moving"])
            gaps.judge(case["case"], abs(theirs - gap), 2 * chord, f"gap {gap}, coal {theirs}")
        elif gap < -2 * chord:
            meet = coal_touches(one, other, case["fixed_from_moving"]) or contained(case)
            contact.judge(case["case"], 0.0 if meet else 1.0, 0.5, f"depth {-gap}, yet coal finds no contact")
        for name in ("fixed", "moving"):
            mesh = trimesh.Trimesh(case[name]["vertices"], case[name]["triangles"], process=False)
            volume.judge(case["case"], 0.0 if mesh.is_watertight else 1.0, 0.5, "the tessellation is not watertight")
            off = abs(mesh.volume - case[name]["volume"])
            volume.judge(case["case"], off, mesh.area * chord, f"volume {case[name]['volume']}, trimesh {mesh.volume}")
    return [gaps, contact, volume]


def meshes():
    """Mesh pairs against coal, to rounding."""
    gaps, contact = Tally("mesh gap by coal"), Tally("mesh contact by coal")
    for case in cases("meshes.jsonl"):
        gap = case["answer"]["gap"]
        one, other = coal_mesh(case["fixed"]), coal_mesh(case["moving"])
        touches = coal_touches(one, other, case["fixed_from_moving"])
        if gap > 0:
            theirs = coal_distance(one, other, case["fixed_from_moving"])
            gaps.judge(case["case"], abs(theirs - gap), 1e-6, f"gap {gap}, coal {theirs}")
            contact.judge(case["case"], 1.0 if touches else 0.0, 0.5, f"gap {gap}, yet coal finds contact")
        else:
            meet = touches or contained(case)
            contact.judge(case["case"], 0.0 if meet else 1.0, 0.5, f"depth {-gap}, yet coal finds no contact")
    return [gaps, contact]


def verdicts():
    """100 000 pairs of small meshes, touching, contained, coplanar and degenerate ones: the verdict by coal."""
    verdict, contact = Tally("verdict by coal's distance"), Tally("verdict by coal's contact")
    gaps = Tally("gap of small meshes by coal")
    stock, models = [], []
    for case in cases("verdicts.jsonl"):
        if "mesh" in case:
            stock.append(case)
            models.append(coal_mesh(case))
            continue
        pair = case | {name: stock[case[name]] for name in ("fixed", "moving")}
        one, other = models[case["fixed"]], models[case["moving"]]
        pose = case["fixed_from_moving"]
        theirs, held = coal_distance(one, other, pose), contained(pair)
        meet = theirs <= 1e-9 or held
        off = 0.0 if meet == case["touches"] else 1.0
        verdict.judge(case["case"], off, 0.5, f"{case['kind']}: gap {case['gap']:.3g}, coal {theirs:.3g}")
        # coal's contact test takes a gap of up to its tolerance of 1e-6 for contact: there its distance alone tells.
        if meet or theirs > 2e-6:
            off = 0.0 if (coal_touches(one, other, pose) or held) == case["touches"] else 1.0
            contact.judge(case["case"], off, 0.5, f"{case['kind']}: gap {case['gap']:.3g}, coal finds otherwise")
        if not meet:
            gaps.judge(case["case"], abs(theirs - case["gap"]), 1e-6, f"gap {case['gap']}, coal {theirs}")
    return [verdict, contact, gaps]


def turned(w):
    """The rotation by a vector: Rodrigues' formula."""
    angle = np.linalg.norm(w)
    cross = np.array([[0, -w[2], w[1]], [w[2], 0, -w[0]], [-w[1], w[0], 0]])
    if angle < 1e-12:
        return np.eye(3) + cross
    return np.eye(3) + np.sin(angle) / angle * cross + (1 - np.cos(angle)) / angle**2 * (cross @ cross)


# Which of (shift x, y, z, turn x, y, z) of a feature's own frame its readings can tell, and its number of sizes.
FREE = {"plane": ([2, 3, 4], 0), "sphere": ([0, 1, 2], 1), "cylinder": ([0, 1, 3, 4], 1), "line": ([0, 1, 3, 4], 0),
        "circle": ([0, 1, 2, 3, 4], 1), "cone": ([0, 1, 3, 4], 2), "slot": (list(range(6)), 2),
        "bolt pattern": (list(range(6)), 1), "torus": ([0, 1, 2, 3, 4], 2)}


def feature_off(kind, origin, axes, sizes, points, case):
    """Distances of points from a feature, by its definition; axes are columns."""
    x, y, z = ((points - origin) @ axes).T
    if kind == "plane":
        return z
    if kind == "line":
        return np.concatenate([x, y])
    if kind == "sphere":
        return np.sqrt(x * x + y * y + z * z) - sizes[0]
    if kind == "cylinder":
        return np.hypot(x, y) - sizes[0]
    if kind == "circle":
        return np.concatenate([np.hypot(x, y) - sizes[0], z])
    if kind == "torus":
        return np.hypot(np.hypot(x, y) - sizes[0], z) - sizes[1]
    if kind == "cone":
        return (np.hypot(x, y) - sizes[0]) * np.cos(sizes[1]) - z * np.sin(sizes[1])
    if kind == "slot":
        return np.concatenate([np.hypot(x - np.clip(x, -sizes[0], sizes[0]), y) - sizes[1], z])
    spoke = 2 * np.pi * np.array(case["holes"]) / len(points)
    return np.concatenate([x - sizes[0] * np.cos(spoke), y - sizes[0] * np.sin(spoke), z])


def about(told, kind, points, case):
    """Residuals as a function of small moves of a told feature: of its frame, then of its sizes."""
    origin, axes, sizes = np.array(told["origin"]), np.array(told["axes"]).T, np.array(told["sizes"], dtype=float)
    free, count = FREE[kind]

    def off(q):
        move = np.zeros(6)
        move[free] = q[:len(free)]
        where = axes @ move[:3] + origin
        return feature_off(kind, where, axes @ turned(move[3:]), sizes[:count] + q[len(free):], points, case)

    return off, len(free) + count


def tube_about(told, points, case):
    """The same for a bent tube: ends move square to their legs, corners freely."""
    legs, sizes = case["legs"], np.array(told["sizes"], dtype=float)
    n = len(legs) + 1
    corners, radius = sizes[:3 * n].reshape(n, 3), sizes[3 * n]
    ends = sizes[3 * n + 1:].reshape(-1, 3)
    if len(ends) == 0:
        square = lambda d: np.linalg.svd(d[None])[2][1:]
        ends = np.concatenate([square(corners[1] - corners[0]), square(corners[-1] - corners[-2])])
    leg_of = np.repeat(np.arange(n - 1), legs)

    def off(q):
        moved = corners.copy()
        moved[0] += q[0] * ends[0] + q[1] * ends[1]
        moved[1:-1] += q[2:-3].reshape(-1, 3)
        moved[-1] += q[-3] * ends[2] + q[-2] * ends[3]
        d = moved[leg_of + 1] - moved[leg_of]
        return np.linalg.norm(np.cross(points - moved[leg_of], d), axis=1) / np.linalg.norm(d, axis=1) - radius - q[-1]

    return off, 3 * (n - 2) + 5


def fits():
    """Random fits against scipy's least squares, started at the truth, which our fit never sees; and the covariance of
    every parameter against scipy's own (J^T J)^-1."""
    kinds = list(FREE) + ["bent tube"]
    tallies = {kind: Tally(f"{kind} fit by scipy") for kind in kinds}
    covariances = {kind: Tally(f"{kind} covariance by scipy") for kind in kinds}
    solve = lambda off, count: least_squares(off, np.zeros(count), jac="3-point", method="trf", xtol=1e-15, ftol=1e-15,
                                             gtol=1e-15, x_scale="jac")
    for case in cases("fits.jsonl"):
        kind, points, sigma = case["kind"], np.array(case["points"]), case["sigma"]
        near = (lambda told: tube_about(told, points, case)) if kind == "bent tube" else (
            lambda told: about(told, kind, points, case))
        truth = case["truth"]
        if kind == "bolt pattern":
            # Readings are numbered from the truth's first hole on, our answer's holes from its own first axis.
            truth = dict(truth, axes=(np.array(truth["axes"])).tolist())
            theirs_case = dict(case, holes=list(range(len(points))))
            off, count = about(truth, kind, points, theirs_case)
        else:
            off, count = near(truth)
        theirs = solve(lambda q: off(q) / sigma, count)
        ours, _ = near(case["answer"])
        mine, other, best = ours(np.zeros(count)), off(theirs.x), 2 * theirs.cost
        cost, tally = float(((mine / sigma) ** 2).sum()), tallies[kind]
        tally.judge(case["case"], max(cost - best, 0.0), 1e-9 * max(best, 1.0), f"sum of squares {cost}, scipy {best}")
        # From our answer scipy has nothing left to move: every parameter is where its own minimum is.
        again = solve(lambda q: ours(q) / sigma, count)
        scale = np.linalg.norm(points - points.mean(axis=0), axis=1).max()
        still = np.abs(again.x)
        # Angles count by what they move at the feature's rim.
        free = [] if kind == "bent tube" else FREE[kind][0]
        for k, which in enumerate(free):
            still[k] *= scale if which >= 3 else 1.0
        if kind == "cone":
            still[-1] *= scale
        tally.judge(case["case"], still.max(), 1e-7 * scale, f"scipy moves our answer on by {still.max()} mm")
        if kind in ("plane", "sphere", "cylinder", "cone", "torus", "bent tube"):
            off_by = min(np.abs(mine - other).max(), np.abs(mine + other).max())
        else:
            radial = lambda r: np.linalg.norm(r.reshape(-1, len(points)), axis=0)
            off_by = np.abs(radial(mine) - radial(other)).max()
        tally.judge(case["case"], off_by, 1e-6, f"the fitted features differ; sums of squares {cost}, scipy {best}")
        # Central differences about our answer, steps of a thousandth of a mm or of that at the rim.
        step = np.full(count, 1e-3)
        for k, which in enumerate(free):
            step[k] /= scale if which >= 3 else 1.0
        if kind == "cone":
            step[-1] /= scale
        jacobian = np.stack([(ours(e * h) - ours(-e * h)) / (2 * h * sigma) for e, h in zip(np.eye(count), step)], axis=1)
        by_scipy = linalg.inv(jacobian.T @ jacobian)
        told = np.array(case["covariance"]) / case["factor"] ** 2
        size = np.sqrt(np.outer(np.diag(by_scipy), np.diag(by_scipy)))
        worst = (np.abs(told - by_scipy) / size).max()
        covariances[kind].judge(case["case"], worst, 0.01, f"covariance off by {100 * worst:.3g} %")
    return list(tallies.values()) + list(covariances.values())


def network_off(case, q):
    """Residuals over sigma of a network: unknowns are the free marks' places, then the diameter of R."""
    known = {one["name"]: np.array(one["at"]) for one in case["known"]}
    soft = [one for one in case["known"] if one["sigma"] > 0]
    free = case["names"] + [one["name"] for one in soft]
    place = dict(known)
    place.update({name: q[3 * k:3 * k + 3] for k, name in enumerate(free)})
    diameter, off = q[-1], []
    for one in case["readings"]:
        p, marks, value = place[one["mark"]], [place[name] for name in one["from"]], one["value"]
        kind = one["kind"]
        if kind == "straight":
            off.append(np.linalg.norm(p - marks[0]) + one["more"] * diameter - value)
        elif kind == "square":
            normal = np.cross(marks[1] - marks[0], marks[2] - marks[0])
            off.append(abs((p - marks[0]) @ normal) / np.linalg.norm(normal) - value)
        elif kind == "up":
            off.append(p[2] - (marks[0][2] if marks else 0.0) - value)
        elif kind == "plumb":
            off += list((p - marks[0])[:2])
        elif kind == "edge":
            run = (marks[1] - marks[0]) / np.linalg.norm(marks[1] - marks[0])
            along = (p - marks[0]) @ run
            # Across in three coordinates of which two are free: any turned frame has the same sum of squares.
            off += [along - value] + list(p - marks[0] - along * run)
        elif kind == "diameter":
            off.append(diameter - value)
        else:
            off.append(np.pi * (diameter + one["more"]) - value)
    off = np.array(off) / case["sigma"]
    prior = [(place[one["name"]] - known[one["name"]]) / one["sigma"] for one in soft]
    return np.concatenate([off] + prior)


def networks():
    """Random networks against scipy's least squares, started at the truth: places, diameter and joint covariance."""
    places, spread = Tally("network places by scipy"), Tally("network covariance by scipy")
    for case in cases("networks.jsonl"):
        soft = [one for one in case["known"] if one["sigma"] > 0]
        start = np.concatenate([np.array(case["truth"]).ravel()] + [one["at"] for one in soft] + [[case["diameter"][0]]])
        theirs = least_squares(lambda q: network_off(case, q), start, jac="3-point", xtol=1e-15, ftol=1e-15, gtol=1e-15, x_scale="jac")
        free = case["names"] + [one["name"] for one in soft]
        order = [one["name"] for one in case["marks"]]
        ours = np.concatenate([case["marks"][order.index(name)]["at"] for name in free] + [[case["diameter"][1]]])
        # Where a direction is weak the sum of squares is flat to rounding over more than 1e-6 mm: both stop somewhere on it.
        places.judge(case["case"], np.abs(ours - theirs.x).max(), 1e-5, f"sum of squares {case['chi_square']}, scipy {2 * theirs.cost}")
        places.judge(case["case"], abs(case["chi_square"] - 2 * theirs.cost), 1e-7 * max(1, 2 * theirs.cost), "sums of squares differ")
        covariance = np.linalg.inv(theirs.jac.T @ theirs.jac)
        pick = [3 * order.index(name) + axis for name in free for axis in range(3)]
        mine = np.array(case["covariance"])[np.ix_(pick, pick)]
        sigma = np.sqrt(np.diag(covariance))
        # Each entry as a share of the two standard uncertainties: correlations count as much as sizes.
        off = np.abs(mine - covariance[:-1, :-1]) / np.outer(sigma[:-1], sigma[:-1])
        spread.judge(case["case"], off.max(), 0.01, "a covariance differs by a hundredth of its two sigmas")
        spread.judge(case["case"], abs(case["diameter"][2] / sigma[-1] - 1), 0.01, "the diameter's sigma differs")
    return [places, spread]


def walked(case):
    """Corners and length of a bend list, by scipy's rotations; a bend over 150 deg in two halves, as told."""
    turn, at = np.array(case["axes_by_rows"]).reshape(3, 3), np.array(case["at"])
    corners, length = [at.copy()], 0.0
    for straight, rotation, angle, radius in case["bends"]:
        turn = turn @ Rotation.from_rotvec([rotation, 0, 0]).as_matrix()
        at = at + straight * turn[:, 0]
        length += straight + radius * angle
        halves = 2 if angle > np.radians(150) else 1
        for _ in range(halves):
            setback = radius * np.tan(angle / halves / 2)
            at = at + setback * turn[:, 0]
            corners.append(at.copy())
            turn = turn @ Rotation.from_rotvec([0, 0, angle / halves]).as_matrix()
            at = at + setback * turn[:, 0]
    return np.array(corners + [at + case["last"] * turn[:, 0]]), length + case["last"]


def solid_of(mesh):
    vertices, triangles = np.array(mesh["vertices"], np.float64), np.array(mesh["triangles"], np.uint64)
    return manifold3d.Manifold(manifold3d.Mesh64(vertices, triangles))


def tubes():
    """Bend lists walked by scipy; metal, inside and weight by boolean difference of the tessellations."""
    line, length = Tally("corners by scipy"), Tally("cut length by scipy")
    volume, weight = Tally("metal by manifold3d and trimesh"), Tally("weight by manifold3d")
    for case in cases("tubes.jsonl"):
        corners, cut = walked(case)
        line.judge(case["case"], np.abs(corners - np.array(case["corners"])).max(), 1e-8, "corners differ")
        answer = case["answer"]
        if answer is None:
            continue
        length.judge(case["case"], abs(answer["cut"] - cut), 1e-8, f"cut {answer['cut']}, scipy {cut}")
        outer, inner = solid_of(answer["outer"]), solid_of(answer["inner"])
        allowed = case["area"] * case["chord"]
        metal = (outer - inner).volume()
        volume.judge(case["case"], abs(metal - answer["metal"]), allowed, f"metal {answer['metal']}, manifold3d {metal}")
        mesh = trimesh.Trimesh(answer["inner"]["vertices"], answer["inner"]["triangles"], process=False)
        volume.judge(case["case"], abs(mesh.volume - answer["inside"]), allowed, f"inside {answer['inside']}, trimesh {mesh.volume}")
        kg = metal * 7850e-9
        weight.judge(case["case"], abs(answer["weight"] - kg), allowed * 7850e-9, f"weight {answer['weight']}, manifold3d {kg}")
    return [line, length, volume, weight]


def oval(size, count=720):
    """Points on two half circles joined by flats."""
    width, height = size
    around = (np.arange(count) + 0.5) * 2 * np.pi / count
    y = height / 2 * np.cos(around)
    return np.column_stack([y + np.sign(y) * (width - height) / 2, height / 2 * np.sin(around)])


def transitions():
    """Cones and transitions from round to oval: scipy's convex hull of points of their ends."""
    tally = Tally("transitions by scipy's hull")
    for case in cases("transitions.jsonl"):
        ends = [np.column_stack([np.full(720, x), oval(case[end])]) for x, end in ((0, "from"), (case["length"], "to"))]
        theirs = ConvexHull(np.vstack(ends)).volume
        # Inscribed polygons of 720 sides lack 1 - sin(t) / t of a circle, t = 2 pi / 720.
        tally.judge(case["case"], abs(case["volume"] / theirs - 1), 3e-5, f"volume {case['volume']}, scipy {theirs}")
    return [tally]


def bent_line_off(corners, radii, points):
    """Distance of points from straights and tangent arcs; the end straights run on past the ends."""
    best = np.full(len(points), np.inf)
    at = corners[0]
    for i in range(1, len(corners)):
        before = (corners[i] - corners[i - 1]) / np.linalg.norm(corners[i] - corners[i - 1])
        last = i == len(corners) - 1
        setback = 0.0
        if not last:
            after = (corners[i + 1] - corners[i]) / np.linalg.norm(corners[i + 1] - corners[i])
            normal = np.cross(before, after)
            turn = np.arctan2(np.linalg.norm(normal), before @ after)
            setback = radii[i - 1] * np.tan(turn / 2)
        until = corners[i] - setback * before
        along = (points - at) @ before
        low = -np.inf if i == 1 else 0.0
        high = np.inf if last else (until - at) @ before
        held = np.clip(along, low, max(low, high))
        best = np.minimum(best, np.linalg.norm(points - at - held[:, None] * before, axis=1))
        if not last:
            normal /= np.linalg.norm(normal)
            outward = np.cross(before, normal)
            center = until - radii[i - 1] * outward
            offset = points - center
            angle = np.arctan2(offset @ before, offset @ outward)
            angle = np.clip(angle, 0, turn)
            on = center + radii[i - 1] * (np.cos(angle)[:, None] * outward + np.sin(angle)[:, None] * before)
            best = np.minimum(best, np.linalg.norm(points - on, axis=1))
            at = corners[i] + setback * after
    return best


def measured():
    """Fitted pipes against scipy's least squares, started at the truth, which our fit never sees."""
    tally = Tally("measured pipes by scipy")
    for number, case in enumerate(cases("measured.jsonl")):
        if number % 5:  # a fit takes scipy seconds: every fifth is judged
            continue
        points, count = np.array(case["points"]), len(case["truth"]["corners"])
        split = lambda p: (np.array(p[: 3 * count]).reshape(-1, 3), np.array(p[3 * count:]))
        off = lambda p: bent_line_off(*split(p), points)
        start = np.concatenate([np.ravel(case["truth"]["corners"]), case["truth"]["radii"]])
        ours = np.concatenate([np.ravel(case["answer"]["corners"]), case["answer"]["radii"]])
        theirs = least_squares(off, start, jac="3-point", xtol=1e-14, ftol=1e-14, gtol=1e-12, max_nfev=300)
        cost, best = (off(ours) ** 2).sum(), 2 * theirs.cost
        # Ours may be better: scipy's residual has a kink at zero distance.
        tally.judge(case["case"], max(cost / best - 1, 0.0), 1e-3, f"sum of squares {cost}, scipy {best}")
    return [tally]


def dark(image, at, reach):
    """Middle of what is dark about a place of a line of grey values; none when nothing is."""
    low, high = max(int(at - reach), 0), int(at + reach) + 1
    weight = 255.0 - image[low:high].astype(float)
    return None if weight.sum() < 60 else low + ((np.arange(len(weight)) + 0.5) * weight).sum() / weight.sum()


def templates():
    """Printed templates: rendered by pypdfium2 at 20 dots a millimetre; square and curve are measured."""
    page_size, square, curve = Tally("page of a template"), Tally("check square"), Tally("curve on paper")
    dots = 20.0
    for case in cases("templates.jsonl"):
        page = pypdfium2.PdfDocument(FOLDER / case["file"])[0]
        for got, want in zip(page.get_size(), case["page"]):
            page_size.judge(case["case"], abs(got / 72 * 25.4 - want), 0.01, f"page {got} pt, asked {want} mm")
        image = page.render(scale=dots * 25.4 / 72, grayscale=True).to_numpy()
        height = image.shape[0]
        # The square stands 10 mm from the left and the foot.
        across = image[int(height - 35 * dots)]
        down = image[:, int(35 * dots)]
        sides = [dark(across, 10 * dots, 15), dark(across, 60 * dots, 15)]
        ends = [dark(down, height - 60 * dots, 15), dark(down, height - 10 * dots, 15)]
        for low, high in (sides, ends):
            off = np.inf if low is None or high is None else abs((high - low) / dots - 50)
            square.judge(case["case"], off, 0.03, "the check square is not 50 mm")
        at = np.array(case["curve"])
        for x in np.linspace(at[0, 0] + 3, min(at[-1, 0], 280.0) - 3, 25):
            quarters = (at[-1, 0] - at[0, 0]) / 4
            if abs((x - at[0, 0] + quarters / 2) % quarters - quarters / 2) < 1:
                continue  # an upright line stands there
            y = np.interp(x, at[:, 0], at[:, 1])
            slope = (np.interp(x + 0.1, at[:, 0], at[:, 1]) - np.interp(x - 0.1, at[:, 0], at[:, 1])) / 0.2
            got = dark(image[:, int(x * dots)], y * dots, 14 * (1 + abs(slope)))
            # The column read is up to a dot to the left of x.
            off = np.inf if got is None else abs(got / dots - y)
            curve.judge(case["case"], off, 0.05 * (1 + abs(slope)), f"the curve at {x:.1f} mm")
    return [page_size, square, curve]


def colebrook(reynolds, rough):
    """Darcy's factor: 64/Re to Re 2300, else the root of Colebrook's equation in f itself."""
    if reynolds <= 2300:
        return 64 / reynolds
    return brentq(lambda f: 1 / np.sqrt(f) + 2 * np.log10(rough / 3.7 + 2.51 / (reynolds * np.sqrt(f))), 1e-4, 1, xtol=1e-15)


def flows():
    """Friction factors by scipy's brentq."""
    tally = Tally("friction factor by brentq")
    for case in cases("flows.jsonl"):
        theirs = colebrook(case["reynolds"], case["rough"])
        tally.judge(case["case"], abs(case["factor"] / theirs - 1), 1e-9, f"factor {case['factor']}, brentq {theirs}")
    return [tally]


def gases():
    """Pressure along a bent tube by scipy's solve_ivp: dp/dx = -(K/L) (rho v^2/2) / (1 - v^2/RT), isothermal.

    The bend's own loss is spread over its arc: by the isothermal relation only its sum of velocity heads counts.
    """
    loss, speed, chokes = Tally("pressure of a gas by solve_ivp"), Tally("velocity of a gas"), Tally("chokes alike")
    for case in cases("gases.jsonl"):
        gas, t = (287.05287 if case["air"] else 288.0), case["kelvin"]
        gamma = 1.4 if case["air"] else 1.33
        mu = 1.458e-6 * t**1.5 / (t + 110.4)
        bore = case["bore"] * 1e-3
        flux = case["mass"] / (np.pi / 4 * bore**2)
        f = colebrook(flux * bore / mu, case["rough"] / case["bore"])
        half, share, angle = np.sin(case["angle"] / 2), case["radius"] / case["bore"], case["angle"]
        bend = (0.1 + 2.4 * f) * half + 6.6 * f * (np.sqrt(half) + half) / share ** (4 * angle / np.pi)
        heads = f * (sum(case["straights"]) / case["bore"] + angle * share) + bend
        rt = gas * t

        def slope(_, p):
            rho = p / rt
            return -(flux**2 / (2 * rho)) / (1 - flux**2 / (rho**2 * rt))

        start = case["pressure"]
        # Over Mach 1 of a gas that keeps its heat, or the isothermal limit, nothing is answered.
        sonic = lambda _, p: p[0] - 1.0001 * flux * np.sqrt(rt)
        sonic.terminal = True
        begins = start > 1.0001 * flux * np.sqrt(rt)
        run = solve_ivp(slope, [0, heads], [start], rtol=1e-10, atol=1e-3, events=sonic, max_step=heads / 20) if begins else None
        done = run is not None and run.status == 0
        if done and flux * rt / run.y[0, -1] > np.sqrt(gamma * rt):
            done = False
        chokes.judge(case["case"], 0.0 if done == (case["loss"] is not None) else 1.0, 0.5, f"loss {case['loss']}, scipy done {done}")
        if not done or case["loss"] is None:
            continue
        end = run.y[0, -1]
        head = lambda p: flux**2 * rt / (2 * p)
        theirs = start + head(start) - end - head(end)
        loss.judge(case["case"], abs(case["loss"] / theirs - 1), 1e-5, f"loss {case['loss']}, scipy {theirs}")
        speed.judge(case["case"], abs(case["velocity"] / (flux * rt / end) - 1), 1e-6, "velocity")
    return [loss, speed, chokes]


def hoses():
    """Hoses at rest: scipy's SLSQP on the angles of the pieces, from curves of our own here.

    Energy of 48 straight pieces of one length: (E I / h) (1 - cos) at each joint, twice that between a port's way and the
    piece beside it, and the weight of each piece at its middle; the chain is closed by three constraints. Judged: no start here
    comes to less energy than the answer by more than 1e-6 of it; and where one comes to the same energy, the shape
    lies within 0.05 mm of the answer's.
    """
    least, shape = Tally("energy of hoses by SLSQP"), Tally("shape of hoses by SLSQP")
    pieces = 48
    rng = np.random.default_rng(11)
    for case in cases("hoses.jsonl"):
        h = case["length"] / pieces
        a, b = np.array(case["from"]), np.array(case["to"])
        # Angles about the way from port to port, so that no piece lies near their pole.
        turn = Rotation.align_vectors([[1, 0, 0], [0, 1, 0.3]], [b - a, np.cross(b - a, [0.3, 0.5, 0.8])])[0]
        out, back, up = (turn.apply(v) for v in (case["from_out"], case["to_out"], [0, 0, 1]))
        goal = turn.apply(b - a) / h
        pull = case["weight"] * h**3 / case["stiffness"] * (pieces - 1 - np.arange(pieces) + 0.5)

        def ways(x):
            th, ph = x.reshape(2, -1)
            return np.stack([np.cos(th) * np.cos(ph), np.cos(th) * np.sin(ph), np.sin(th)], 1)

        def back_to_angles(by_way, x):
            th, ph = x.reshape(2, -1)
            by_th = np.stack([-np.sin(th) * np.cos(ph), -np.sin(th) * np.sin(ph), np.cos(th)], 1)
            by_ph = np.stack([-np.cos(th) * np.sin(ph), np.cos(th) * np.cos(ph), 0 * th], 1)
            return np.concatenate([(by_way * by_th).sum(-1), (by_way * by_ph).sum(-1)], -1)

        def energy(x):
            d = ways(x)
            value = (1 - (d[1:] * d[:-1]).sum(1)).sum() + (pull * (d @ up)).sum() + 2 * (2 - out @ d[0] + back @ d[-1])
            before, after = np.vstack([2 * out, d[:-1]]), np.vstack([d[1:], -2 * back])
            return value, back_to_angles(-before - after + pull[:, None] * up, x)

        def off(x):
            return ways(x).sum(0) - goal

        def off_slope(x):
            return np.stack([back_to_angles(np.broadcast_to(axis, (pieces, 3)), x) for axis in np.eye(3)])

        def angles(d):
            d = d / np.linalg.norm(d, axis=1, keepdims=True)
            return np.concatenate([np.arcsin(np.clip(d[:, 2], -1, 1)), np.unwrap(np.arctan2(d[:, 1], d[:, 0]))])

        ours = np.array(case["points"])
        steps = turn.apply(np.diff(ours, axis=0)) / h
        held = max(np.abs(np.linalg.norm(steps, axis=1) - 1).max(), np.abs(ours[0] - a).max(), np.abs(ours[-1] - b).max())
        shape.judge(case["case"], held, 1e-6, "the answer's pieces or ends are not as held")
        own = energy(angles(steps))[0]
        best = None
        t = np.linspace(0, 1, pieces + 1)[:, None]
        for bulge in (0.0, 0.4, 0.4):
            side = rng.normal(size=3) * bulge * pieces
            line = goal * (3 * t**2 - 2 * t**3) + side * 4 * t**2 * (1 - t) ** 2
            line = line + pieces * (out * (t**3 - 2 * t**2 + t) - back * (t**3 - t**2))
            found = minimize(energy, angles(np.diff(line, axis=0)), jac=True, method="SLSQP",
                             constraints={"type": "eq", "fun": off, "jac": off_slope}, options={"maxiter": 600, "ftol": 1e-13})
            if np.abs(off(found.x)).max() < 1e-6 and (best is None or found.fun < best.fun):
                best = found
        if best is None:
            least.judge(case["case"], 1.0, 0.5, "SLSQP found no shape at all: nothing was compared")
            continue
        span = 1e-6 * (1 + abs(own))
        least.judge(case["case"], max(own - best.fun, 0.0), span, f"energy {own}, SLSQP {best.fun}")
        if abs(best.fun - own) < 10 * span:
            theirs = np.vstack([np.zeros(3), np.cumsum(ways(best.x), 0)]) * h
            apart = np.linalg.norm(theirs - turn.apply(ours - a), axis=1).max()
            shape.judge(case["case"], apart, 0.05, f"shapes lie {apart} mm apart")
        else:
            print(f"  hose {case['case']}: SLSQP came to {best.fun:.6f} only, the answer has {own:.6f}: another shape at rest")
    return [least, shape]


def glb_of(path):
    """The document and the buffer of a GLB, by the letter of the standard (ISO/IEC 12113:2022, section 4)."""
    data = path.read_bytes()
    magic, version, length = struct.unpack_from("<4sII", data)
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert (magic, version, length, kind) == (b"glTF", 2, len(data), b"JSON"), path
    document = json.loads(data[20:20 + size])
    size_bin, kind = struct.unpack_from("<I4s", data, 20 + size)
    assert kind == b"BIN\0" and document["buffers"][0]["byteLength"] <= size_bin, path
    return document, data[28 + size:]


class Player:
    """Plays animations of a GLB with plain struct, json and scipy's slerp; poses in the vehicle's axes, mm."""

    def __init__(self, path):
        self.document, self.buffer = glb_of(path)
        nodes = self.document["nodes"]
        self.parent = {child: at for at, node in enumerate(nodes) for child in node.get("children", [])}
        self.named = {node["name"]: at for at, node in enumerate(nodes)}

    def rows(self, accessor):
        accessor = self.document["accessors"][accessor]
        view = self.document["bufferViews"][accessor["bufferView"]]
        width = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}[accessor["type"]]
        assert accessor["componentType"] == 5126
        values = struct.unpack_from(f"<{width * accessor['count']}f", self.buffer, view["byteOffset"])
        return np.array(values).reshape(-1, width)

    def channels(self, animation):
        found = next(one for one in self.document["animations"] if one["name"] == animation)
        return {(channel["target"]["node"], channel["target"]["path"]): found["samplers"][channel["sampler"]]
                for channel in found["channels"]}

    def times(self, animation, node):
        sampler = next(s for (at, _), s in self.channels(animation).items() if at == node)
        return self.rows(sampler["input"])[:, 0]

    def stands(self, name, animation, time):
        """4 x 4 matrix of a node."""
        keyed = self.channels(animation)
        at, whole = self.named[name], np.eye(4)
        while at is not None:
            node, own = self.document["nodes"][at], np.eye(4)
            shift, turn = np.array(node.get("translation", [0, 0, 0])), np.array(node.get("rotation", [0, 0, 0, 1]))
            if (at, "translation") in keyed:
                sampler = keyed[at, "translation"]
                times, values = self.rows(sampler["input"])[:, 0], self.rows(sampler["output"])
                shift = np.array([np.interp(time, times, values[:, axis]) for axis in range(3)])
            if (at, "rotation") in keyed:
                sampler = keyed[at, "rotation"]
                times, values = self.rows(sampler["input"])[:, 0], self.rows(sampler["output"])
                assert (np.einsum("ij,ij->i", values[:-1], values[1:]) >= 0).all(), "neighbours on both sides of the sphere"
                turn = Slerp(times, Rotation.from_quat(values))(np.clip(time, times[0], times[-1])).as_quat()
            own[:3, :3], own[:3, 3] = Rotation.from_quat(turn).as_matrix(), shift
            whole = own @ whole
            at = self.parent.get(at)
        out = VEHICLE_FROM_GLTF @ whole
        out[:3, 3] *= 1000
        return out


# The standard: y up, front toward +z, so that the right is -x. Ours: x rearward, y to the right, z up.
VEHICLE_FROM_GLTF = np.array([[0, 0, -1, 0], [-1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 0, 1.0]])


def gltf():
    """Our glTF files read by trimesh (bounds, volumes), and played by scipy's slerp (ways in, the rock of the engine)."""
    bounds, volume = Tally("bounds by trimesh"), Tally("volume by trimesh")
    ways, rocks = Tally("ways in the file"), Tally("rock in the file")

    def apart(matrix, pose):
        ours = np.eye(4)
        ours[:3, :3], ours[:3, 3] = rotation(pose), pose["at"]
        corners = np.array([[0, 0, 0, 1], [300, 0, 0, 1], [0, 300, 0, 1], [0, 0, 300, 1.0]]).T
        return np.linalg.norm((matrix @ corners - ours @ corners)[:3], axis=0).max()

    for case in cases("gltf.jsonl"):
        path, chord = FOLDER / case["glb"], case["chord"]
        loaded = trimesh.load(path)
        for body in case["bodies"]:
            transform, geometry = loaded.graph[body["name"]]
            mesh = loaded.geometry[geometry]
            vertices = np.c_[mesh.vertices, np.ones(len(mesh.vertices))] @ (VEHICLE_FROM_GLTF @ transform).T
            vertices = 1000 * vertices[:, :3]
            off = max(np.abs(vertices.min(0) - body["low"]).max(), np.abs(vertices.max(0) - body["high"]).max())
            bounds.judge(case["case"], off, chord + 1e-3, f"{body['name']}: {vertices.min(0)}, {body['low']}")
            off = abs(1e9 * mesh.volume - body["volume"])
            volume.judge(case["case"], off, (chord + 1e-3) * body["area"], f"{body['name']}: {1e9 * mesh.volume}, {body['volume']}")
        player = Player(path)
        for way in case["ways"]:
            name = f"way in: {way['body']}"
            pivot = player.parent[player.named[way["body"]]]
            times = player.times(name, pivot)
            at_keys = [player.stands(way["body"], name, time) for time in times]
            # The last pose is held as well: of its two keys the first ends the move.
            off = [np.array([apart(matrix, pose) for matrix in at_keys]) for pose in way["poses"]]
            for each in off:
                ways.judge(case["case"], each.min(), 0.01, f"{way['body']} has no key at a pose of its way")
            ends = [int(np.argmax(each < max(0.01, 1.001 * each.min()))) for each in off]
            # The first pose is held for a while: the move begins at the last key that has it.
            first = max(key for key, matrix in enumerate(at_keys[:ends[1]]) if apart(matrix, way["poses"][0]) < 0.01)
            for pose, begin, end in zip(way["half_way"], [first] + ends[1:-1], ends[1:]):
                half = player.stands(way["body"], name, (times[begin] + times[end]) / 2)
                ways.judge(case["case"], apart(half, pose), 0.01, f"{way['body']} is off half way through a move")
        rock, name = case["rock"], "engine carrier: rock"
        node = player.named[name]
        times = player.times(name, node)
        stands = [player.stands(rock["body"], name, time) for time in times]
        for end in ("high", "low"):
            rocks.judge(case["case"], min(apart(matrix, rock[end]) for matrix in stands), 0.01, f"never at its {end} end")
        half = player.stands(rock["body"], name, times[1] / 2)
        rocks.judge(case["case"], apart(half, rock["half"]), 0.01, "off half way to its high end")
    return [bounds, volume, ways, rocks]


def elastica():
    """Hoses in an upright plane: scipy's solve_bvp on the smooth rod, without any pieces.

    A rod that does not stretch, EI theta'' = -(V + w s) cos theta + H sin theta, with the pull (H, V) unknown and place and
    way given at both ends (Love, A Treatise on the Mathematical Theory of Elasticity, ch. XIX, from memory). solve_bvp
    starts from the answer and goes to the smooth rod beside it: judged is how far it goes, which is what 48 pieces hide. Its shape
    lies within 0.001 of the length of the answer's; its greatest curvature is within 2 % of the answer's.
    """
    shape, bend = Tally("hoses by solve_bvp"), Tally("tightest bends by solve_bvp")
    for case in cases("elastica.jsonl"):
        length, points = case["length"], np.array(case["points"])
        along = points[-1] - points[0]
        along = np.array([case["from_out"][0], case["from_out"][1], 0]) if np.hypot(*along[:2]) < 1e-9 else along
        level = np.array([along[0], along[1], 0]) / np.hypot(along[0], along[1])
        aside = np.abs((points - points[0]) @ np.cross(level, [0, 0, 1])).max()
        if aside > 1e-4 * length:
            print(f"  hose {case['case']}: gives way {aside:.1f} mm out of its plane: not judged by a rod that stays in it")
            continue
        plane = lambda v: np.array([np.dot(v, level), v[2]])
        a, b = plane(points[0]) / length, plane(points[-1]) / length
        angle = lambda v: np.arctan2(plane(v)[1], plane(v)[0])
        grow = case["weight"] * length**3 / case["stiffness"]
        s = np.linspace(0, 1, len(points))
        steps = np.unwrap([angle(v) for v in np.diff(points, axis=0)])
        # The ways at the ends, on the same turn as the pieces beside them.
        near = lambda turn, to: turn + 2 * np.pi * np.round((to - turn) / (2 * np.pi))
        first, last = near(angle(case["from_out"]), steps[0]), near(angle([-v for v in case["to_out"]]), steps[-1])
        turns = np.concatenate([[first], (steps[1:] + steps[:-1]) / 2, [last]])
        guess = np.vstack([[plane(p)[0] / length for p in points], [p[2] / length for p in points], turns, np.gradient(turns, s)])

        def slope(s, y, pull):
            return np.vstack([np.cos(y[2]), np.sin(y[2]), y[3], -(pull[1] + grow * s) * np.cos(y[2]) + pull[0] * np.sin(y[2])])

        def ends(one, two, _):
            return np.array([one[0] - a[0], one[1] - a[1], one[2] - first, two[0] - b[0], two[1] - b[1], two[2] - last])

        found = solve_bvp(slope, ends, s, guess, p=[0.0, -grow / 2], tol=1e-7, max_nodes=20000)
        if not found.success:
            shape.judge(case["case"], 1.0, 0.5, f"solve_bvp did not settle: {found.message}")
            continue
        theirs = found.sol(s)[:2].T * length
        apart = np.linalg.norm(theirs - np.array([plane(p) for p in points]), axis=1).max() / length
        shape.judge(case["case"], apart, 0.001, f"lies {apart * length} mm off")
        curve = np.abs(found.sol(np.linspace(0, 1, 2001))[3]).max() / length
        bend.judge(case["case"], abs(curve * case["tightest"] - 1), 0.02, f"radius {case['tightest']}, solve_bvp {1 / curve}")
    return [shape, bend]


def main():
    tallies = []
    parts = {part.__name__: part for part in (convex, tessellated, meshes, verdicts, fits, networks, tubes, transitions, measured, templates, flows, gases, hoses, elastica, gltf)}
    for name in sys.argv[2:] or parts:
        part = parts[name]
        part_tallies = part()
        for tally in part_tallies:
            tally.close()
        tallies += part_tallies
    idle = [tally.name for tally in tallies if tally.passed + tally.failed == 0]
    for name in idle:
        print(f"  FAILED {name}: no case was judged")
    passed, failed = sum(t.passed for t in tallies), sum(t.failed for t in tallies) + len(idle)
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
