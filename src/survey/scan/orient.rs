//! Which of the two sides of a surface a normal is on.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::{Point3, Vector3};

use super::tree::{Neighbour, PointTree};

/// Turns each normal to the side of the place from which the scan was made.
pub fn face_viewpoint(points: &[Point3<f64>], normals: &mut [Vector3<f64>], viewpoint: &Point3<f64>) {
    for (point, normal) in points.iter().zip(normals) {
        if normal.dot(&(viewpoint - point)) < 0.0 {
            *normal = -*normal;
        }
    }
}

/// A step from a point whose normal is settled to one whose normal is not.
struct Step {
    /// One less the cosine between the normals: little where the surface is flat.
    cost: f64,
    from: u32,
    to: u32,
}

impl Ord for Step {
    fn cmp(&self, other: &Self) -> Ordering {
        // The heap gives the greatest: the cheapest first, then by number.
        other
            .cost
            .total_cmp(&self.cost)
            .then_with(|| other.to.cmp(&self.to))
            .then_with(|| other.from.cmp(&self.from))
    }
}

impl PartialOrd for Step {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Step {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Step {}

/// Turns normals so that neighbours agree, from the highest point on, which faces up.
///
/// Goes along a least spanning tree of the `neighbours` nearest of each point, cheap where normals are
/// nearly parallel, so that sharp edges are crossed last. Each separate part starts again from its highest
/// point. One thread; O(n log n).
///
/// # Source
/// Hoppe, DeRose, Duchamp, McDonald and Stuetzle, SIGGRAPH (1992) 71-78, section 3.3.
pub fn face_neighbours(
    points: &[Point3<f64>],
    tree: &PointTree,
    normals: &mut [Vector3<f64>],
    neighbours: usize,
) {
    let mut highest: Vec<u32> = (0..points.len().min(normals.len()) as u32).collect();
    highest.sort_by(|&a, &b| points[b as usize].z.total_cmp(&points[a as usize].z).then_with(|| a.cmp(&b)));
    let mut settled = vec![false; normals.len()];
    let mut heap: BinaryHeap<Step> = BinaryHeap::new();
    let mut found: Vec<Neighbour> = Vec::new();
    for start in highest {
        if settled[start as usize] {
            continue;
        }
        if normals[start as usize].z < 0.0 {
            normals[start as usize] = -normals[start as usize];
        }
        settled[start as usize] = true;
        let mut here = start;
        loop {
            tree.several(&points[here as usize], neighbours + 1, f64::INFINITY, &mut found);
            for neighbour in &found {
                if !settled[neighbour.index as usize] {
                    let cosine = normals[here as usize].dot(&normals[neighbour.index as usize]);
                    heap.push(Step { cost: 1.0 - cosine.abs(), from: here, to: neighbour.index });
                }
            }
            let next = loop {
                match heap.pop() {
                    Some(step) if settled[step.to as usize] => {}
                    other => break other,
                }
            };
            let Some(Step { from, to, .. }) = next else { break };
            if normals[from as usize].dot(&normals[to as usize]) < 0.0 {
                normals[to as usize] = -normals[to as usize];
            }
            settled[to as usize] = true;
            here = to;
        }
    }
}
