//! Bodies a little larger or smaller than they are drawn, by what their places may be off.

use nalgebra::Point3;

use crate::access::{AccessError, Bodies, BodyObstacles, Near, Obstacles, StandingBody};
use crate::check::pair::Ready;
use crate::check::uncertainty::COVERAGE;
use crate::scene::Scene;
use crate::space::Bounds;

/// By how much each body may stand off against the body served, expanded, mm; 0 for the body itself and for what it is
/// fastened to, for they stand off together.
pub(super) fn slack_mm(scene: &Scene, ready: &[Ready<'_>], served: &str) -> Vec<f64> {
    let Some(own) = ready.iter().find(|one| one.body.name == served) else { return vec![0.0; ready.len()] };
    let fastened = |name: &str| {
        name == served
            || scene.joined.iter().any(|pair| {
                (pair.one == served && pair.other == name) || (pair.other == served && pair.one == name)
            })
    };
    ready
        .iter()
        .map(|one| if fastened(&one.body.name) { 0.0 } else { COVERAGE * own.worst_standard_with(one) })
        .collect()
}

/// The bodies with so much more cover.
pub(super) fn grown(bodies: &Bodies, by_mm: &[f64]) -> Result<Bodies, AccessError> {
    let more = |(body, by_mm): (&StandingBody, &f64)| StandingBody {
        cover_mm: body.cover_mm + by_mm.min(MOST_MM),
        ..body.clone()
    };
    Bodies::new(bodies.list().iter().zip(by_mm).map(more).collect())
}

/// What stands in the way at best: bodies as they stand, for a probe that is slimmed.
///
/// A probe that clears bodies which stand off by up to `s` each clears them, when slimmed by `s` all round, where they are
/// drawn: a point that both had would have a point of the body as it stands within `s`, which is in the probe. So
/// too when slimmed by more and the bodies grown by the rest. Bodies known worse than the probe can be slimmed by are left out.
pub(super) struct AtBest {
    pub bodies: Bodies,
    /// Those taken off, and those that might be anywhere.
    pub without: Vec<usize>,
    /// By this the probe must be slimmed, at its ends too.
    pub slim_mm: f64,
}

impl AtBest {
    /// For a probe that can be slimmed by `most_mm`.
    pub fn new(
        bodies: &Bodies,
        without: &[usize],
        slack_mm: &[f64],
        most_mm: f64,
    ) -> Result<Self, AccessError> {
        let mut left_out = without.to_vec();
        left_out.extend((0..slack_mm.len()).filter(|body| slack_mm[*body] > most_mm));
        let slim_mm = (0..slack_mm.len())
            .filter(|body| !left_out.contains(body))
            .map(|body| slack_mm[body])
            .fold(0.0, f64::max);
        let by_mm: Vec<f64> = slack_mm.iter().map(|mm| (slim_mm - mm).max(0.0)).collect();
        Ok(AtBest { bodies: grown(bodies, &by_mm)?, without: left_out, slim_mm })
    }
}

/// A probe is slimmed by no more than this share of its least half width, so that something of it is left.
pub(super) const SLIM_SHARE: f64 = 0.8;

/// Worse known than this, nothing can be said of a place anyway, mm.
pub(super) const MOST_MM: f64 = 400.0;

/// Obstacles that are each grown by so much; by less than nothing they shrink.
pub(super) struct Slack<'a> {
    inner: BodyObstacles<'a>,
    by_mm: Vec<f64>,
    least_mm: f64,
    most_mm: f64,
}

impl<'a> Slack<'a> {
    pub fn new(inner: BodyObstacles<'a>, slack_mm: &[f64], times: f64) -> Self {
        let by_mm: Vec<f64> = slack_mm.iter().map(|mm| mm.min(MOST_MM) * times).collect();
        let least_mm = by_mm.iter().copied().fold(0.0, f64::min);
        let most_mm = by_mm.iter().copied().fold(0.0, f64::max);
        Slack { inner, by_mm, least_mm, most_mm }
    }
}

impl Obstacles for Slack<'_> {
    fn bounds(&self) -> Bounds {
        self.inner.bounds().grown(self.most_mm)
    }

    fn near(&self, point: &Point3<f64>, limit_mm: f64, spread_mm: f64, into: &mut Vec<Near>) {
        self.inner.near(point, limit_mm + self.most_mm, spread_mm + self.most_mm - self.least_mm, into);
        for near in into.iter_mut() {
            let by_mm = self.by_mm.get(near.body).copied().unwrap_or(0.0);
            near.clearance_mm -= by_mm;
            near.cover_mm += by_mm;
        }
        into.sort_by(|a, b| a.clearance_mm.total_cmp(&b.clearance_mm).then(a.body.cmp(&b.body)));
        into.retain(|near| near.clearance_mm < limit_mm);
    }

    fn name(&self, body: usize) -> &str {
        self.inner.name(body)
    }
}
