//! What each reading should read for marks at given places, and how that changes as they move.

use nalgebra::{Point3, Unit, Vector3};

use super::network_graph::{Edge, Tie};

/// Everything that is looked for.
#[derive(Clone, Debug)]
pub(super) struct State {
    /// One a mark, mm.
    pub places: Vec<Point3<f64>>,
    /// One a mark, mm; 0 for marks that are no round thing's middle.
    pub diameters: Vec<f64>,
    /// What all tape lengths read too long, mm.
    pub zero_mm: f64,
    /// By what ratio they read too long.
    pub stretch: f64,
}

/// One number that a reading tells: what it should be, less what was read, and its slopes.
#[derive(Clone, Debug)]
pub(super) struct Component {
    /// Should read less read, mm.
    pub miss_mm: f64,
    /// Change with the place of each mark.
    pub by_place: Vec<(usize, Vector3<f64>)>,
    /// Change with the mark's diameter.
    pub by_diameter: f64,
    /// Change with the tape's zero and stretch.
    pub by_tape: [f64; 2],
}

/// Sides of panels: for every reading square to one, +1 or -1 along the panel's normal
/// (second - first) x (third - first); 0 leaves it to where the mark stands.
pub(super) type Signs = [f64];

/// The components of a reading at a state.
///
/// # Source
/// Plain geometry; slopes checked against differences in this file's tests.
pub(super) fn components(edge: &Edge, sign: f64, state: &State) -> Vec<Component> {
    let place = |node: usize| state.places[node];
    let plain = |miss_mm: f64, by_place: Vec<(usize, Vector3<f64>)>| Component {
        miss_mm,
        by_place,
        by_diameter: 0.0,
        by_tape: [0.0; 2],
    };
    // A tape's own error belongs to every length read along it.
    let taped = |length: f64, by_place: Vec<(usize, Vector3<f64>)>| Component {
        miss_mm: length * (1.0 + state.stretch) + state.zero_mm - edge.distance_mm,
        by_place: by_place.into_iter().map(|(node, slope)| (node, slope * (1.0 + state.stretch))).collect(),
        by_diameter: 0.0,
        by_tape: [1.0, length],
    };
    let p = place(edge.mark);
    match edge.tie {
        Tie::Straight { from, halves } => {
            let between = p - place(from);
            let away = between.try_normalize(1e-300).unwrap_or_else(Vector3::x);
            let length = between.norm() + halves * state.diameters[edge.mark] / 2.0;
            let mut one = taped(length, vec![(edge.mark, away), (from, -away)]);
            one.by_diameter = halves / 2.0 * (1.0 + state.stretch);
            vec![one]
        }
        Tie::Square { panel: [a, b, c] } => {
            let (pa, ab, ac) = (place(a), place(b) - place(a), place(c) - place(a));
            let normal = ab.cross(&ac).try_normalize(1e-300).unwrap_or_else(Vector3::z);
            let off = normal.dot(&(p - pa));
            let sign = if sign != 0.0 { sign } else { 1f64.copysign(off) };
            // Shares of the panel's marks in the foot of the perpendicular.
            let (beta, gamma) = shares(&ab, &ac, &(p - pa));
            let n = normal * sign;
            let slopes = vec![(edge.mark, n), (a, n * (beta + gamma - 1.0)), (b, n * -beta), (c, n * -gamma)];
            vec![taped(off * sign, slopes)]
        }
        Tie::Offset { from, axis } => {
            let mut slopes = vec![(edge.mark, axis)];
            let mut value = axis.dot(&p.coords);
            if let Some(from) = from {
                slopes.push((from, -axis));
                value -= axis.dot(&place(from).coords);
            }
            vec![plain(value - edge.distance_mm, slopes)]
        }
        Tie::Edge { from, to } => {
            let (q, run) = (p - place(from), place(to) - place(from));
            let length = run.norm().max(1e-9);
            let u = Unit::new_unchecked(run.try_normalize(1e-300).unwrap_or_else(Vector3::x));
            let along = q.dot(&u);
            let lean = (q - *u * along) / length;
            let smallest = u.iamin();
            let e = u.cross(&Vector3::ith(smallest, 1.0)).normalize();
            let mut out = vec![taped(along, vec![(edge.mark, *u), (from, -*u - lean), (to, lean)])];
            let share = along / length;
            for e in [e, u.cross(&e)] {
                let slopes = vec![(edge.mark, e), (from, e * (share - 1.0)), (to, e * -share)];
                out.push(plain(e.dot(&q), slopes));
            }
            out
        }
        Tie::Plumb { from } => [Vector3::x(), Vector3::y()]
            .into_iter()
            .map(|axis| plain(axis.dot(&(p - place(from))), vec![(edge.mark, axis), (from, -axis)]))
            .collect(),
        Tie::Round { factor, plus_mm } => {
            let value = factor * state.diameters[edge.mark] + plus_mm;
            let mut one = plain(value - edge.distance_mm, Vec::new());
            one.by_diameter = factor;
            vec![one]
        }
    }
}

/// How many numbers a reading tells.
pub(super) fn count(edge: &Edge) -> usize {
    match edge.tie {
        Tie::Edge { .. } => 3,
        Tie::Plumb { .. } => 2,
        _ => 1,
    }
}

/// Shares of `ab` and `ac` in the part of `q` along their plane.
fn shares(ab: &Vector3<f64>, ac: &Vector3<f64>, q: &Vector3<f64>) -> (f64, f64) {
    let (bb, bc, cc) = (ab.dot(ab), ab.dot(ac), ac.dot(ac));
    let (qb, qc) = (q.dot(ab), q.dot(ac));
    let determinant = bb * cc - bc * bc;
    if determinant <= 1e-12 * bb * cc {
        return (0.0, 0.0);
    }
    ((qb * cc - qc * bc) / determinant, (qc * bb - qb * bc) / determinant)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;

    #[test]
    fn slopes_are_those_of_differences() {
        let state = State {
            places: [[10.0, 20.0, 30.0], [400.0, -30.0, 12.0], [60.0, 510.0, -8.0], [140.0, 160.0, 220.0]]
                .map(Point3::from)
                .to_vec(),
            diameters: vec![0.0, 0.0, 0.0, 63.5],
            zero_mm: 0.7,
            stretch: 3e-4,
        };
        let axis = Vector3::z();
        for tie in [
            Tie::Straight { from: 0, halves: 0.0 },
            Tie::Straight { from: 1, halves: -1.0 },
            Tie::Straight { from: 2, halves: 1.0 },
            Tie::Square { panel: [0, 1, 2] },
            Tie::Square { panel: [0, 2, 1] },
            Tie::Offset { from: Some(1), axis },
            Tie::Offset { from: None, axis },
            Tie::Edge { from: 0, to: 1 },
            Tie::Plumb { from: 2 },
            Tie::Round { factor: std::f64::consts::PI, plus_mm: 0.3 },
        ] {
            let edge = Edge { mark: 3, tie, distance_mm: 150.0, read_mm: 150.0, sigma_mm: 1.0, side: None };
            let here = components(&edge, 0.0, &state);
            assert_eq!(here.len(), count(&edge));
            for (k, one) in here.iter().enumerate() {
                let step = 1e-4;
                let slope = |change: &dyn Fn(&mut State, f64)| {
                    let at = |by: f64| {
                        let mut state = state.clone();
                        change(&mut state, by);
                        components(&edge, 0.0, &state)[k].miss_mm
                    };
                    (at(step) - at(-step)) / (2.0 * step)
                };
                for node in 0..4 {
                    for a in 0..3 {
                        let told: f64 = one.by_place.iter().filter(|s| s.0 == node).map(|s| s.1[a]).sum();
                        // Across an edge the two directions turn with it, so only their size is told there.
                        if k > 0 && matches!(tie, Tie::Edge { .. }) {
                            continue;
                        }
                        let want = slope(&|s, by| s.places[node][a] += by);
                        assert!((told - want).abs() < 1e-6, "{tie:?} {k}, mark {node}: {told}, {want}");
                    }
                }
                for (told, want) in [
                    (one.by_diameter, slope(&|s, by| s.diameters[3] += by)),
                    (one.by_tape[0], slope(&|s, by| s.zero_mm += by)),
                ] {
                    assert!((told - want).abs() < 1e-6, "{tie:?} {k}: {told}, {want}");
                }
                let want = slope(&|s, by| s.stretch += by);
                assert!((one.by_tape[1] - want).abs() < 1e-4, "{tie:?}: {}, {want}", one.by_tape[1]);
            }
        }
    }

    #[test]
    fn across_an_edge_the_slopes_hold_where_the_mark_is_on_it() {
        let places = [[0.0, 0.0, 0.0], [300.0, 60.0, -20.0], [150.0, 30.0, -10.0]].map(Point3::from);
        let mut state =
            State { places: places.to_vec(), diameters: vec![0.0; 3], zero_mm: 0.0, stretch: 0.0 };
        let tie = Tie::Edge { from: 0, to: 1 };
        let edge = Edge { mark: 2, tie, distance_mm: 1.0, read_mm: 1.0, sigma_mm: 1.0, side: None };
        let here = components(&edge, 0.0, &state);
        let by = [Vector3::new(0.2, -0.5, 0.3), Vector3::new(-0.4, 0.1, 0.6), Vector3::new(0.3, 0.3, -0.2)];
        let told: Vec<f64> =
            here[1..].iter().map(|c| c.by_place.iter().map(|(n, s)| s.dot(&by[*n])).sum::<f64>()).collect();
        for (place, by) in state.places.iter_mut().zip(&by) {
            *place += by * 1e-3;
        }
        let there = components(&edge, 0.0, &state);
        let size = |a: f64, b: f64| a.hypot(b);
        let want = size(there[1].miss_mm, there[2].miss_mm) / 1e-3;
        assert!((size(told[0], told[1]) - want).abs() < 1e-4, "{told:?}, {want}");
    }
}
