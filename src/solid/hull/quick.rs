//! Quickhull on a grid: each step is decided exactly, so the faces always fit together.
//!
//! # Source
//! Barber, Dobkin and Huhdanpaa, *The Quickhull Algorithm for Convex Hulls*, ACM TOMS 22 (1996)
//! 469-483 (from memory; checked here by brute force and by Euler's formula).

use std::collections::BTreeMap;

use nalgebra::{Point3, Unit};

use super::super::ShapeError;
use super::Faces;
use super::grid::{Grid, Knot, normal, rounded, side};

/// A hull thinner than this (mm) is called flat.
const FLAT_MM: f64 = 1e-6;

struct Face {
    corners: [usize; 3],
    /// Across the side from corner i to the next.
    neighbours: [usize; 3],
    normal: [i128; 3],
    /// Points that this face sees; none when it is gone.
    seen: Vec<usize>,
    gone: bool,
}

struct Builder<'a> {
    knots: &'a [Knot],
    faces: Vec<Face>,
}

/// The hull of finite points.
pub(super) fn hull(points: &[Point3<f64>]) -> Result<Faces, ShapeError> {
    let grid = Grid::of(points);
    let start = first_four(&grid)?;
    let mut builder = Builder { knots: &grid.knots, faces: Vec::new() };
    builder.start(start);
    let mut queue: Vec<usize> = (0..builder.faces.len()).collect();
    while let Some(face) = queue.pop() {
        if builder.faces[face].gone {
            continue;
        }
        if let Some(eye) = builder.farthest(face) {
            let fresh = builder.grow(face, eye);
            queue.extend(fresh);
        }
    }
    Ok(builder.finish(&grid))
}

/// Four points that span the most, in an order that makes the last lie behind the first three.
fn first_four(grid: &Grid) -> Result<[usize; 4], ShapeError> {
    let knots = &grid.knots;
    let flat = |thickness_mm| Err(ShapeError::FlatHull { thickness_mm });
    let far = |measure: &dyn Fn(&Knot) -> f64| {
        (0..knots.len()).max_by(|&a, &b| measure(&knots[a]).total_cmp(&measure(&knots[b])).then(b.cmp(&a)))
    };
    let apart = |a: &Knot, b: &Knot| (grid.point(a) - grid.point(b)).norm();
    let Some(a) = far(&|knot| apart(knot, &knots[0])) else { return flat(0.0) };
    let Some(b) = far(&|knot| apart(knot, &knots[a])) else { return flat(0.0) };
    let Some(c) = far(&|knot| rounded(&normal(&knots[a], &knots[b], knot)).norm()) else { return flat(0.0) };
    let across = normal(&knots[a], &knots[b], &knots[c]);
    let length = rounded(&across).norm();
    if length == 0.0 {
        return flat(0.0);
    }
    let height = |knot: &Knot| side(&across, &knots[a], knot);
    let Some(d) =
        (0..knots.len()).max_by_key(|&index| (height(&knots[index]).abs(), std::cmp::Reverse(index)))
    else {
        return flat(0.0);
    };
    let tallest = height(&knots[d]);
    let (high, low) =
        knots.iter().map(height).fold((0, 0), |(high, low): (i128, i128), h| (high.max(h), low.min(h)));
    let thickness_mm = (high - low) as f64 / length * grid.step_mm();
    if thickness_mm < FLAT_MM {
        return flat(thickness_mm);
    }
    Ok(if tallest < 0 { [a, b, c, d] } else { [a, c, b, d] })
}

impl Builder<'_> {
    fn face(&self, corners: [usize; 3], neighbours: [usize; 3]) -> Face {
        let [a, b, c] = corners.map(|corner| &self.knots[corner]);
        Face { corners, neighbours, normal: normal(a, b, c), seen: Vec::new(), gone: false }
    }

    fn height(&self, face: usize, point: usize) -> i128 {
        let face = &self.faces[face];
        side(&face.normal, &self.knots[face.corners[0]], &self.knots[point])
    }

    fn start(&mut self, [a, b, c, d]: [usize; 4]) {
        for (corners, neighbours) in
            [([a, b, c], [1, 2, 3]), ([b, a, d], [0, 3, 2]), ([c, b, d], [0, 1, 3]), ([a, c, d], [0, 2, 1])]
        {
            let face = self.face(corners, neighbours);
            self.faces.push(face);
        }
        let all: Vec<usize> = (0..self.knots.len()).collect();
        self.share_out(all, &[0, 1, 2, 3]);
    }

    /// Gives each point to the first face that sees it; one that none sees is inside.
    fn share_out(&mut self, points: Vec<usize>, faces: &[usize]) {
        for point in points {
            if let Some(&face) = faces.iter().find(|&&face| self.height(face, point) > 0) {
                self.faces[face].seen.push(point);
            }
        }
    }

    fn farthest(&self, face: usize) -> Option<usize> {
        let seen = &self.faces[face].seen;
        seen.iter().copied().max_by_key(|&point| (self.height(face, point), std::cmp::Reverse(point)))
    }

    /// Replaces all faces that the eye sees by faces from the eye to their common rim.
    fn grow(&mut self, from: usize, eye: usize) -> Vec<usize> {
        let mut visible = vec![from];
        self.faces[from].gone = true;
        let mut next = 0;
        while next < visible.len() {
            for beyond in self.faces[visible[next]].neighbours {
                if !self.faces[beyond].gone && self.height(beyond, eye) > 0 {
                    self.faces[beyond].gone = true;
                    visible.push(beyond);
                }
            }
            next += 1;
        }
        // The rim by where each of its sides starts: where it ends, and the face beyond it. Exact
        // decisions make it one simple loop.
        let mut rim: BTreeMap<usize, (usize, usize)> = BTreeMap::new();
        let mut orphans = Vec::new();
        for &index in &visible {
            orphans.append(&mut self.faces[index].seen);
            let face = &self.faces[index];
            for turn in 0..3 {
                if !self.faces[face.neighbours[turn]].gone {
                    rim.insert(face.corners[turn], (face.corners[(turn + 1) % 3], face.neighbours[turn]));
                }
            }
        }
        let first = self.faces.len();
        let place: BTreeMap<usize, usize> =
            rim.keys().enumerate().map(|(count, &start)| (start, first + count)).collect();
        let before: BTreeMap<usize, usize> =
            rim.iter().map(|(&start, &(end, _))| (end, place[&start])).collect();
        for (&start, &(end, beyond)) in &rim {
            // Sides: along the rim, from its end to the eye, from the eye to its start.
            let face = self.face([start, end, eye], [beyond, place[&end], before[&start]]);
            let this = self.faces.len();
            self.faces.push(face);
            let far = &mut self.faces[beyond];
            if let Some(turn) =
                (0..3).find(|&turn| far.corners[turn] == end && far.corners[(turn + 1) % 3] == start)
            {
                far.neighbours[turn] = this;
            }
        }
        let fresh: Vec<usize> = (first..self.faces.len()).collect();
        orphans.retain(|&point| point != eye);
        self.share_out(orphans, &fresh);
        fresh
    }

    fn finish(self, grid: &Grid) -> Faces {
        let mut place: BTreeMap<usize, u32> = BTreeMap::new();
        let mut faces = Faces { vertices: Vec::new(), triangles: Vec::new(), planes: Vec::new() };
        for face in self.faces.iter().filter(|face| !face.gone) {
            faces.triangles.push(face.corners.map(|corner| {
                *place.entry(corner).or_insert_with(|| {
                    faces.vertices.push(grid.point(&self.knots[corner]));
                    faces.vertices.len() as u32 - 1
                })
            }));
            let normal = Unit::new_normalize(rounded(&face.normal));
            let offset = normal.dot(&grid.point(&self.knots[face.corners[0]]).coords);
            faces.planes.push((normal, offset));
        }
        faces
    }
}
