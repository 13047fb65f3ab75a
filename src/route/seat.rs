//! Bodies that a port sits on: a tube that ends there must be joined to them, or they block its every way.

use nalgebra::Point3;

use super::{Port, RouteAsk};
use crate::clearance::distance_under;
use crate::space::Length;

/// A port this near to a body's surface, or inside it, sits on it, mm.
const SITS_MM: f64 = 2.0;

/// A body that a port sits on and that the tube is not joined to.
#[derive(Clone, Debug, PartialEq)]
pub struct Seat {
    /// `start` or `end`.
    pub port: &'static str,
    /// The body.
    pub body: String,
}

/// All of a question's, the start's first.
pub(super) fn seats(ask: &RouteAsk<'_>) -> Vec<Seat> {
    let ports: [(&'static str, &Port); 2] = [("start", &ask.start), ("end", &ask.end)];
    let sits = |port: &Port, number: usize| {
        let one = &ask.obstacles[number];
        let at: Point3<f64> = one.world_from_solid.inverse() * port.at;
        distance_under(&one.shape, &at, Length::from_mm(SITS_MM)).is_some()
    };
    ports
        .into_iter()
        .flat_map(|(name, port)| {
            (0..ask.obstacles.len())
                .filter(|number| !ask.obstacles[*number].joined && sits(port, *number))
                .map(move |number| Seat { port: name, body: ask.obstacles[number].name.clone() })
                .collect::<Vec<_>>()
        })
        .collect()
}
