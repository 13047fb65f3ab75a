//! A solid made ready for questions: its items, sorted, and the tree over them.

use std::sync::Arc;

use nalgebra::{Point3, Vector3};
use rayon::prelude::*;

use super::convex::{Convex, Core};
use super::part::Part;
use super::tree::{self, Items, Tree};
use crate::solid::{Mesh, MeshKind, Piece, Shape};
use crate::space::Pose;

/// A solid's items, in the order of its tree.
///
/// Triangles and balls, of which there may be millions, lie apart from the few parts of other
/// kinds. When there is only one kind, an item's number is its place in that array.
#[derive(Clone, Debug, Default)]
pub(crate) struct Store {
    pub triangles: Vec<[Point3<f64>; 3]>,
    /// Whether triangle `i` is of a closed surface, oriented outward; empty when none is.
    shell: Vec<bool>,
    pub balls: Vec<Point3<f64>>,
    ball_radii: Vec<f64>,
    pub parts: Vec<Part>,
    /// Tagged places, when there is more than one kind.
    mixed: Vec<u32>,
}

/// One item.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Item<'a> {
    Triangle(&'a [Point3<f64>; 3]),
    Ball(&'a Point3<f64>, f64),
    Part(&'a Part),
}

/// Some items side by side.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Slice<'a> {
    Triangles(&'a [[Point3<f64>; 3]]),
    /// Centres, and their one radius, mm.
    Balls(&'a [Point3<f64>], f64),
    /// Of several kinds, or of none that lies side by side.
    Mixed,
}

impl Item<'_> {
    /// The item as a part.
    #[inline]
    pub fn part(self) -> Part {
        match self {
            Item::Triangle(corners) => Part::Convex(Convex::new(Core::Triangle(*corners), 0.0)),
            Item::Ball(center, radius_mm) => Part::ball(*center, radius_mm),
            Item::Part(part) => part.clone(),
        }
    }
}

const TRIANGLE: u32 = 0;
const BALL: u32 = 1 << 30;
const PART: u32 = 2 << 30;
const PLACE: u32 = BALL - 1;

/// The tree, the items and what must be known about insides.
#[derive(Clone, Debug)]
pub(crate) struct Index {
    pub store: Store,
    pub tree: Tree,
    /// One point of every island: a piece, or a connected stretch of mesh.
    pub anchors: Vec<Point3<f64>>,
}

impl Store {
    #[inline]
    pub fn item_count(&self) -> usize {
        self.triangles.len() + self.balls.len() + self.parts.len()
    }

    #[inline]
    fn tagged(&self, index: u32) -> u32 {
        if !self.mixed.is_empty() {
            self.mixed[index as usize]
        } else if !self.triangles.is_empty() {
            index | TRIANGLE
        } else if !self.balls.is_empty() {
            index | BALL
        } else {
            index | PART
        }
    }

    #[inline]
    pub fn item(&self, index: u32) -> Item<'_> {
        let tagged = self.tagged(index);
        let place = (tagged & PLACE) as usize;
        match tagged & !PLACE {
            TRIANGLE => Item::Triangle(&self.triangles[place]),
            BALL => Item::Ball(&self.balls[place], self.radius_of(place)),
            _ => Item::Part(&self.parts[place]),
        }
    }

    /// Balls of one radius keep it once.
    #[inline]
    fn radius_of(&self, place: usize) -> f64 {
        if self.ball_radii.len() == 1 { self.ball_radii[0] } else { self.ball_radii[place] }
    }

    /// Items of the tree's order, as they lie, when the solid has but one simple kind of them.
    #[inline]
    pub fn slice(&self, start: u32, count: u32) -> Slice<'_> {
        let range = start as usize..(start + count) as usize;
        if !self.mixed.is_empty() {
            Slice::Mixed
        } else if !self.triangles.is_empty() {
            Slice::Triangles(&self.triangles[range])
        } else if let ([_, ..], [radius_mm]) = (self.balls.as_slice(), self.ball_radii.as_slice()) {
            Slice::Balls(&self.balls[range], *radius_mm)
        } else {
            Slice::Mixed
        }
    }

    /// Whether anything here bounds an inside that its own pieces do not fill.
    #[inline]
    pub fn has_shells(&self) -> bool {
        !self.shell.is_empty()
    }

    /// The corners of an item that belongs to a closed surface.
    #[inline]
    pub fn shell_triangle(&self, index: u32) -> Option<&[Point3<f64>; 3]> {
        let tagged = self.tagged(index);
        let place = (tagged & PLACE) as usize;
        (tagged & !PLACE == TRIANGLE && self.shell.get(place).is_some_and(|shell| *shell))
            .then(|| &self.triangles[place])
    }

    /// The item as a part, in its own frame.
    #[inline]
    pub fn part(&self, index: u32) -> Part {
        self.item(index).part()
    }

    fn finish(&mut self) {
        let kinds = [self.triangles.is_empty(), self.balls.is_empty(), self.parts.is_empty()];
        if kinds.iter().filter(|empty| !**empty).count() > 1 {
            let of = |count: usize, tag: u32| (0..count as u32).map(move |place| place | tag);
            self.mixed = of(self.triangles.len(), TRIANGLE)
                .chain(of(self.balls.len(), BALL))
                .chain(of(self.parts.len(), PART))
                .collect();
        }
        if let Some(first) = self.ball_radii.first().copied()
            && self.ball_radii.iter().all(|radius| *radius == first)
        {
            self.ball_radii = vec![first];
        }
        if !self.shell.iter().any(|shell| *shell) {
            self.shell = Vec::new();
        }
    }

    /// Bytes held by the items.
    pub fn bytes(&self) -> usize {
        std::mem::size_of_val(self.triangles.as_slice())
            + self.shell.len()
            + std::mem::size_of_val(self.balls.as_slice())
            + std::mem::size_of_val(self.ball_radii.as_slice())
            + std::mem::size_of_val(self.parts.as_slice())
            + std::mem::size_of_val(self.mixed.as_slice())
    }
}

impl Items for Store {
    fn count(&self) -> usize {
        self.item_count()
    }

    /// Points come by the million and cost little to look at; anything else is told apart by boxes first.
    fn leaf(&self) -> usize {
        if self.triangles.is_empty() && self.parts.is_empty() { 8 } else { 2 }
    }

    #[inline]
    fn middle(&self, index: u32) -> Point3<f64> {
        match self.item(index) {
            Item::Triangle([a, b, c]) => Point3::from((a.coords + b.coords + c.coords) / 3.0),
            Item::Ball(center, _) => *center,
            Item::Part(part) => part.anchor(),
        }
    }

    #[inline]
    fn corners(&self, index: u32, mut visit: impl FnMut(&Point3<f64>)) {
        match self.item(index) {
            Item::Triangle(corners) => corners.iter().for_each(visit),
            Item::Ball(center, _) => visit(center),
            Item::Part(part) => {
                let hull = part.hull();
                for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
                    for toward in [axis, -axis] {
                        visit(&(hull.core.support(&toward) + toward * hull.radius_mm));
                    }
                }
            }
        }
    }

    #[inline]
    fn extents(
        &self,
        index: u32,
        origin: &Point3<f64>,
        axes: &[Vector3<f64>; 3],
        low: &mut [f64; 3],
        high: &mut [f64; 3],
    ) {
        let mut offer = |j: usize, from: f64, to: f64| {
            low[j] = low[j].min(from);
            high[j] = high[j].max(to);
        };
        match self.item(index) {
            Item::Triangle(corners) => {
                for corner in corners {
                    let offset = corner - origin;
                    for (j, axis) in axes.iter().enumerate() {
                        let h = offset.dot(axis);
                        offer(j, h, h);
                    }
                }
            }
            Item::Ball(center, radius_mm) => {
                let offset = center - origin;
                for (j, axis) in axes.iter().enumerate() {
                    let h = offset.dot(axis);
                    offer(j, h - radius_mm, h + radius_mm);
                }
            }
            Item::Part(part) => {
                for (j, axis) in axes.iter().enumerate() {
                    let length = axis.norm();
                    let unit = axis / length;
                    let at = origin.coords.dot(&unit);
                    offer(j, (-part.reach(&-unit) - at) * length, (part.reach(&unit) - at) * length);
                }
            }
        }
    }

    fn arrange(&mut self, order: &[u32]) {
        if !self.mixed.is_empty() {
            self.mixed = in_order(order, &self.mixed);
        } else if !self.triangles.is_empty() {
            self.triangles = in_order(order, &self.triangles);
            if !self.shell.is_empty() {
                self.shell = in_order(order, &self.shell);
            }
        } else if !self.balls.is_empty() {
            self.balls = in_order(order, &self.balls);
            if self.ball_radii.len() > 1 {
                self.ball_radii = in_order(order, &self.ball_radii);
            }
        } else {
            self.parts = order.iter().map(|index| self.parts[*index as usize].clone()).collect();
        }
    }
}

/// Things in another order, gathered side by side where there are very many.
fn in_order<T: Copy + Send + Sync>(order: &[u32], things: &[T]) -> Vec<T> {
    order.par_iter().with_min_len(16_384).map(|index| things[*index as usize]).collect()
}

impl Index {
    pub fn of_shape(shape: &Shape) -> Self {
        let mut gather = Gather::default();
        gather.shape(shape, &Pose::identity());
        gather.finish()
    }

    /// From pieces alone; triangles count as bare surface.
    pub fn of_pieces(pieces: &[Piece]) -> Self {
        let mut gather = Gather::default();
        for piece in pieces {
            gather.piece(piece, &Pose::identity());
        }
        gather.finish()
    }

    /// Bytes held.
    pub fn bytes(&self) -> usize {
        self.store.bytes() + self.tree.bytes() + std::mem::size_of_val(self.anchors.as_slice())
    }
}

#[derive(Default)]
struct Gather {
    store: Store,
    anchors: Vec<Point3<f64>>,
}

impl Gather {
    fn shape(&mut self, shape: &Shape, here_from_shape: &Pose) {
        match shape {
            Shape::Mesh(mesh) => self.mesh(mesh, here_from_shape),
            Shape::Compound(compound) => {
                for (shape_from_part, part) in &compound.parts {
                    self.shape(part, &(here_from_shape * shape_from_part));
                }
            }
            Shape::Cloud(cloud) => {
                for point in &cloud.points {
                    self.ball(here_from_shape * point, cloud.radius_mm);
                }
            }
            other => {
                for piece in other.pieces() {
                    self.piece(&piece, here_from_shape);
                }
            }
        }
    }

    #[inline]
    fn ball(&mut self, center: Point3<f64>, radius_mm: f64) {
        self.store.balls.push(center);
        self.store.ball_radii.push(radius_mm);
    }

    fn piece(&mut self, piece: &Piece, here_from_piece: &Pose) {
        match piece {
            Piece::Triangle { corners, thickness_mm } if *thickness_mm <= 0.0 => {
                self.triangle(corners.map(|p| here_from_piece * p), false);
                self.anchors.push(here_from_piece * corners[0]);
            }
            Piece::Ball { center, radius_mm } => {
                self.ball(here_from_piece * center, *radius_mm);
            }
            other => self.part(Part::of_piece(other, here_from_piece)),
        }
    }

    #[inline]
    fn part(&mut self, part: Part) {
        self.anchors.push(part.anchor());
        self.store.parts.push(part);
    }

    #[inline]
    fn triangle(&mut self, corners: [Point3<f64>; 3], shell: bool) {
        self.store.triangles.push(corners);
        self.store.shell.push(shell);
    }

    fn mesh(&mut self, mesh: &Mesh, here_from_mesh: &Pose) {
        let vertices: Vec<Point3<f64>> = mesh.vertices.iter().map(|p| here_from_mesh * p).collect();
        let corners = |t: &[u32; 3]| t.map(|i| vertices[i as usize]);
        let (islands, ()) = rayon::join(|| islands(mesh), || self.faces(mesh, corners, vertices.first()));
        self.anchors.extend(islands.into_iter().map(|i| vertices[i as usize]));
    }

    fn faces(
        &mut self,
        mesh: &Mesh,
        corners: impl Fn(&[u32; 3]) -> [Point3<f64>; 3],
        inside: Option<&Point3<f64>>,
    ) {
        self.store.triangles.reserve(mesh.triangles.len());
        self.store.shell.reserve(mesh.triangles.len());
        match mesh.kind {
            MeshKind::Open { thickness_mm } if thickness_mm > 0.0 => {
                for t in &mesh.triangles {
                    let piece = Piece::Triangle { corners: corners(t), thickness_mm };
                    self.store.parts.push(Part::of_piece(&piece, &Pose::identity()));
                }
            }
            MeshKind::Open { .. } => {
                mesh.triangles.iter().for_each(|t| self.triangle(corners(t), false));
            }
            MeshKind::Closed => {
                let inward = mesh.triangles.iter().map(|t| volume6(&corners(t), inside)).sum::<f64>() < 0.0;
                for t in &mesh.triangles {
                    let [a, b, c] = corners(t);
                    self.triangle(if inward { [a, c, b] } else { [a, b, c] }, true);
                }
            }
        }
    }

    fn finish(mut self) -> Index {
        self.store.finish();
        let tree = tree::build(&mut self.store);
        Index { store: self.store, tree, anchors: self.anchors }
    }
}

/// Six times the signed volume between a triangle and a point.
fn volume6([a, b, c]: &[Point3<f64>; 3], from: Option<&Point3<f64>>) -> f64 {
    let from = from.copied().unwrap_or_else(Point3::origin);
    (a - from).cross(&(b - from)).dot(&(c - from))
}

/// One vertex of every connected stretch of mesh.
fn islands(mesh: &Mesh) -> Vec<u32> {
    let mut parent: Vec<u32> = (0..mesh.vertices.len() as u32).collect();
    fn root(parent: &mut [u32], mut i: u32) -> u32 {
        while parent[i as usize] != i {
            parent[i as usize] = parent[parent[i as usize] as usize];
            i = parent[i as usize];
        }
        i
    }
    for [a, b, c] in &mesh.triangles {
        for (p, q) in [(a, b), (a, c)] {
            let (p, q) = (root(&mut parent, *p), root(&mut parent, *q));
            let (low, high) = (p.min(q), p.max(q));
            parent[high as usize] = low;
        }
    }
    let mut found: Vec<u32> = mesh.triangles.iter().map(|t| root(&mut parent, t[0])).collect();
    found.sort_unstable();
    found.dedup();
    found
}

/// Shared handle: what an [`super::IndexedShape`] clones.
pub(crate) type SharedIndex = Arc<Index>;
