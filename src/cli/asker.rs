//! Answers a script's questions about gaps with the checker.

use std::cell::RefCell;

use crate::check::{Checker, Poses};
use crate::scene::Scene;
use crate::script::{Asker, Gap, When};

/// The checker behind a door that scripts may knock at.
pub(super) struct CheckAsker<'a>(pub &'a RefCell<Checker>);

impl Asker for CheckAsker<'_> {
    fn gap(&self, scene: &Scene, first: &str, second: &str, when: When) -> Result<Gap, String> {
        let poses = match when {
            When::AtRest => Poses::Rest,
            When::OverMovement => Poses::Movement,
        };
        let gap = self
            .0
            .borrow_mut()
            .pair_gap(scene, first, second, poses)
            .ok_or_else(|| format!("`{first}` and `{second}` are not two bodies of the scene"))?;
        Ok(Gap {
            // The proved least; where bodies meet only the pose found has a depth.
            gap: if gap.upper.mm() <= 0.0 { gap.upper } else { gap.lower },
            on_first: gap.place.on_first,
            on_second: gap.place.on_second,
            pose: gap.place.pose,
        })
    }
}
