//! The shape of least energy of one span.
//!
//! The span is a chain of pieces of one length whose directions are the unknowns. Bending costs (E I / h)(1 - cos) at each
//! joint, and twice as much between a hold's own way and the piece beside it, for only half a piece bends there; weight costs its
//! height. That the chain ends where it is held is kept by an augmented Lagrangian. So the error falls with the square of a
//! piece; with first and last piece held straight it fell with the piece, and a half circle of 48 was bent a ninth too tightly.
//!
//! # Source
//! Discrete elastic rods without twist: Bergou et al., *Discrete Elastic Rods* (2008); augmented Lagrangian: Nocedal and
//! Wright, *Numerical Optimization* (2006), 17.3 (both from memory).

use nalgebra::{Cholesky, DMatrix, DVector, Matrix3x2, Point3, Unit, Vector3};

use super::start::starts;

/// A stretch of hose between two holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Span {
    /// Where it is held first, and the way it leaves.
    pub from: (Point3<f64>, Unit<Vector3<f64>>),
    /// Where it is held last, and the way it arrives.
    pub to: (Point3<f64>, Unit<Vector3<f64>>),
    pub length_mm: f64,
    pub stiffness_n_mm2: f64,
    pub weight_n_mm: f64,
    pub up: Vector3<f64>,
}

/// Directions of the pieces, and what they cost without the constraint, in units of E I / h.
struct Chain<'a> {
    span: &'a Span,
    /// Weight's pull on each direction.
    weights: Vec<f64>,
    /// Sum that the directions must have.
    sum: Vector3<f64>,
}

/// How far a piece is turned that stands on a point, rad.
const KICK_RAD: f64 = 1e-3;

/// How near to its end the chain must come, as a share of the length.
const CLOSED: f64 = 1e-10;

/// Nodes of the shape of least energy that is come to, from the nodes of another or from all starts; `None` when none is.
pub(super) fn least_energy(
    span: &Span,
    pieces: usize,
    before: Option<&[Point3<f64>]>,
) -> Option<Vec<Point3<f64>>> {
    let piece_mm = span.length_mm / pieces as f64;
    let pull = span.weight_n_mm * piece_mm.powi(3) / span.stiffness_n_mm2;
    let chain = Chain {
        span,
        weights: (0..pieces).map(|at| pull * ((pieces - 1 - at) as f64 + 0.5)).collect(),
        sum: (span.to.0 - span.from.0) / piece_mm,
    };
    let mut best: Option<(f64, Vec<Vector3<f64>>)> = None;
    let begin = match before {
        Some(nodes) => vec![nodes.windows(2).map(|pair| (pair[1] - pair[0]).normalize()).collect()],
        None => starts(span, pieces),
    };
    for start in begin {
        if let Some((energy, directions)) = chain.settled(start)
            && best.as_ref().is_none_or(|(least, _)| energy < *least - 1e-9 * (1.0 + least.abs()))
        {
            best = Some((energy, directions));
        }
    }
    let mut at = span.from.0;
    let mut nodes = vec![at];
    for direction in best?.1 {
        at += direction * piece_mm;
        nodes.push(at);
    }
    Some(nodes)
}

impl Chain<'_> {
    fn energy(&self, directions: &[Vector3<f64>]) -> f64 {
        let bends: f64 = directions.windows(2).map(|pair| 1.0 - pair[0].dot(&pair[1])).sum();
        let held = |way: &Vector3<f64>, piece: Option<&Vector3<f64>>| {
            piece.map_or(0.0, |piece| 2.0 * (1.0 - way.dot(piece)))
        };
        bends
            + held(&self.span.from.1, directions.first())
            + held(&self.span.to.1, directions.last())
            + directions
                .iter()
                .zip(&self.weights)
                .map(|(d, weight)| d.dot(&self.span.up) * weight)
                .sum::<f64>()
    }

    fn off(&self, directions: &[Vector3<f64>]) -> Vector3<f64> {
        directions.iter().sum::<Vector3<f64>>() - self.sum
    }

    /// From a start to rest, with the energy there.
    fn settled(&self, mut directions: Vec<Vector3<f64>>) -> Option<(f64, Vec<Vector3<f64>>)> {
        let count = directions.len();
        let mut force = Vector3::zeros();
        let mut stiff = 1.0 / count as f64;
        let mut last = f64::INFINITY;
        for _ in 0..60 {
            self.descend(&mut directions, &force, stiff)?;
            let off = self.off(&directions);
            if off.norm() < CLOSED * count as f64 {
                return Some((self.energy(&directions), directions));
            }
            force += off * stiff;
            // Stiffer only where the force alone does not close it: a stiff end makes the steps short.
            if off.norm() > 0.25 * last {
                stiff *= 4.0;
            }
            last = off.norm();
        }
        None
    }

    /// Newton's steps until nothing is gained, the end held by a force and a spring.
    fn descend(&self, directions: &mut Vec<Vector3<f64>>, force: &Vector3<f64>, stiff: f64) -> Option<()> {
        let cost = |directions: &[Vector3<f64>]| {
            let off = self.off(directions);
            self.energy(directions) + force.dot(&off) + 0.5 * stiff * off.norm_squared()
        };
        let free = directions.len();
        let mut shift = 0.0;
        let mut kicks = 3;
        let mut now = cost(directions);
        for _ in 0..200 {
            let pull = force + self.off(directions) * stiff;
            let frames: Vec<Matrix3x2<f64>> = directions.iter().map(across).collect();
            let mut slope = DVector::zeros(2 * free);
            let mut bend = DMatrix::zeros(2 * free, 2 * free);
            for i in 0..free {
                let before = if i == 0 { self.span.from.1.into_inner() * 2.0 } else { directions[i - 1] };
                let after = if i + 1 == free { self.span.to.1.into_inner() * 2.0 } else { directions[i + 1] };
                let whole = -(before + after) + self.span.up * self.weights[i] + pull;
                let own = frames[i].transpose() * whole;
                let along = directions[i].dot(&whole);
                for row in 0..2 {
                    slope[2 * i + row] = own[row];
                    bend[(2 * i + row, 2 * i + row)] -= along;
                }
                for j in 0..=i {
                    let mut block = frames[i].transpose() * frames[j] * stiff;
                    if j + 1 == i {
                        block -= frames[i].transpose() * frames[j];
                    }
                    for row in 0..2 {
                        for column in 0..2 {
                            bend[(2 * i + row, 2 * j + column)] += block[(row, column)];
                            if j < i {
                                bend[(2 * j + column, 2 * i + row)] += block[(row, column)];
                            }
                        }
                    }
                }
            }
            if slope.norm() < 1e-11 * (1.0 + pull.norm()) * (free as f64).sqrt() {
                let mut firm = bend.clone();
                (0..2 * free).for_each(|at| firm[(at, at)] += 1e-12);
                if kicks == 0 || Cholesky::new(firm).is_some() {
                    return Some(());
                }
                // At rest as a pencil on its point is: a hose that is pressed along its own line. A little to a side it goes on.
                kicks -= 1;
                for (at, (direction, frame)) in directions.iter_mut().zip(&frames).enumerate() {
                    let lean = (std::f64::consts::TAU * (at as f64 + 0.5) / free as f64).sin();
                    *direction = (*direction + frame.column(0) * (KICK_RAD * lean)).normalize();
                }
                now = cost(directions);
                continue;
            }
            let mut gained = false;
            for _ in 0..40 {
                let mut damped = bend.clone();
                (0..2 * free).for_each(|at| damped[(at, at)] += shift);
                let Some(solver) = Cholesky::new(damped) else {
                    shift = (shift * 4.0f64).max(1e-6);
                    continue;
                };
                let step = solver.solve(&-&slope);
                let mut next = directions.clone();
                for i in 0..free {
                    let moved = frames[i] * step.fixed_rows::<2>(2 * i);
                    next[i] = (next[i] + moved).normalize();
                }
                let then = cost(&next);
                if then.is_finite() && then < now {
                    let small = now - then < 1e-15 * (1.0 + now.abs());
                    *directions = next;
                    now = then;
                    shift = if shift < 1e-8 { 0.0 } else { shift / 8.0 };
                    gained = !small;
                    break;
                }
                if step.norm() < 1e-12 {
                    break;
                }
                shift = (shift * 4.0f64).max(1e-6);
            }
            if !gained {
                return Some(());
            }
        }
        None
    }
}

/// Two unit vectors across a direction.
fn across(direction: &Vector3<f64>) -> Matrix3x2<f64> {
    let other = if direction.x.abs() < 0.7 { Vector3::x() } else { Vector3::y() };
    let one = direction.cross(&other).normalize();
    Matrix3x2::from_columns(&[one, direction.cross(&one)])
}
