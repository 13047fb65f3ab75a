//! What a person must reach, turn, pour into and lift out.

use crate::scene::Scene;

use super::Findings;
use super::pair::Ready;

pub(super) fn check(_scene: &Scene, _ready: &[Ready<'_>], _findings: &mut Findings) {}
