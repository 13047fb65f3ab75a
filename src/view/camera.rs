//! The camera: where a point of the scene falls in the picture.
//!
//! Plain f64 geometry, so that it can be tested without a renderer; `lens` hands it over.

use nalgebra::{Isometry3, Matrix4, Point3, Translation3, Unit, UnitQuaternion, Vector3, Vector4};

/// How depth shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Projection {
    /// Nearer is bigger: `half_angle_rad` from the middle to the top edge of the area.
    Perspective {
        /// Half the angle of view, up and down, radians.
        half_angle_rad: f64,
    },
    /// No perspective, so that lengths across the view can be measured.
    Parallel {
        /// From the middle to the top edge of the area, mm in the scene.
        half_height_mm: f64,
    },
}

/// Which of the two, before sizes are known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum ViewProjection {
    Perspective,
    Parallel,
}

/// Half the angle of view of a perspective picture, radians: 15 degrees, a long lens, so that
/// parallel edges stay nearly parallel.
pub(super) const HALF_ANGLE_RAD: f64 = 0.2617993877991494;

/// The part of the picture that the scene is framed in, pixels from the upper left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Width, above zero.
    pub width: f64,
    /// Height, above zero.
    pub height: f64,
}

/// A camera over a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    /// Where it looks; falls in the middle of the area.
    pub target: Point3<f64>,
    /// From the target toward the eye.
    pub toward_eye: Unit<Vector3<f64>>,
    /// How far the eye is from the target, mm.
    pub distance_mm: f64,
    /// What points up in the picture; not along `toward_eye`.
    pub up: Unit<Vector3<f64>>,
    /// How depth shows.
    pub projection: Projection,
    /// Nothing nearer to the eye is drawn, mm along the view.
    pub near_mm: f64,
    /// Nothing farther from the eye is drawn, mm along the view.
    pub far_mm: f64,
    /// Picture width and height, pixels.
    pub size_px: [f64; 2],
    /// The part in which the scene is framed.
    pub area: Area,
}

impl Camera {
    /// Where the eye is.
    pub fn eye(&self) -> Point3<f64> {
        self.target + self.toward_eye.into_inner() * self.distance_mm
    }

    /// Right, up and toward the eye: the picture's own axes, in vehicle axes.
    pub fn axes(&self) -> [Unit<Vector3<f64>>; 3] {
        let back = self.toward_eye;
        let right = self.up.cross(&back);
        let right = if right.norm() > 1e-9 { right } else { Vector3::x().cross(&back) };
        let right =
            Unit::try_new(right, 1e-9).unwrap_or_else(|| Unit::new_normalize(Vector3::y().cross(&back)));
        [right, Unit::new_normalize(back.cross(&right)), back]
    }

    /// The pose that brings vehicle axes into the camera's (x right, y up, z toward the viewer).
    pub fn camera_from_world(&self) -> Isometry3<f64> {
        let [right, up, back] = self.axes();
        let turn = nalgebra::Rotation3::from_matrix_unchecked(nalgebra::Matrix3::from_rows(&[
            right.transpose(),
            up.transpose(),
            back.transpose(),
        ]));
        let turn = UnitQuaternion::from_rotation_matrix(&turn);
        Isometry3::from_parts(Translation3::from(-(turn * self.eye().coords)), turn)
    }

    /// The matrix that brings camera axes into clip space (x right, y up, depth 0 to 1), the
    /// area's middle being off the picture's middle when strips or panels cover part of it.
    pub fn clip_from_camera(&self) -> Matrix4<f64> {
        let (n, f) = (self.near_mm, self.far_mm);
        let aspect = self.area.width / self.area.height;
        let lens = match self.projection {
            Projection::Perspective { half_angle_rad } => {
                let t = 1.0 / half_angle_rad.tan();
                #[rustfmt::skip]
                let m = Matrix4::new(
                    t / aspect, 0.0, 0.0, 0.0,
                    0.0, t, 0.0, 0.0,
                    0.0, 0.0, f / (n - f), n * f / (n - f),
                    0.0, 0.0, -1.0, 0.0,
                );
                m
            }
            Projection::Parallel { half_height_mm } => {
                let t = 1.0 / half_height_mm;
                #[rustfmt::skip]
                let m = Matrix4::new(
                    t / aspect, 0.0, 0.0, 0.0,
                    0.0, t, 0.0, 0.0,
                    0.0, 0.0, 1.0 / (n - f), n / (n - f),
                    0.0, 0.0, 0.0, 1.0,
                );
                m
            }
        };
        let [width, height] = self.size_px;
        let (sx, sy) = (self.area.width / width, self.area.height / height);
        let ox = (self.area.left + self.area.width / 2.0) / width * 2.0 - 1.0;
        let oy = 1.0 - (self.area.top + self.area.height / 2.0) / height * 2.0;
        #[rustfmt::skip]
        let place = Matrix4::new(
            sx, 0.0, 0.0, ox,
            0.0, sy, 0.0, oy,
            0.0, 0.0, 1.0, 0.0,
            0.0, 0.0, 0.0, 1.0,
        );
        place * lens
    }

    /// Where a point falls, pixels from the upper left corner, x right and y down; `None` when it
    /// is not in front of the eye. May lie outside the picture.
    ///
    /// # Example
    /// The target falls in the middle of the area, wherever that is:
    /// ```
    /// use baywright::view::{Area, Camera, Projection};
    /// use nalgebra::{Point3, Vector3};
    /// let camera = Camera {
    ///     target: Point3::new(100.0, 20.0, 30.0),
    ///     toward_eye: -Vector3::x_axis(),
    ///     distance_mm: 500.0,
    ///     up: Vector3::z_axis(),
    ///     projection: Projection::Parallel { half_height_mm: 50.0 },
    ///     near_mm: 1.0,
    ///     far_mm: 1000.0,
    ///     size_px: [400.0, 300.0],
    ///     area: Area { left: 100.0, top: 0.0, width: 300.0, height: 200.0 },
    /// };
    /// let [x, y] = camera.project(&camera.target).unwrap();
    /// assert!((x - 250.0).abs() < 1e-9 && (y - 100.0).abs() < 1e-9);
    /// // 25 mm up is a quarter of the area's 100 mm height, so 50 of its 200 pixels.
    /// let [_, y] = camera.project(&Point3::new(100.0, 20.0, 55.0)).unwrap();
    /// assert!((y - 50.0).abs() < 1e-9);
    /// ```
    pub fn project(&self, point: &Point3<f64>) -> Option<[f64; 2]> {
        let seen = self.camera_from_world() * point;
        let clip = self.clip_from_camera() * Vector4::new(seen.x, seen.y, seen.z, 1.0);
        let in_front = match self.projection {
            Projection::Perspective { .. } => clip.w > 1e-9,
            Projection::Parallel { .. } => true,
        };
        in_front.then(|| {
            let [width, height] = self.size_px;
            [(clip.x / clip.w + 1.0) / 2.0 * width, (1.0 - clip.y / clip.w) / 2.0 * height]
        })
    }

    /// How many millimetres of the scene one pixel is wide at a point.
    pub fn mm_per_px(&self, point: &Point3<f64>) -> f64 {
        let half = match self.projection {
            Projection::Perspective { half_angle_rad } => {
                let depth = (self.eye() - point).dot(&self.toward_eye).max(self.near_mm);
                depth * half_angle_rad.tan()
            }
            Projection::Parallel { half_height_mm } => half_height_mm,
        };
        2.0 * half / self.area.height
    }

    /// From a point toward the eye: the same everywhere when there is no perspective.
    pub fn sight_at(&self, point: &Point3<f64>) -> Unit<Vector3<f64>> {
        match self.projection {
            Projection::Perspective { .. } => {
                Unit::try_new(self.eye() - point, 1e-12).unwrap_or(self.toward_eye)
            }
            Projection::Parallel { .. } => self.toward_eye,
        }
    }

    /// Moved so that all points fall inside the area with a margin (a share of it on each side).
    ///
    /// The middle of what is seen falls in the middle of the area. Without points it stays put.
    pub(super) fn framing(mut self, points: &[Point3<f64>], margin: f64) -> Self {
        if points.is_empty() {
            return self;
        }
        let [right, up, back] = self.axes();
        let room = 1.0 - 2.0 * margin;
        let aspect = self.area.width / self.area.height;
        let along = |p: &Point3<f64>, axis: &Unit<Vector3<f64>>| p.coords.dot(axis);
        let extent = |axis: &Unit<Vector3<f64>>| {
            points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), p| {
                let at = along(p, axis);
                (lo.min(at), hi.max(at))
            })
        };
        let (x, y, z) = (extent(&right), extent(&up), extent(&back));
        let depth = (z.1 - z.0).max(1.0);
        let mut middle = [(x.0 + x.1) / 2.0, (y.0 + y.1) / 2.0];
        match &mut self.projection {
            Projection::Parallel { half_height_mm } => {
                let half = ((y.1 - y.0) / 2.0).max((x.1 - x.0) / 2.0 / aspect);
                *half_height_mm = (half / room).max(1.0);
                self.distance_mm = depth / 2.0 + 100.0;
            }
            Projection::Perspective { half_angle_rad } => {
                // Each point sets the least distance at which it is inside; the middle is then
                // moved to where both sides ask for the same, which converges in a few rounds.
                let (ty, zm) = (half_angle_rad.tan() * room, (z.0 + z.1) / 2.0);
                let tx = ty * aspect;
                let mut distance = depth;
                for _ in 0..12 {
                    let mut need = [0.0_f64; 4];
                    for p in points {
                        let nearer = along(p, &back) - zm;
                        let (dx, dy) = (along(p, &right) - middle[0], along(p, &up) - middle[1]);
                        for (slot, ask) in need.iter_mut().zip([dx / tx, -dx / tx, dy / ty, -dy / ty]) {
                            *slot = slot.max(ask + nearer);
                        }
                    }
                    distance = need.into_iter().fold(depth / 2.0 + 1.0, f64::max);
                    middle[0] += (need[0] - need[1]) / 2.0 * tx;
                    middle[1] += (need[2] - need[3]) / 2.0 * ty;
                }
                self.distance_mm = distance;
            }
        }
        let zm = (z.0 + z.1) / 2.0;
        self.target = Point3::from(
            right.into_inner() * middle[0] + up.into_inner() * middle[1] + back.into_inner() * zm,
        );
        self.with_depth_of(points)
    }

    /// With near and far planes that hold all points.
    pub(super) fn with_depth_of(mut self, points: &[Point3<f64>]) -> Self {
        let eye = self.eye();
        let (mut near, mut far) = (f64::INFINITY, 0.0_f64);
        for p in points {
            let depth = (eye - p).dot(&self.toward_eye);
            near = near.min(depth);
            far = far.max(depth);
        }
        let far = far.max(self.distance_mm) * 1.05 + 50.0;
        self.far_mm = far;
        self.near_mm = match self.projection {
            Projection::Perspective { .. } => (near * 0.9 - 20.0).max(far / 4000.0).min(far / 2.0),
            Projection::Parallel { .. } => near.min(0.0) - 50.0,
        };
        self
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::view::ViewFrom;

    fn camera(view: ViewFrom) -> Camera {
        Camera {
            target: Point3::origin(),
            toward_eye: view.toward_eye(),
            distance_mm: 1000.0,
            up: view.up(),
            projection: match view.projection() {
                ViewProjection::Perspective => Projection::Perspective { half_angle_rad: HALF_ANGLE_RAD },
                ViewProjection::Parallel => Projection::Parallel { half_height_mm: 100.0 },
            },
            near_mm: 10.0,
            far_mm: 3000.0,
            size_px: [800.0, 600.0],
            area: Area { left: 0.0, top: 0.0, width: 800.0, height: 500.0 },
        }
    }

    #[test]
    fn each_view_shows_the_vehicle_the_way_a_person_there_sees_it() {
        let rearward = Point3::new(50.0, 0.0, 0.0);
        let rightward = Point3::new(0.0, 50.0, 0.0);
        let upward = Point3::new(0.0, 0.0, 50.0);
        // (view, point, its place right of the middle, above the middle)
        for (view, point, right, up) in [
            (ViewFrom::Front, rightward, -1, 0), // facing the car, its right is at your left
            (ViewFrom::Front, upward, 0, 1),
            (ViewFrom::Rear, rightward, 1, 0),
            (ViewFrom::Left, rearward, 1, 0), // standing at its left wing, the rear is to your right
            (ViewFrom::Right, rearward, -1, 0),
            (ViewFrom::Above, rearward, 0, -1),
            (ViewFrom::Above, rightward, 1, 0),
        ] {
            let [x, y] = camera(view).project(&point).unwrap();
            let sign = |v: f64| if v.abs() < 1e-6 { 0 } else { v.signum() as i32 };
            assert_eq!((sign(x - 400.0), sign(250.0 - y)), (right, up), "{}: {point}", view.word());
        }
    }

    #[test]
    fn framing_touches_the_margin_and_never_crosses_it() {
        let points: Vec<_> = crate::space::Bounds {
            min: Point3::new(300.0, -200.0, 40.0),
            max: Point3::new(900.0, 350.0, 260.0),
        }
        .corners()
        .to_vec();
        for view in ViewFrom::ALL {
            let framed = camera(view).framing(&points, 0.1);
            let seen: Vec<_> = points.iter().map(|p| framed.project(p).unwrap()).collect();
            let reach = |lo: f64, hi: f64, size: f64| (lo / size, 1.0 - hi / size);
            let (x0, x1) = seen.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[0]), b.max(p[0])));
            let (y0, y1) = seen.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[1]), b.max(p[1])));
            let ((l, r), (t, b)) = (reach(x0, x1, 800.0), reach(y0, y1, 500.0));
            let least = l.min(r).min(t).min(b);
            assert!((0.095..0.12).contains(&least), "{}: least margin {least:.4}", view.word());
            assert!((l - r).abs() < 0.01 && (t - b).abs() < 0.01, "{}: not centred", view.word());
        }
    }

    #[test]
    fn depth_planes_hold_every_point() {
        let points = [Point3::new(-400.0, 0.0, 0.0), Point3::new(500.0, 30.0, 20.0)];
        for view in ViewFrom::ALL {
            let framed = camera(view).framing(&points, 0.1);
            for p in &points {
                let seen = framed.camera_from_world() * p;
                let clip = framed.clip_from_camera() * seen.to_homogeneous();
                let depth = clip.z / clip.w;
                assert!((0.0..=1.0).contains(&depth), "{}: {p} has depth {depth}", view.word());
            }
        }
    }

    #[test]
    fn a_pixel_is_as_wide_as_it_says() {
        for view in ViewFrom::ALL {
            let camera = camera(view);
            let at = Point3::new(20.0, -30.0, 10.0);
            let right = camera.axes()[0].into_inner();
            let (a, b) = (camera.project(&at).unwrap(), camera.project(&(at + right)).unwrap());
            let px = ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2)).sqrt();
            assert!((px * camera.mm_per_px(&at) - 1.0).abs() < 1e-9, "{}", view.word());
        }
    }
}
