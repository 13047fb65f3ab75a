//! A scene as glTF 2.0 (ISO/IEC 12113:2022) in its binary form, GLB: bodies as named nodes, carriers' movements and ways in as
//! animations.
//!
//! The standard wants metres, y up, and the front of a thing toward +z: a root node turns our axes, and lengths are
//! metres from there on. Leaves to others: reading ways (`motion`), which file is written (`cli`).
//!
//! ```text
//! export          the document: nodes, materials, animations
//! carriers        a carrier's freedoms as a chain of nodes, and how each swings
//! film            keys of a way, and how far what plays them strays from it
//! skin            a shape as triangles with normals, or as points
//! glb             bytes: views, accessors, the container
//! error           what cannot be written
//! ```

mod carriers;
mod error;
mod export;
mod film;
mod glb;
mod skin;

pub use error::GltfError;
pub use export::{GLTF_GENERATOR, Gltf, GltfOptions, GltfPart, gltf_of};
pub use glb::glb_generator;
