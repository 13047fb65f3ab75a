//! The camera as the renderer asks for it, and the hand that moves it in a window.

use kiss3d::camera::Camera3d;
use kiss3d::event::{Action, MouseButton, WindowEvent};
use kiss3d::glamx::{Mat4, Pose3, Vec3};
use kiss3d::window::Canvas;

use super::camera::Camera;
use super::convert;

/// Zoom for one unit of the wheel; a notch is ten units.
const NEARER_PER_UNIT: f64 = 0.988;

/// A [`Camera`] in the renderer's hands.
pub(super) struct Lens {
    pub camera: Camera,
    /// Whether a mouse moves it.
    pub held: Held,
    cursor: Option<[f64; 2]>,
    /// Set when the hand moved it, for the window to stop a flight.
    pub moved: bool,
}

/// Whether a mouse moves the camera.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Held {
    Still,
    ByHand,
}

impl Lens {
    pub(super) fn new(camera: Camera, held: Held) -> Self {
        Lens { camera, held, cursor: None, moved: false }
    }

    fn clip_from_world(&self) -> nalgebra::Matrix4<f64> {
        self.camera.clip_from_camera() * self.camera.camera_from_world().to_homogeneous()
    }
}

impl Camera3d for Lens {
    fn handle_event(&mut self, canvas: &Canvas, event: &WindowEvent) {
        if self.held == Held::Still {
            return;
        }
        match *event {
            WindowEvent::CursorPos(x, y, _) => {
                if let Some([x0, y0]) = self.cursor {
                    let pressed = |button| canvas.get_mouse_button(button) == Action::Press;
                    let (dx, dy) = (x - x0, y - y0);
                    if pressed(MouseButton::Button1) {
                        self.camera = self.camera.turned(dx, dy);
                        self.moved = true;
                    } else if pressed(MouseButton::Button2) || pressed(MouseButton::Button3) {
                        self.camera = self.camera.slid(dx, dy);
                        self.moved = true;
                    }
                }
                self.cursor = Some([x, y]);
            }
            WindowEvent::Scroll(_, units, _) => {
                let middle = [self.camera.size_px[0] / 2.0, self.camera.size_px[1] / 2.0];
                let factor = NEARER_PER_UNIT.powf(units.clamp(-60.0, 60.0));
                self.camera = self.camera.neared(factor, self.cursor.unwrap_or(middle));
                self.moved = true;
            }
            _ => {}
        }
    }

    fn eye(&self) -> Vec3 {
        convert::place(&self.camera.eye())
    }

    fn view_transform(&self) -> Pose3 {
        convert::pose(&self.camera.camera_from_world())
    }

    fn transformation(&self) -> Mat4 {
        convert::matrix(&self.clip_from_world())
    }

    fn inverse_transformation(&self) -> Mat4 {
        let inverse = self.clip_from_world().try_inverse().unwrap_or_else(nalgebra::Matrix4::identity);
        convert::matrix(&inverse)
    }

    fn clip_planes(&self) -> (f32, f32) {
        (self.camera.near_mm.max(1e-3) as f32, self.camera.far_mm as f32)
    }

    fn update(&mut self, _: &Canvas) {}

    fn view_transform_pair(&self, _pass: usize) -> (Pose3, Mat4) {
        (self.view_transform(), convert::matrix(&self.camera.clip_from_camera()))
    }
}
