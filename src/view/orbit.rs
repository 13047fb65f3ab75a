//! How a hand moves the camera: round the target, across the view, nearer and farther.

use nalgebra::{Unit, Vector3};

use super::camera::{Camera, Projection};

/// Radians a pixel.
const TURN_PER_PX: f64 = 0.006;

/// The steepest that the eye looks down or up, radians: short of straight, so that up stays up.
const STEEPEST_RAD: f64 = 1.565;

impl Camera {
    /// Round the target: by `dx` pixels of the hand to the right, `dy` down.
    pub(super) fn turned(mut self, dx: f64, dy: f64) -> Self {
        let back = self.toward_eye;
        let level = back.x.hypot(back.y);
        // Looking straight down there is no azimuth: the top of the picture gives it.
        let azimuth = if level > 1e-6 { back.y.atan2(back.x) } else { (-self.up.y).atan2(-self.up.x) };
        let azimuth = azimuth - dx * TURN_PER_PX;
        let height = (back.z.atan2(level) + dy * TURN_PER_PX).clamp(-STEEPEST_RAD, STEEPEST_RAD);
        self.up = Vector3::z_axis();
        self.toward_eye = Unit::new_normalize(Vector3::new(
            height.cos() * azimuth.cos(),
            height.cos() * azimuth.sin(),
            height.sin(),
        ));
        self
    }

    /// Across the view, so that the target's surroundings follow the hand.
    pub(super) fn slid(mut self, dx: f64, dy: f64) -> Self {
        let [right, up, _] = self.axes();
        let scale = self.mm_per_px(&self.target);
        self.target += (up.into_inner() * dy - right.into_inner() * dx) * scale;
        self
    }

    /// Nearer (`factor` under 1) or farther, keeping what is under a pixel under it.
    pub(super) fn neared(mut self, factor: f64, at_px: [f64; 2]) -> Self {
        let factor = match self.projection {
            Projection::Perspective { .. } => {
                let distance = (self.distance_mm * factor).clamp(20.0, 60_000.0);
                let factor = distance / self.distance_mm;
                self.distance_mm = distance;
                factor
            }
            Projection::Parallel { half_height_mm } => {
                let half = (half_height_mm * factor).clamp(2.0, 20_000.0);
                self.projection = Projection::Parallel { half_height_mm: half };
                half / half_height_mm
            }
        };
        let middle = [self.area.left + self.area.width / 2.0, self.area.top + self.area.height / 2.0];
        let before = self.mm_per_px(&self.target) / factor;
        let [right, up, _] = self.axes();
        let (dx, dy) = (at_px[0] - middle[0], middle[1] - at_px[1]);
        self.target += (right.into_inner() * dx + up.into_inner() * dy) * before * (1.0 - factor);
        self
    }

    /// Part of the way (0 to 1) from here to another camera.
    pub(super) fn toward(self, other: &Camera, share: f64) -> Self {
        if share >= 1.0 {
            return *other;
        }
        let mix = |a: f64, b: f64| a + (b - a) * share;
        let turn = self.toward_eye.slerp_or(&other.toward_eye, share);
        let mut between = *other;
        between.target = self.target + (other.target - self.target) * share;
        between.toward_eye = turn;
        between.distance_mm = mix(self.distance_mm.ln(), other.distance_mm.ln()).exp();
        if let (Projection::Parallel { half_height_mm: a }, Projection::Parallel { half_height_mm: b }) =
            (self.projection, other.projection)
        {
            between.projection = Projection::Parallel { half_height_mm: mix(a.ln(), b.ln()).exp() };
        }
        // Until it has arrived, up is up: two ups mixed would roll the picture.
        if turn.cross(&between.up).norm() < 0.02 {
            between.up = other.up;
        }
        between
    }
}

trait SlerpOr {
    fn slerp_or(&self, other: &Self, share: f64) -> Self;
}

impl SlerpOr for Unit<Vector3<f64>> {
    /// Along the sphere; straight to the other where there is no one way (opposite directions).
    fn slerp_or(&self, other: &Self, share: f64) -> Self {
        self.try_slerp(other, share, 1e-6).unwrap_or(*other)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::view::ViewFrom;
    use crate::view::camera::{Area, HALF_ANGLE_RAD};
    use nalgebra::Point3;

    fn camera(projection: Projection, view: ViewFrom) -> Camera {
        Camera {
            target: Point3::new(10.0, 20.0, 30.0),
            toward_eye: view.toward_eye(),
            distance_mm: 1000.0,
            up: view.up(),
            projection,
            near_mm: 10.0,
            far_mm: 4000.0,
            size_px: [1000.0, 700.0],
            area: Area { left: 300.0, top: 0.0, width: 700.0, height: 700.0 },
        }
    }

    const LENSES: [Projection; 2] = [
        Projection::Perspective { half_angle_rad: HALF_ANGLE_RAD },
        Projection::Parallel { half_height_mm: 200.0 },
    ];

    #[test]
    fn what_is_under_the_hand_stays_under_it() {
        for lens in LENSES {
            let before = camera(lens, ViewFrom::QuarterLeft);
            let [right, up, _] = before.axes();
            let point = before.target + right.into_inner() * 40.0 + up.into_inner() * 25.0;
            let at = before.project(&point).unwrap();

            let nearer = before.neared(0.7, at);
            let now = nearer.project(&point).unwrap();
            assert!((now[0] - at[0]).hypot(now[1] - at[1]) < 1e-6, "zoom: {at:?} to {now:?}");
            assert!(nearer.mm_per_px(&point) < before.mm_per_px(&point));

            let now = before.slid(30.0, -12.0).project(&point).unwrap();
            assert!((now[0] - at[0] - 30.0).hypot(now[1] - at[1] + 12.0) < 1e-6, "pan");
        }
    }

    #[test]
    fn turning_keeps_the_target_in_the_middle_and_never_tips_over() {
        let mut turning = camera(LENSES[0], ViewFrom::Above);
        for _ in 0..50 {
            turning = turning.turned(7.0, 23.0);
            let at = turning.project(&turning.target.clone()).unwrap();
            assert!((at[0] - 650.0).abs() < 1e-6 && (at[1] - 350.0).abs() < 1e-6);
            assert!(turning.axes()[1].z > 0.0, "up still points up");
        }
    }

    #[test]
    fn a_small_turn_from_above_does_not_spin_the_picture() {
        let above = camera(LENSES[1], ViewFrom::Above);
        let tipped = above.turned(0.0, -1.0);
        assert!(above.axes()[0].dot(&tipped.axes()[0]) > 0.999, "right stays right");
    }

    #[test]
    fn flying_starts_here_and_ends_there() {
        let (here, there) = (camera(LENSES[0], ViewFrom::Front), camera(LENSES[0], ViewFrom::Rear));
        assert!((here.toward(&there, 0.0).target - here.target).norm() < 1e-9);
        assert_eq!(here.toward(&there, 1.0), there);
    }
}
