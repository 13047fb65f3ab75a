//! The hand on a playback: where it stands, whether it runs, and how fast.

use std::time::Duration;

use super::playback::{Instant, Playback};

/// A move takes about so long, seconds.
const MOVE_S: f64 = 2.5;

/// The whole takes no longer than this, seconds.
const MOST_S: f64 = 45.0;

/// A playback with its slider.
#[derive(Clone, Debug)]
pub(super) struct Player {
    playback: Playback,
    /// Share of the whole, 0 to 1.
    share: f64,
    running: bool,
}

impl Player {
    /// At its beginning, at rest.
    pub(super) fn new(playback: Playback) -> Self {
        Player { playback, share: 0.0, running: false }
    }

    pub(super) fn share(&self) -> f64 {
        self.share
    }

    pub(super) fn running(&self) -> bool {
        self.running
    }

    /// Where everything is now.
    pub(super) fn now(&self) -> Instant {
        self.playback.at(self.share)
    }

    /// The slider was moved: it runs no more.
    pub(super) fn set(&mut self, share: f64) {
        (self.share, self.running) = (share.clamp(0.0, 1.0), false);
    }

    /// Runs or stops; at its end it begins anew.
    pub(super) fn press(&mut self) {
        self.running = !self.running;
        if self.running && self.share >= 1.0 {
            self.share = 0.0;
        }
    }

    /// Time went by.
    pub(super) fn pass(&mut self, time: Duration) {
        if self.running {
            let whole_s = (MOVE_S * self.playback.moves() as f64).min(MOST_S);
            self.share = (self.share + time.as_secs_f64() / whole_s).min(1.0);
            self.running = self.share < 1.0;
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::scene::{Body, Placement, Scene, Span};
    use crate::solid::{Block, Shape};
    use crate::space::{Length, Pose};
    use crate::view::BodyWay;
    use crate::way_in::{Effort, Way};
    use nalgebra::{Point3, Vector3};

    fn player() -> Player {
        let block = Shape::Block(Block { size_mm: Vector3::new(20.0, 20.0, 20.0) });
        let body = Body {
            name: "part".into(),
            shape: std::sync::Arc::new(block),
            world_from_body: Pose::identity(),
            carrier: 0,
            roles: vec![],
            material: None,
            bent_by: None,
            hot_c: None,
            flow: None,
            hose: None,
            may_move: None,
            kept: false,
            candidate: true,
            cover: Length::ZERO,
            placement: Placement::exact(Point3::origin()),
            fit: None,
            mass_kg: None,
            hoist: None,
            span: Span::default(),
        };
        let scene = Scene { bodies: vec![body], ..Scene::default() };
        let poses =
            vec![Pose::translation(0.0, 0.0, 300.0), Pose::translation(0.0, 0.0, 100.0), Pose::identity()];
        let way = Way { poses, middle: Point3::origin(), spare: Length::ZERO, effort: Effort::default() };
        let way = BodyWay { body: "part".into(), way, seat_mm: None, away: vec![] };
        Player::new(Playback::new(&scene, &[way]).unwrap())
    }

    #[test]
    fn it_runs_to_its_end_stops_there_and_begins_anew() {
        let mut player = player();
        player.pass(Duration::from_secs(9));
        assert_eq!(player.share(), 0.0, "at rest time does nothing");
        player.press();
        // Two moves: five seconds in all.
        player.pass(Duration::from_secs(1));
        assert!((player.share() - 0.2).abs() < 1e-12 && player.running());
        player.pass(Duration::from_secs(30));
        assert_eq!((player.share(), player.running()), (1.0, false));
        player.press();
        assert_eq!((player.share(), player.running()), (0.0, true));
        player.set(0.4);
        assert_eq!((player.share(), player.running()), (0.4, false), "a hand on the slider stops it");
        player.press();
        assert_eq!(player.share(), 0.4, "and it goes on from there");
        assert_eq!(player.now().number, 1);
        player.set(0.9);
        assert_eq!((player.now().number, player.now().of), (2, 2));
    }
}
