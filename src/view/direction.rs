//! From where a scene is looked at, by name.

use nalgebra::{Unit, Vector3};

use super::ViewError;
use super::camera::ViewProjection;

/// A standard place to look from, named for where the person stands.
///
/// `left` and `right` are the vehicle's own, as everywhere. The first five look along an axis,
/// without perspective, and so have a scale; the two quarter views look down from the front and
/// one side, in perspective.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ViewFrom {
    /// From ahead of the front bumper, looking rearward.
    Front,
    /// From the cabin, looking forward.
    Rear,
    /// From the vehicle's left.
    Left,
    /// From the vehicle's right.
    Right,
    /// From above, forward at the top of the picture.
    Above,
    /// From the front, the left and above.
    #[default]
    QuarterLeft,
    /// From the front, the right and above.
    QuarterRight,
}

impl ViewFrom {
    /// All, in the order in which keys 1 to 7 give them.
    pub const ALL: [ViewFrom; 7] = [
        ViewFrom::Front,
        ViewFrom::Rear,
        ViewFrom::Left,
        ViewFrom::Right,
        ViewFrom::Above,
        ViewFrom::QuarterLeft,
        ViewFrom::QuarterRight,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            ViewFrom::Front => "front",
            ViewFrom::Rear => "rear",
            ViewFrom::Left => "left",
            ViewFrom::Right => "right",
            ViewFrom::Above => "above",
            ViewFrom::QuarterLeft => "quarter-left",
            ViewFrom::QuarterRight => "quarter-right",
        }
    }

    /// The view that a word names.
    ///
    /// # Errors
    /// [`ViewError::UnknownView`], which lists the words there are.
    ///
    /// # Example
    /// ```
    /// use baywright::view::ViewFrom;
    /// assert_eq!(ViewFrom::from_word("above").unwrap(), ViewFrom::Above);
    /// assert!(ViewFrom::from_word("sideways").is_err());
    /// ```
    pub fn from_word(word: &str) -> Result<Self, ViewError> {
        Self::ALL.into_iter().find(|view| view.word() == word).ok_or_else(|| ViewError::UnknownView {
            word: word.to_owned(),
            known: Self::ALL.map(Self::word).join(", "),
        })
    }

    /// From the target toward the eye, vehicle axes.
    pub fn toward_eye(self) -> Unit<Vector3<f64>> {
        Unit::new_normalize(match self {
            ViewFrom::Front => Vector3::new(-1.0, 0.0, 0.0),
            ViewFrom::Rear => Vector3::new(1.0, 0.0, 0.0),
            ViewFrom::Left => Vector3::new(0.0, -1.0, 0.0),
            ViewFrom::Right => Vector3::new(0.0, 1.0, 0.0),
            ViewFrom::Above => Vector3::new(0.0, 0.0, 1.0),
            ViewFrom::QuarterLeft => Vector3::new(-1.0, -0.8, 0.75),
            ViewFrom::QuarterRight => Vector3::new(-1.0, 0.8, 0.75),
        })
    }

    /// What points up in the picture: up, or forward when looking down.
    pub fn up(self) -> Unit<Vector3<f64>> {
        match self {
            ViewFrom::Above => -Vector3::x_axis(),
            _ => Vector3::z_axis(),
        }
    }

    /// The vehicle axis (0 is x) along which it looks and the sign of the way from the target to
    /// the eye; `None` for the quarter views.
    pub(super) fn axis(self) -> Option<(usize, f64)> {
        match self {
            ViewFrom::Front => Some((0, -1.0)),
            ViewFrom::Rear => Some((0, 1.0)),
            ViewFrom::Left => Some((1, -1.0)),
            ViewFrom::Right => Some((1, 1.0)),
            ViewFrom::Above => Some((2, 1.0)),
            ViewFrom::QuarterLeft | ViewFrom::QuarterRight => None,
        }
    }

    /// With a scale where it looks along an axis, in perspective otherwise.
    pub(super) fn projection(self) -> ViewProjection {
        if self.axis().is_some() { ViewProjection::Parallel } else { ViewProjection::Perspective }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_word_is_read_back() {
        for view in ViewFrom::ALL {
            assert_eq!(ViewFrom::from_word(view.word()).unwrap(), view);
        }
    }

    #[test]
    fn an_unknown_word_is_answered_with_those_there_are() {
        insta::assert_snapshot!(
            ViewFrom::from_word("sideways").unwrap_err(),
            @"`sideways` is no view; the views are: front, rear, left, right, above, quarter-left, quarter-right"
        );
    }
}
