//! The scene in the renderer: one node a body, two lights that go where the camera goes.

use kiss3d::glamx::Vec3;
use kiss3d::light::Light;
use kiss3d::procedural::{IndexBuffer, RenderMesh};
use kiss3d::scene::SceneNode3d;
use kiss3d::window::Window;
use nalgebra::{Point3, Vector3};

use crate::check::Finding;
use crate::scene::Scene;
use crate::space::Pose;

use super::camera::Camera;
use super::convert;
use super::drawable::Drawable;
use super::look::{Look, Shading};
use super::outline::outline;
use super::palette::{BACKGROUND, INK, Shade};
use super::sight::Seen;
use super::stance::Stance;

/// How much of a faded body's surface covers what is behind.
const FADED_ALPHA: f64 = 0.2;

/// And a sheer one's.
const SHEER_ALPHA: f64 = 0.62;

/// Every body of a scene, made ready to be drawn, and where it stands.
pub(super) struct Cast {
    pub drawables: Vec<Drawable>,
    pub world_from_body: Vec<Pose>,
}

impl Cast {
    pub(super) fn of(scene: &Scene, stance: &Stance) -> Self {
        let mut made: Vec<(*const crate::solid::Shape, usize)> = Vec::new();
        let mut drawables: Vec<Drawable> = Vec::with_capacity(scene.bodies.len());
        for body in &scene.bodies {
            // Bodies that share a shape share the work.
            let shape = std::sync::Arc::as_ptr(&body.shape);
            let drawable = match made.iter().find(|(known, _)| *known == shape) {
                Some((_, index)) => drawables[*index].clone(),
                None => {
                    made.push((shape, drawables.len()));
                    Drawable::of(&body.shape)
                }
            };
            drawables.push(drawable);
        }
        let mut cast = Cast { drawables, world_from_body: Vec::new() };
        cast.stand(scene, stance);
        cast
    }

    /// Moves every body to where a stance puts it.
    pub(super) fn stand(&mut self, scene: &Scene, stance: &Stance) {
        self.world_from_body = scene.bodies.iter().map(|b| stance.world_from_body(scene, b)).collect();
    }

    /// Corners of the boxes of the bodies that a test lets through, vehicle axes.
    pub(super) fn corners(&self, take: impl Fn(usize) -> bool) -> Vec<Point3<f64>> {
        (0..self.drawables.len())
            .filter(|i| take(*i))
            .filter_map(|i| Some((self.drawables[i].bounds?, self.world_from_body[i])))
            .flat_map(|(bounds, pose)| bounds.corners().map(|corner| pose * corner))
            .collect()
    }

    /// Whether a body stands between a place and the camera.
    pub(super) fn hides(&self, body: usize, place: &Point3<f64>, camera: &Camera) -> bool {
        let seen = Seen { drawable: &self.drawables[body], world_from_body: self.world_from_body[body] };
        seen.blocks(place, &camera.sight_at(place))
    }

    /// Bodies that stand in front of what a picture is about: they hide a marked place, or a quarter of what
    /// there is of the candidates, or of the body that is on its way where there is one. What is being tried is never among them.
    pub(super) fn in_front(
        &self,
        scene: &Scene,
        looks: &[Look],
        camera: &Camera,
        marked: &[(usize, &Finding)],
        moving: Option<usize>,
    ) -> Vec<usize> {
        let places: Vec<Point3<f64>> = marked
            .iter()
            .filter_map(|(_, finding)| finding.place.as_ref())
            .flat_map(|place| [place.on_first, place.on_second])
            .collect();
        let about = |i: &usize| moving.map_or(scene.bodies[*i].candidate, |moving| moving == *i);
        let candidates = (0..scene.bodies.len()).filter(about);
        let samples: Vec<Point3<f64>> = candidates.flat_map(|i| self.samples(i, 12)).collect();
        (0..scene.bodies.len())
            .filter(|i| looks[*i].shading == Shading::Solid)
            .filter(|i| !about(i))
            .filter(|i| {
                let hidden = |place: &&Point3<f64>| self.hides(*i, place, camera);
                places.iter().any(|place| hidden(&place))
                    || 4 * samples.iter().filter(hidden).count() > samples.len()
            })
            .collect()
    }

    /// Places spread over a body's surface, `count` at most, vehicle axes.
    fn samples(&self, body: usize, count: usize) -> Vec<Point3<f64>> {
        let pose = &self.world_from_body[body];
        self.samples_of(body, count).iter().map(|at| pose * at).collect()
    }

    /// Places spread over a body's surface, `count` at most, in its own frame.
    pub(super) fn samples_of(&self, body: usize, count: usize) -> Vec<Point3<f64>> {
        let drawable = &self.drawables[body];
        let step = drawable.triangles.len().div_ceil(count).max(1);
        let middle = |t: &[u32; 3]| {
            let [a, b, c] = t.map(|i| drawable.points[i as usize]);
            Point3::from((a.coords + b.coords + c.coords) / 3.0)
        };
        drawable.triangles.iter().step_by(step).map(middle).collect()
    }

    /// Places spread evenly over a body's surface, in its own frame: the same every time. None where it has no surface.
    pub(super) fn spread_over(&self, body: usize, count: usize) -> Vec<Point3<f64>> {
        let drawable = &self.drawables[body];
        let corners = |t: &[u32; 3]| t.map(|i| drawable.points[i as usize]);
        let mut ends = Vec::with_capacity(drawable.triangles.len());
        let mut area = 0.0;
        for triangle in &drawable.triangles {
            let [a, b, c] = corners(triangle);
            area += (b - a).cross(&(c - a)).norm();
            ends.push(area);
        }
        if area <= 0.0 {
            return Vec::new();
        }
        let place = |n: usize| {
            let at = ends.partition_point(|end| *end < area * (n as f64 + 0.5) / count as f64);
            let [a, b, c] = corners(drawable.triangles.get(at)?);
            // Two shares that fill the square evenly (golden ratio and its like in two), folded into the triangle.
            let share = |step: f64| (0.5 + step * n as f64).fract();
            let (u, v) = (share(0.754_877_666_246_693), share(0.569_840_290_998_053));
            let (u, v) = if u + v > 1.0 { (1.0 - u, 1.0 - v) } else { (u, v) };
            Some(a + (b - a) * u + (c - a) * v)
        };
        (0..count).filter_map(place).collect()
    }

    /// A place on a body that the camera sees, near the middle of it; `None` when other bodies,
    /// or the picture's edge, hide all that were tried.
    pub(super) fn seen_at(&self, body: usize, looks: &[Look], camera: &Camera) -> Option<Point3<f64>> {
        let drawable = &self.drawables[body];
        let middle = camera.project(&(self.world_from_body[body] * drawable.bounds?.center()))?;
        let count = drawable.triangles.len();
        let mut tried: Vec<(f64, Point3<f64>)> = (0..count)
            .step_by(count.div_ceil(240).max(1))
            .filter_map(|t| {
                let [a, b, c] = drawable.triangles[t].map(|i| drawable.points[i as usize]);
                let place = self.world_from_body[body] * Point3::from((a.coords + b.coords + c.coords) / 3.0);
                let [x, y] = camera.project(&place)?;
                let area = &camera.area;
                let inside = (area.left..area.left + area.width).contains(&x)
                    && (area.top..area.top + area.height).contains(&y);
                inside.then(|| ((x - middle[0]).hypot(y - middle[1]), place))
            })
            .collect();
        tried.sort_by(|a, b| a.0.total_cmp(&b.0));
        let hides = |i: usize, place: &Point3<f64>| {
            looks[i].shading == Shading::Solid && self.hides(i, place, camera)
        };
        let seen = |(_, place): &(f64, Point3<f64>)| !(0..self.drawables.len()).any(|i| hides(i, place));
        tried.into_iter().take(60).find(seen).map(|(_, place)| place)
    }

    /// Draws a cloud's points large enough to be seen from a camera: touching their neighbours
    /// where those are only a few pixels apart, and never under a pixel.
    pub(super) fn fit_stones(&mut self, camera: &Camera) {
        for (drawable, pose) in self.drawables.iter_mut().zip(&self.world_from_body) {
            if let Some(bounds) = drawable.bounds.filter(|_| !drawable.stones.is_empty()) {
                drawable.grow_stones(camera.mm_per_px(&(pose * bounds.center())));
            }
        }
    }

    /// Whether any cloud's points should be drawn larger or smaller than when they last were.
    pub(super) fn stones_misfit(&self, camera: &Camera) -> bool {
        self.drawables.iter().zip(&self.world_from_body).any(|(drawable, pose)| {
            let Some(bounds) = drawable.bounds.filter(|_| !drawable.stones.is_empty()) else { return false };
            let ratio = camera.mm_per_px(&(pose * bounds.center())) / drawable.stones_fit_mm_per_px;
            !(0.6..1.7).contains(&ratio)
        })
    }

    /// Lines along the edges of each body as a camera sees them, and how dark.
    pub(super) fn lines(&self, looks: &[Look], camera: &Camera) -> Vec<(Vec<[Point3<f64>; 2]>, f64)> {
        (0..self.drawables.len())
            .filter(|i| looks[*i].shading != Shading::Hidden)
            .map(|i| {
                let dark = if looks[i].shading == Shading::Faded { 0.45 } else { 1.0 };
                (outline(&self.drawables[i], &self.world_from_body[i], camera), dark)
            })
            .collect()
    }
}

/// The renderer's nodes for a [`Cast`].
pub(super) struct Stage {
    pub root: SceneNode3d,
    bodies: Vec<SceneNode3d>,
    lights: [SceneNode3d; 2],
}

impl Stage {
    /// Needs a window or an off-screen surface to exist already on this thread.
    pub(super) fn of(cast: &Cast) -> Self {
        let mut root = SceneNode3d::empty();
        let bodies: Vec<SceneNode3d> = cast
            .drawables
            .iter()
            .map(|drawable| {
                let mut node = if drawable.triangles.is_empty() {
                    SceneNode3d::empty()
                } else {
                    SceneNode3d::render_mesh(mesh(drawable), Vec3::ONE)
                };
                node.set_metallic(0.0);
                node.set_roughness(0.75);
                root.add_child(node.clone());
                node
            })
            .collect();
        // Sums to about the surface's own colour where it faces the viewer.
        let mut light = |strength: f32| {
            root.add_light(
                Light::directional(Vec3::NEG_Z)
                    .with_intensity(strength * std::f32::consts::PI)
                    .with_casts_shadows(false),
            )
        };
        let lights = [light(0.72), light(0.2)];
        Stage { root, bodies, lights }
    }

    /// Hands over the points of clouds again, after [`Cast::fit_stones`].
    pub(super) fn refit_stones(&mut self, cast: &Cast) {
        for (node, drawable) in self.bodies.iter_mut().zip(&cast.drawables) {
            if !drawable.stones.is_empty() {
                node.modify_vertices(&mut |vertices| {
                    for (vertex, point) in vertices.iter_mut().zip(&drawable.points) {
                        *vertex = convert::place(point);
                    }
                });
            }
        }
    }

    /// Poses and looks, as they are now.
    pub(super) fn dress(&mut self, cast: &Cast, looks: &[Look]) {
        for (i, node) in self.bodies.iter_mut().enumerate() {
            node.set_pose(convert::pose(&cast.world_from_body[i]));
            let alpha = match looks[i].shading {
                Shading::Solid => 1.0,
                Shading::Sheer => SHEER_ALPHA,
                Shading::Faded => FADED_ALPHA,
                Shading::Hidden => 0.0,
            };
            node.set_visible(looks[i].shading != Shading::Hidden);
            node.set_color(convert::light(looks[i].shade, alpha));
        }
    }

    /// A light from the sky over the viewer's left shoulder and a weak one from the lower right,
    /// wherever the viewer is: tops, fronts and sides then differ from every side.
    pub(super) fn light(&mut self, camera: &Camera) {
        let [right, up, back] = camera.axes().map(nalgebra::Unit::into_inner);
        let ways: [Vector3<f64>; 2] = [
            right * 0.5 - up * 0.25 - back * 0.75 - Vector3::z() * 0.55,
            right * -0.8 + up * 0.3 - back * 0.5,
        ];
        for (light, way) in self.lights.iter_mut().zip(ways) {
            let way = convert::direction(&way.normalize());
            light.set_light(Some(light.light().unwrap_or_default().with_direction(way)));
        }
    }
}

/// Sets the things of a surface or window that don't change.
pub(super) fn prepare(window: &mut Window) {
    window.set_background_color(convert::light(BACKGROUND, 1.0));
    window.set_ambient(0.33);
    window.set_tonemap(kiss3d::post_processing::Tonemap::None);
    // No shadows, and none of the half gigabyte that is set aside for them.
    window.set_shadows_enabled(false);
    window.set_shadow_atlas_layers(1);
    window.set_shadow_resolution(16);
}

/// Queues lines for the next frame.
pub(super) fn draw_lines(window: &mut Window, lines: &[(Vec<[Point3<f64>; 2]>, f64)], width_px: f64) {
    for (segments, dark) in lines {
        draw_segments(window, segments, INK, *dark, width_px);
    }
}

/// Queues lines of one colour for the next frame.
pub(super) fn draw_segments(
    window: &mut Window,
    segments: &[[Point3<f64>; 2]],
    shade: Shade,
    dark: f64,
    width_px: f64,
) {
    let color = convert::light(shade, dark);
    for [a, b] in segments {
        window.draw_line(convert::place(a), convert::place(b), color, width_px as f32, false);
    }
}

fn mesh(drawable: &Drawable) -> RenderMesh {
    RenderMesh::new(
        drawable.points.iter().map(convert::place).collect(),
        Some(drawable.normals.iter().map(convert::direction).collect()),
        None,
        Some(IndexBuffer::Unified(drawable.triangles.clone())),
    )
}

/// Turns a directional light another way.
trait Turned {
    fn with_direction(self, way: Vec3) -> Self;
}

impl Turned for Light {
    fn with_direction(mut self, way: Vec3) -> Self {
        self.light_type = kiss3d::light::LightType::Directional(way);
        self
    }
}
