//! The window and the pictures: a scene and its findings, seen.
//!
//! [`picture`] draws without a window and gives pixels that explain themselves: the worst findings
//! are marked, a strip of words below says what they are, and a legend names every colour.
//! [`open_window`] opens the same scene to walk around in, with a slider for every freedom of every
//! carrier. Leaves to others: what is a finding (`check`), what is in a scene (`scene`).
//!
//! How it is laid out: everything up to [`Camera`] and the drawables is plain f64 geometry and is
//! tested as such; `stage` hands it to the renderer; `convert` is the one file in which the
//! project's numbers become the renderer's.

mod camera;
mod caption;
mod convert;
mod direction;
mod drawable;
mod error;
mod film;
mod film_plan;
mod guard;
mod lens;
mod look;
mod orbit;
mod outline;
mod overlay;
mod palette;
mod panel;
mod picture;
mod playback;
mod player;
mod save;
mod sight;
mod stage;
mod stance;
mod surface;
mod tile;
mod way;
mod window;

pub use camera::{Area, Camera, Projection};
pub use direction::ViewFrom;
pub use error::ViewError;
pub use film::{Film, FilmOptions, FilmRow, Tile, film};
pub use look::{Look, Shading};
pub use palette::{Shade, verdict_shade};
pub use picture::{InFront, Moving, Picture, PictureOptions, picture};
pub use playback::{BodyWay, Instant, Playback};
pub use stance::Stance;
pub use window::{WindowOptions, open_window, open_window_with};
