//! A shape made ready to be drawn: triangles with normals, and the edges worth a line.

use std::collections::HashMap;

use nalgebra::{Point3, Vector3};

use crate::solid::{Cloud, Mesh, MeshKind, Shape};
use crate::space::Bounds;

/// Facets that meet at more than this are shaded apart and get a line: 32 degrees, radians.
const CREASE_RAD: f64 = 0.56;

/// A surface with more than this share of creases is rough (a noisy scan): lines along all of
/// them would only blacken it.
const ROUGH_SHARE: f64 = 0.2;

/// What is drawn of a body, in the body's own frame, mm.
#[derive(Clone, Debug, Default)]
pub(super) struct Drawable {
    pub points: Vec<Point3<f64>>,
    /// One a point, outward, unit length.
    pub normals: Vec<Vector3<f64>>,
    pub triangles: Vec<[u32; 3]>,
    pub edges: Vec<Edge>,
    /// A cloud's points.
    pub stones: Vec<Stone>,
    /// For an eye to which a pixel is how wide the points are drawn; 0 for none yet.
    pub stones_fit_mm_per_px: f64,
    /// How many of the triangles belong to surfaces (they come first); the rest draw a cloud.
    pub surface_triangles: usize,
    pub bounds: Option<Bounds>,
}

/// A point of a cloud, drawn as six corners from `first` on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stone {
    first: u32,
    pub center: Point3<f64>,
    /// The cloud's own radius.
    true_mm: f64,
    /// How far its neighbours are.
    spacing_mm: f64,
    /// As drawn.
    pub radius_mm: f64,
}

/// An edge between two facets.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub ends: [Point3<f64>; 2],
    /// The facets' normals.
    pub normals: [Vector3<f64>; 2],
    pub kind: EdgeKind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum EdgeKind {
    /// Always worth a line: a crease of a closed surface.
    Crease,
    /// Always worth a line, from either side: the rim of an open surface.
    Rim,
    /// Worth a line only where the surface turns away from the eye.
    Smooth,
}

impl Drawable {
    /// Of any shape; curved ones within a thousandth of their size.
    pub(super) fn of(shape: &Shape) -> Self {
        let mut drawable = match shape {
            Shape::Cloud(cloud) => of_cloud(cloud),
            Shape::Mesh(mesh) if draws_as_it_is(mesh) => of_mesh(mesh),
            Shape::Compound(compound) => {
                let mut whole = Drawable::default();
                let (mut surfaces, mut clouds) = (Vec::new(), Vec::new());
                for (whole_from_part, part) in &compound.parts {
                    let part = Drawable::of(part).moved(whole_from_part);
                    if part.surface_triangles > 0 { surfaces.push(part) } else { clouds.push(part) }
                }
                for part in surfaces.into_iter().chain(clouds) {
                    whole.append(part);
                }
                whole
            }
            _ => {
                let size = shape.bounds().diagonal_mm();
                of_mesh(&shape.tessellate((size / 1000.0).clamp(0.02, 1.0)))
            }
        };
        drawable.bounds = (!drawable.points.is_empty()).then(|| Bounds::of_points(drawable.points.iter()));
        drawable
    }

    /// Draws a cloud's points for an eye to which a pixel is so wide.
    pub(super) fn grow_stones(&mut self, mm_per_px: f64) {
        self.stones_fit_mm_per_px = mm_per_px;
        for stone in &mut self.stones {
            let crowded = stone.spacing_mm < 7.0 * mm_per_px;
            let least = if crowded { (0.62 * stone.spacing_mm).max(0.7 * mm_per_px) } else { mm_per_px };
            let radius = stone.true_mm.max(least);
            for i in stone.first as usize..stone.first as usize + 6 {
                self.points[i] = stone.center + (self.points[i] - stone.center) * (radius / stone.radius_mm);
            }
            stone.radius_mm = radius;
        }
    }

    fn moved(mut self, to_from_here: &crate::space::Pose) -> Self {
        for point in &mut self.points {
            *point = to_from_here * *point;
        }
        for normal in &mut self.normals {
            *normal = to_from_here * *normal;
        }
        for edge in &mut self.edges {
            edge.ends = edge.ends.map(|end| to_from_here * end);
            edge.normals = edge.normals.map(|normal| to_from_here * normal);
        }
        for stone in &mut self.stones {
            stone.center = to_from_here * stone.center;
        }
        self
    }

    fn append(&mut self, other: Drawable) {
        let first = self.points.len() as u32;
        self.points.extend(other.points);
        self.normals.extend(other.normals);
        self.triangles.extend(other.triangles.into_iter().map(|t| t.map(|i| i + first)));
        self.edges.extend(other.edges);
        self.stones.extend(other.stones.into_iter().map(|s| Stone { first: s.first + first, ..s }));
        self.surface_triangles += other.surface_triangles;
    }
}

/// A closed mesh, or one without thickness: its triangles are the whole of it.
fn draws_as_it_is(mesh: &Mesh) -> bool {
    match mesh.kind {
        MeshKind::Closed => true,
        MeshKind::Open { thickness_mm } => thickness_mm == 0.0,
    }
}

fn of_mesh(mesh: &Mesh) -> Drawable {
    let size = Bounds::of_points(mesh.vertices.iter()).diagonal_mm();
    let (points, welded) = weld(&mesh.vertices, (size * 1e-7).max(1e-9));
    let mut facets: Vec<[u32; 3]> = mesh
        .triangles
        .iter()
        .filter_map(|t| {
            let t = [welded.get(t[0] as usize)?, welded.get(t[1] as usize)?, welded.get(t[2] as usize)?];
            let t = t.map(|i| *i);
            (t[0] != t[1] && t[1] != t[2] && t[2] != t[0]).then_some(t)
        })
        .collect();
    let cross = |t: &[u32; 3]| {
        let [a, b, c] = t.map(|i| points[i as usize]);
        (b - a).cross(&(c - a))
    };
    facets.retain(|t| cross(t).norm_squared() > 0.0);
    let weighted: Vec<Vector3<f64>> = facets.iter().map(cross).collect();
    let unit: Vec<Vector3<f64>> = weighted.iter().map(nalgebra::Matrix::normalize).collect();
    let edges = edges_of(&points, &facets, &unit);

    // Facets around each point.
    let mut around: Vec<Vec<u32>> = vec![Vec::new(); points.len()];
    for (f, facet) in facets.iter().enumerate() {
        for corner in facet {
            around[*corner as usize].push(f as u32);
        }
    }
    let least_cos = CREASE_RAD.cos();
    let mut drawable = Drawable { edges, ..Drawable::default() };
    let mut seen: HashMap<(u32, [i32; 3]), u32> = HashMap::new();
    for (f, facet) in facets.iter().enumerate() {
        let triangle = facet.map(|corner| {
            let sum: Vector3<f64> = around[corner as usize]
                .iter()
                .filter(|g| unit[**g as usize].dot(&unit[f]) > least_cos)
                .map(|g| weighted[*g as usize])
                .sum();
            let normal = sum.try_normalize(0.0).unwrap_or(unit[f]);
            let key = (corner, [normal.x, normal.y, normal.z].map(|v| (v * 1e4).round() as i32));
            *seen.entry(key).or_insert_with(|| {
                drawable.points.push(points[corner as usize]);
                drawable.normals.push(normal);
                (drawable.points.len() - 1) as u32
            })
        });
        drawable.triangles.push(triangle);
    }
    if matches!(mesh.kind, MeshKind::Open { .. }) {
        // Seen from behind it is there too: the same triangles the other way round.
        let first = drawable.points.len() as u32;
        drawable.points.extend_from_within(..);
        drawable.normals.extend(drawable.normals.clone().iter().map(|n| -n));
        let backs: Vec<_> =
            drawable.triangles.iter().map(|[a, b, c]| [c + first, b + first, a + first]).collect();
        drawable.triangles.extend(backs);
    }
    drawable.surface_triangles = drawable.triangles.len();
    drawable
}

/// Points nearer than a step become one: the points, and for each of the given ones its index.
fn weld(vertices: &[Point3<f64>], step: f64) -> (Vec<Point3<f64>>, Vec<u32>) {
    let mut points = Vec::new();
    let mut at: HashMap<[i64; 3], u32> = HashMap::with_capacity(vertices.len());
    let indices = vertices
        .iter()
        .map(|v| {
            let key = [v.x, v.y, v.z].map(|c| (c / step).round() as i64);
            *at.entry(key).or_insert_with(|| {
                points.push(*v);
                (points.len() - 1) as u32
            })
        })
        .collect();
    (points, indices)
}

fn edges_of(points: &[Point3<f64>], facets: &[[u32; 3]], unit: &[Vector3<f64>]) -> Vec<Edge> {
    let mut found: Vec<([u32; 2], [u32; 2], u32)> = Vec::with_capacity(facets.len() * 3 / 2);
    let mut at: HashMap<[u32; 2], usize> = HashMap::with_capacity(facets.len() * 3 / 2);
    for (f, facet) in facets.iter().enumerate() {
        for i in 0..3 {
            let (a, b) = (facet[i], facet[(i + 1) % 3]);
            let key = [a.min(b), a.max(b)];
            match at.get(&key) {
                Some(&edge) => {
                    let (_, sides, count) = &mut found[edge];
                    if *count == 1 {
                        sides[1] = f as u32;
                    }
                    *count += 1;
                }
                None => {
                    at.insert(key, found.len());
                    found.push((key, [f as u32, f as u32], 1));
                }
            }
        }
    }
    let least_cos = CREASE_RAD.cos();
    let mut edges: Vec<Edge> = found
        .into_iter()
        .map(|(ends, sides, count)| {
            let normals = sides.map(|f| unit[f as usize]);
            let kind = match count {
                1 => EdgeKind::Rim,
                2 if normals[0].dot(&normals[1]) > least_cos => EdgeKind::Smooth,
                _ => EdgeKind::Crease,
            };
            Edge { ends: ends.map(|p| points[p as usize]), normals, kind }
        })
        // Facets of one plane make an edge that nobody sees.
        .filter(|e| e.kind != EdgeKind::Smooth || e.normals[0].dot(&e.normals[1]) < 1.0 - 1e-9)
        .collect();
    let creases = edges.iter().filter(|e| e.kind == EdgeKind::Crease).count();
    if edges.len() > 3000 && creases as f64 > ROUGH_SHARE * edges.len() as f64 {
        edges.retain(|e| e.kind == EdgeKind::Rim);
    }
    edges
}

/// A cloud's points as small eight-sided stones, shaded as the surface that they lie on.
fn of_cloud(cloud: &Cloud) -> Drawable {
    let spacing_mm = spacing(&cloud.points);
    let radius_mm = cloud.radius_mm.max(0.3 * spacing_mm);
    let mut drawable = Drawable {
        points: Vec::with_capacity(cloud.points.len() * 6),
        normals: Vec::with_capacity(cloud.points.len() * 6),
        triangles: Vec::with_capacity(cloud.points.len() * 8),
        ..Drawable::default()
    };
    let tips = [Vector3::x(), Vector3::y(), Vector3::z(), -Vector3::x(), -Vector3::y(), -Vector3::z()];
    let faces = [[0, 1, 2], [1, 3, 2], [3, 4, 2], [4, 0, 2], [1, 0, 5], [3, 1, 5], [4, 3, 5], [0, 4, 5]];
    let normals = super::surface::normals(&cloud.points, 3.0 * spacing_mm);
    for (center, normal) in cloud.points.iter().zip(&normals) {
        let first = drawable.points.len() as u32;
        for tip in tips {
            drawable.points.push(center + tip * radius_mm);
            drawable.normals.push(match normal {
                // Each side of the surface is lit as that side.
                Some(normal) if tip.dot(normal) < 0.0 => -normal,
                Some(normal) => *normal,
                None => tip,
            });
        }
        drawable.triangles.extend(faces.iter().map(|f: &[u32; 3]| f.map(|i| i + first)));
        drawable.stones.push(Stone {
            first,
            center: *center,
            true_mm: cloud.radius_mm,
            spacing_mm,
            radius_mm,
        });
    }
    drawable
}

/// How far apart neighbours are: the median over a hundred points spread through the list.
fn spacing(points: &[Point3<f64>]) -> f64 {
    let step = points.len().div_ceil(100).max(1);
    let mut nearest: Vec<f64> = points
        .iter()
        .enumerate()
        .step_by(step)
        .map(|(i, p)| {
            let others = points.iter().enumerate().filter(|(j, _)| *j != i);
            others.map(|(_, q)| (p - q).norm_squared()).fold(f64::INFINITY, f64::min).sqrt()
        })
        .filter(|d| d.is_finite())
        .collect();
    nearest.sort_by(f64::total_cmp);
    nearest.get(nearest.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cube of edge 2 about the origin, eight vertices, twelve triangles.
    pub(crate) fn cube() -> Mesh {
        let vertices = (0..8)
            .map(|i| {
                let side = |bit: usize| if i & bit == 0 { -1.0 } else { 1.0 };
                Point3::new(side(1), side(2), side(4))
            })
            .collect();
        let quads = [[0, 4, 6, 2], [1, 3, 7, 5], [0, 1, 5, 4], [2, 6, 7, 3], [0, 2, 3, 1], [4, 5, 7, 6]];
        let triangles = quads.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect();
        Mesh::new(vertices, triangles, MeshKind::Closed)
    }

    #[test]
    fn a_cube_has_twelve_creases_and_flat_faces() {
        let drawable = of_mesh(&cube());
        let creases = drawable.edges.iter().filter(|e| e.kind == EdgeKind::Crease).count();
        assert_eq!((creases, drawable.edges.len()), (12, 12), "diagonals of faces are no edges");
        assert_eq!(drawable.points.len(), 24, "each corner is drawn once a face");
        for (t, triangle) in drawable.triangles.iter().enumerate() {
            let [a, b, c] = triangle.map(|i| drawable.points[i as usize]);
            let facet = (b - a).cross(&(c - a)).normalize();
            for corner in triangle {
                let normal = drawable.normals[*corner as usize];
                assert!((normal - facet).norm() < 1e-9, "triangle {t}: normals are the face's own");
                assert!(normal.dot(&a.coords) > 0.0, "outward");
            }
        }
    }

    #[test]
    fn a_fine_tube_is_smooth_round_and_creased_at_its_ends() {
        let n = 48;
        let (mut vertices, mut triangles) = (Vec::new(), Vec::new());
        for z in [0.0, 10.0] {
            for i in 0..n {
                let a = std::f64::consts::TAU * f64::from(i) / f64::from(n);
                vertices.push(Point3::new(5.0 * a.cos(), 5.0 * a.sin(), z));
            }
        }
        let n = n as u32;
        for i in 0..n {
            let j = (i + 1) % n;
            triangles.extend([[i, j, j + n], [i, j + n, i + n]]);
        }
        for i in 1..n - 1 {
            triangles.extend([[0, i + 1, i], [n, n + i, n + i + 1]]);
        }
        let drawable = of_mesh(&Mesh::new(vertices, triangles, MeshKind::Closed));
        let of_kind = |kind| drawable.edges.iter().filter(|e| e.kind == kind).count();
        assert_eq!(of_kind(EdgeKind::Crease), 96, "48 round each end");
        assert_eq!(of_kind(EdgeKind::Smooth), 48, "one a facet along the side");
        assert_eq!(of_kind(EdgeKind::Rim), 0);
    }

    #[test]
    fn an_open_patch_shows_from_behind_and_has_a_rim() {
        let corners = vec![Point3::origin(), Point3::new(1.0, 0.0, 0.0), Point3::new(0.0, 1.0, 0.0)];
        let mesh = Mesh::new(corners, vec![[0, 1, 2]], MeshKind::Open { thickness_mm: 0.0 });
        let drawable = of_mesh(&mesh);
        assert_eq!(drawable.triangles.len(), 2);
        assert_eq!(drawable.edges.iter().filter(|e| e.kind == EdgeKind::Rim).count(), 3);
    }

    #[test]
    fn a_sparse_cloud_is_drawn_larger_than_its_radius_a_dense_one_is_not() {
        let line = |step: f64| {
            Cloud::new((0..500).map(|i| Point3::new(f64::from(i) * step, 0.0, 0.0)).collect(), 1.0)
        };
        let radius = |d: &Drawable| (d.points[0] - d.stones[0].center).norm();
        assert_eq!(radius(&of_cloud(&line(0.5))), 1.0);
        let mut sparse = of_cloud(&line(10.0));
        assert!((radius(&sparse) - 3.0).abs() < 1e-12, "0.3 of the spacing");
        sparse.grow_stones(0.1);
        assert!((radius(&sparse) - 1.0).abs() < 1e-12, "from near by, its own radius");
        sparse.grow_stones(2.0);
        assert!((radius(&sparse) - 6.2).abs() < 1e-12, "from afar, touching its neighbours");
    }
}
