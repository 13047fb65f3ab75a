//! How far it is to the far port through free space, by cells: what the lattice steers by.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use nalgebra::Point3;

use super::RouteAsk;
use super::chain::on;
use super::field::Field;

/// Beyond a preferred box a millimetre counts so much.
const OUTSIDE_PREFERRED: f64 = 1.5;

/// Cells farther off than this many times the way from the start port, and mm, are not looked at.
const DETOUR: (f32, f32) = (1.4, 200.0);

/// Distances to the far port, mm; infinite where no free way is known.
pub(super) struct Flood {
    distances: Vec<f32>,
}

#[derive(PartialEq)]
struct Open(f32, usize);
impl Eq for Open {}
impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Open {
    fn cmp(&self, other: &Self) -> Ordering {
        other.0.total_cmp(&self.0).then(other.1.cmp(&self.1))
    }
}

impl Flood {
    /// From the far port's straight outward, through cells with at least `floor_mm` of room, as far as a detour from
    /// the start port may lead.
    pub fn new(ask: &RouteAsk<'_>, field: &Field, floor_mm: f64) -> Self {
        let [nx, ny, nz] = field.counts();
        let mut distances = vec![f32::INFINITY; nx * ny * nz];
        // Room at least, where it is known: it falls by no more than the way from one cell to the next.
        let mut at_least = vec![f32::NEG_INFINITY; nx * ny * nz];
        let mut heap = BinaryHeap::new();
        let steps = (6.0 * ask.tube.outside_mm / field.step_mm()).ceil() as usize;
        for step in 0..steps {
            let mm = step as f64 * field.step_mm();
            let point = on(&ask.end, mm);
            let Some(cell) = field.cell(&point) else { break };
            if field.about(&point) < floor_mm {
                break;
            }
            if (mm as f32) < distances[cell] {
                distances[cell] = mm as f32;
                heap.push(Open(mm as f32, cell));
            }
        }
        let mut blocked = Vec::new();
        let mut neighbours = Vec::new();
        for z in -1i64..=1 {
            for y in -1i64..=1 {
                for x in -1i64..=1 {
                    if (x, y, z) != (0, 0, 0) {
                        let mm = ((x * x + y * y + z * z) as f64).sqrt() * field.step_mm();
                        neighbours.push((x, y, z, mm));
                    }
                }
            }
        }
        let goal = field.cell(&on(&ask.start, field.end_mm()));
        let mut enough = f32::INFINITY;
        while let Some(Open(distance, cell)) = heap.pop() {
            if distance > distances[cell] {
                continue;
            }
            if distance > enough {
                break;
            }
            if Some(cell) == goal {
                enough = DETOUR.0 * distance + DETOUR.1;
            }
            let (x, y, z) = ((cell % nx) as i64, (cell / nx % ny) as i64, (cell / nx / ny) as i64);
            for (dx, dy, dz, mm) in &neighbours {
                let (x, y, z) = (x + dx, y + dy, z + dz);
                if x < 0 || y < 0 || z < 0 || x >= nx as i64 || y >= ny as i64 || z >= nz as i64 {
                    continue;
                }
                let next = (z as usize * ny + y as usize) * nx + x as usize;
                let dearer = if preferred(ask, &field.middle(next)) { 1.0 } else { OUTSIDE_PREFERRED };
                let there = distance + (mm * dearer) as f32;
                if there >= distances[next] {
                    continue;
                }
                let known = f64::from(at_least[cell]) - mm;
                if known >= floor_mm {
                    at_least[next] = at_least[next].max(known as f32);
                } else if f64::from(at_least[next]) < floor_mm {
                    let room = field.cell_room(next);
                    if room < floor_mm {
                        // Never again: no way to it is short enough.
                        distances[next] = f32::NEG_INFINITY;
                        blocked.push(next);
                        continue;
                    }
                    at_least[next] = room as f32;
                }
                distances[next] = there;
                heap.push(Open(there, next));
            }
        }
        for cell in blocked {
            distances[cell] = f32::INFINITY;
        }
        Flood { distances }
    }

    /// Distance from a point, mm.
    pub fn from(&self, field: &Field, point: &Point3<f64>) -> f64 {
        field.cell(point).map_or(f64::INFINITY, |cell| f64::from(self.distances[cell]))
    }
}

/// Whether a point lies where the tube should run; everywhere, when nothing is said.
pub(super) fn preferred(ask: &RouteAsk<'_>, point: &Point3<f64>) -> bool {
    ask.preferred.is_empty() || ask.preferred.iter().any(|zone| zone.contains(point))
}
