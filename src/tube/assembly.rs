//! A tube of several pieces: bent lengths, cones and transitions, end to end.

use std::f64::consts::PI;

use nalgebra::{Point3, Translation3, UnitQuaternion, Vector3};

use super::{BendList, ListedBend, Section, TubeError, loft_volume_mm3};
use crate::solid::{Compound, Frustum, Hull, Shape};
use crate::space::Pose;

/// How near an oval's polygon keeps to it, mm; on the side that makes the tube larger.
const OVAL_CHORD_MM: f64 = 0.01;

/// What a piece is made of and wrapped in.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Wall, mm; `None` for a solid bar.
    pub wall_mm: Option<f64>,
    /// Name of the material.
    pub material: String,
    /// Thickness of a heat wrap over it, mm.
    pub wrap_mm: f64,
    /// Thickness of a coating over it, mm; under the wrap.
    pub coating_mm: f64,
}

/// How a piece runs.
#[derive(Clone, Debug, PartialEq)]
pub enum PieceForm {
    /// One section along straights and bends; an oval one has no bend.
    Bent {
        /// Its section.
        section: Section,
        /// Its bends.
        bends: Vec<ListedBend>,
        /// Straight after the last bend, mm.
        last_straight_mm: f64,
    },
    /// Straight, from one section to another: a cone between rounds, a transition to or from an oval.
    Transition {
        /// Section at its start.
        from: Section,
        /// Section at its end.
        to: Section,
        /// Length, mm.
        length_mm: f64,
    },
}

/// One piece of a tube.
#[derive(Clone, Debug, PartialEq)]
pub struct TubePiece {
    /// How it runs.
    pub form: PieceForm,
    /// What it is made of.
    pub stock: Stock,
}

/// Pieces end to end. An oval's width lies along y of its piece's own frame, which the bends carry along.
#[derive(Clone, Debug, PartialEq)]
pub struct TubeAssembly {
    /// Where the first piece starts, heading along x.
    pub start: Pose,
    /// Pieces in order.
    pub pieces: Vec<TubePiece>,
}

impl PieceForm {
    /// Sections at its two ends.
    pub fn ends(&self) -> [Section; 2] {
        match self {
            PieceForm::Bent { section, .. } => [*section; 2],
            PieceForm::Transition { from, to, .. } => [*from, *to],
        }
    }

    /// Its centreline from a place on.
    pub fn line(&self, start: Pose) -> BendList {
        match self {
            PieceForm::Bent { bends, last_straight_mm, .. } => {
                BendList { start, bends: bends.clone(), last_straight_mm: *last_straight_mm }
            }
            PieceForm::Transition { length_mm, .. } => {
                BendList { start, bends: Vec::new(), last_straight_mm: *length_mm }
            }
        }
    }
}

impl TubePiece {
    /// What is enclosed by the outline a wall inside (or, negative, outside) the piece's own, mm^3.
    fn enclosed_mm3(&self, inset_mm: f64) -> f64 {
        match &self.form {
            // Pappus: a section whose middle is the centreline sweeps its area times the length.
            PieceForm::Bent { section, .. } => {
                section.inset(inset_mm).area_mm2() * self.form.line(Pose::identity()).length_mm()
            }
            PieceForm::Transition { from, to, length_mm } => {
                loft_volume_mm3(&from.inset(inset_mm), &to.inset(inset_mm), *length_mm)
            }
        }
    }

    /// Volume of metal, mm^3. The wall is measured square to the piece's line, as it is in a cut.
    pub fn metal_mm3(&self) -> f64 {
        self.enclosed_mm3(0.0) - self.inside_mm3()
    }

    /// Volume inside the wall, mm^3; zero for a bar.
    pub fn inside_mm3(&self) -> f64 {
        self.stock.wall_mm.map_or(0.0, |wall| self.enclosed_mm3(wall))
    }

    /// How far wrap and coating stand off the metal, mm.
    pub fn cover_mm(&self) -> f64 {
        self.stock.wrap_mm + self.stock.coating_mm
    }

    fn shape(&self, start: Pose, cover_mm: f64) -> Result<(Pose, Shape), TubeError> {
        let [from, to] = self.form.ends().map(|section| section.inset(-cover_mm));
        let line = self.form.line(start);
        match (&self.form, from, to) {
            (PieceForm::Bent { .. }, Section::Round { outside_mm }, _) => {
                let wall_mm = self.stock.wall_mm.map(|wall| wall + cover_mm);
                let tube = line.corners()?.tube(outside_mm / 2.0, wall_mm);
                Ok((Pose::identity(), Shape::Tube(tube)))
            }
            (_, Section::Round { outside_mm: bottom }, Section::Round { outside_mm: top }) => {
                let length_mm = line.length_mm();
                // A frustum stands along z about its middle.
                let turn = UnitQuaternion::from_axis_angle(&Vector3::y_axis(), PI / 2.0);
                let middle = Translation3::new(length_mm / 2.0, 0.0, 0.0);
                let shape = Frustum { bottom_radius_mm: bottom / 2.0, top_radius_mm: top / 2.0, length_mm };
                Ok((start * Pose::from_parts(middle, turn), Shape::Frustum(shape)))
            }
            _ => {
                let length_mm = line.length_mm();
                let ring = |section: &Section, x: f64| -> Vec<Point3<f64>> {
                    section.outline(OVAL_CHORD_MM).iter().map(|at| Point3::new(x, at.x, at.y)).collect()
                };
                let mut points = ring(&from, 0.0);
                points.extend(ring(&to, length_mm));
                Ok((start, Shape::Hull(Hull::new(points))))
            }
        }
    }
}

impl TubeAssembly {
    /// Whether the pieces can be and fit end to end.
    ///
    /// # Errors
    /// [`TubeError`] for the first fault.
    pub fn check(&self) -> Result<(), TubeError> {
        if self.pieces.is_empty() {
            return Err(TubeError::NoPiece);
        }
        let mut last: Option<Section> = None;
        for (index, piece) in self.pieces.iter().enumerate() {
            let [from, to] = piece.form.ends();
            from.check(piece.stock.wall_mm)?;
            to.check(piece.stock.wall_mm)?;
            let line = piece.form.line(Pose::identity());
            line.check()?;
            match from {
                Section::Oval { .. } if !line.bends.is_empty() => {
                    return Err(TubeError::BentOval { piece: index + 1 });
                }
                _ => line.check_body(from.size_mm()[1])?,
            }
            if let Some(last) = last {
                let off = (0..2).map(|axis| (last.size_mm()[axis] - from.size_mm()[axis]).abs());
                if off.fold(0.0, f64::max) > 1e-6 {
                    let (ends, starts) = (last.to_string(), from.to_string());
                    return Err(TubeError::SectionsDiffer { after: index + 1, ends, starts });
                }
            }
            last = Some(to);
        }
        Ok(())
    }

    /// Where each piece starts, and where the last one ends.
    pub fn places(&self) -> Vec<Pose> {
        let mut places = vec![self.start];
        for piece in &self.pieces {
            let next = piece.form.line(places[places.len() - 1]).end();
            places.push(next);
        }
        places
    }

    /// The centreline of all pieces as one list, for where it runs; cones count as straights.
    pub fn line(&self) -> BendList {
        let mut whole = BendList { start: self.start, bends: Vec::new(), last_straight_mm: 0.0 };
        for piece in &self.pieces {
            let part = piece.form.line(Pose::identity());
            let carried = std::mem::replace(&mut whole.last_straight_mm, part.last_straight_mm);
            let mut bends = part.bends.into_iter();
            match bends.next() {
                Some(first) => {
                    whole.bends.push(ListedBend { straight_mm: first.straight_mm + carried, ..first });
                    whole.bends.extend(bends);
                }
                None => whole.last_straight_mm += carried,
            }
        }
        whole
    }

    /// The solid of the whole, wrap and coating included, in the frame that `start` is in.
    ///
    /// Ovals are polygons that hold them within 0.01 mm; a part's volume counts the outside of ovals and
    /// cones as full.
    ///
    /// # Errors
    /// As [`Self::check`].
    pub fn covered_shape(&self) -> Result<Shape, TubeError> {
        self.check()?;
        let places = self.places();
        let parts =
            self.pieces.iter().zip(&places).map(|(piece, start)| piece.shape(*start, piece.cover_mm()));
        Ok(Shape::Compound(Compound { parts: parts.collect::<Result<_, _>>()? }))
    }

    /// Volume of metal, mm^3.
    pub fn metal_mm3(&self) -> f64 {
        self.pieces.iter().map(TubePiece::metal_mm3).sum()
    }

    /// Volume inside the wall, mm^3.
    pub fn inside_mm3(&self) -> f64 {
        self.pieces.iter().map(TubePiece::inside_mm3).sum()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, clippy::panic)]
    use super::*;
    use crate::solid::Solid;

    fn stock() -> Stock {
        Stock { wall_mm: Some(1.65), material: "mild-steel".to_owned(), wrap_mm: 3.0, coating_mm: 0.5 }
    }

    fn assembly() -> TubeAssembly {
        let round = Section::Round { outside_mm: 63.5 };
        let oval = Section::pressed(63.5, 40.0).unwrap();
        let bend = ListedBend { straight_mm: 90.0, rotation_rad: 0.4, angle_rad: 1.1, radius_mm: 95.0 };
        let piece = |form| TubePiece { form, stock: stock() };
        TubeAssembly {
            start: Pose::translation(10.0, -20.0, 30.0),
            pieces: vec![
                piece(PieceForm::Transition {
                    from: Section::Round { outside_mm: 76.2 },
                    to: round,
                    length_mm: 50.0,
                }),
                piece(PieceForm::Bent { section: round, bends: vec![bend], last_straight_mm: 80.0 }),
                piece(PieceForm::Transition { from: round, to: oval, length_mm: 60.0 }),
                piece(PieceForm::Bent { section: oval, bends: vec![], last_straight_mm: 120.0 }),
            ],
        }
    }

    #[test]
    fn pieces_follow_each_other_and_make_a_solid() {
        let tube = assembly();
        tube.check().unwrap();
        let end = tube.places()[4];
        assert!((tube.line().end().translation.vector - end.translation.vector).norm() < 1e-9);
        let Shape::Compound(solid) = tube.covered_shape().unwrap() else { panic!("a compound") };
        solid.validate().unwrap();
        // Two convex loft parts hold the prismoid, within their polygon's chord error.
        for (part, piece) in [(2usize, 2usize), (3, 3)] {
            let (got, want) = (solid.parts[part].1.volume_mm3(), tube.pieces[piece].enclosed_mm3(-3.5));
            assert!(got >= want && got < want * 1.001, "part {part}: {got} against {want}");
        }
        let (got, want) = (solid.parts[0].1.volume_mm3(), tube.pieces[0].enclosed_mm3(-3.5));
        assert!((got - want).abs() < 1e-6 * want, "cone: {got} against {want}");
    }

    #[test]
    fn a_step_between_sections_is_told() {
        let mut tube = assembly();
        tube.pieces.remove(0);
        tube.pieces.remove(1);
        let error = tube.check().unwrap_err();
        assert!(matches!(error, TubeError::SectionsDiffer { after: 2, .. }), "{error}");
    }
}
